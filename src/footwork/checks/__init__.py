"""Clearances and safety: one module a family, each check a small function beside its figure and source.

None of it is legal advice: local codes and licensed trades decide.
"""

from __future__ import annotations

from footwork.checks.notes import notes
from footwork.checks.run import (
    RULES,
    Failures,
    failures,
    faults_alone,
    faults_building,
    faults_pair,
    passes,
    price_at_least,
    price_if_passed,
    rules,
    run,
    shut_in,
)

__all__ = [
    "RULES",
    "Failures",
    "failures",
    "faults_alone",
    "faults_building",
    "faults_pair",
    "notes",
    "passes",
    "price_at_least",
    "price_if_passed",
    "rules",
    "run",
    "shut_in",
]
