"""The tables against the checks in a workshop that has a case of every rule about one thing or two.

For a wheelchair, and all severities `must`: what the checks refuse the tables refuse, and nothing else.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from arrange.test_tables_against_checks import _least_walk
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import SpotList, find_spots
from footwork.checks import faults_alone, faults_pair
from footwork.checks.ground import Ground, Placed
from footwork.floor.plan import Plan
from footwork.model.read import loads
from footwork.model.scenario import Layout, Scenario

WORKSHOP = """
[walker]
profile = "{profile}"
[room]
size = [9.0, 6.5]
doors = [
    {{ name = "gate", wall = "south", from = 0.5, width = 2.6, vehicle = true, height = 2.1, leaf = 2.0 }},
    {{ name = "side", wall = "east", from = 0.5, width = 0.9, swing = "in" }},
]
windows = [{{ wall = "north", from = 5.0, width = 1.5 }}]
keep_clear = [
    {{ name = "panel", at = [8.95, 3.5], size = [0.5, 0.1], facing = "west", kind = "electrical panel" }},
]
fixtures = [{{ name = "socket", at = [9.0, 5.0] }}, {{ name = "extinguisher", at = [4.0, 0.0] }}]
yards = [{{ name = "yard", outline = [[0, -7], [9, -7], [9, 0], [0, 0]] }}]
[stations]
bench = {{ size = [1.6, 0.7], placing = "wall", strip = 0.8, height = 0.9, minds = ["dust"] }}
saw = {{ size = [0.6, 0.6], stock = {{ left = 2.4, width = 0.3 }}, work_height = 0.95, gives = ["dust"] }}
weld = {{ size = [1.2, 0.8], placing = "island", stand = ["front", "back"], gives = ["sparks", "heat"] }}
forge = {{ size = [0.6, 0.6], ignition_height = 0.5, gives = ["heat"], service = {{ back = 0.3 }} }}
booth = {{ size = [1.0, 0.8], gives = ["spray"], height = 2.3 }}
oxygen = {{ size = [0.4, 0.4], holds = ["oxygen"], strip = 0.6 }}
gas = {{ size = [0.4, 0.4], holds = ["fuel gas"], strip = 0.6, within = {{ socket = 4.0 }} }}
paint = {{ size = [0.8, 0.4], minds = ["flammable", "sparks"], height = 1.8 }}
chest = {{ size = [0.7, 0.5], castors = true, height = 1.0 }}
[vehicles]
van = {{ size = [1.8, 3.6], height = 2.0, inside = 0.3, around = {{ left = 0.6, front = 0.6 }} }}
[jobs]
make = {{ times = "3 per week", route = ["bench", "saw", "weld", "bench", "paint", "booth", "chest"] }}
fix = {{ times = "1 per week", route = ["van", "bench", "forge", "gas", "oxygen"] }}
[checks]
{checks}
"""
NEAR = """
sparks-flammables = { figure = 2.0, severity = "must" }
spray-sparks = { figure = 1.5, severity = "must" }
gives-minds = { figure = 1.2, severity = "must" }
vehicle-sparks = { figure = 1.0, severity = "must" }
oxygen-fuel = { figure = 1.4, severity = "must" }
ignition-height = { figure = 0.45, severity = "must" }
stock-vehicle = { severity = "must" }
door-shut = { severity = "must" }
drive-in = 0.5
panel-space = 1.2
placing = 0.3
"""
PITCH = 0.7
CASES = ["standing", "wheelchair"]


@lru_cache
def problem(profile: str) -> tuple[Scenario, tuple[SpotList, ...], PairTable, Tables]:
    scenario = loads(WORKSHOP.format(profile=profile, checks=NEAR))
    lists = find_spots(scenario, PITCH, 4, None)
    some = Layout("some", {s.thing.name: s.placements[0] for s in lists})
    table = PairTable(scenario, lists, False, Plan(scenario, some).building)
    return scenario, lists, table, table.build(1)


@pytest.mark.parametrize("profile", CASES)
def test_every_spot_passes_the_checks_of_the_room(profile: str) -> None:
    scenario, lists, _, _ = problem(profile)
    ground = Ground(scenario)
    for spots in lists:
        assert spots.placements
        for placement in spots.placements[:: max(1, len(spots.placements) // 60)]:
            assert next(faults_alone(ground, Placed(spots.thing, placement)), None) is None


@pytest.mark.parametrize("profile", CASES)
def test_pairs_clash_exactly_where_a_check_fails(profile: str) -> None:
    scenario, lists, table, tables = problem(profile)
    ground = Ground(scenario)
    rng = np.random.default_rng(11)
    at = table.stamps.at
    failed: set[str] = set()
    for _ in range(1500):
        i, j = rng.choice(len(lists), 2, replace=False)
        a = int(rng.integers(tables.first[i], tables.first[i + 1]))
        span = np.arange(tables.first[j], tables.first[j + 1])
        b = int(rng.choice(span[np.argsort(np.hypot(*(at[span] - at[a]).T))[:40]]))
        one, two = (
            Placed(lists[k].thing, lists[k].placements[s - tables.first[k]]) for k, s in ((i, a), (j, b))
        )
        faults = {check for check, _ in faults_pair(ground, one, two)}
        failed |= faults
        clash = bool(tables.pair[a, b] >= tables.clash)
        if faults:
            assert clash, (one, two, faults)
        elif clash:
            assert not np.isfinite(_least_walk(table, i, j, a, b)), (one, two)
    expected = {"no-overlap", "strips-clear", "service-clear", "stock-clear", "drive-in", "vehicle-around"}
    expected |= {"sparks-flammables", "spray-sparks", "gives-minds", "vehicle-sparks", "oxygen-fuel"}
    expected |= {"stock-vehicle"} | ({"wheelchair"} if profile == "wheelchair" else set())
    assert expected <= failed  # each rule has had its say
