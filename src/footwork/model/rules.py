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
    "opening-clear",
    "vehicle-opening",
    "window-sill",
    "exit-way",
    "extinguisher-clear",
    "heater-clear",
    "lead-reach",
    "tap-reach",
    "lead-across",
    "vehicle-margin",
    "driver-door",
    "parked",
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
        "panel-space",
        "wheelchair",
        "open-leaf",
        "opening-clear",
        "vehicle-opening",
        "exit-way",
        "extinguisher-clear",
        "heater-clear",
        "vehicle-margin",
        "driver-door",
        "parked",
    }
)
"""Checks that are `must` by themselves: nobody accepts their failing, unless the file makes them `should`."""

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
        "opening-clear",
        "vehicle-opening",
        "window-sill",
        "exit-way",
        "extinguisher-clear",
        "heater-clear",
        "vehicle-margin",
        "driver-door",
    }
)
"""Checks whose figure, in metres, the file may change; of the others it may change the severity alone."""

BARRIER = 1.524
"""Metres: 5 ft, the least height of a shield: 29 CFR 1910.253(b)(4)(iii) (from a secondary text)."""

WALL_REACH = 0.10
"""Metres from a wall within which the back of a wall station stands; common practice."""
