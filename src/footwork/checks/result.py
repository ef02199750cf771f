"""What a check says."""

from __future__ import annotations

from dataclasses import dataclass

from footwork.model.scenario import Severity


@dataclass(frozen=True, slots=True)
class CheckResult:
    """The outcome of one check on one subject.

    ``required`` and ``actual`` are in ``unit``; None where the check is a plain yes or no.
    ``source`` says *published: clause*, *common practice* or *your file*.  ``message`` is one
    sentence that says what to do when the check fails, and what holds when it passes.  ``price`` is what
    failing counts, in metres of walking a year; ``accepted`` is why the file accepts that it fails, and
    ``ok`` is then True.
    """

    id: str
    subject: str
    severity: Severity
    ok: bool
    required: float | None
    actual: float | None
    unit: str
    source: str
    message: str
    price: float = 0.0
    accepted: str = ""
