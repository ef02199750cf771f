"""The fewest things that have to go for a way to open: against trying every set."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest

from footwork.floor.barriers import MOST, Barriers
from footwork.floor.scene import Obstacle, Scene
from footwork.model.scenario import Room, Yard

Box = tuple[float, float, float, float]
START, END = (0.5, 0.5), (5.5, 3.5)
WIDTH = 0.6
SQUARE = ((0.0, 0.0), (6.0, 0.0), (6.0, 4.0), (0.0, 4.0))
ROOM = Room(outline=SQUARE, walls=(), size=(6.0, 4.0))


def scene(boxes: dict[str, Box]) -> Scene:
    """Walls round 6 x 4 m, and boxes as least and greatest x and y."""
    walls = Obstacle.from_walls("walls", list(zip(SQUARE, (*SQUARE[1:], SQUARE[0]), strict=True)))
    things = [Obstacle.from_ring(n, [(a, b), (c, b), (c, d), (a, d)]) for n, (a, b, c, d) in boxes.items()]
    return Scene((walls, *things))


def smallest(boxes: dict[str, Box], fixed: frozenset[str] = frozenset()) -> list[set[str]]:
    barriers = Barriers.of(scene(boxes), ROOM, boxes.keys() - fixed, WIDTH)
    return [set(names) for names in barriers.smallest(START, END)]


def test_one_thing_across_the_room() -> None:
    """0.5 m stay beside it."""
    assert smallest({"shelf": (3.0, 0.5, 3.4, 4.0)}) == [{"shelf"}]


def test_either_of_two_that_leave_too_narrow_a_gap() -> None:
    assert smallest({"low": (3.0, 0.0, 3.4, 1.7), "high": (3.0, 2.2, 3.4, 4.0)}) == [{"high"}, {"low"}]


def test_two_rows_one_behind_the_other_are_both_named() -> None:
    """Each row leaves 0.5 m at one wall."""
    rows = {"row": (2.0, 0.5, 2.4, 4.0), "wall of boxes": (4.0, 0.0, 4.4, 3.5)}
    assert smallest(rows) == [{"row", "wall of boxes"}]


def test_what_is_free_needs_nothing_to_go() -> None:
    assert smallest({"shelf": (3.0, 1.0, 3.4, 3.0)}) == [set()]


def test_what_is_fixed_does_not_go() -> None:
    assert smallest({"stove": (3.0, 0.5, 3.4, 4.0)}, frozenset({"stove"})) == []
    gap = {"low": (3.0, 0.0, 3.4, 1.7), "high": (3.0, 2.2, 3.4, 4.0)}
    assert smallest(gap, frozenset({"high"})) == [{"low"}]


def test_no_more_than_four_are_looked_for() -> None:
    across = {f"row {k}": (0.9 + 0.8 * k, 0.0, 1.1 + 0.8 * k, 4.0) for k in range(MOST + 1)}
    assert smallest(across) == []
    del across["row 0"]
    assert smallest(across) == [set(across)]


def test_a_yard_is_floor_too() -> None:
    """Past the shelf by the yard below."""
    yard = Yard("apron", ((0.0, -2.0), (6.0, -2.0), (6.0, 0.0), (0.0, 0.0)))
    shelf = Obstacle.from_ring("shelf", [(3.0, -2.0), (3.4, -2.0), (3.4, 4.0), (3.0, 4.0)])
    room = Room(outline=SQUARE, walls=(), size=(6.0, 4.0), yards=(yard,))
    found = Barriers.of(Scene((shelf,)), room, ["shelf"], WIDTH).smallest((1.0, 1.0), (5.0, -1.0))
    assert found == ({"shelf"},)


@pytest.mark.parametrize("seed", range(40))
def test_as_trying_every_set(seed: int) -> None:
    rng = np.random.default_rng(seed)
    boxes: dict[str, Box] = {}
    for k in range(7):
        x, y = rng.uniform((1.0, 0.0), (5.0, 4.0))
        wide, deep = rng.uniform(0.3, 2.2, 2)
        boxes[f"box {k}"] = (x - wide / 2, max(0.0, y - deep / 2), x + wide / 2, min(4.0, y + deep / 2))
    boxes = {n: b for n, b in boxes.items() if not _near(b, START) and not _near(b, END)}

    def opens(gone: tuple[str, ...]) -> bool:
        left = scene({n: b for n, b in boxes.items() if n not in gone})
        return math.isfinite(left.length(START, END, WIDTH / 2))

    tried: list[set[str]] = []
    for size in range(MOST + 1):
        tried = [set(gone) for gone in combinations(sorted(boxes), size) if opens(gone)]
        if tried:
            break
    found = smallest(boxes)
    assert len(found) == len(tried)
    assert all(gone in tried for gone in found)


def _near(box: Box, at: tuple[float, float]) -> bool:
    dx = max(box[0] - at[0], 0.0, at[0] - box[2])
    dy = max(box[1] - at[1], 0.0, at[1] - box[3])
    return math.hypot(dx, dy) < WIDTH / 2
