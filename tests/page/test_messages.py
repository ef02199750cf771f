"""What the page and the program tell each other."""

from __future__ import annotations

import json
import math
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest

from footwork.checks.case import NO_MOVE
from footwork.checks.memory import Memory
from footwork.checks.result import merged
from footwork.model.errors import UsageError
from footwork.model.read import load, loads
from footwork.page import drawing, messages
from footwork.page.desk import Desk
from footwork.page.figures import failed_checks, walked
from footwork.page.reckoning import Found, Wanted
from footwork.scoring import score
from page.hostile import hostile_text

SCENARIOS = Path(__file__).parents[2] / "scenarios"


def gate_shed() -> Desk:
    scenario = load(SCENARIOS / "gate-shed.toml")
    return Desk(scenario, scenario.layouts[0])


@pytest.mark.parametrize(
    "message",
    [
        {},
        {"do": 7},
        {"do": "fly"},
        {"do": "drag", "names": ["drill"]},
        {"do": "drag", "names": "drill", "dx": 1, "dy": 1},
        {"do": "drag", "names": ["drill"], "dx": "1", "dy": 1},
        {"do": "drag", "names": ["drill"], "dx": math.nan, "dy": 1},
        {"do": "drag", "names": ["drill"], "dx": math.inf, "dy": 1},
        {"do": "drag", "names": ["drill"], "dx": True, "dy": 1},
        {"do": "drag", "names": ["no such"], "dx": 1, "dy": 1},
        {"do": "drag", "names": [["drill"]], "dx": 1, "dy": 1},
        {"do": "drag", "names": ["drill"] * 1000, "dx": 1, "dy": 1},
        {"do": "turn", "names": ["drill"], "degrees": None},
        {"do": "turn towards", "name": "drill", "bearing": 1e300},
        {"do": "nudge", "names": ["drill"], "way": "up"},
        {"do": "measure", "name": "drill", "side": "top", "text": "1"},
        {"do": "measure", "name": "drill", "side": "left", "text": "9" * 5000},
        {"do": "vehicle", "name": "drill", "out": True},
        {"do": "job", "name": 3},
    ],
)
def test_what_is_no_message_changes_nothing(message: dict[str, Any]) -> None:
    desk = gate_shed()
    before = (desk.layout.placements, desk.past, desk.out, desk.job)
    with pytest.raises(UsageError) as fault:
        messages.obey(desk, message)
    assert len(fault.value.lines) == 1
    assert "\n" not in fault.value.lines[0]
    assert (desk.layout.placements, desk.past, desk.out, desk.job) == before


def test_what_is_placed_is_told() -> None:
    desk = gate_shed()
    made = drawing.drawing(desk.scenario, desk.layout)
    messages.obey(desk, {"do": "choose", "names": ["drill", "no such"]})
    messages.obey(desk, {"do": "drag", "names": ["drill"], "dx": -1.0, "dy": -2.0, "free": True})
    told = messages.placed(desk, made, heard=5)
    assert (told["heard"], told["chosen"], told["unsaved"], told["undo"]) == (5, ["drill"], True, None)
    x, y, turn = told["places"]["drill"]
    place = desk.layout.placements["drill"]
    assert made.sheet.metres((x, made.sheet.height - y)) == pytest.approx(place.at, abs=1e-3)
    assert turn == (place.facing - 180.0) % 360.0
    assert [each["side"] for each in told["clear"]] == ["front", "back", "left", "right"]
    messages.obey(desk, {"do": "drop"})
    told = messages.placed(desk, made)
    assert (told["undo"], told["redo"]) == ("move drill", None)


def found_of(desk: Desk, words: bool = False) -> Found:
    wanted = Wanted(desk.layout, desk.revision, desk.job, desk.out)
    done = walked(desk.scenario, desk.layout)
    return Found(
        wanted, done, failed_checks(done, Memory(desk.scenario), (lambda: False) if words else None), words
    )


def test_figures_are_told_as_the_commands_tell_them() -> None:
    desk = gate_shed()
    made = drawing.drawing(desk.scenario, desk.layout)
    first = walked(desk.scenario, desk.layout)
    desk.show_job("brackets")
    desk.drag(["drill"], (-1.0, -2.0), free=True)
    said = score(desk.scenario, desk.layout)
    failed = [check for check in said.checks if not check.ok]
    told = messages.figures(found_of(desk, words=True), made, first)
    assert told["metres"] == f"{said.metres_per_year:,.0f}"
    assert told["change"] == f"{said.metres_per_year - first.metres:+,.0f} m"
    assert told["cost"] == f"{said.cost:,.0f}"
    assert [job["each"] for job in told["jobs"]] == [f"{job.metres_each:,.1f}" for job in said.jobs]
    assert [check["text"] for check in told["checks"]] == [c.message for c in merged(failed)]
    assert "drill" in told["checks"][0]["about"]
    assert told["walk_svg"].count("<circle") >= 7
    quick = messages.figures(found_of(desk), made, first)
    assert [c["subject"] for c in quick["checks"]] == [check.subject for check in failed]
    assert not any(NO_MOVE in check["text"] or "move" in check["text"] for check in quick["checks"][:2])


def test_names_that_would_break_a_page_stay_text() -> None:
    """Every drawing is well-formed, none has an element that runs, and all goes through JSON."""
    scenario = loads(hostile_text())
    desk = Desk(scenario, scenario.layouts[0])
    made = drawing.drawing(scenario, desk.layout)
    desk.show_job(scenario.jobs[0].name)
    desk.choose([scenario.stations[0].name])
    first = walked(scenario, desk.layout)
    said = [
        messages.plan(desk, made),
        messages.placed(desk, made),
        messages.figures(found_of(desk, words=True), made, first),
        messages.names(made, desk.layout, drawing.names(made, desk.layout, frozenset())),
    ]
    allowed = {"g", "path", "circle", "text"}
    for message in map(json.loads, map(json.dumps, said)):
        for key in ("svg", "clear_svg", "walk_svg"):
            root = ET.fromstring(f"<svg>{message.get(key, '')}</svg>")
            assert {element.tag for element in root.iter()} <= {"svg", *allowed}
            assert not [
                a for element in root.iter() for a in element.attrib if a.startswith(("on", "style", "href"))
            ]


def test_every_thing_has_its_groups() -> None:
    desk = gate_shed()
    made = drawing.drawing(desk.scenario, desk.layout)
    root = ET.fromstring(f"<svg>{messages.plan(desk, made)['svg']}</svg>")
    bodies = {g.get("data-thing") for g in root.iter("g") if g.get("class") == "body"}
    assert bodies == {thing.name for thing in desk.scenario.things}
    assert [g.get("data-thing") for g in root.iter("g") if g.get("class") == "away"] == ["van"]
    for group in root.iter("g"):
        if group.get("data-thing"):
            x, y, turn = made.at(desk.layout.placements[str(group.get("data-thing"))])
            assert group.get("transform") == f"translate({x} {y}) rotate({turn})"
