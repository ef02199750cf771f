"""Checks of two things ask only those that are near or of the kind: the same faults as asking every two."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from arrange.test_tables_of_every_rule import NEAR, WORKSHOP
from checks.test_told_moves import random_layout
from footwork.checks.apart import least_apart
from footwork.checks.beside import VEHICLE_MARGIN
from footwork.checks.case import Arranged
from footwork.checks.ground import Ground, Placed
from footwork.checks.run import BY_TOUCH, BY_VEHICLE, PAIRS, faults_alone, faults_pair, musts
from footwork.floor.plan import Plan
from footwork.model.read import loads
from footwork.model.scenario import CheckSetting, Station, Vehicle

SCENARIO = loads(WORKSHOP.format(profile="standing", checks=NEAR))


def arranged(seed: int) -> Arranged:
    return Arranged(Plan(SCENARIO, random_layout(SCENARIO, np.random.default_rng(seed))), (), musts)


@pytest.mark.parametrize("seed", range(6))
def test_no_fault_is_missed(seed: int) -> None:
    layout = arranged(seed)
    ground: Ground = layout.ground
    met = 0
    for rule, pair in PAIRS:
        asked = list(combinations(layout.placed, 2))
        if rule.id in BY_TOUCH:
            asked = list(layout.pairs_within(0.0))
        elif rule.id in BY_VEHICLE:
            asked = list(layout.pairs_with_a_vehicle)
        elif ground.under(rule).figure is not None:
            asked = list(layout.pairs_within(ground.under(rule).figure or 0.0))
        every = [(a.name, b.name) for a, b in combinations(layout.placed, 2) if any(pair(ground, a, b))]
        assert every == [(a.name, b.name) for a, b in asked if any(pair(ground, a, b))], rule.id
        met += len(every)
    assert met >= 3


def test_two_things_are_asked_by_every_rule_that_could_fail() -> None:
    layout = arranged(0)
    plain = {
        (a.name, b.name, rule.id)
        for a, b in combinations(layout.placed, 2)
        for rule, pair in PAIRS
        if any(pair(layout.ground, a, b))
    }
    quick = {
        (a.name, b.name, rule)
        for a, b in combinations(layout.placed, 2)
        for rule, _ in faults_pair(layout.ground, a, b, strict=True)
    }
    assert plain == quick


def test_boxes_hold_all_that_a_thing_claims() -> None:
    for placed in arranged(1).placed:
        x0, y0, x1, y1 = placed.box
        for ring in _rings(placed):
            assert (ring >= (x0 - 1e-9, y0 - 1e-9)).all()
            assert (ring <= (x1 + 1e-9, y1 + 1e-9)).all()


def _rings(placed: Placed) -> list[np.ndarray]:
    beside = (*placed.strips, *placed.reaches, *placed.service, *placed.stock)
    return [*placed.body.pieces, *(claim.body.pieces[0] for claim in beside)]


def test_alone_a_thing_is_held_by_musts_or_strictly_by_all() -> None:
    def told(strict: bool, **checks: CheckSetting) -> set[str]:
        scenario = SCENARIO.with_(checks={**SCENARIO.checks, **checks})
        layouts = [random_layout(SCENARIO, np.random.default_rng(seed)) for seed in range(6)]
        placed = [Arranged(Plan(scenario, each), (), musts) for each in layouts]
        faults = (faults_alone(one.ground, each, strict) for one in placed for each in one.placed)
        return {name for found in faults for name, _ in found}

    assert "open-leaf" in told(strict=False)
    milder = {"open-leaf": CheckSetting(severity="should")}
    assert told(strict=False, **milder) == told(strict=False) - {"open-leaf"}
    assert told(strict=True, **milder) >= told(strict=False)


def test_things_keep_from_a_vehicle_what_is_a_must() -> None:
    layout = arranged(0)
    van = next(p.thing for p in layout.placed if isinstance(p.thing, Vehicle))
    bench = next(p.thing for p in layout.placed if isinstance(p.thing, Station))
    must = layout.ground.under(VEHICLE_MARGIN).severity == "must"
    assert (least_apart(layout.ground, van, bench) > 0.0) == must
    assert least_apart(layout.ground, van, bench, strict=True) > 0.0
