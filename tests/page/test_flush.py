"""Coming flush: by hand in the small shed, and what always holds."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from footwork.floor.shapes import footprint, outward, side_line
from footwork.model.scenario import Placement
from footwork.page.flush import REACH, SIDES_THAT_MEET, flush, wall_bearing
from footwork.page.ground import Standing
from shed import BENCH, DRILL, PLACES, SHED, station


def moved(name: str, x: float, y: float, facing: float, turned: bool = False) -> tuple[float, float]:
    place = flush(Standing(SHED, {**PLACES, name: Placement(x, y, facing)}), [name], turned)[name]
    assert place.facing == facing
    return (round(place.x, 6), round(place.y, 6))


def test_a_back_comes_to_its_wall_from_either_side() -> None:
    assert moved("bench", 3.0, 3.51, 180.0) == (3.0, 3.6)
    assert moved("bench", 3.0, 3.69, 180.0) == (3.0, 3.6)


def test_beyond_a_hands_breadth_it_stays() -> None:
    assert moved("bench", 3.0, 3.49, 180.0) == (3.0, 3.49)


def test_a_front_does_not() -> None:
    """Facing the wall 0.05 m away: one could not stand there anyway."""
    assert moved("bench", 3.0, 3.55, 0.0) == (3.0, 3.55)


def test_a_corner_takes_back_and_end() -> None:
    assert moved("bench", 5.2, 3.55, 180.0) == (5.25, 3.6)


def test_ends_come_to_neighbours() -> None:
    """The drill at x 4.7..5.3 by the south wall; a bench beside it with its back there, end to its left."""
    assert moved("bench", 3.9, 0.45, 0.0) == (3.95, 0.4)


def test_backs_come_to_backs() -> None:
    """Two islands: the bench's back to the drill's back."""
    places = {"bench": Placement(3.1, 1.44, 0.0), "drill": Placement(3.0, 2.2, 180.0)}
    # the bench's back is its south side, y 1.04; put the drill with its back (north side) below it
    places["drill"] = Placement(3.0, 0.68, 180.0)
    found = flush(Standing(SHED, places), ["bench"])["bench"]
    assert found.y - 0.4 == pytest.approx(0.68 + 0.3)
    assert found.x == pytest.approx(3.1)


def test_several_move_as_one() -> None:
    places = {"bench": Placement(3.0, 3.55, 180.0), "drill": Placement(4.2, 2.0, 180.0)}
    found = flush(Standing(SHED, places), ["bench", "drill"])
    assert (found["bench"].y, found["drill"].y) == pytest.approx((3.6, 2.05))


def test_what_is_turned_into_a_wall_comes_back_out() -> None:
    """A quarter turn of the bench at the north wall: 1.5 long, it reached 0.35 through it."""
    assert moved("bench", 3.0, 3.6, 90.0, turned=True) == (3.0, 3.25)
    assert moved("bench", 3.0, 3.6, 90.0) == (3.0, 3.6)


def test_a_wall_on_a_slant() -> None:
    """Turned by 45 degrees nothing is parallel to it."""
    assert moved("bench", 3.0, 3.0, 225.0) == (3.0, 3.0)


def test_bearings_come_to_walls_and_to_whole_degrees() -> None:
    standing = Standing(SHED, PLACES)
    assert [wall_bearing(standing, b) for b in (3.0, 356.2, 87.4, 101.3)] == [0.0, 0.0, 90.0, 101.0]


def test_what_hangs_does_not_come_flush_with_what_is_below() -> None:
    shelf = station("shelf", 1.0, 0.4, from_floor=2.1, height=2.5)
    low = station("bench", 1.5, 0.8, height=0.9)
    shed = SHED.with_(stations=(low, DRILL, shelf))
    places = {**PLACES, "shelf": Placement(3.0, 2.95, 180.0)}  # its back 0.05 from the bench's front
    assert flush(Standing(shed, places), ["shelf"])["shelf"].y == 2.95


@settings(max_examples=150, deadline=None)
@given(st.floats(0.9, 5.1), st.floats(0.9, 3.1), st.integers(0, 3))
def test_nothing_moves_further_than_a_hand_each_way(x: float, y: float, quarter: int) -> None:
    """And where it has moved, an edge of it lies on an edge of something: shapely agrees."""
    before = Placement(x, y, 90.0 * quarter)
    standing = Standing(SHED, {**PLACES, "bench": before})
    after = flush(standing, ["bench"])["bench"]
    assert abs(after.x - x) <= REACH + 1e-9
    assert abs(after.y - y) <= REACH + 1e-9
    if math.hypot(after.x - x, after.y - y) > 1e-9:
        solids = [shapely.Polygon(footprint(DRILL, PLACES["drill"])).exterior]
        solids += [shapely.LineString([w.start, w.end]) for w in SHED.room.walls]
        edges = [shapely.LineString(side_line(BENCH, after, side)) for side in SIDES_THAT_MEET]
        shared = [e.buffer(1e-6).intersection(s).length for e in edges for s in solids]
        assert max(shared) >= 0.049
    assert outward("back", after.facing) == outward("back", before.facing)
