"""What the page asks for beside the hand: spots of the thing chosen, things put where answers have them."""

from __future__ import annotations

import json
import queue
import time
import xml.etree.ElementTree as ET
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from footwork.elsewhere.answer import where
from footwork.model.errors import UsageError
from footwork.model.read import load
from footwork.model.scenario import Placement
from footwork.page.aside.asides import GONE, Asides, stand
from footwork.page.desk import Desk
from footwork.page.drawing import drawing
from footwork.scoring import score

SCENARIO = load(Path(__file__).parents[2] / "scenarios" / "gate-shed.toml")
THING = "grinder"


class Beside:
    """A desk, what is asked beside it, and what the page hears of that."""

    def __init__(self) -> None:
        self.said: queue.Queue[str] = queue.Queue()
        self.desk = Desk(SCENARIO, SCENARIO.layouts[0])
        self.made = drawing(SCENARIO, self.desk.layout)
        self.asides = Asides(self.said.put)
        self.asides.begin()

    def do(self, **message: Any) -> None:
        self.asides.does[message["do"]](self.desk, self.made, message)
        self.asides.follow(self.desk, self.made)

    def choose(self, *names: str) -> None:
        self.desk.choose(names)
        self.asides.follow(self.desk, self.made)

    def until(self, say: str, **wanted: object) -> Any:
        end = time.monotonic() + 120
        while True:
            message = json.loads(self.said.get(timeout=max(0.1, end - time.monotonic())))
            if message["say"] == say and all(message.get(k) == v for k, v in wanted.items()):
                return message


@pytest.fixture
def beside() -> Iterator[Beside]:
    found = Beside()
    yield found
    found.asides.end()


def test_the_spots_of_what_is_chosen(beside: Beside) -> None:
    beside.choose(THING)
    beside.do(do="spots", on=True)
    question = beside.until("spots asked", thing=THING)["question"]
    told = beside.until("spots", question=question, done=True)
    said = where(SCENARIO, THING, top=5)
    assert [spot["place"] for spot in told["best"]] == [
        [s.placement.x, s.placement.y, s.placement.facing] for s in said.best
    ]
    assert [spot["cost"] for spot in told["best"]] == pytest.approx([s.cost for s in said.best], rel=1e-12)
    for spot in told["best"]:
        assert f"{spot['cost']:,.0f} m a year, " in spot["words"]
    drawn = ET.fromstring(f"<svg>{told['svg']}</svg>")
    cells = {group.get("data-square") for group in drawn}
    assert cells == {f"{s.column} {s.row}" for s in said.found.squares if s.best}
    assert told["thing"] == THING
    assert f"may stand on {len(said.found.spots)} of 1,120 squares" in told["words"]

    best = told["best"][0]
    beside.do(do="spot", column=best["column"], row=best["row"])
    one = beside.until("spot", question=question)
    assert (one["possible"], one["place"], one["words"]) == (True, best["place"], best["words"])
    refused = next(s for s in said.found.squares if s.refused and s.refused.by == ("bench",))
    beside.do(do="spot", column=refused.column, row=refused.row)
    no = beside.until("spot", question=question)
    assert not no["possible"]
    assert no["words"].startswith("not here: ")
    assert "bench" in no["words"]
    beside.do(do="spot", column=900, row=0)
    assert beside.until("spot", column=900)["words"] == "no floor of the room"

    beside.do(do="stand", places={THING: best["place"]})
    assert score(SCENARIO, beside.desk.layout).cost == pytest.approx(best["cost"], rel=1e-9)
    assert beside.until("spots asked")["question"] == question + 1
    beside.do(do="spots", on=False)
    beside.until("spots over")


def test_it_is_asked_anew_once_the_hand_rests(beside: Beside) -> None:
    beside.choose(THING)
    beside.do(do="spots", on=True)
    question = beside.until("spots asked")["question"]
    beside.desk.drag(["trestles"], (0.1, 0.0), True)
    beside.asides.follow(beside.desk, beside.made)
    assert beside.until("spots asked") == {"say": "spots asked", "question": question, "thing": None}
    beside.desk.drag(["trestles"], (0.2, 0.0), True)
    beside.asides.follow(beside.desk, beside.made)
    beside.desk.drop()
    beside.asides.follow(beside.desk, beside.made)
    assert beside.until("spots asked", thing=THING)["question"] == question + 1
    beside.choose("trestles")
    assert beside.until("spots asked", thing="trestles")["question"] == question + 2
    beside.choose("skip")
    beside.until("spots over")


def test_where_the_process_has_gone_that_is_told_and_another_one_begun(beside: Beside) -> None:
    beside.choose(THING)
    beside.do(do="spots", on=True)
    process = beside.asides.spots._process
    assert process is not None
    process.child.kill()
    assert beside.until("spots", fault=GONE)
    beside.asides.follow(beside.desk, beside.made)
    beside.until("spots", done=True)


def test_things_are_put_where_they_are_told_in_one_move(beside: Beside) -> None:
    before = beside.desk.layout
    stand(beside.desk, {"places": {"saw": [3.0, 3.0, 90.0], "drill": [5.0, 3.0, 0]}})
    assert beside.desk.layout.placements["saw"] == Placement(3.0, 3.0, 90.0)
    assert [step.words for step in beside.desk.past] == ["move 2 things"]
    beside.desk.undo()
    assert beside.desk.layout == before


@pytest.mark.parametrize(
    ("places", "line"),
    [
        (None, "the page sent no places"),
        ({}, "the page sent no places"),
        ({"saw": [1.0, 2.0]}, "the page sent no place"),
        ({"saw": [1.0, 2.0, "north"]}, "the page sent no place"),
        ({"saw": [1.0, 2.0, float("nan")]}, "the page sent no place"),
        ({"saw": [1.0, True, 0.0]}, "the page sent no place"),
        ({"swa": [1.0, 2.0, 0.0]}, "there is nothing named 'swa'"),
        ({"skip": [1.0, 2.0, 0.0]}, "skip does not move: the file says that it is fixed"),
    ],
)
def test_what_is_no_place(beside: Beside, places: object, line: str) -> None:
    with pytest.raises(UsageError) as caught:
        stand(beside.desk, {"places": places})
    assert caught.value.lines == (line,)


# A search beside


def searched(beside: Beside, **asked: Any) -> Any:
    """Search for a moment and give what is told last."""
    beside.do(do="search", **asked)
    return beside.until("search", running=False)


def test_a_search_keeps_what_is_pinned_and_tells_what_it_moves(beside: Beside) -> None:
    beside.do(do="pin", names=["bench", "nosuch"], on=True)
    assert beside.until("pins", names=["bench"])
    told = searched(beside, moves=2, seconds=4)
    assert not told["fault"]
    names = [each["name"] for each in told["moved"]]
    assert 1 <= len(names) <= 2
    assert "bench" not in names
    moved = {each["name"]: Placement(*each["place"]) for each in told["moved"]}
    said = score(SCENARIO, SCENARIO.layouts[0].moved(moved))
    assert said.ok
    before = score(SCENARIO)
    assert said.cost < before.cost
    assert told["best"] == f"{said.cost:,.0f} m a year, {before.cost - said.cost:,.0f} m less than now"
    drawn = ET.fromstring(f"<svg>{told['svg']}</svg>")
    assert {group.get("data-goal") for group in drawn} == set(names)

    first = names[0]
    goal = moved[first]
    beside.do(do="stand", places={first: told["moved"][0]["place"]})
    assert beside.until("search left")["names"] == names[1:]
    beside.desk.undo()
    start = beside.desk.layout.placements[first]
    beside.desk.drag([first], (goal.x - start.x + 0.1, goal.y - start.y - 0.1), True)
    beside.asides.before(beside.desk, "drop")
    assert beside.desk.layout.placements[first].at == pytest.approx(goal.at, abs=1e-4)
    assert beside.desk.hand is None
    assert [step.words for step in beside.desk.past] == [f"move {first}"]
    beside.desk.drag([first], (1.0, 1.0), True)
    beside.asides.before(beside.desk, "drop")
    assert beside.desk.hand is not None


def test_a_search_is_stopped_with_the_best_so_far(beside: Beside) -> None:
    beside.do(do="search", seconds=600)
    end = time.monotonic() + 100
    while not beside.until("search", running=True)["moved"]:
        assert time.monotonic() < end
    beside.do(do="stop search")
    told = beside.until("search", running=False)
    assert told["moved"]
    assert told["best"]
    beside.do(do="forget search")
    beside.until("search over")
    beside.do(do="search", seconds=1, moves=1)
    assert len(beside.until("search", running=False)["moved"]) <= 1


def test_a_search_is_stopped_at_any_moment(beside: Beside) -> None:
    for wait in (0.0, 0.4, 1.1):
        beside.do(do="search", seconds=600)
        time.sleep(wait)
        beside.do(do="stop search")
        assert not beside.until("search", running=False)["fault"]


def test_a_search_without_a_move_is_none(beside: Beside) -> None:
    with pytest.raises(UsageError, match="with no move there is nothing to search for"):
        beside.do(do="search", moves=0)


def test_what_was_found_in_another_room_is_forgotten(beside: Beside) -> None:
    searched(beside, moves=1, seconds=2)
    saved = SCENARIO.with_(layouts=())
    beside.asides.follow(beside.desk, drawing(saved, beside.desk.layout))
    assert "data-goal" in beside.until("search goals")["svg"]
    other = SCENARIO.with_(jobs=SCENARIO.jobs[1:])
    beside.asides.follow(beside.desk, drawing(other, beside.desk.layout))
    beside.until("search over")
    assert not beside.asides.better._goals
