"""A room by its walls' lengths: what is missing is added, and what the tape is off is told."""

from __future__ import annotations

import pytest

from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.page.editing.walls import Leg, legs_of, rectangle, traced

E, N, W, S = 90.0, 0.0, 270.0, 180.0


def legs(*pairs: tuple[float, float]) -> tuple[Leg, ...]:
    return tuple(Leg(metres, bearing) for metres, bearing in pairs)


@pytest.mark.parametrize(
    ("walked", "corners", "added"),
    [
        (((6, E), (4, N)), ((0, 0), (6, 0), (6, 4), (0, 4)), 2),
        (((4, N), (6, E)), ((0, 0), (0, 4), (6, 4), (6, 0)), 2),
        (((6, E), (4, N), (6, W)), ((0, 0), (6, 0), (6, 4), (0, 4)), 1),
        (((6, E), (4, N), (6, W), (4, S)), ((0, 0), (6, 0), (6, 4), (0, 4)), 0),
        (((7, E), (4, N), (3, W), (2.5, N)), ((0, 0), (7, 0), (7, 4), (4, 4), (4, 6.5), (0, 6.5)), 2),
        (((6, E), (2, N), (2, N), (6, W)), ((0, 0), (6, 0), (6, 4), (0, 4)), 1),
    ],
    ids=["two walls", "the other way round", "three", "all four", "an L", "a wall in two lengths"],
)
def test_what_is_missing_is_added(
    walked: tuple[tuple[float, float], ...], corners: tuple[tuple[float, float], ...], added: int
) -> None:
    found = traced(legs(*walked))
    assert (found.corners, len(found.added), found.off) == (corners, added, 0.0)


def test_a_slanting_wall_is_closed_straight() -> None:
    found = traced(legs((4, E), (3, N), (2, 315.0)))
    assert len(found.added) == 1
    assert found.corners[3] == pytest.approx((4 - 2**0.5, 3 + 2**0.5), abs=1e-5)


def test_a_tape_that_is_off_is_told_and_the_room_closes() -> None:
    found = traced(legs((6, E), (4, N), (5.96, W), (4.03, S)))
    assert found.off == pytest.approx(0.05)
    assert found.corners == ((0, 0), (6, 0), (6, 4), (0.04, 4))


@pytest.mark.parametrize("walked", [(), ((5, E),), ((5, E), (0, N)), ((5, E), (-1, N))])
def test_what_makes_no_room_is_refused(walked: tuple[tuple[float, float], ...]) -> None:
    with pytest.raises(UsageError):
        traced(legs(*walked))


def test_rectangles_are_known() -> None:
    assert rectangle(traced(legs((6, E), (4, N))).corners) == (6.0, 4.0)
    assert rectangle(traced(legs((7, E), (4, N), (3, W), (2, N))).corners) is None
    assert rectangle(((0.0, 0.0), (2.0, 1.0), (1.0, 3.0), (-1.0, 2.0))) is None


def test_the_walls_of_a_room_walk_round_it() -> None:
    """Retraced, they give the outline again."""
    for room in ("size = [6, 4]", "outline = [[1, 1], [1, 5], [4, 5], [4, 3], [7, 3], [7, 1]]"):
        scenario = loads(f"[room]\n{room}\n[stations.bench]\nlike = 'workbench'")
        found = traced(legs_of(scenario.room)).corners
        first = scenario.room.walls[0].start
        moved = {(round(x + first[0], 5), round(y + first[1], 5)) for x, y in found}
        assert moved == set(scenario.room.outline)
