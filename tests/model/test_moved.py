"""What counts as moved: one rule for tables, JSON, plans and the order of a move."""

from __future__ import annotations

import pytest

from footwork.arrange.spots.enumerate import find_spots
from footwork.arrange.suggest import suggest
from footwork.model.moved import has_moved
from footwork.model.read import loads
from footwork.model.scenario import Layout, Placement
from footwork.model.spelling import held_layout

HERE = Placement(1.0, 2.0, 90.0)
SHED = """
units = "ft"
[room]
size = [16.0, 12.0]
[stations]
bench = { size = [5.0, 2.0], placing = "wall" }
rack = { size = [4.0, 1.5], placing = "wall" }
saw = { size = [3.0, 2.0], placing = "island" }
[jobs.build]
times = "4 per week"
route = ["rack", "saw", "bench", "saw"]
"""


@pytest.mark.parametrize(
    ("after", "moves"),
    [
        (Placement(1.004, 2.0, 90.0), False),
        (Placement(1.0, 2.006, 90.0), True),
        (Placement(1.0, 2.0, 90.1), False),
        (Placement(1.0, 2.0, -270.0), False),
        (Placement(1.0, 2.0, 91.0), True),
        (Placement(1.0, 2.0, 270.0), True),
    ],
)
def test_less_than_a_tape_tells_is_no_move(after: Placement, moves: bool) -> None:
    assert has_moved(HERE, after) == moves
    assert has_moved(None, after)


def test_what_was_saved_stands_on_its_spot_and_nothing_has_moved() -> None:
    scenario = loads(SHED)
    found = suggest(scenario, iterations=100, pitch=0.3, processes=1).best
    saved = held_layout(Layout("saved", found.placements), scenario)
    assert saved.placements != found.placements, "feet hold no metre to the last digit"
    again = scenario.with_(layouts=(saved,))
    spots = [find_spots(scenario, 0.3, 4, base) for base in (None, saved)]
    assert [len(one.placements) for one in spots[0]] == [len(one.placements) for one in spots[1]]
    better = suggest(again, "saved", iterations=100, pitch=0.3, processes=1, moves=2)
    assert better.moved == ()
    assert not any(has_moved(saved.placements[name], p) for name, p in better.best.placements.items())
