"""The ids of the checks, as ``[checks]`` in a scenario file names them.

The reader refuses any other; the checks themselves, with figure and source, are in ``checks/``.
"""

from __future__ import annotations

RULE_IDS: tuple[str, ...] = (
    "within",
    "in-room",
    "no-overlap",
    "strips-clear",
    "service-clear",
    "stock-clear",
    "reachable",
    "placing",
    "door-swing",
    "keep-clear",
    "drive-in",
    "vehicle-around",
    "panel-space",
    "way-out",
    "wheelchair",
    "sparks-flammables",
    "spray-sparks",
    "gives-minds",
    "vehicle-sparks",
    "oxygen-fuel",
    "ignition-height",
    "extinguisher",
    "extinguisher-flammables",
    "stock-vehicle",
    "open-leaf",
    "door-shut",
    "door-way",
)

SEVERE: frozenset[str] = frozenset(
    {
        "within",
        "in-room",
        "no-overlap",
        "strips-clear",
        "service-clear",
        "stock-clear",
        "reachable",
        "placing",
        "door-swing",
        "keep-clear",
        "drive-in",
        "vehicle-around",
        "open-leaf",
    }
)
"""Checks that nobody can do without: no file accepts their failing."""

ACCEPTED = "accepted"
"""The table of `[checks]` that says which failed checks are accepted, and why."""

RULES_WITH_FIGURE: frozenset[str] = frozenset(
    {
        "placing",
        "drive-in",
        "panel-space",
        "way-out",
        "sparks-flammables",
        "spray-sparks",
        "gives-minds",
        "vehicle-sparks",
        "oxygen-fuel",
        "ignition-height",
        "extinguisher",
        "extinguisher-flammables",
    }
)
"""Checks whose figure, in metres, the file may change; of the others it may change the severity alone."""

WALL_REACH = 0.10
"""Metres from a wall within which the back of a wall station stands; common practice."""
