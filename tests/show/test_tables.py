"""Tables: what they say of small sheds, no figure cut short, plain text when piped."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable
from dataclasses import replace

import pytest
from rich.console import Console

from box import BOX
from footwork.arrange.core.results import Saving, Suggestion
from footwork.checks import rules
from footwork.model.catalogue import CATALOGUE
from footwork.model.errors import Problem
from footwork.model.read import loads
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import Standing, score
from footwork.show import tables, text
from footwork.show.mats import by_side, mat_reason
from footwork.show.places import place_words, turn_words
from footwork.show.walk_words import repeated
from footwork.whatif import Session
from show.sheds import crowded
from show.test_walk_words import SHUT

BOX_SHED = loads(BOX)


def shown(table: Callable[..., None], *things: object, width: int = 80, **more: object) -> str:
    """What a table writes to a pipe."""
    out = io.StringIO()
    table(*things, Console(file=out, width=width, highlight=False), **more)
    return out.getvalue()


def suggestion(**changes: object) -> Suggestion:
    base, best = score(BOX_SHED, "today"), score(BOX_SHED, "closer")
    found = Suggestion("Box", "today", base, (best,), bound=0.96 * best.cost, spots=120, seconds=4.0, seed=1)
    return replace(found, **changes)  # type: ignore[arg-type]


def test_score_says_the_figures_of_the_box_shed() -> None:
    said = shown(tables.score, score(BOX_SHED, "today"))
    lines = said.splitlines()
    assert lines[0] == "Box, layout today"
    assert lines[1] == "1,186 m walked a year, 0.3 hours, 1,581 steps"
    assert lines[2] == "on a day with fetch: 11 steps, 7 seconds of walking"  # 8.4 m at 1.2 m/s
    assert lines[4].split("  ")[0] == "job"
    hang = next(line for line in lines if line.startswith("hang"))
    assert hang.split() == ["hang", "52", "6.0", "312", "0", "%"]
    pair = next(line for line in lines if line.startswith(("drill and rack", "rack and drill")))
    assert pair.split()[-4:] == ["437", "437", "74", "%"]


def test_failed_checks_come_first_then_the_count_of_passed() -> None:
    layout = BOX_SHED.layouts[0]
    bad = layout.moved({"drill": layout.placements["bench"]})
    said = shown(tables.score, score(BOX_SHED, bad))
    assert said.index("must-check") < said.index("checks passed: ")
    assert " - no-overlap: " in said
    assert "cannot be walked" in said or "m walked a year" in said


def test_the_caution_is_printed_with_safety_checks() -> None:
    assert text.CAUTION in " ".join(shown(tables.rules, rules({})).split())
    assert text.CAUTION in shown(tables.score, score(crowded(), "today"))


def test_suggestion_puts_the_present_figures_beside() -> None:
    said = shown(tables.suggestion, suggestion(), scenario=BOX_SHED)
    assert said.startswith("Box: ")
    assert "% less walking than today" in said.splitlines()[0]
    moved = next(line for line in said.splitlines() if line.startswith("drill"))
    assert moved.split("  ")[-4:] == [
        "5.00 m east, 5.70 m north",
        "south",
        "4.00 m east, 5.70 m north",
        "south",
    ]
    assert "as now: bench, rack, sink, van" in said
    assert "No layout on these spots can save more than another 4.0 %," in said
    assert "Searched 120 spots for 4.0 s, seed 1." in said


def test_a_finished_proof_says_so_of_a_tie_too() -> None:
    cost = score(BOX_SHED, "closer").cost
    found = suggestion(bound=cost - 1.0, finished=True, unseen=1.0)
    said = " ".join(shown(tables.suggestion, found, scenario=BOX_SHED).split())
    assert found.status == "proven"
    assert f"Proven: no layout on these spots costs less than {cost - 1.0:,.0f} m a year, 1 m under" in said


@pytest.mark.parametrize(
    ("unseen", "says"),
    [
        (None, "% less"),
        (0.0, "All of it is arrangements that the time was too short to rule out."),
        (10.0, "10 m walks round other stations, which the bound sees late."),
        (math.inf, "All of it is walks round other stations, which the bound sees late."),
    ],
)
def test_what_the_gap_is_made_of(unseen: float | None, says: str) -> None:
    found = suggestion()
    gap = found.cost_on_spots - found.bound
    found = suggestion(unseen=None if unseen is None else min(unseen, gap))
    said = " ".join(shown(tables.suggestion, found, scenario=BOX_SHED).split())
    assert says in said
    assert ("too short to rule out" in said) == (unseen in (0.0, 10.0))


@pytest.mark.parametrize(
    ("changes", "says"),
    [
        ({"bound": 0.0}, "no bound was found"),
        ({"bound": score(BOX_SHED, "closer").cost}, "Proven: no layout on these spots costs less."),
        ({"moved": (Saving("drill", 156.0),)}, "each saves m a year"),
        ({"notes": ("bench has no spot but its own",)}, "Note: bench has no spot but its own."),
        ({"base": None, "base_score": None}, "goes to"),
    ],
)
def test_suggestion_says_how_good_it_is(changes: dict[str, object], says: str) -> None:
    said = shown(tables.suggestion, suggestion(**changes))
    assert says in " ".join(said.split())


def test_no_layout_is_said() -> None:
    said = shown(tables.suggestion, suggestion(layouts=()))
    assert "No layout that passes every must-check was found." in said


def test_other_layouts_name_what_differs() -> None:
    best, other = score(BOX_SHED, "closer"), score(BOX_SHED, "today")
    said = shown(tables.suggestion, suggestion(layouts=(best, other)))
    row = next(line for line in said.splitlines() if line.strip().startswith("2 "))
    assert row.split()[-1] == "drill"


def test_change_says_before_after_and_difference() -> None:
    session = Session(BOX_SHED, "today")
    said = shown(tables.change, session.do("move drill by -1,0"))
    assert said.splitlines()[0] == "move drill by -1,0"
    hang = next(line for line in said.splitlines() if line.startswith("hang"))
    assert hang.split() == ["hang", "312", "208", "-104", "-33.3", "%"]


def test_a_check_that_turned_is_said() -> None:
    said = shown(tables.change, Session(BOX_SHED, "today").do("move drill to 2.0,5.7"))
    assert "now fails (must): no-overlap: " in said


def test_compare_sets_layouts_side_by_side() -> None:
    said = shown(tables.compare, [score(BOX_SHED, "today"), score(BOX_SHED, "closer")])
    lines = said.splitlines()
    assert lines[1].split() == ["today", "closer"]
    assert next(line for line in lines if line.startswith("hang")).split()[-2:] == ["6.0", "4.0"]
    assert "closer costs least" in said


def test_walk_reads_like_going_through_the_job() -> None:
    figures = score(BOX_SHED, "today")
    said = shown(tables.walk, figures, figures.job("hang"), width=100)
    assert "1. Stand at the front of bench." in said
    # facing north at the bench, the drill is to the east
    assert (
        "2. Turn right and walk 3.00 m to the front of drill; turn left to face it. 4 steps, 2.5 s." in said
    )
    assert "3. Turn left and walk 3.00 m to the front of bench; turn right to face it." in said
    assert "In all 6.00 m, 8 steps, 5 s; 312 m a year." in said
    assert said.splitlines()[-1] == "The leg that costs most: bench to drill, 3.00 m (50 %)."


def test_walk_says_what_repeats() -> None:
    scenario = crowded()
    figures = score(scenario, "today")
    said = shown(tables.walk, figures, figures.job("sort"), scenario=scenario)
    assert "Then 2 to 3 again, once more." in said
    legs = figures.job("sort").legs
    assert repeated(legs) == (2, 2)
    assert repeated(legs[3:]) == (1, 1)


def test_walk_says_when_there_is_no_way() -> None:
    figures = score(loads(SHUT), "today")
    said = " ".join(shown(tables.walk, figures, figures.job("cut")).split())
    assert "No way 0.60 m wide leads to the front of saw: 4.14 m, squeezed through 0.50 m between" in said
    assert "In all 6.10 m, 8 steps" in said
    assert "Of each time 4.1 m squeezed through gaps too narrow: no way 0.60 m wide from" in said


def test_score_and_compare_tell_what_is_squeezed() -> None:
    """4.14 m from bench to saw through 0.50 m; 1.96 m from the door to the bench, as anybody walks."""
    scenario = loads(SHUT)
    figures = score(scenario, "today")
    lines = shown(tables.score, figures, width=120).splitlines()
    assert lines[1] == "317 m walked a year, 0.1 hours, 423 steps"
    assert lines[2] == "of which 215 m squeezed through gaps too narrow: see `reachable` below"
    row = next(line for line in lines if line.startswith("cut "))
    assert row.split() == ["cut", "52", "6.1", "317", "0", "%", "4.1"]
    row = next(line for line in lines if line.startswith("bench and saw"))
    assert row.split()[-1] == "215"
    row = next(line for line in lines if line.startswith("side and bench"))
    assert row.split()[-1] == "%"
    both = shown(tables.compare, [figures, score(scenario, opened(scenario))])
    row = next(line for line in both.splitlines() if line.startswith("of which squeezed"))
    assert row.split()[-2:] == ["215", "0"]


def opened(scenario: Scenario) -> Layout:
    """High moved out of the way: nothing is squeezed."""
    return scenario.layouts[0].moved({"high": Placement(0.25, 3.125, 180.0)}, "opened")


def test_a_suggestion_is_told_against_the_squeezed_total() -> None:
    scenario = loads(SHUT)
    base, best = score(scenario, "today"), score(scenario, opened(scenario))
    found = Suggestion("Shut", "today", base, (best,), bound=best.cost, spots=9, seconds=1.0, seed=1)
    said = shown(tables.suggestion, found, scenario=scenario, width=120)
    first = said.splitlines()[0]
    assert first.endswith("; today squeezes through gaps too narrow")
    assert f"{abs(best.metres_per_year - base.metres_per_year):,.0f} m a year" in first
    row = next(line for line in said.splitlines() if line.startswith("of which squeezed"))
    assert row.split()[3:] == ["215", "0", "-215", "-100.0", "%"]


def test_a_suggestion_tells_a_day_before_and_after() -> None:
    """fetch: 8.4 m before, 2 x 4.3174 m after; 0.75 m a step, 72 m a minute."""
    lines = shown(tables.suggestion, suggestion(), width=120).splitlines()
    steps = next(line for line in lines if line.startswith("steps on a day with fetch"))
    assert steps.split()[6:9] == ["11", "12", "+1"]
    assert next(line for line in lines if line.startswith("seconds of it")).split()[3:6] == ["7", "7", "0"]
    both = shown(tables.compare, [score(BOX_SHED, "today"), score(BOX_SHED, "closer")])
    assert re.search(r"steps on a day with fetch +11 +12\n", both)


def test_lengths_are_in_the_units_of_the_file() -> None:
    scenario = replace(BOX_SHED, units="ft")
    figures = score(scenario, "today")
    said = shown(tables.walk, figures, figures.job("hang"), scenario=scenario)
    assert "9' 10-1/8\"" in said
    assert "In all 19' 8-1/4\", 8 steps, 5 s; 1,024 ft a year." in said  # 312 / 0.3048


@pytest.mark.parametrize("width", [30, 40, 60, 80, 120])
def test_no_figure_is_cut_short(width: int) -> None:
    """Whatever the width: every figure of the wide table is in the narrow one, and nothing is abbreviated."""
    found = suggestion()
    for table, things in (
        (tables.score, (score(BOX_SHED, "today"),)),
        (tables.suggestion, (found,)),
        (tables.compare, ([score(BOX_SHED, "today"), score(BOX_SHED, "closer")],)),
        (tables.rules, (rules({}),)),
        (tables.catalogue, (list(CATALOGUE.values()),)),
    ):
        wide, narrow = shown(table, *things, width=300), shown(table, *things, width=width)
        assert "…" not in narrow
        figures = {
            word for word in wide.split() if word.strip("+-").replace(",", "").replace(".", "").isdigit()
        }
        assert figures <= set(narrow.split())
        assert all(len(line) <= width for line in narrow.splitlines())


def test_piped_text_is_plain() -> None:
    said = shown(tables.score, score(BOX_SHED, "today"))
    assert "\x1b" not in said
    assert not any(c in said for c in "─━│┃╭")
    assert all(line == line.rstrip() for line in said.splitlines())


def test_a_terminal_has_colour_unless_told_not_to(monkeypatch: pytest.MonkeyPatch) -> None:
    def on_terminal() -> str:
        out = io.StringIO()
        tables.score(
            score(BOX_SHED, "today"),
            Console(file=out, width=100, force_terminal=True, color_system="standard"),
        )
        return out.getvalue()

    monkeypatch.delenv("NO_COLOR", raising=False)
    assert "─" in on_terminal()
    monkeypatch.setenv("NO_COLOR", "1")
    assert "\x1b[3" not in on_terminal()


def test_names_are_never_taken_for_markup() -> None:
    out = io.StringIO()
    console = Console(file=out, width=80)
    text.line(console, "bench [red] :door: [/]")
    text.grid(console, [text.words("name")], [("[bold]saw",)])
    assert "bench [red] :door: [/]" in out.getvalue()
    assert "[bold]saw" in out.getvalue()


def test_catalogue_and_entry() -> None:
    first = next(iter(CATALOGUE.values()))
    assert first.name in shown(tables.catalogue, list(CATALOGUE.values()))
    said = shown(tables.entry, first)
    assert said.splitlines()[0] == first.name
    assert "common practice" in said


def test_problems_go_by_line() -> None:
    found = [Problem("a", "late", line=9), Problem("b", "nowhere"), Problem("c", "early", "mend it", 2)]
    assert shown(tables.problems, found).splitlines() == [
        "line 2: c: early; mend it",
        "line 9: a: late",
        "b: nowhere",
    ]


def test_a_mat_pays_over_an_hour_or_four_hours_a_day() -> None:
    place = Standing("bench", "front", (0.0, 0.0), 100.0, 60.0)
    assert mat_reason(place) == ""
    assert "1 h at a stretch" in mat_reason(replace(place, stretch_minutes=61.0))
    assert "4 h a working day" in mat_reason(replace(place, hours_per_year=4.01 * 260))
    joined = by_side([place, replace(place, at=(0.6, 0.0), stretch_minutes=20.0)])
    assert [(p.hours_per_year, p.stretch_minutes) for p in joined] == [(200.0, 60.0)]


@pytest.mark.parametrize(
    ("after", "says"),
    [((0, 1), "straight on"), ((1, 0), "right"), ((-1, 0), "left"), ((0, -1), "about"), (None, "")],
)
def test_turns(after: tuple[float, float] | None, says: str) -> None:
    assert turn_words((0.0, 1.0), after) == says


def test_places_in_words() -> None:
    assert place_words(Placement(2.0, -1.5, 180.0), "m") == "2.00 m east, 1.50 m south, facing south"
    assert place_words(Placement(2.0, 1.0, 235.0), "m").endswith("facing 235 degrees")


@pytest.mark.parametrize(
    ("value", "says"), [(0.0, "0"), (-0.2, "0"), (1234.5, "1,234"), (math.inf, "-"), (-0.6, "-1")]
)
def test_whole_figures(value: float, says: str) -> None:
    assert text.whole(value) == says
