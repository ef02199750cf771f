"""Where else one thing could stand: the figures are those of ``score``, and so is what is refused."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path
from random import Random

import pytest

from box import BOX
from footwork.checks.run import failing
from footwork.elsewhere import where as looking
from footwork.elsewhere.answer import where as answer
from footwork.elsewhere.pricing import Pricing
from footwork.elsewhere.results import Refusal, Spot, Square, Where
from footwork.elsewhere.where import COARSEST, exact, filling_in
from footwork.elsewhere.why import why
from footwork.floor.plan import Plan
from footwork.model.errors import UsageError
from footwork.model.read import load, loads
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import Score, cost_as_it_is, cost_if_sound, score

ROOT = Path(__file__).parents[2]
SCENARIOS = ROOT / "scenarios"


def failed_musts(scenario: Scenario, layout: Layout) -> set[tuple[str, str]]:
    """Without the words, which take long where much fails."""
    return {key for key, _ in failing(Plan(scenario, layout))}


def failed_at(scenario: Scenario, name: str, refusal: Refusal) -> set[str]:
    """The must-checks that fail where a thing was refused."""
    return {check for check, _ in failed_musts(scenario, moved(scenario, name, refusal.placement))}


def moved(scenario: Scenario, name: str, placement: Placement) -> Layout:
    return scenario.layouts[0].moved({name: placement})


def of(scenario: Scenario, name: str, placement: Placement) -> Score:
    return score(scenario, moved(scenario, name, placement))


def where(scenario: Scenario, name: str, base: Layout | None = None, pitch: float = 0.25) -> Where:
    """All of what is found."""
    *_, found = filling_in(scenario, base or scenario.layouts[0], name, pitch)
    return found


CASES = [("gate-shed", "trestles"), ("gate-shed", "weld"), ("gate-shed", "van"), ("frame-nook", "shelf")]


@pytest.fixture(scope="module", params=CASES, ids=" ".join)
def found(request: pytest.FixtureRequest) -> tuple[Scenario, Where]:
    name, thing = request.param
    scenario = load(SCENARIOS / f"{name}.toml")
    if thing not in [each.name for each in scenario.things]:
        thing = next(s.name for s in scenario.stations if s.fixed is None)
    return scenario, where(scenario, thing)


def test_each_spot_costs_what_score_says(found: tuple[Scenario, Where]) -> None:
    scenario, told = found
    assert told.done
    assert told.cost == pytest.approx(score(scenario).cost, rel=1e-12)
    some = [*told.spots[:2], *Random(1).sample(told.spots, min(4, len(told.spots)))]
    for spot, again in zip(some, exact(scenario, scenario.layouts[0], told, some), strict=True):
        said = of(scenario, told.thing, spot.placement)
        assert said.ok
        assert spot.cost == pytest.approx(said.cost, rel=1e-12)
        assert again.cost == said.cost


def test_where_it_is_refused_that_check_fails(found: tuple[Scenario, Where]) -> None:
    scenario, told = found
    pricing = Pricing(scenario, scenario.layouts[0])
    random = Random(2)
    for example, count in told.reasons:
        assert count > 0
        alike = [r for r in told.refusals if (r.check, r.by and r.by[:1]) == (example.check, example.by)]
        for refusal in [example, *random.sample(alike, min(1, len(alike)))]:
            failed = {
                check for check, _ in failed_musts(scenario, moved(scenario, told.thing, refusal.placement))
            }
            assert failed
            assert not refusal.check or refusal.check in failed
            assert why(pricing, told.thing, refusal)


def test_the_words_of_a_refusal_name_what_stands_in_the_way() -> None:
    scenario = load(SCENARIOS / "gate-shed.toml")
    told = where(scenario, "trestles", pitch=0.5)
    pricing = Pricing(scenario, scenario.layouts[0])
    for refusal, _ in told.reasons:
        if refusal.by:
            words = " ".join(why(pricing, "trestles", refusal))
            assert any(by in words for by in refusal.by), (refusal, words)
            assert "look for another spot" not in words


def test_of_a_square_the_cheapest_spot_is_told() -> None:
    """Against every placement that is tried in it, each scored by itself."""
    scenario = loads(BOX, "box")
    told = where(scenario, "drill", pitch=0.5)
    squares = [square for square in told.squares if square.best is not None]
    for square in Random(3).sample(squares, 6):
        assert square.best is not None
        costs = [square.best.cost]
        for facing in (0.0, 90.0, 180.0, 270.0):
            place = Placement(*square.best.placement.at, facing)
            costs.append(cost_if_sound(scenario, moved(scenario, "drill", place)))
        assert square.best.cost == pytest.approx(min(costs), rel=1e-12)


def test_it_fills_in_from_coarse_to_fine() -> None:
    scenario = loads(BOX, "box")
    stages = list(filling_in(scenario, scenario.layouts[0], "drill", 0.25))
    assert not stages[0].done
    assert stages[-1].done
    for before, after in pairwise(stages):
        for one, two in zip(before.squares, after.squares, strict=True):
            assert (one.column, one.row) == (two.column, two.row)
            assert not one.known or one == two
    stopped = list(filling_in(scenario, scenario.layouts[0], "drill", 0.25, lambda: True))
    assert len(stopped) == 1
    assert COARSEST > 1


def test_what_fails_already_is_no_reason_against_a_spot() -> None:
    """Two others overlap, and a job cannot be walked: the spots of a third cost what score says."""
    scenario = load(SCENARIOS / "gate-shed.toml")
    place = scenario.layouts[0].placements
    shear = place["shear"]
    base = scenario.layouts[0].moved({"fasteners": Placement(shear.x, shear.y, shear.facing)})
    assert failed_musts(scenario, base)
    told = where(scenario, "trestles", base, pitch=0.5)
    assert told.cost == cost_as_it_is(scenario, base)
    assert told.spots
    for spot in told.spots[:4]:
        there = base.moved({"trestles": spot.placement})
        assert failed_musts(scenario, there) <= failed_musts(scenario, base)
        assert spot.cost == pytest.approx(cost_as_it_is(scenario, there), rel=1e-12)


def test_a_job_that_cannot_be_walked_is_squeezed_as_score_does() -> None:
    """The rack looks into the drill: nobody gets to it, wherever the bench is."""
    text = BOX.replace("rack = { at = [5.0, 0.3], facing", "rack = { at = [5.0, 5.0], facing")
    scenario = loads(text, "box")
    before = score(scenario)
    assert any(job.blocked for job in before.jobs)
    told = where(scenario, "bench", pitch=0.5)
    assert told.spots
    for spot in told.spots[:5]:
        assert spot.cost == pytest.approx(of(scenario, "bench", spot.placement).cost, rel=1e-12)


def test_a_spot_for_which_a_way_is_shut_is_refused() -> None:
    scenario = load(SCENARIOS / "gate-shed.toml")
    told = where(scenario, "trestles")
    shut = [r for r in told.refusals if r.check == "reachable"]
    assert shut
    for refusal in shut[:3]:
        assert "reachable" in {
            check for check, _ in failed_musts(scenario, moved(scenario, "trestles", refusal.placement))
        }
        assert "no way" in why(Pricing(scenario, scenario.layouts[0]), "trestles", refusal)[0]


@pytest.mark.parametrize(
    ("name", "line"),
    [
        ("dril", "there is no station or vehicle 'dril'; did you mean 'drill'?"),
        ("sink", "sink does not move: the file says that it is fixed"),
    ],
)
def test_what_has_no_other_place(name: str, line: str) -> None:
    with pytest.raises(UsageError) as caught:
        where(loads(BOX, "box"), name)
    assert caught.value.lines == (line,)


def test_one_of_several_alike_is_asked_for() -> None:
    scenario = load(SCENARIOS / "makerspace.toml")
    with pytest.raises(UsageError, match="name one of them, such as printer-1"):
        where(scenario, "printer")


def test_reasons_count_each_thing_in_the_way() -> None:
    here = Placement(0.0, 0.0, 0.0)
    refusals = [Refusal(here, by=("saw", "bench")), Refusal(here, by=("saw",)), Refusal(here, "in-room")]
    squares = tuple(Square(k, 0, (0.0, 0.0), refused=refusal) for k, refusal in enumerate(refusals))
    told = Where("s", "l", "drill", here, 5.0, 0.25, (*squares, Square(9, 0, (0, 0), Spot(here, 4.0))))
    assert [(r.check, r.by, n) for r, n in told.reasons] == [
        ("", ("saw",), 2), ("", ("bench",), 1), ("in-room", (), 1),
    ]  # fmt: skip
    assert told.change(told.spots[0]) == -1.0


def test_the_answer_tells_the_best_and_reasons() -> None:
    scenario = loads(BOX, "box")
    told = answer(scenario, "drill", pitch=0.5, top=3)
    assert len(told.best) == 3
    for spot in told.best:
        assert spot.cost == of(scenario, "drill", spot.placement).cost
    assert [s.placement for s in told.best] == [s.placement for s in told.found.spots[:3]]
    plain = told.to_dict()
    assert plain["spots"][0]["cost"] == told.best[0].cost
    assert plain["spots"][0]["change"] == told.best[0].cost - told.found.cost
    assert plain["squares"]["possible"] + plain["squares"]["not_possible"] == len(told.found.squares)
    assert all(reason["messages"] for reason in plain["not_possible"])


def test_many_spots_are_tried_for_clashes_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    scenario = loads(BOX, "box")
    whole = where(scenario, "drill", pitch=0.5)
    monkeypatch.setattr("footwork.elsewhere.spots.AT_ONCE", 7)
    assert where(scenario, "drill", pitch=0.5) == whole


def test_a_pitch_too_fine_is_refused() -> None:
    with pytest.raises(
        UsageError, match=r"^a pitch of 0\.02 m gives 120,000 squares of floor, more than the "
    ):
        answer(loads(BOX, "box"), "drill", pitch=0.02)
    assert looking.MOST == 40_000
