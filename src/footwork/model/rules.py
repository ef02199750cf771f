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
    "gives-minds",
    "vehicle-sparks",
)

RULES_WITH_FIGURE: frozenset[str] = frozenset(
    {"way-out", "sparks-flammables", "gives-minds", "vehicle-sparks"}
)
"""Checks whose figure, in metres, the file may change; of the others it may change the severity alone."""
