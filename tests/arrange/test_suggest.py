"""``suggest`` on the smallest example, where every layout can be tried."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from arrange.random_tables import choices
from cli.run import footwork
from footwork.arrange.core.progress import Progress
from footwork.arrange.core.results import Suggestion
from footwork.arrange.pair_table.table import PairTable
from footwork.arrange.spots.enumerate import find_spots
from footwork.arrange.suggest import suggest
from footwork.arrange.true_cost.judge import Judge
from footwork.floor.plan import Plan
from footwork.model.errors import NoLayoutError, UsageError
from footwork.model.read import load
from footwork.model.scenario import CheckSetting, Layout, Placement
from footwork.scoring import score

SCENARIOS = Path(__file__).parents[2] / "scenarios"
NOOK = load(SCENARIOS / "frame-nook.toml")
QUICK = {"iterations": 1600, "processes": 1}


@lru_cache
def every_layout() -> tuple[tuple[float, tuple[int, ...], int], ...]:
    """(cost, spots, stations moved from today) of every layout that passes its musts, cheapest first."""
    today = NOOK.layouts[0]
    lists = find_spots(NOOK, 0.25, 4, today)
    table = PairTable(NOOK, lists, False, Plan(NOOK, today).building)
    tables, judge = table.build(1), Judge(table)
    base = [
        int(f) + s.placements.index(today.placements[s.thing.name])
        for f, s in zip(table.first, lists, strict=False)
    ]
    found = []
    for choice in choices(tables):
        if tables.clashes(choice):
            continue
        placements = {
            s.thing.name: s.placements[c - f] for s, c, f in zip(lists, choice, table.first, strict=False)
        }
        if score(NOOK, Layout("any", placements)).ok:
            moved = sum(a != b for a, b in zip(choice, base, strict=True))
            found.append((judge(np.array(choice, np.int32)), choice, moved))
    return tuple(sorted(found))


def test_nook_suggestion_is_the_optimum_of_all_layouts_and_proven() -> None:
    result = suggest(NOOK, **QUICK)
    assert result.best.cost == pytest.approx(every_layout()[0][0], rel=1e-9)
    assert result.bound == pytest.approx(result.best.cost, rel=1e-6)
    assert result.status == "proven"
    assert result.best.ok


@pytest.mark.parametrize("moves", [0, 1, 2, 3])
def test_at_most_so_many_stations_move(moves: int) -> None:
    best = min(cost for cost, _, moved in every_layout() if moved <= moves)
    result = suggest(NOOK, "today", moves=moves, **QUICK)
    assert result.best.cost == pytest.approx(best, rel=1e-9)
    assert result.status == "proven"
    assert len(result.moved) <= moves


def test_kept_stations_stay_and_the_base_is_never_beaten_by_worse() -> None:
    result = suggest(NOOK, "today", keep=("bench", "glass"), **QUICK)
    today = NOOK.layouts[0]
    for name in ("bench", "glass"):
        assert result.best.placements[name] == today.placements[name]
    assert result.best.cost <= score(NOOK, today).cost


def test_alternatives_differ_by_three_stations() -> None:
    result = suggest(NOOK, alternatives=2, **QUICK)
    assert len(result.layouts) >= 2
    for k, one in enumerate(result.layouts):
        assert one.ok
        for other in result.layouts[:k]:
            assert sum(one.placements[n] != other.placements[n] for n in one.placements) >= 3


def test_each_alternative_has_its_own_cost_and_the_best_comes_first() -> None:
    found = suggest(NOOK, alternatives=3, **QUICK).layouts
    costs = [one.cost for one in found]
    assert costs == sorted(costs)
    for one in found:
        assert one.cost == pytest.approx(score(NOOK, Layout("again", dict(one.placements))).cost, rel=1e-9)


def test_without_room_for_others_there_are_no_alternatives() -> None:
    """With four of six stations kept, no two layouts can differ by three."""
    keep = ("bench", "glass", "mat", "join")
    assert len(suggest(NOOK, "today", keep=keep, alternatives=5, **QUICK).layouts) == 1


def test_a_base_that_is_already_best_is_proven_so() -> None:
    first = suggest(NOOK, **QUICK)
    best = Layout("best", dict(first.best.placements))
    again = suggest(NOOK, best, **QUICK)
    assert again.status == "proven"
    assert again.best.cost == pytest.approx(first.best.cost, rel=1e-9)
    assert again.base_score is not None
    assert again.base_score.cost == pytest.approx(again.best.cost, rel=1e-3)


def test_savings_add_up() -> None:
    result = suggest(NOOK, "today", moves=3, **QUICK)
    assert result.base_score is not None
    assert result.moved
    assert sum(m.saves for m in result.moved) == pytest.approx(result.base_score.cost - result.best.cost)


def test_a_whole_rearrangement_lists_no_savings() -> None:
    assert suggest(NOOK, "today", **QUICK).moved == ()


def test_progress_only_watches() -> None:
    seen: list[Progress] = []
    watched = suggest(NOOK, progress=seen.append, **QUICK)
    assert watched.best.placements == suggest(NOOK, **QUICK).best.placements
    assert seen[-1].best == pytest.approx(watched.best.cost)
    assert [p.phase for p in seen][-1] == "done"


def test_interrupted_gives_the_best_so_far() -> None:
    def press(state: Progress) -> None:
        if state.phase == "search":
            raise KeyboardInterrupt

    result = suggest(NOOK, progress=press, **QUICK)
    assert result.best.ok
    assert result.bound <= result.best.cost


def test_interrupted_before_anything_is_found_goes_through() -> None:
    def press(state: Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        suggest(NOOK, progress=press, **QUICK)


def test_base_that_fails_its_checks_is_said_and_bettered() -> None:
    today = NOOK.layouts[0]
    bad = today.moved(
        {"mat": Placement(today.placements["bench"].x, today.placements["bench"].y, 180.0)}, "bad"
    )
    result = suggest(NOOK, bad, **QUICK)
    assert result.best.ok
    assert any("bad" in note for note in result.notes)


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        ({"seconds": 0.0}, "seconds"),
        ({"pitch": -1.0}, "pitch"),
        ({"facings": 3}, "facings"),
        ({"moves": 7}, "moves"),
        ({"moves": -1}, "moves"),
        ({"keep": ("bensh",)}, "bench"),
        ({"base": "todya"}, "today"),
        ({"alternatives": -1}, "alternatives"),
        ({"processes": 0}, "processes"),
    ],
)
def test_bad_arguments_are_one_clear_line(arguments: dict[str, object], word: str) -> None:
    with pytest.raises(UsageError, match=word) as caught:
        suggest(NOOK, **arguments)  # type: ignore[arg-type]
    assert len(caught.value.lines) == 1


def test_kept_stations_that_clash_are_named() -> None:
    today = NOOK.layouts[0]
    bad = today.moved({"mat": today.placements["bench"]}, "bad")
    with pytest.raises(NoLayoutError, match=r"(bench|mat).*(bench|mat).*no-overlap"):
        suggest(NOOK, bad, keep=("bench", "mat"), **QUICK)


def test_a_station_without_a_spot_says_which_check_refuses() -> None:
    far = [spot for spot in NOOK.spots if "glass" not in spot.takes]
    out = tuple(s for s in NOOK.spots if "glass" in s.takes)
    moved = tuple(type(s)(s.name, Placement(9.0, 9.0, 0.0), s.takes) for s in out)
    scenario = NOOK.with_(spots=(*far, *moved), layouts=())
    with pytest.raises(NoLayoutError, match=r"glass|moulding.*in-room"):
        suggest(scenario, **QUICK)


def test_json_has_the_fields_of_the_command() -> None:
    result: Suggestion = suggest(NOOK, **QUICK)
    found = result.to_dict()
    assert {"scenario", "base", "layouts", "bound", "gap", "status", "spots", "seconds", "seed"} <= set(found)


def test_two_stations_that_can_never_stand_together_are_named_with_the_check() -> None:
    """The glass must stand 9 m from the mat cutter, in a room of 4.3 m."""
    rules = {"gives-minds": CheckSetting(figure=9.0, severity="must")}
    stations = tuple(replace(s, gives=("dust",)) if s.name == "glass" else s for s in NOOK.stations)
    with pytest.raises(NoLayoutError, match=r"(glass|mat).*(glass|mat).*gives-minds"):
        suggest(NOOK.with_(stations=stations, checks=rules, layouts=()), iterations=400, processes=1)


# -- the command: one line and the promised status


NARROW = """
[room]
size = [4.0, 4.0]
[stations.table]
size = [1.0, 0.8]
placing = "island"
[stations.rack]
size = [1.0, 0.4]
[jobs.build]
times = "1 per week"
route = ["rack", "table"]
[layouts.crossed]
table = { at = [2.0, 2.0], facing = "south" }
rack = { at = [2.0, 2.0], facing = "south" }
"""


@pytest.mark.parametrize(
    ("words", "status", "pattern"),
    [
        (["--seconds", "-1"], 2, r"--seconds.*-1"),
        (["--moves", "3", "--iterations", "9"], 2, r"moves must be from 0 to 2.* not 3"),
        (["--moves", "-1"], 2, r"--moves"),
        (["--pitch", "10", "--iterations", "9"], 1, r"table.*of 16 positions tried, \d+ fail "),
        (["--keep", "table,rack", "--iterations", "9"], 1, r"(table.*rack|rack.*table).*no-overlap"),
        (["--keep", "tabel", "--iterations", "9"], 2, r"tabel.*did you mean 'table'"),
        (["--alternatives", "-1"], 2, r"--alternatives"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_bad_input_to_the_command_is_one_line(
    words: list[str], status: int, pattern: str, tmp_path: Path
) -> None:
    path = tmp_path / "narrow.toml"
    keeps = "--keep" in words or "--moves" in words
    path.write_text(NARROW if keeps else NARROW[: NARROW.index("[layouts")], encoding="utf-8")
    done = footwork("suggest", path, "--processes", "1", "--quiet", *words)
    assert (done.status, done.out) == (status, "")
    assert len(done.err.splitlines()) == 1
    assert re.search(pattern, done.err)


def test_a_base_already_best_is_said_by_the_command(tmp_path: Path) -> None:
    path = tmp_path / "nook.toml"
    path.write_text((SCENARIOS / "frame-nook.toml").read_text(encoding="utf-8"), encoding="utf-8")
    words = ("suggest", path, "--iterations", "1600", "--processes", "1", "--quiet")
    assert footwork(*words, "--save", "best").status == 0
    done = footwork(*words, "--base", "best")
    assert done.status == 0
    assert "nothing shorter than best was found" in done.out
    assert "Proven: no layout on these spots costs less." in done.out
