"""``suggest`` on the smallest example, where every layout can be tried."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest

from arrange.random_tables import choices
from footwork.arrange.pairs import PairTable
from footwork.arrange.spots import find_spots
from footwork.arrange.suggest import suggest
from footwork.arrange.suggestion import Progress, Suggestion
from footwork.arrange.truth import Judge
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


def test_same_seed_and_iterations_give_the_same_layout_with_one_and_two_processes() -> None:
    one = suggest(NOOK, seed=3, iterations=400, processes=1)
    two = suggest(NOOK, seed=3, iterations=400, processes=2)
    assert one.best.placements == two.best.placements
    assert one.best.cost == two.best.cost


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
