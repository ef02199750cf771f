"""Checks of two things ask only those that are near or of the kind: the same faults as asking every two."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from arrange.test_tables_of_every_rule import NEAR, WORKSHOP
from checks.test_told_moves import random_layout
from footwork.checks.case import Arranged
from footwork.checks.ground import Ground, Placed
from footwork.checks.run import BY_TOUCH, BY_VEHICLE, PAIRS, faults_pair, musts
from footwork.floor.plan import Plan
from footwork.model.read import loads

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
