"""What if the guesses are wrong: regrets over a box of frequencies."""

from __future__ import annotations

import json
from dataclasses import replace
from itertools import product
from pathlib import Path

import numpy as np
import pytest
from scipy.optimize import linprog

from cli.run import footwork
from footwork.model.errors import UsageError
from footwork.model.read import load
from footwork.scoring import placements_dict, score, sound
from footwork.show.robust_tables import count_words, flip_words
from footwork.study.cases import Engine
from footwork.study.effort import layout_of
from footwork.study.regret import Costs
from footwork.study.robust import _added, at_times, ranges, robust
from footwork.whatif import apply
from study.rooms import NOOK, QUICK, nook

NOOKS = Path(__file__).parents[2] / "scenarios" / "frame-nook.toml"


def brute(costs: Costs) -> list[float]:
    """The greatest regret of each layout at the corners of the box, one after the other."""
    corners = [np.array(times) for times in product(*zip(costs.low, costs.high, strict=True))]
    rows = np.array([costs.at(times) for times in corners])
    return (rows - rows.min(axis=1)[:, None]).max(axis=0).tolist()  # type: ignore[no-any-return]


def random_costs(seed: int, layouts: int = 5, jobs: int = 4) -> Costs:
    rng = np.random.default_rng(seed)
    told = rng.uniform(10, 200, jobs)
    low, high = told * rng.uniform(0, 1, jobs), told * rng.uniform(1, 3, jobs)
    high[0] = low[0] = told[0]  # one is known
    return Costs(rng.uniform(2, 20, (layouts, jobs)), rng.uniform(0, 300, layouts), low, told, high)


@pytest.mark.parametrize("seed", range(6))
def test_the_greatest_regret_is_that_of_every_corner_and_of_the_linear_program(seed: int) -> None:
    costs = random_costs(seed)
    assert costs.regrets() == pytest.approx(brute(costs))
    box = list(zip(costs.low, costs.high, strict=True))
    for a, b in product(range(5), repeat=2):
        more = costs.each[a] - costs.each[b]
        solved = linprog(-more, bounds=box)
        assert costs.behind()[a, b] == pytest.approx(costs.plain[a] - costs.plain[b] - solved.fun)


@pytest.mark.parametrize("seed", range(6))
def test_the_worst_frequencies_are_those_of_the_greatest_regret(seed: int) -> None:
    costs = random_costs(seed)
    for layout, regret in enumerate(costs.regrets()):
        at = costs.at(costs.worst_times(layout))
        assert at[layout] - at.min() == pytest.approx(regret)
        assert at[costs.rival(layout)] == pytest.approx(at.min())


@pytest.mark.parametrize("seed", range(6))
def test_what_is_left_to_regret_once_a_job_is_counted(seed: int) -> None:
    """By trying a thousand frequencies of that job, each with the best layout for it."""
    costs = random_costs(seed)
    for job in range(1, 4):
        tried = []
        for times in np.linspace(costs.low[job], costs.high[job], 1001):
            low, high = costs.low.copy(), costs.high.copy()
            low[job] = high[job] = times
            tried.append(min(replace(costs, low=low, high=high).regrets()))
        assert costs.if_counted(job) == pytest.approx(max(tried), rel=0.01)
        assert costs.if_counted(job) >= max(tried) - 1e-6
        assert costs.if_counted(job) <= min(costs.regrets()) + 1e-6


def two() -> Costs:
    """The first is 2 m shorter for the one job, the second 1 m for the other, done 10 to 100 times."""
    return Costs(
        np.array([[4.0, 6.0], [6.0, 5.0]]),
        np.zeros(2),
        np.array([20.0, 10.0]),
        np.array([20.0, 30.0]),
        np.array([20.0, 100.0]),
    )


def test_figures_that_can_be_checked_with_a_pencil() -> None:
    costs = two()
    # as told 4 x 20 + 6 x 30 = 260 and 6 x 20 + 5 x 30 = 270; even at 40 times
    assert costs.at(costs.told).tolist() == [260.0, 270.0]
    assert costs.worst.tolist() == [680.0, 620.0]
    assert costs.middle.tolist() == [410.0, 395.0]
    assert costs.even_at(0, 1, 1) == 40.0
    assert costs.even_at(0, 1, 0) is None
    # the first is behind by 100 - 40 = 60 at most, the second by 40 - 10 = 30
    assert costs.regrets().tolist() == [60.0, 30.0]
    assert costs.flips() == [(0, 1)]
    assert costs.if_counted(1) == pytest.approx(0.0)


def test_on_frame_nook_brute_force_agrees() -> None:
    scenario = load(NOOKS)
    rooms = [scenario.layouts[0]]
    for by in ("join by 0,50", "join by -50,0", "mitre by 40,0", "mitre by 20,0", "moulding by 0,20"):
        _, layout = apply(scenario, "today", f"move {by}")
        if sound(scenario, layout):
            rooms.append(replace(layout, name=by))
    assert len(rooms) >= 3
    found = robust(scenario, rooms, percent=60, search=False)
    assert list(found.regrets) == pytest.approx(brute(found.costs))
    corner = found.costs.worst_times(found.best)
    costs = [score(at_times(scenario, corner), layout).cost for layout in rooms]
    assert costs == pytest.approx(found.costs.at(corner).tolist())
    assert costs[found.best] - min(costs) == pytest.approx(min(found.regrets))


def test_ranges_are_those_of_the_file_or_so_many_per_cent() -> None:
    low, told, high = ranges(nook())
    assert (low.tolist(), told.tolist(), high.tolist()) == ([52, 52], [156, 52], [468, 52])
    low, told, high = ranges(nook(), 20)
    assert (low.tolist(), high.tolist()) == (pytest.approx([124.8, 41.6]), pytest.approx([187.2, 62.4]))
    assert ranges(nook(), 150)[0].tolist() == [0, 0]


def test_searching_never_leaves_more_to_regret() -> None:
    found = robust(nook(), effort=QUICK, engine=Engine(1))
    assert found.searched >= 3
    assert min(found.regrets) <= found.regrets[0]
    assert all(each.ok for each in found.scores)
    assert len({each.layout for each in found.scores}) == len(found.scores)
    assert list(found.regrets) == pytest.approx(brute(found.costs))
    again = robust(nook(), [each.as_layout() for each in found.scores], search=False)
    assert again.regrets == pytest.approx(found.regrets)
    words = " ".join([count_words(found), *flip_words(found)])
    assert "costs less" in words or "Count frame first" in words


def test_of_layouts_that_always_cost_the_same_the_first_is_shown() -> None:
    scenario = load(NOOKS)
    known = [score(scenario, "today")]
    hair, moved = (
        {"placements": placements_dict(apply(scenario, "today", f"move bench by {by}")[1].placements)}
        for by in ("0.1,0", "20,0")
    )
    found = _added(scenario, known, [hair, moved, None, {"why": "none"}, moved])
    assert [each.layout for each in found] == ["today", "found 1"]
    assert found[1].placements == layout_of(moved["placements"], "found 1").placements


def test_wrong_arguments_are_refused() -> None:
    plain = nook(NOOK.replace(', times_range = ["1 per week", "9 per week"]', ""))
    for call, said in (
        (lambda: robust(plain), "no job has a times_range"),
        (lambda: robust(nook(), percent=0), "percent must be above 0"),
        (lambda: robust(nook(), search=False), "no two layouts"),
        (lambda: robust(nook(), ["tody"]), "did you mean 'today'"),
    ):
        with pytest.raises(UsageError, match=said):
            call()  # type: ignore[no-untyped-call]


SHORT = ("--iterations", 60, "--pitch", 0.5, "--seed", 3, "--processes", 1)


def test_the_commands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    path = tmp_path / "nook.toml"
    path.write_text(NOOK)
    done = footwork("robust", path, "--search", *SHORT, "--json", "--out", tmp_path / "r.svg")
    told = json.loads(done.out)
    assert done.status == 0
    assert told["count_first"][0]["job"] == "frame"
    assert (tmp_path / "r.svg").read_text().count("<svg") == 1
    same = footwork("suggest", path, "--robust", *SHORT, "--save", "safe")
    assert same.status == 0
    assert f"{told['searched']} layouts" in same.out
    saved = load(path)
    assert score(saved, "safe").cost == pytest.approx(told["layouts"][told["best"]]["told"], rel=1e-4)
    two_layouts = footwork("robust", path, "today", "safe", "--percent", 30)
    assert two_layouts.status == 0
    assert "greatest regret" in two_layouts.out
    for words in (["--moves", 1], ["--keep", "saw"], ["--anywhere"], ["--plan"], ["--alternatives", 2]):
        refused = footwork("suggest", path, "--robust", *words)
        assert (refused.status, refused.out) == (2, "")
        assert "exclude each other" in refused.err
