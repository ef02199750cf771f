"""The path engine against closed forms: exact arcs, and polylines that lie outside them."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from engine import scene
from judge.known import DISC, FREE, GRAZE, KNOWN, SQUARES, Known


def drawn_length(points: tuple) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(points))


@pytest.mark.parametrize("known", KNOWN, ids=lambda k: k.name)
def test_length_is_that_of_the_true_arcs(known: Known) -> None:
    path = scene(known).path(known.start, known.end, known.radius)
    assert path.length == pytest.approx(known.length, abs=1e-6)


@pytest.mark.parametrize("known", KNOWN, ids=lambda k: k.name)
def test_drawn_path_is_never_shorter_and_at_most_half_a_percent_longer(known: Known) -> None:
    path = scene(known).path(known.start, known.end, known.radius)
    assert path.length - 1e-9 <= drawn_length(path.points) <= path.length * 1.005
    assert path.points[0] == pytest.approx(known.start)
    assert path.points[-1] == pytest.approx(known.end)


@pytest.mark.parametrize("known", KNOWN, ids=lambda k: k.name)
def test_the_way_back_is_as_long(known: Known) -> None:
    made = scene(known)
    there, back = (
        made.path(known.start, known.end, known.radius),
        made.path(known.end, known.start, known.radius),
    )
    assert back.length == pytest.approx(there.length, abs=1e-12)


def test_a_grazed_corner_is_no_turn() -> None:
    assert scene(GRAZE).path(GRAZE.start, GRAZE.end, 0.0).points == (GRAZE.start, GRAZE.end)


def test_a_free_way_is_one_line() -> None:
    assert scene(FREE).path(FREE.start, FREE.end, FREE.radius).points == (FREE.start, FREE.end)


def test_a_path_names_what_it_turns_round() -> None:
    known = SQUARES[3]
    assert scene(known).path(known.start, known.end, known.radius).round == ("thing 0",)


def test_a_start_inside_something_has_no_way_out() -> None:
    assert scene(DISC).path((0.5, 0.0), (2.0, 0.0), 1.0).length == math.inf
    assert scene(DISC).path((0.5, 0.0), (2.0, 0.0), 1.0).points == ()
