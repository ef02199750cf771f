"""The process that reckons: what it tells, and that it never outlives its use."""

from __future__ import annotations

import json
import queue
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from footwork.model.read import load
from footwork.model.scenario import Layout
from footwork.page.aside import process
from footwork.page.beside import GONE, Beside
from footwork.page.drawing import drawing
from footwork.page.reckoning import Subject, Wanted
from footwork.scoring import score

SCENARIO = load(Path(__file__).parents[2] / "scenarios" / "frame-nook.toml")
TODAY = SCENARIO.layouts[0]


class Heard:
    """A process that reckons, and what it has told."""

    def __init__(self) -> None:
        self.said: queue.Queue[str] = queue.Queue()
        self.beside = Beside(Subject(drawing(SCENARIO, TODAY), TODAY), self.said.put)

    def until(self, say: str, **wanted: object) -> Any:
        while True:
            message = json.loads(self.said.get(timeout=120))
            if message["say"] == say and all(message.get(k) == v for k, v in wanted.items()):
                return message


@pytest.fixture
def heard() -> Iterator[Heard]:
    found = Heard()
    yield found
    found.beside.end()
    assert found.beside._process.child.poll() is not None


def test_it_tells_what_score_says(heard: Heard) -> None:
    heard.beside.ask(Wanted(TODAY, 3))
    told = heard.until("figures", revision=3, words=True)
    said = score(SCENARIO, TODAY)
    assert (told["metres_per_year"], told["hours_per_year"]) == (said.metres_per_year, said.hours_per_year)
    assert told["change"] == ""


def test_a_fault_is_told_and_it_goes_on(heard: Heard) -> None:
    heard.beside.ask(Wanted(Layout("broken", {}), 1))
    assert "cannot be reckoned: layout 'broken' has no place for" in heard.until("told")["text"]
    heard.beside.ask(Wanted(TODAY, 2))
    heard.until("figures", revision=2)


def test_where_it_has_gone_that_is_told(heard: Heard) -> None:
    heard.beside._process.child.kill()
    assert heard.until("told") == {"say": "told", "text": GONE, "fault": True}
    heard.beside.ask(Wanted(TODAY, 1))


def test_it_ends_in_the_midst_of_reckoning(heard: Heard, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(process, "PATIENCE", 60.0)  # however busy the machine
    heard.beside.ask(Wanted(TODAY, -1))
    heard.until("figures")  # it has started, which takes longer than it is given to end
    for revision in range(50):
        heard.beside.ask(Wanted(TODAY, revision))
    heard.beside.end()
    assert heard.beside._process.child.returncode == 0
