"""Clear distances: by hand in the small shed, and against shapely wherever a thing may stand."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from footwork.floor.shapes import footprint, outward
from footwork.model.errors import UsageError
from footwork.model.scenario import Placement, Side
from footwork.page.clearances import OPPOSITE, at_distance, clear_distances
from footwork.page.ground import Standing
from shed import BENCH, DRILL, PLACES, SHED, station, van, with_room

GOOD = Standing(SHED, PLACES)


def told(standing: Standing, name: str) -> dict[str, tuple[float, str]]:
    return {side: (round(c.metres, 6), c.to) for side, c in clear_distances(standing, name).items()}


def test_by_hand() -> None:
    """The bench spans x 2.25..3.75 and y 3.2..4.0; below it nothing until the south wall."""
    assert told(GOOD, "bench") == {
        "front": (3.2, "south wall"),
        "back": (0.0, "north wall"),
        "left": (2.25, "west wall"),
        "right": (2.25, "east wall"),
    }


def test_what_is_only_beside_is_not_faced() -> None:
    """A thing that touches the line of the end from aside is not before it; a millimetre further it is."""
    beside = {**PLACES, "drill": Placement(4.05, 1.0, 0.0)}  # x 3.75..4.35: flush with the bench's right end
    assert told(Standing(SHED, beside), "bench")["front"] == (3.2, "south wall")
    before = {**PLACES, "drill": Placement(4.049, 1.0, 0.0)}
    assert told(Standing(SHED, before), "bench")["front"] == (1.9, "drill")


def test_the_line_is_straight_before_the_middle_where_it_can_be() -> None:
    clear = clear_distances(GOOD, "bench")["front"]
    assert clear.start == pytest.approx((3.0, 3.2))
    assert clear.end == pytest.approx((3.0, 0.0))
    aside = {
        **PLACES,
        "drill": Placement(3.9, 1.0, 0.0),
    }  # x 3.6..4.2: the nearest of it to the middle is 3.6
    clear = clear_distances(Standing(SHED, aside), "bench")["front"]
    assert clear.start == pytest.approx((3.6, 3.2))
    assert clear.end == pytest.approx((3.6, 1.3))


def test_an_overlap_is_less_than_nothing_on_one_side() -> None:
    into = {**PLACES, "bench": Placement(3.0, 3.7, 180.0)}
    assert told(Standing(SHED, into), "bench")["back"] == (-0.1, "north wall")
    over = {**PLACES, "drill": Placement(4.0, 3.7, 180.0)}  # 3.7..4.3 over 2.25..3.75: 0.05 from the right
    found = told(Standing(SHED, over), "bench")
    assert found["right"] == (-0.05, "drill")
    assert found["front"] == (3.2, "south wall")


def test_a_vehicle_counts_while_it_is_in() -> None:
    shed = SHED.with_(vehicles=(van(),))
    places = {**PLACES, "van": Placement(2.3, 1.5, 0.0)}  # 1.5..3.1 by 0..3
    assert told(Standing(shed, places), "bench")["front"] == (0.2, "van")
    assert told(Standing(shed, places, frozenset({"van"})), "bench")["front"] == (3.2, "south wall")


def test_what_hangs_clear_above_is_not_faced() -> None:
    shelf = station("shelf", 1.0, 0.4, from_floor=2.1, height=2.5)
    shed = SHED.with_(stations=(BENCH, DRILL, shelf))
    places = {**PLACES, "shelf": Placement(3.0, 2.0, 180.0)}
    assert told(Standing(shed, places), "bench")["front"] == (3.2, "south wall")


def test_a_slanted_wall() -> None:
    """A corner cut off by a wall at 45 degrees: the bench's right end first meets it where it is nearest."""
    outline = ((0.0, 0.0), (6.0, 0.0), (6.0, 3.0), (5.0, 4.0), (0.0, 4.0))
    walls = [
        replace(SHED.room.walls[0], name=str(k), start=a, end=b, inward=(0.0, 1.0))
        for k, (a, b) in enumerate(zip(outline, (*outline[1:], outline[0]), strict=True))
    ]
    shed = with_room(outline=outline, walls=tuple(walls), doors=(), windows=(), yards=(), size=None)
    found = clear_distances(Standing(shed, PLACES), "bench")["right"]
    # along y = 4 the wall begins at x = 5; the bench ends at 3.75
    assert found.metres == pytest.approx(1.25, abs=2e-4)


@pytest.mark.parametrize("side", ["front", "back", "left", "right"])
def test_typed_it_stands_there(side: Side) -> None:
    place = at_distance(Standing(SHED, {**PLACES, "bench": Placement(3.0, 2.0, 180.0)}), "bench", side, 0.4)
    there = Standing(SHED, {**PLACES, "bench": place})
    assert clear_distances(there, "bench")[side].metres == pytest.approx(0.4)


def test_what_has_no_room_is_told_in_one_line() -> None:
    with pytest.raises(UsageError, match=r"bench: there is no room for 3.30 m at its front.* 3.20 m at most"):
        at_distance(GOOD, "bench", "front", 3.3)
    with pytest.raises(UsageError, match="less than nothing"):
        at_distance(GOOD, "bench", "front", -0.1)


STANDING = st.tuples(st.floats(0.5, 5.5), st.floats(0.5, 3.5), st.integers(0, 23))


@settings(max_examples=80, deadline=None)
@given(STANDING, STANDING)
def test_moved_by_what_is_told_it_touches_and_no_more(
    bench: tuple[float, float, int], drill: tuple[float, float, int]
) -> None:
    """Wherever things stand: straight on by the distance told they touch; by a little less, not yet."""
    places = {
        name: Placement(x, y, 15.0 * turn) for name, (x, y, turn) in (("bench", bench), ("drill", drill))
    }
    solids = {"drill": shapely.Polygon(footprint(DRILL, places["drill"]))}
    solids |= {w.name: shapely.LineString([w.start, w.end]) for w in SHED.room.walls}
    own = shapely.Polygon(footprint(BENCH, places["bench"]))
    if any(own.intersects(shape) for shape in solids.values()):
        return
    everything = shapely.union_all(list(solids.values()))
    for side, clear in clear_distances(Standing(SHED, places), "bench").items():
        dx, dy = outward(side, places["bench"].facing)

        def shifted(metres: float, dx: float = dx, dy: float = dy) -> shapely.Geometry:
            return shapely.transform(own, lambda at: at + np.array([metres * dx, metres * dy]))

        assert shifted(clear.metres).distance(everything) < 1e-3
        assert not shifted(clear.metres - 1e-3).intersects(everything)
        assert math.dist(clear.start, clear.end) == pytest.approx(clear.metres, abs=1e-6)
        assert clear.side in OPPOSITE
