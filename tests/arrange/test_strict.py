"""``--strict``: should-checks as must-checks, in the answer, in the base, and in why there is none."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from arrange.every_layout import every_score, wishes_failed
from cli.run import footwork
from footwork.arrange.suggest import suggest
from footwork.model.errors import NoLayoutError
from footwork.model.read import loads
from footwork.model.scenario import Scenario

QUICK = {"iterations": 400, "processes": 1}

DUSTY = """
[room]
size = [8.0, 4.0]
[stations.rack]
size = [1.0, 0.4]
fixed = { at = [4.0, 3.8], facing = "south" }
[stations.varnish]
size = [0.4, 0.4]
minds = ["dust"]
fixed = { at = [7.8, 1.9], facing = "west" }
[stations.bench]
size = [1.0, 0.6]
gives = ["dust"]
[[spots]]
at = [6.5, 0.3]
facing = "north"
takes = ["bench"]
[jobs.build]
times = "10 per day"
route = ["rack", "bench"]
[layouts.today]
rack = { at = [4.0, 3.8], facing = "south" }
varnish = { at = [7.8, 1.9], facing = "west" }
bench = { at = [6.5, 0.3], facing = "north" }
"""
"""The bench at x = 6.5 is 1.25 m from the varnish, which minds its dust: 2 m are wanted."""

FAR = """
[[spots]]
at = [1.0, 0.3]
facing = "north"
takes = ["bench"]
"""
"""A spot for it that is further from the rack and from the varnish."""


CORRIDOR = """
[room]
size = [7.0, 2.0]
doors = [{ name = "side", wall = "east", from = 0.6, width = 0.8 }]
fixtures = [{ name = "boiler", at = [2.2, 0.375], size = [0.8, 0.75] }]
[stations.rack]
size = [1.0, 0.4]
fixed = { at = [0.2, 1.0], facing = "east" }
[stations.bench]
size = [1.2, 0.6]
strip = 0.6
[[spots]]
at = [2.2, 1.7]
facing = "south"
takes = ["bench"]
[jobs.build]
times = "10 per day"
route = ["rack", "bench"]
[layouts.today]
rack = { at = [0.2, 1.0], facing = "east" }
bench = { at = [2.2, 1.7], facing = "south" }
"""
"""Between the bench and the boiler 0.65 m are left, wide enough to walk; the way out wants 0.711 m.  No two
things fail this check by themselves: only the whole layout does."""

BEYOND = """
[[spots]]
at = [5.0, 1.7]
facing = "south"
takes = ["bench"]
"""
"""A spot for the bench, further from the rack, with 1.4 m beside it."""

ROOMS = pytest.mark.parametrize(
    ("room", "check", "near", "far"),
    [(DUSTY + FAR, "gives-minds", 6.5, 1.0), (CORRIDOR + BEYOND, "way-out", 2.2, 5.0)],
    ids=["two stations", "the whole layout"],
)
WITHOUT = pytest.mark.parametrize(
    ("room", "check"),
    [(DUSTY, "gives-minds"), (CORRIDOR, "way-out")],
    ids=["two stations", "the whole layout"],
)


def without_base(text: str) -> Scenario:
    return loads(text).with_(layouts=())


@ROOMS
def test_a_dearer_layout_that_passes_every_check_goes_before_a_cheaper_that_fails_one(
    room: str, check: str, near: float, far: float
) -> None:
    scenario = without_base(room)
    loose = suggest(scenario, **QUICK).best
    assert loose.placements["bench"].x == near
    assert {c.id for c in loose.checks if not c.ok} == {check}
    result = suggest(scenario, strict=True, **QUICK)
    assert result.best.placements["bench"].x == far
    assert all(c.ok for c in result.best.checks)
    assert result.status == "proven"


@ROOMS
def test_a_base_that_fails_a_should_check_is_no_start_and_is_said_to(
    room: str, check: str, near: float, far: float
) -> None:
    scenario = loads(room)
    result = suggest(scenario, "today", strict=True, **QUICK)
    assert result.base_score is not None
    assert result.base_score.placements["bench"].x == near
    assert result.best.placements["bench"].x == far
    assert result.best.cost > result.base_score.cost
    (note,) = result.notes
    assert note.startswith(f"layout today itself fails {check}")
    assert suggest(scenario, "today", **QUICK).notes == ()


@WITHOUT
@pytest.mark.parametrize("base", [True, False])
def test_where_every_layout_fails_a_should_check_the_line_names_it(room: str, check: str, base: bool) -> None:
    scenario = loads(room) if base else without_base(room)
    assert suggest(scenario, **QUICK).best.ok
    with pytest.raises(NoLayoutError, match=check) as told:
        suggest(scenario, strict=True, **QUICK)
    assert len(told.value.lines) == 1


@WITHOUT
def test_the_command_says_so_in_one_line_and_leaves_with_1(room: str, check: str, tmp_path: Path) -> None:
    path = tmp_path / "room.toml"
    path.write_text(room, encoding="utf-8")
    words = ("suggest", path, "--iterations", "80", "--processes", "1", "--quiet")
    assert footwork(*words).status == 0
    done = footwork(*words, "--strict")
    assert (done.status, done.out) == (1, "")
    assert re.fullmatch(rf"footwork: .*{check}.*\n", done.err)


@pytest.mark.parametrize("kept", [(), ("bench",)])
def test_what_is_kept_where_it_fails_a_should_check_leaves_no_strict_layout(kept: tuple[str, ...]) -> None:
    scenario = loads(DUSTY + FAR)
    if not kept:
        assert suggest(scenario, keep=kept, strict=True, **QUICK).best.ok
        return
    with pytest.raises(NoLayoutError, match="gives-minds"):
        suggest(scenario, keep=kept, strict=True, **QUICK)


# --- among many

MANY = """
[room]
size = [6.0, 2.4]
doors = [{ name = "side", wall = "east", from = 0.6, width = 0.8 }]
[stations.rack]
size = [1.0, 0.4]
fixed = { at = [0.2, 1.2], facing = "east" }
[jobs.build]
times = "10 per day"
route = ["rack", "bench", "saw", "bench", "chest", "rack"]
"""


def many() -> Scenario:
    """Benches along both walls of a passage 2.4 m wide: 0.6 to 0.8 m are left between two that face."""
    text = MANY
    for name, width, depth in (("bench", 1.2, 0.85), ("saw", 0.8, 0.85), ("chest", 0.6, 0.9)):
        text += f"[stations.{name}]\nsize = [{width}, {depth}]\nstrip = 0.6\n"
        for x in (1.4, 2.6, 3.8, 5.0):
            text += f'[[spots]]\nat = [{x}, {depth / 2}]\nfacing = "north"\ntakes = ["{name}"]\n'
            text += f'[[spots]]\nat = [{x}, {2.4 - depth / 2}]\nfacing = "south"\ntakes = ["{name}"]\n'
    return loads(text)


def test_the_strict_suggestion_is_the_best_of_all_layouts_that_fail_nothing() -> None:
    scenario = many()
    every = every_score(scenario)
    best = next(s for s in every if not wishes_failed(s))
    cheaper = every.index(best)
    assert cheaper >= 10
    result = suggest(scenario, strict=True, **QUICK)
    assert wishes_failed(result.best) == 0
    assert best.cost * (1 - 1e-9) <= result.best.cost <= best.cost * 1.001
    assert result.bound <= best.cost * (1 + 1e-9)
