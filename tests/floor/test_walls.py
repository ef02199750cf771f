"""Walls less openings, yard edges, and the ground outside, on the small shed and an L."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from footwork.floor.overlap import depth
from footwork.floor.shapes import convex_pieces
from footwork.floor.walls import outside_by, outside_of, shared_interval, solid, wall_segments
from footwork.model.scenario import Door, Room, Wall, Yard
from shed import ROOM, box_at


def lines(room: Room) -> list[tuple[str, tuple[float, float], tuple[float, float]]]:
    return [(w.name, w.start, w.end) for w in wall_segments(room)]


def test_walls_of_the_shed() -> None:
    # the roller door opens to the yard; the side door leads nowhere and stays a wall; the yard's north
    # edge is the room's south wall and is there once
    assert lines(ROOM) == [
        ("south", (0.0, 0.0), (1.0, 0.0)),
        ("south", (3.6, 0.0), (6.0, 0.0)),
        ("east", (6.0, 0.0), (6.0, 4.0)),
        ("north", (0.0, 4.0), (6.0, 4.0)),
        ("west", (0.0, 0.0), (0.0, 4.0)),
        ("yard apron", (0.0, -5.0), (6.0, -5.0)),
        ("yard apron", (6.0, -5.0), (6.0, 0.0)),
        ("yard apron", (0.0, 0.0), (0.0, -5.0)),
    ]


def test_a_yard_wider_than_the_room_has_walls_beside_it() -> None:
    wide = replace(ROOM, yards=(Yard("apron", ((-2, -5), (6, -5), (6, 0), (-2, 0))),))
    north = [w for w in lines(wide) if w[0] == "yard apron" and w[1][1] == w[2][1] == 0]
    assert north == [("yard apron", (0.0, 0.0), (-2, 0))] or north == [("yard apron", (0, 0.0), (-2, 0))]


def test_an_opening_is_a_gap_only_along_its_yard() -> None:
    narrow = replace(ROOM, yards=(Yard("apron", ((2, -5), (6, -5), (6, 0), (2, 0))),))
    south = [w for w in lines(narrow) if w[0] == "south"]
    assert south == [("south", (0.0, 0.0), (2.0, 0.0)), ("south", (3.6, 0.0), (6.0, 0.0))]


def test_two_yards_share_an_edge_once() -> None:
    yards = (
        Yard("left", ((0, -5), (3, -5), (3, 0), (0, 0))),
        Yard("right", ((3, -5), (6, -5), (6, 0), (3, 0))),
    )
    room = replace(ROOM, doors=(), yards=yards)
    between = [w for w in lines(room) if w[1][0] == w[2][0] == 3]
    assert between == [("yard left", (3, -5), (3, 0))]


def test_intervals() -> None:
    assert shared_interval((0, 0), (10, 0), (7, 0), (3, 0)) == (3.0, 7.0)
    assert shared_interval((0, 0), (10, 0), (8, 0), (12, 0)) == (8.0, 10.0)
    assert shared_interval((2, 0), (2, 10), (2, 7), (2, 3)) == (3.0, 7.0)
    assert shared_interval((0, 0), (6, 8), (1.2, 1.6), (4.5, 6.0)) == pytest.approx((2.0, 7.5))
    assert shared_interval((0, 0), (10, 0), (3, 0.001), (7, 0.001)) is None
    assert shared_interval((0, 0), (10, 0), (3, 0), (3, 4)) is None
    assert outside_of(10.0, [(3.0, 5.0), (4.0, 6.0), (9.99995, 12.0)]) == ((0.0, 3.0), (6.0, 9.99995))


@pytest.mark.parametrize("indoors", [True, False])
def test_solid_is_all_that_is_not_floor(indoors: bool) -> None:
    pieces = solid(ROOM, indoors)
    area = sum(shapely.Polygon(p).area for p in pieces)
    # the box grown by 10 m, less the room of 24 m2; with the yard of 30 m2 both
    assert area == pytest.approx(26 * 24 - 24 if indoors else 26 * 29 - 54)
    drill = convex_pieces(box_at(2.0, -1.0, 0.6, 0.6))
    assert (depth(drill, pieces) > 0) is indoors


def test_how_far_out_of_the_room() -> None:
    assert outside_by(convex_pieces(box_at(5.8, 2.0, 0.6, 0.6)), ROOM, True) == pytest.approx(0.1)
    assert outside_by(convex_pieces(box_at(5.7, 2.0, 0.6, 0.6)), ROOM, True) == pytest.approx(0.0)
    assert outside_by(convex_pieces(box_at(90.0, 2.0, 0.6, 0.6)), ROOM, True) > 80


def test_an_inner_corner_sticks_into_what_stands_over_it() -> None:
    ring = ((0.0, 0.0), (4.0, 0.0), (4.0, 2.0), (2.0, 2.0), (2.0, 4.0), (0.0, 4.0))
    ends = zip(ring, (*ring[1:], ring[0]), strict=True)
    walls = tuple(Wall(str(k + 1), a, b, (0.0, 1.0)) for k, (a, b) in enumerate(ends))
    room = Room(ring, walls)
    assert outside_by(convex_pieces(box_at(1.8, 1.8, 0.6, 0.6)), room, True) == pytest.approx(0.1)
    assert outside_by(convex_pieces(box_at(1.7, 1.7, 0.6, 0.6)), room, True) == pytest.approx(0.0)


def test_a_yard_drawn_a_hair_off_the_wall_leaves_no_sliver() -> None:
    off = replace(ROOM, yards=(Yard("apron", ((0, -5), (6, -5), (6, -5e-5), (0, -5e-5))),))
    across = convex_pieces(box_at(2.3, 0.0, 1.0, 1.0))
    assert depth(across, solid(off, False)) <= 0
    assert [w for w in lines(off) if w[0] == "south"] == [w for w in lines(ROOM) if w[0] == "south"]


def test_a_door_without_a_yard_is_shut() -> None:
    shut = replace(ROOM, doors=(Door("roller", "south", (1.0, 0.0), (3.6, 0.0), (0.0, 1.0)),))
    assert ("south", (0.0, 0.0), (6.0, 0.0)) in lines(shut)
