"""Same seed and iterations, same layouts and bounds, to the last digit: what a change of the code must keep.

``same_results.json`` was written by the code as it stood before the engine was taken apart and named anew.
Where a change means to alter what is found, say so in its commit and write the file again:
``FOOTWORK_RESULTS=write pytest tests/arrange/test_same_results.py``.
"""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

import footwork
from benchmarks.rooms import room
from footwork.model.scenario import Scenario

KEPT = Path(__file__).with_name("same_results.json")
SCENARIOS = Path(__file__).parents[2] / "scenarios"


def example(name: str) -> Scenario:
    return footwork.load(SCENARIOS / f"{name}.toml")


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
        footwork.suggest(example("cabinet-garage"), pitch=0.75, iterations=100, strict=True, anywhere=True)
    ),
    "gate-shed": lambda: told(
        footwork.suggest(example("gate-shed"), pitch=0.5, iterations=300, alternatives=2)
    ),
    "gate-shed, eight facings": lambda: told(
        footwork.suggest(example("gate-shed"), pitch=1.0, iterations=60, facings=8, seed=3, keep=["saw"])
    ),
    "flat-20": lambda: told(footwork.suggest(room("flat-20"), pitch=0.75, iterations=60)),
    "hub-van": lambda: told(footwork.suggest(room("hub-van"), pitch=0.75, iterations=60)),
    "assignment": plain_assignment,
}


@pytest.mark.parametrize("name", CASES)
def test_results_are_the_same_to_the_last_digit(name: str) -> None:
    now = CASES[name]()
    kept = json.loads(KEPT.read_text()) if KEPT.exists() else {}
    if os.environ.get("FOOTWORK_RESULTS") == "write":
        kept[name] = now
        KEPT.write_text(json.dumps(kept, indent=1) + "\n")
    assert now == kept[name]
