"""One layout for the year, or another each season: against every layout of a room with few spots."""

from __future__ import annotations

import json
import math
import os
import signal
from itertools import product
from pathlib import Path

import numpy as np
import pytest

from cli.run import footwork
from footwork.model.errors import NoLayoutError, UsageError
from footwork.model.read import load, loads
from footwork.model.scenario import Layout
from footwork.scoring import cost_if_sound, score
from footwork.study.cases import Done, Engine
from footwork.study.seasons import Seasons, cheapest, in_season, seasons
from study.rooms import NOOK, TURN, TURN_QUICK, turn


@pytest.fixture(scope="session")
def every() -> list[tuple[Layout, float, float]]:
    """Every layout on the spots that is sound in some season, and what each season costs in it."""
    scenario = turn()
    parts = [in_season(scenario, name) for name in ("winter", "summer")]
    takes = {
        s.name: [spot.placement for spot in scenario.spots if s.name in spot.takes] for s in scenario.stations
    }
    layouts = [
        Layout("any", dict(zip(takes, places, strict=True))) for places in product(*takes.values())
    ]  # fmt: skip
    costs = [(each, *(cost_if_sound(part, each) for part in parts)) for each in layouts]
    return [row for row in costs if math.isfinite(min(row[1:]))]


def test_the_seasons_of_a_layout_make_up_its_year(every: list[tuple[Layout, float, float]]) -> None:
    scenario = turn()
    assert len(every) >= 8
    for layout, winter, summer in every:
        if math.isfinite(winter + summer):
            assert winter + summer == pytest.approx(score(scenario, layout).cost, rel=1e-9)
            told = [score(in_season(scenario, s), layout).metres_per_year for s in ("winter", "summer")]
            assert told == pytest.approx([*score(scenario, layout).metres_by_season.values()], rel=1e-9)


def test_the_best_of_the_year_and_of_each_season_are_those_of_all_layouts(
    turns: Seasons, every: list[tuple[Layout, float, float]]
) -> None:
    assert turns.year is not None
    assert turns.year.cost == pytest.approx(min(winter + summer for _, winter, summer in every), rel=1e-9)
    free = turns.plans[-1]
    assert free.costs[0] == pytest.approx(min(winter for _, winter, _ in every), rel=1e-9)
    assert free.costs[1] == pytest.approx(min(summer for _, _, summer in every), rel=1e-9)
    assert free.cost < turns.year.cost
    assert turns.bound <= free.cost + 1e-6
    assert turns.bound >= 0.99 * free.cost


def test_each_plan_moves_more_and_costs_less(turns: Seasons) -> None:
    for fewer, more in zip(turns.plans, turns.plans[1:], strict=False):
        assert fewer.carries < more.carries
        assert fewer.cost > more.cost
    for plan in turns.plans:
        for k, change in enumerate(plan.changes):
            last = {carry.name: carry.after for carry in change.carries}
            for name, place in last.items():
                assert place == plan.layouts[k].placements[name]


def test_what_pays_depends_on_how_long_a_carry_takes(turns: Seasons) -> None:
    quick = seasons(turn(), most=1, minutes=0.0, effort=TURN_QUICK, engine=Engine(1))
    assert quick.best == max(range(len(quick.plans)), key=lambda k: quick.hours_saved(quick.plans[k]))
    slow = Seasons(turns.scenario, turns.before, turns.plans, turns.bound, minutes=10_000.0)
    assert slow.plans[slow.best] is turns.year
    plan = turns.plans[-1]
    at_the_brink = Seasons(turns.scenario, turns.before, (turns.plans[0], plan), 0.0, turns.pays_below(plan))
    assert at_the_brink.hours_carrying(plan) == pytest.approx(turns.hours_saved(plan))


def test_an_interrupt_shows_what_was_found_of_each_season(turns: Seasons) -> None:
    """The layouts of the year and of the seasons are there; none with few things moved is looked for."""

    def interrupt(done: Done) -> None:
        if done.of != 3:
            os.kill(os.getpid(), signal.SIGINT)

    found = seasons(turn(), most=1, effort=TURN_QUICK, engine=Engine(1, progress=interrupt))
    assert found.left == 4
    assert found.year is not None
    assert found.plans[-1].cost == pytest.approx(turns.plans[-1].cost)


def test_the_cheapest_rows_are_those_of_brute_force() -> None:
    draw = np.random.default_rng(5)
    for _ in range(30):
        costs = draw.integers(10, 60, (5, 3)).astype(float)
        costs[draw.random((5, 3)) < 0.15] = math.inf
        moved = draw.integers(1, 4, (5, 5))
        moved = np.triu(moved, 1) + np.triu(moved, 1).T
        best: dict[int, float] = {}
        for row in product(range(5), repeat=3):
            count = sum(int(moved[row[k - 1], row[k]]) for k in range(3))
            best[count] = min(
                best.get(count, math.inf), sum(costs[layout, k] for k, layout in enumerate(row))
            )
        wanted, least = [], math.inf
        for count in sorted(best):
            if best[count] < least:
                least = best[count]
                wanted.append((count, least))
        got = cheapest(costs, moved)
        told = [
            (
                sum(int(moved[row[k - 1], row[k]]) for k in range(3)),
                sum(costs[layout, k] for k, layout in enumerate(row)),
            )
            for row in got
        ]
        assert told == wanted


def test_a_season_has_its_own_jobs_and_vehicles() -> None:
    winter, summer = (in_season(turn(), name) for name in ("winter", "summer"))
    assert [job.name for job in winter.jobs] == ["fetch", "frame"]
    assert [job.name for job in summer.jobs] == ["fetch", "mend"]
    assert winter.jobs[0].times_per_year == pytest.approx(52 * 5 / 12)
    assert winter.prefer[0].weight + summer.prefer[0].weight == pytest.approx(20)
    with pytest.raises(UsageError, match="no season 'autumn'"):
        in_season(turn(), "autumn")


def test_what_cannot_be_asked_is_refused() -> None:
    with pytest.raises(UsageError, match="no two seasons"):
        seasons(loads(NOOK))
    with pytest.raises(UsageError, match="most must be from 0 to 3"):
        seasons(turn(), most=4)
    with pytest.raises(UsageError, match="minutes must be 0 or more"):
        seasons(turn(), minutes=math.nan)
    full = "size = [4.0, 3.2]\nkeep_clear = [{ name = 'all', at = [2, 1.6], size = [4, 3.2] }]"
    narrow = turn(TURN.replace("size = [4.0, 3.2]", full))
    with pytest.raises(NoLayoutError):
        seasons(narrow, most=0, effort=TURN_QUICK, engine=Engine(1))


def test_the_command_tells_what_to_carry_and_saves_a_layout_a_season(tmp_path: Path) -> None:
    path = tmp_path / "nook.toml"
    path.write_text(TURN)
    short = ("--iterations", 40, "--seed", 3, "--processes", 1, "--most", 0)
    words = ("seasons", path, *short, "--journal", tmp_path / "cases.jsonl")
    told = json.loads(footwork(*words, "--json").out)
    assert [each["name"] for each in told["seasons"]] == ["winter", "summer"]
    assert told["plans"][told["best"]]["carries"] == 0
    last = len(told["plans"]) - 1
    done = footwork(*words, "--plan", last, "--save", "turn", "--out", tmp_path / "turn.svg")
    assert done.status == 0
    assert "Into winter" in done.out
    assert "of 3 searched, 3 of them before" in done.err
    assert (tmp_path / "turn.svg").read_text().count("<svg") == 1
    saved = load(path)
    assert [layout.name for layout in saved.layouts] == ["today", "turn-winter", "turn-summer"]
    parts = (in_season(saved, name) for name in ("winter", "summer"))
    costs = [score(part, layout).cost for part, layout in zip(parts, saved.layouts[1:], strict=True)]
    assert costs == pytest.approx(told["plans"][last]["costs"], rel=1e-4)
    again = footwork(*words, "--save", "turn")
    assert (again.status, again.out) == (2, "")
    assert "the file has a layout of that name" in again.err
    over = footwork(*words, "--plan", 99)
    assert over.status == 2
    assert "there are plans 0 to" in over.err
