"""Walking and prices told apart, what is accepted in the file's words, what a room makes impossible."""

from __future__ import annotations

from dataclasses import replace

import pytest

from footwork.arrange.core.results import Suggestion, Unavoidable
from footwork.checks.result import CheckResult
from footwork.model.read import loads
from footwork.model.scenario import Scenario
from footwork.scoring import Score, score
from footwork.show import tables
from footwork.show.report.proof import proof
from footwork.show.report.tables import checks, checks_lead, figures
from footwork.show.walked import Walked
from show.test_tables import shown

# In "near" the grinder is 1 m from the paint, in "far" 4 m; sparks want 10.668 m, dust 2 m.
FILE = """
[room]
size = [6, 4]
[stations]
grinder = { size = [0.5, 0.5], gives = ["sparks", "dust"] }
paint = { size = [0.5, 0.5], minds = ["flammable", "dust"] }
[jobs.mend]
times = "1 per week"
route = ["grinder", "paint", "grinder"]
[layouts.near]
grinder = { at = [1, 1], facing = "north" }
paint = { at = [2.5, 1], facing = "north" }
[layouts.far]
grinder = { at = [1, 1], facing = "north" }
paint = { at = [5.5, 1], facing = "north" }
"""
ACCEPTED = FILE + '[checks]\naccepted = { sparks-flammables = "a fire watch is kept" }\n'


@pytest.fixture
def shed() -> Scenario:
    return loads(FILE)


def scores(scenario: Scenario) -> list[Score]:
    return [score(scenario, name) for name in ("near", "far")]


# sparks: half of 3000 m, and of the other half what is missing of 10.668 m; dust: 1 m of 2 m of 1500 m
NEAR = 1500 + 1500 * (1 - 1 / 10.668) + 750 + 750 * 0.5
FAR = 1500 + 1500 * (1 - 4 / 10.668)
# 1.5 m there and back, 52 times; 4.5 m
WALKED = (52 * 2 * 1.5, 52 * 2 * 4.5)


def test_the_figures_by_pencil(shed: Scenario) -> None:
    near, far = scores(shed)
    assert (near.check_metres, far.check_metres) == pytest.approx((NEAR, FAR))
    assert (near.metres_per_year, far.metres_per_year) == pytest.approx(WALKED)


def test_score_tells_walking_and_prices_apart(shed: Scenario) -> None:
    near, _ = scores(shed)
    said = shown(tables.score, near, scenario=shed)
    assert "156 m walked a year" in said
    assert f"with failed should-checks {NEAR:,.0f} it costs {156 + NEAR:,.0f} m a year" in said
    free = loads(FILE + "[checks]\nsparks-flammables = { price = 0 }\ngives-minds = { price = 0 }\n")
    assert "failed should-checks" not in shown(tables.score, score(free, "near"), scenario=free)


def test_compare_does_too(shed: Scenario) -> None:
    said = shown(tables.compare, scores(shed), scenario=shed, width=100)
    row = next(line for line in said.splitlines() if line.startswith("failed should-checks, m a year"))
    assert row.split()[-2:] == [f"{NEAR:,.0f}", f"{FAR:,.0f}"]
    assert "checks accepted" not in said


def test_and_so_does_the_report(shed: Scenario) -> None:
    rows = {row.cells[0].words: row for row in figures(shed, scores(shed)).rows}
    assert rows["failed should-checks, metres"].cells[1].words == f"{NEAR:,.0f}"
    assert rows["cost, metres"].cells[2].words == f"{WALKED[1] + FAR:,.0f}"


def test_what_is_accepted_is_listed_with_its_words() -> None:
    taken = loads(ACCEPTED)
    near, far = scores(taken)
    said = " ".join(shown(tables.score, near, scenario=taken).split())
    assert (
        "1 check accepted as the file says - sparks-flammables: grinder gives sparks 1.00 m from paint"
        in said
    )
    assert "(accepted: a fire watch is kept)" in said
    assert "1 should-check failed - gives-minds" in said
    compared = shown(tables.compare, [near, far], scenario=taken, width=100)
    assert next(x for x in compared.splitlines() if x.startswith("checks accepted")).split()[-2:] == [
        "1",
        "1",
    ]


def test_a_report_lists_it_between_what_fails_and_what_holds() -> None:
    taken = loads(ACCEPTED)
    near, far = scores(taken)
    rows = [[cell.words for cell in row.cells] for row in checks(taken, [near, far]).rows]
    assert rows[0][0] == "gives-minds"  # mended in the second layout
    assert rows[1][:4] == ["sparks-flammables", "paint", "accepted", "accepted"]
    assert rows[1][4].endswith("(accepted: a fire watch is kept)")
    assert [row[0] for row in rows].count("sparks-flammables") == 1
    assert checks_lead([near]).endswith(", 1 accepted as the file says.")


def suggestion(best: Score, **changes: object) -> Suggestion:
    found = Suggestion("Shed", None, None, (best,), 0.9 * best.cost, 12, 1.0, 1)
    return replace(found, **changes)  # type: ignore[arg-type]


IMPOSSIBLE = (Unavoidable("sparks-flammables", "paint", ("grinder",), 10.668, 6),)


def test_suggest_says_which_failed_shoulds_the_room_makes_impossible(shed: Scenario) -> None:
    found = suggestion(score(shed, "far"), unavoidable=IMPOSSIBLE)
    said = shown(tables.suggestion, found, scenario=shed)
    assert said.index("1 should-check failed") < said.index("1 of them cannot hold in this room")
    assert " - sparks-flammables: no two spots of grinder and paint are 10.668 m apart\n" in said
    assert "cannot hold" not in shown(tables.suggestion, suggestion(score(shed, "far")), scenario=shed)
    assert (
        "In this room sparks-flammables cannot hold: no two spots of grinder and paint are 10.668 m apart."
        in (proof(found, Walked()).lead)
    )


def test_the_proof_says_what_the_bound_leaves_out(shed: Scenario) -> None:
    words = "What way-out and lead-across cost is left out of the bound: they hang on the whole layout."
    found = suggestion(score(shed, "far"), uncounted=("way-out", "lead-across"))
    assert words in " ".join(shown(tables.suggestion, found, scenario=shed).split())
    assert words in proof(found, Walked()).lead
    assert "left out of the bound" not in shown(
        tables.suggestion, suggestion(score(shed, "far")), scenario=shed
    )


def test_what_was_accepted_is_told_of_a_suggestion_too() -> None:
    taken = loads(ACCEPTED)
    said = shown(tables.suggestion, suggestion(score(taken, "far")), scenario=taken)
    assert "1 check accepted as the file says" in said


def test_json_has_price_and_words() -> None:
    result = next(c for c in score(loads(ACCEPTED), "near").checks if c.accepted)
    assert isinstance(result, CheckResult)
    told = result.to_dict()
    assert (told["ok"], told["price"], told["accepted"]) == (True, 0.0, "a fire watch is kept")
