"""The cost kept up to date move by move, against the cost of a layout computed anew."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

import footwork
from footwork import Placement
from footwork.floor.evaluator import Evaluator
from footwork.floor.plan import Plan
from footwork.floor.routes import Walks
from footwork.floor.wishes import wish_metres

EXAMPLES = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_moves_and_undos_give_the_cost_computed_anew(path: Path) -> None:
    scenario = footwork.load(path)
    today = scenario.layouts[0]
    rng = np.random.default_rng(1)
    evaluator = Evaluator(scenario, today)
    names = [s.name for s in scenario.stations if s.fixed is None]
    names += [v.name for v in scenario.vehicles]
    finite = 0
    for _ in range(60):
        before = evaluator.cost
        changes = {}
        for name in rng.choice(names, size=1 + int(rng.random() < 0.3), replace=False):
            at = evaluator.placements[name] if rng.random() < 0.5 else today.placements[name]
            x, y = np.add(at.at, rng.normal(0, 0.3, 2))
            changes[str(name)] = Placement(x, y, (at.facing + rng.choice([0, 0, 90, 10])) % 360)
        cost = evaluator.move(changes)
        plan = Plan(scenario, evaluator.layout("now"))
        walks = Walks(plan)
        jobs = [job for job in scenario.jobs if job.times_per_year]
        anew = math.fsum(job.times_per_year * walks.job(job).metres for job in jobs)
        assert cost == pytest.approx(anew + wish_metres(scenario, plan.placements), rel=1e-12)
        finite += math.isfinite(cost)
        if math.isinf(cost) or rng.random() < 0.5:
            evaluator.undo()
            assert evaluator.cost == pytest.approx(before, rel=1e-12)
    assert finite > 10
    evaluator.move({name: today.placements[name] for name in names})
    assert evaluator.cost == pytest.approx(Evaluator(scenario, today).cost, rel=1e-12)
