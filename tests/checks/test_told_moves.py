"""Where a message says "move drill 0.51 m east", that move mends what the message is about.

On random layouts of a workshop that has a case of most rules: every move that is told is made, and the
fault it was told for is gone.
"""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

import footwork
from arrange.test_tables_of_every_rule import NEAR, WORKSHOP
from footwork.checks.mending import COMPASS
from footwork.checks.result import CheckResult, listed
from footwork.model.read import loads
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import sound

TOLD = re.compile(r"move ([\w-]+) (\d+\.\d+) m (east|north|west|south)\b")
ALSO = re.compile(r"(?:, | and )([\w-]+) (\d+\.\d+) m (east|north|west|south)\b")


def random_layout(scenario: Scenario, rng: np.random.Generator) -> Layout:
    """Everything somewhere about the room to 0.01 m; the wall stations near a wall, the van at the gate."""
    places = {}
    for thing in scenario.things:
        x, y = (round(float(v), 2) for v in rng.uniform((0.2, 0.2), (8.8, 6.3)))
        facing = float(rng.choice([0.0, 90.0, 180.0, 270.0]))
        if thing.name == "bench":
            y, facing = round(float(rng.uniform(5.4, 6.3)), 2), 180.0
        if thing.name == "van":
            x, y, facing = round(float(rng.uniform(1.2, 2.6)), 2), round(float(rng.uniform(1.2, 3.4)), 2), 0.0
        places[thing.name] = Placement(x, y, facing)
    return Layout("random", places)


def after_told(layout: Layout, message: str) -> Layout | None:
    """The layout after the moves that a message tells first, those told together with it too."""
    first = TOLD.search(message)
    if first is None:
        return None
    told, end = [first.groups()], first.end()
    while (also := ALSO.match(message, end)) is not None:
        told.append(also.groups())
        end = also.end()
    places = {}
    for name, metres, word in told:
        at, way = layout.placements[name], COMPASS[word]
        places[name] = replace(at, x=at.x + float(metres) * way[0], y=at.y + float(metres) * way[1])
    return layout.moved(places)


def musts(scenario: Scenario, layout: Layout) -> dict[tuple[str, str], float]:
    """The must-checks that a layout fails, and how much is missing."""
    found = {}
    for result in footwork.score(scenario, layout).checks:
        if not result.ok and result.severity == "must":
            missing = abs((result.required or 0.0) - (result.actual or 0.0))
            found[result.id, result.subject] = missing
    return found


def moves_told(profile: str, seed: int) -> list[tuple[str, bool]]:
    """(check, whether the fault went away) for every move told about one random layout."""
    scenario = loads(WORKSHOP.format(profile=profile, checks=NEAR))
    layout = random_layout(scenario, np.random.default_rng(seed))
    found = []
    for result in footwork.score(scenario, layout).checks:
        there = None if result.ok else after_told(layout, result.message)
        if there is None:
            continue
        after = footwork.score(scenario, there).checks
        same = [c for c in after if (c.id, c.subject) == (result.id, result.subject) and not c.ok]
        mended = not same or _about(result) != _about(same[0])
        found.append((f"{result.id}: {result.message} -> {[c.message for c in same]}", mended))
    return found


def _about(result: CheckResult) -> tuple[str, str]:
    """What is wrong with what: the message without its figures and without what to do about it."""
    said = result.message.split(": move ")[0]
    return result.id, re.sub(r"\d+(\.\d+)? m|\(.*?\)", "", said)


@pytest.mark.parametrize("profile", ["standing", "wheelchair"])
def test_a_told_move_mends_its_fault(profile: str) -> None:
    told = [one for seed in range(2 if profile == "standing" else 1) for one in moves_told(profile, seed)]
    assert len(told) > 10
    assert not [words for words, mended in told if not mended]
    ids = {words.split(":")[0] for words, _ in told}
    assert ids >= {"strips-clear", "placing", "in-room"}


@pytest.mark.parametrize("seed", range(3))
def test_no_must_check_fails_by_a_told_move(seed: int) -> None:
    """Of the whole layout, its own thing's or not; nor does one that fails already fail by more."""
    scenario = loads(WORKSHOP.format(profile="standing", checks=NEAR))
    layout = random_layout(scenario, np.random.default_rng(seed))
    before, tried = musts(scenario, layout), 0
    for message in {c.message for c in footwork.score(scenario, layout).checks if not c.ok}:
        there = after_told(layout, message)
        if there is not None:
            tried += 1
            for key, missing in musts(scenario, there).items():
                # of what cannot be walked it is counted how many legs that is, not how narrow
                known = key in before and (key[0] == "reachable" or missing <= before[key] + 2e-4)
                assert known, (message, key)
    assert tried > 2


@pytest.mark.parametrize("seed", range(6))
def test_sound_says_what_the_score_says(seed: int) -> None:
    scenario = loads(WORKSHOP.format(profile="standing", checks="" if seed % 2 else NEAR))
    layout = random_layout(scenario, np.random.default_rng(seed))
    score = footwork.score(scenario, layout)
    assert sound(scenario, layout) == score.ok
    assert sound(scenario, layout, strict=True) == (score.ok and all(c.ok for c in score.checks))


def test_of_many_the_rest_is_counted() -> None:
    assert listed(list("abc")) == "a, b and c"
    assert listed(list("abcde"), most=5) == "a, b, c, d and e"
    assert listed(list("abcde"), most=3) == "a, b and 3 more"
