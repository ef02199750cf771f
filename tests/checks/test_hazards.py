"""Sparks, dust and what minds them: distances between footprints."""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.model.scenario import CheckSetting, Placement, Scenario
from shed import BENCH, DRILL, SHED, failed, job, one, results, van

# bench x 2.25..3.75, y 3.2..4; drill x 4.7..5.3, y 0..0.6: apart by (0.95, 2.6), 2.768 m


def pair(gives: tuple[str, ...], minds: tuple[str, ...]) -> Scenario:
    return SHED.with_(stations=(replace(BENCH, minds=minds), replace(DRILL, gives=gives)))


def test_sparks_and_flammables() -> None:
    found = one(pair(("sparks",), ("flammable",)), "sparks-flammables", "bench")
    assert not found.ok
    assert found.severity == "should"
    assert found.required == 10.668
    assert found.actual == pytest.approx((0.95**2 + 2.6**2) ** 0.5)
    assert "7.90 m short" in found.message
    assert "shield" in found.message
    assert "fire watch" in found.message


def test_dust_and_what_minds_it() -> None:
    assert one(pair(("dust",), ("dust",)), "gives-minds", "bench").ok
    found = one(
        pair(("dust", "noise"), ("noise", "dust")), "gives-minds", "bench", drill=Placement(4.5, 2.0, 0.0)
    )
    assert found.actual == pytest.approx((0.45**2 + 0.9**2) ** 0.5)
    assert "dust and noise" in found.message
    assert [r for r in results(pair(("fumes",), ("dust",))) if r.id == "gives-minds"] == []


def test_the_file_sets_figure_and_severity() -> None:
    dusty = SHED.with_(
        stations=(replace(BENCH, minds=("dust",)), replace(DRILL, gives=("dust",))),
        checks={"gives-minds": CheckSetting(figure=3.0, severity="must")},
    )
    found = one(dusty, "gives-minds", "bench")
    assert (found.ok, found.required, found.severity, found.source) == (False, 3.0, "must", "your file")


def test_failed_musts_come_first() -> None:
    scenario = SHED.with_(
        stations=(replace(BENCH, minds=("flammable",)), replace(DRILL, gives=("sparks",))),
    )
    found = results(scenario, drill=Placement(4.0, 3.7, 180.0))
    state = [(r.ok, r.severity) for r in found]
    assert state == sorted(state, key=lambda s: (s[0], s[1] != "must"))
    assert state[0] == (False, "must")


def test_sparks_near_a_vehicle_count_only_while_it_can_be_in() -> None:
    sparking = SHED.with_(stations=(BENCH, replace(DRILL, gives=("sparks",))), vehicles=(van(inside=0.3),))
    assert ("vehicle-sparks", "van") in failed(sparking)
    out = sparking.with_(jobs=(job("make", "bench", "drill", outside=("van",)),))
    assert ("vehicle-sparks", "van") not in failed(out)
    never = sparking.with_(vehicles=(van(),))
    assert ("vehicle-sparks", "van") not in failed(never)
    visited = never.with_(jobs=(job("fix", "van", "drill"),))
    assert "cover van" in one(visited, "vehicle-sparks", "van").message
