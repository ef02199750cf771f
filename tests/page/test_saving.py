"""Saving from the page: comments stay, and nothing that somebody else wrote is lost unasked."""

from __future__ import annotations

from pathlib import Path

import pytest

from footwork.model.errors import FootworkError
from footwork.model.read import load
from footwork.model.scenario import Layout
from footwork.page.desk import Desk
from footwork.page.editing.document import read
from footwork.page.editing.edits import edit
from footwork.page.saving import Keeper, propose

SHED = Path(__file__).parents[2] / "scenarios" / "gate-shed.toml"


@pytest.fixture
def path(tmp_path: Path) -> Path:
    copy = tmp_path / "shed.toml"
    copy.write_text(SHED.read_text(encoding="utf-8"), encoding="utf-8")
    return copy


def opened(path: Path) -> tuple[Desk, Keeper]:
    scenario = load(path)
    desk = Desk(scenario, scenario.layouts[0])
    desk.nudge(["drill"], "south", far=True)
    return desk, Keeper(scenario.text)


def test_it_is_written_and_comments_stay(path: Path) -> None:
    desk, keeper = opened(path)
    before = path.read_text(encoding="utf-8")
    assert (propose(desk), desk.unsaved) == ("tried", True)
    assert keeper.save(desk, desk.layout, "tried") is None
    assert not desk.unsaved
    assert path.read_text(encoding="utf-8").startswith(before.rstrip("\n"))
    assert load(path).layouts[-1].placements["drill"] == desk.layout.placements["drill"]


def test_its_own_layout_is_written_over_others_are_asked_for(path: Path) -> None:
    desk, keeper = opened(path)
    before = path.read_text(encoding="utf-8")
    ask = keeper.save(desk, desk.layout, "today")
    assert ask is not None
    assert (ask.kind, path.read_text(encoding="utf-8"), desk.unsaved) == ("over", before, True)
    assert keeper.save(desk, desk.layout, "today", frozenset({"over"})) is None
    desk.nudge(["drill"], "south", far=False)
    assert keeper.save(desk, desk.layout, "today") is None
    assert load(path).layouts[0].placements["drill"] == desk.layout.placements["drill"]


def test_an_edit_made_meanwhile_is_told_and_kept(path: Path) -> None:
    desk, keeper = opened(path)
    text = path.read_text(encoding="utf-8") + "\n# a note made meanwhile\n"
    path.write_text(text, encoding="utf-8")
    ask = keeper.save(desk, desk.layout, "tried")
    assert ask is not None
    assert (ask.kind, path.read_text(encoding="utf-8")) == ("edited", text)
    assert keeper.save(desk, desk.layout, "tried", frozenset({"edited"})) is None
    assert "# a note made meanwhile" in path.read_text(encoding="utf-8")
    assert [layout.name for layout in load(path).layouts] == ["today", "tried"]


def test_a_layout_that_somebody_else_has_saved_is_asked_for_again(path: Path) -> None:
    desk, keeper = opened(path)
    assert keeper.save(desk, desk.layout, "tried") is None
    text = path.read_text(encoding="utf-8").replace("drill", "drill", 1) + "# theirs\n"
    path.write_text(text, encoding="utf-8")
    assert keeper.save(desk, desk.layout, "tried").kind == "edited"  # type: ignore[union-attr]
    assert keeper.save(desk, desk.layout, "tried", frozenset({"edited"})).kind == "over"  # type: ignore[union-attr]
    assert keeper.save(desk, desk.layout, "tried", frozenset({"edited", "over"})) is None
    assert "# theirs" in path.read_text(encoding="utf-8")


def test_what_the_layout_does_not_belong_to_is_not_written(path: Path) -> None:
    """How often a job is done was changed meanwhile: even when agreed to, nothing is written."""
    desk, keeper = opened(path)
    text = path.read_text(encoding="utf-8").replace(" per week", " per month", 1)
    path.write_text(text, encoding="utf-8")
    with pytest.raises(FootworkError):
        keeper.save(desk, desk.layout, "tried", frozenset({"edited", "over"}))
    assert (path.read_text(encoding="utf-8"), desk.unsaved) == (text, True)


@pytest.mark.parametrize("name", ["", " ", "a\nb", "x" * 300])
def test_what_cannot_be_a_name_is_told(path: Path, name: str) -> None:
    desk, keeper = opened(path)
    before = path.read_text(encoding="utf-8")
    with pytest.raises(FootworkError) as fault:
        keeper.save(desk, desk.layout, name)
    assert len(fault.value.lines) == 1
    assert path.read_text(encoding="utf-8") == before


def make_vice(desk: Desk) -> None:
    message = {"edit": "station", "new": True, "name": "vice", "wide": "0.5", "deep": "0.4"}
    done = edit(desk.scenario, desk.layout, message)
    desk.change(done.words, done.scenario, done.layout)


def made(path: Path) -> tuple[Desk, Keeper]:
    """A desk on which a station has been put in."""
    desk, keeper = opened(path)
    make_vice(desk)
    return desk, keeper


def test_what_was_made_is_saved_with_every_layout_and_comment(path: Path) -> None:
    """Also with a layout that was saved before it was made, and after an undo beyond that."""
    desk, keeper = opened(path)
    assert keeper.save(desk, desk.layout, "first") is None
    make_vice(desk)
    assert keeper.save(desk, desk.layout, "second") is None
    found = load(path)
    assert [layout.name for layout in found.layouts] == ["today", "first", "second"]
    assert all("vice" in layout.placements for layout in found.layouts)
    assert "# pedestal grinder and linisher" in path.read_text(encoding="utf-8")
    desk.undo()
    assert desk.unsaved
    assert keeper.save(desk, desk.layout, "third") is None
    found = load(path)
    assert {layout.name for layout in found.layouts} == {"today", "first", "second", "third"}
    assert "vice" not in {thing.name for thing in found.things}


def test_what_was_made_is_not_written_over_what_others_wrote(path: Path) -> None:
    desk, keeper = made(path)
    theirs = path.read_text(encoding="utf-8").replace("height = 1.3", "height = 1.4")
    path.write_text(theirs, encoding="utf-8")
    ask = keeper.save(desk, desk.layout, "tried")
    assert ask is not None
    assert (ask.kind, path.read_text(encoding="utf-8"), desk.unsaved) == ("edited", theirs, True)
    assert "is lost" in ask.line
    assert keeper.save(desk, desk.layout, "tried", frozenset({"edited"})) is None
    assert "vice" in {thing.name for thing in load(path).things}


def test_a_file_that_was_taken_away_is_asked_for(path: Path) -> None:
    desk, keeper = made(path)
    path.unlink()
    ask = keeper.save(desk, desk.layout, "tried")
    assert ask is not None
    assert "was taken away" in ask.line
    assert not path.exists()
    assert keeper.save(desk, desk.layout, "tried", frozenset({"edited"})) is None
    assert "vice" in {thing.name for thing in load(path).things}


@pytest.mark.parametrize(
    ("room", "words"), [("", "there is no room yet"), ("[room]\nsize = [5, 4]\n", "no stations")]
)
def test_what_is_not_finished_is_not_written(tmp_path: Path, room: str, words: str) -> None:
    path = tmp_path / "new.toml"
    scenario = read(room, path)
    desk = Desk(read("", path), Layout("today", {}))
    desk.change("make the room", scenario, Layout("today", {}))
    with pytest.raises(FootworkError, match=words):
        Keeper(None).save(desk, desk.layout, "today")
    assert not path.exists()
