"""Rules of the trade that the whole program has to agree with.

Common practice, no clause: a room of about 7 x 4.3 m (23 x 14 ft) does not take a car beside free-standing
benches, and takes it when the benches go against the walls.
"""

from __future__ import annotations

import re

import numpy as np
import pytest

import footwork
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import find_spots
from footwork.floor.plan import Plan
from footwork.model.errors import NoLayoutError
from footwork.model.read import loads
from footwork.model.scenario import Layout, Scenario

# The car is the B85 vehicle of AS/NZS 2890.1, 4.91 x 1.87 m; the benches are the catalogue's.
GARAGE = """
[room]
size = [7.0, 4.3]
doors = [
    {{ name = "gate", wall = "west", from = 0.95, width = 2.4, vehicle = true }},
    {{ name = "side", wall = "south", from = 5.6, width = 0.9 }},
]
[stations]
bench = {{ like = "{bench}", count = 2 }}
[vehicles]
car = {{ size = [1.87, 4.91], inside = 0.8 }}
[jobs]
make = {{ times = "5 per week", route = ["door:side", "bench-1", "bench-2", "bench-1", "door:side"] }}
"""
PITCH = 0.5


def garage(bench: str) -> Scenario:
    return loads(GARAGE.format(bench=bench))


def ways_to_stand(scenario: Scenario) -> int:
    """How many choices of three spots, one a thing, have no two that clash."""
    lists = find_spots(scenario, PITCH, 4, None)
    some = Layout("some", {s.thing.name: s.placements[0] for s in lists})
    table = PairTable(scenario, lists, False, Plan(scenario, some).building).build(1)
    fits = (table.pair < table.clash).astype(np.int64)
    one, two, car = (slice(*table.first[k : k + 2]) for k in range(3))
    return int(((fits[one, two] @ fits[two, car]) * fits[one, car]).sum())


def test_a_car_does_not_fit_beside_free_standing_benches() -> None:
    scenario = garage("island bench")
    assert ways_to_stand(scenario) == 0
    with pytest.raises(NoLayoutError) as told:
        footwork.suggest(scenario, iterations=64, pitch=PITCH, processes=1)
    assert re.search(r"bench-1 \(\d+ spots\) and car \(\d+ spots\) can't both stand", str(told.value))


def test_a_car_fits_when_the_benches_go_against_the_walls() -> None:
    scenario = garage("workbench")
    assert ways_to_stand(scenario) > 0
    found = footwork.suggest(scenario, iterations=64, pitch=PITCH, processes=1).layouts[0]
    assert found.ok
    assert {c.subject for c in found.checks if c.id == "drive-in" and c.ok} == {"car"}
    assert {c.subject for c in found.checks if c.id == "placing" and c.ok} == {"bench-1", "bench-2"}
