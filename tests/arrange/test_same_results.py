"""Same seed and iterations, same layouts and bounds, to the last digit: what a change of the code must keep.

``kept/same_results.json`` was written by the code as it stood before the engine was taken apart and named
anew, for the examples as they stood then, beside it.  What has been asked of layouts since is left out: their
checks cost nothing and their figures are 0, and no door is used.
Where a change means to alter what is found, say so in its commit and write the file again:
``FOOTWORK_RESULTS=write pytest tests/arrange/test_same_results.py``.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import footwork
from benchmarks.rooms import room
from footwork.model.rules import RULE_IDS
from footwork.model.scenario import CheckSetting, Scenario

KEPT = Path(__file__).with_name("kept")
RESULTS = KEPT / "same_results.json"
SINCE = (
    "opening-clear", "vehicle-opening", "window-sill", "exit-way", "extinguisher-clear", "heater-clear",
    "lead-reach", "lead-across", "vehicle-margin", "driver-door",
)  # fmt: skip
"""Checks that came later."""


def example(name: str, used: bool = False) -> Scenario:
    return as_it_was(footwork.load(KEPT / f"{name}.toml"), used)


def as_it_was(scenario: Scenario, used: bool = False) -> Scenario:
    """What was asked of layouts when the results were kept; ``used``: with a way out by the doors."""
    checks = {rule: replace(scenario.checks.get(rule, CheckSetting()), price=0.0) for rule in RULE_IDS}
    checks |= {rule: CheckSetting(0.0, "should", 0.0) for rule in SINCE}
    doors = tuple(replace(door, used=used) for door in scenario.room.doors)
    return scenario.with_(checks=checks, room=replace(scenario.room, doors=doors))


def told(found: footwork.Suggestion) -> dict[str, object]:
    """All that is to stay: costs, bounds and where everything stands, written out in full."""
    anywhere = found.anywhere
    return {
        "bound": repr(found.bound),
        "status": found.status,
        "costs": [repr(layout.cost) for layout in found.layouts],
        "placements": [
            {name: [repr(v) for v in (p.x, p.y, p.facing)] for name, p in layout.placements.items()}
            for layout in found.layouts
        ],
        "anywhere": None if anywhere is None else repr(anywhere.bound),
    }


def plain_assignment() -> dict[str, object]:
    rng = np.random.default_rng(7)
    flow, distance = rng.integers(0, 10, (11, 11)), rng.integers(1, 30, (11, 11))
    found = footwork.assign(flow, distance, iterations=3000, seed=2)
    return {"cost": repr(found.cost), "bound": repr(found.bound), "places": [int(p) for p in found.places]}


CASES: dict[str, Callable[[], dict[str, object]]] = {
    "frame-nook": lambda: told(footwork.suggest(example("frame-nook"), iterations=400)),
    "frame-nook, two moves": lambda: told(footwork.suggest(example("frame-nook"), iterations=200, moves=2)),
    "cabinet-garage": lambda: told(footwork.suggest(example("cabinet-garage"), pitch=0.5, iterations=200)),
    "cabinet-garage, strict, off the spots": lambda: told(
        footwork.suggest(
            example("cabinet-garage", True), pitch=0.75, iterations=100, strict=True, anywhere=True
        )
    ),
    "gate-shed": lambda: told(
        footwork.suggest(example("gate-shed"), pitch=0.5, iterations=300, alternatives=2)
    ),
    "gate-shed, eight facings": lambda: told(
        footwork.suggest(example("gate-shed"), pitch=1.0, iterations=60, facings=8, seed=3, keep=["saw"])
    ),
    "flat-20": lambda: told(footwork.suggest(as_it_was(room("flat-20")), pitch=0.75, iterations=60)),
    "hub-van": lambda: told(footwork.suggest(as_it_was(room("hub-van")), pitch=0.75, iterations=60)),
    "assignment": plain_assignment,
}


@pytest.mark.parametrize("name", CASES)
def test_results_are_the_same_to_the_last_digit(name: str) -> None:
    now = CASES[name]()
    kept = json.loads(RESULTS.read_text()) if RESULTS.exists() else {}
    if os.environ.get("FOOTWORK_RESULTS") == "write":
        kept[name] = now
        RESULTS.write_text(json.dumps(kept, indent=1) + "\n")
    assert now == kept[name]
