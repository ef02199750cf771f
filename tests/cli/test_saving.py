"""What whatif and suggest write, when they ask first, and that it is written before anything is told."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

import footwork as api
from box import BOX, write_box
from cli.run import Done, footwork
from footwork.arrange import suggest as suggest_module
from footwork.cli import output
from footwork.cli.prompt import read_save
from footwork.cli.saving import keep_then_show
from footwork.model.read import load, loads
from footwork.model.scenario import Placement

COMMAND = [sys.executable, "-c", "from footwork.cli import main; main()"]
PRESS = "add press 0.6x0.5 wall at 3,0.25"
WHOLE = [PRESS, "room 9x6", "times hang 2 per week", "bring van in"]
LISTED = """\
the moves changed more than where things stand; every layout of the file would have this:
  the room: 9.00 m x 6.00 m instead of 8.00 m x 6.00 m
  press: a new station, 0.60 m x 0.50 m
  van: in, instead of out
  job hang: 2 per week instead of 1 per week
"""


def test_what_layouts_share_is_not_written_unasked(tmp_path: Path) -> None:
    """hang is walked 104 times instead of 52: today 312 m more a year, closer 208."""
    path = write_box(tmp_path)
    done = footwork("whatif", path, *WHOLE, "--save", "tried")
    assert (done.status, path.read_text(encoding="utf-8")) == (2, BOX)
    assert done.err == LISTED + (
        "  layout today: 1,498 m a year instead of 1,186\n"
        "  layout closer: 1,314 m a year instead of 1,106\n"
        "footwork: layout 'tried' is not saved; --all writes all of it, --to FILE a new file\n"
    )
    assert PRESS in done.out


def test_a_layout_that_would_fail_is_told_so(tmp_path: Path) -> None:
    done = footwork("whatif", write_box(tmp_path), "add press 0.6x0.5 at 5,5.7", "--save", "tried")
    today = "1,186 m a year, as before, and it would fail no-overlap drill and strips-clear press"
    assert f"  layout today: {today}\n  layout closer: 1,106 m a year, as before\n" in done.err


def test_all_writes_what_the_moves_changed_beside_the_layout(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    done = footwork("whatif", path, *WHOLE, "--save", "tried", "--all")
    assert (done.status, done.err) == (0, f"saved as layout 'tried' in {path}\n")
    again = load(path)
    assert again.station("press").size == (0.6, 0.5)
    assert again.room.size == (9.0, 6.0)
    assert again.jobs[0].times_per_year == 104.0
    assert again.vehicle("van").inside == 1.0
    assert "# what stands here" in path.read_text(encoding="utf-8")


def test_to_writes_a_new_file_and_leaves_the_old_one(tmp_path: Path) -> None:
    path, new = write_box(tmp_path), tmp_path / "wide.toml"
    done = footwork("whatif", path, *WHOLE, "--save", "tried", "--to", new)
    assert (done.status, done.err) == (0, f"saved as layout 'tried' in {new}\n")
    assert path.read_text(encoding="utf-8") == BOX
    assert [layout.name for layout in load(new).layouts] == ["today", "closer", "tried"]
    assert load(new).room.size == (9.0, 6.0)


def test_what_was_undone_asks_for_nothing(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    typed = "times hang 2 per week\nmove drill by -1,0\nundo\nundo\nmove drill by -0.5,0\nsave tried\n"
    done = footwork("whatif", path, typed=typed)
    assert (done.status, done.err) == (0, f"saved as layout 'tried' in {path}\n")
    assert load(path).jobs == loads(BOX).jobs


CHANGED = "the moves changed more than where things stand; every layout of the file would have this:"


def test_saving_at_the_prompt_asks_in_its_own_words(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    done = footwork("whatif", path, typed="times hang 2 per week\nsave two words\n")
    assert (done.status, path.read_text(encoding="utf-8")) == (0, BOX)
    assert done.err.splitlines() == [
        CHANGED,
        "  job hang: 2 per week instead of 1 per week",
        "  layout today: 1,498 m a year instead of 1,186",
        "  layout closer: 1,314 m a year instead of 1,106",
        (
            "footwork: layout 'two words' is not saved; `save \"two words\" all` writes all of it, "
            '`save "two words" to FILE` a new file'
        ),
    ]


def test_a_new_file_takes_more_layouts_of_the_same_prompt(tmp_path: Path) -> None:
    path, new = write_box(tmp_path), tmp_path / "often.toml"
    lines = [
        "times hang 2 per week",
        f"save two words to {path}",
        f'save "two words" to "{new}"',
        "move drill by -0.5,0",
        f"save more to {new}",
        f"save more to {new}",
        "move drill by -0.5,0",
        f"save more to {new} --replace",
    ]
    done = footwork("whatif", path, typed="\n".join(lines))
    assert path.read_text(encoding="utf-8") == BOX
    assert done.err.splitlines() == [
        f"footwork: {path}: there is such a file already; choose another name",
        f"saved as layout 'two words' in {new}",
        f"saved as layout 'more' in {new}",
        f"footwork: {new}: it has a layout 'more' already; --replace writes over it",
        f"saved as layout 'more' in {new}",
    ]
    layouts = {layout.name: layout.placements["drill"].x for layout in load(new).layouts}
    assert layouts == {"today": 5.0, "closer": 4.0, "two words": 5.0, "more": 4.0}


def test_what_was_saved_for_all_is_not_asked_about_again(tmp_path: Path) -> None:
    """Only when it is to be as it was before."""
    path = write_box(tmp_path)
    typed = "times hang 2 per week\nsave often all\nmove drill by -1,0\nsave near\nundo\nundo\nsave back\n"
    done = footwork("whatif", path, typed=typed)
    assert done.err.splitlines() == [
        f"saved as layout 'often' in {path}",
        f"saved as layout 'near' in {path}",
        CHANGED,
        "  job hang: 1 per week instead of 2 per week",
        "  layout today: 1,186 m a year instead of 1,498",
        "  layout closer: 1,106 m a year instead of 1,314",
        "  layout often: 1,186 m a year instead of 1,498",
        "  layout near: 1,106 m a year instead of 1,314",
        (
            "footwork: layout 'back' is not saved; `save back all` writes all of it, "
            "`save back to FILE` a new file"
        ),
    ]
    assert load(path).jobs[0].times_per_year == 104.0


@pytest.mark.parametrize(
    ("text", "name", "replaces", "everything", "to"),
    [
        ("tried", "tried", False, False, None),
        ("two words", "two words", False, False, None),
        ("two words all", "two words", False, True, None),
        ("tried --all --replace", "tried", True, True, None),
        ("tried --replace to new file.toml", "tried", True, False, "new file.toml"),
        ("tried to 'new all.toml' --replace", "tried", True, False, "new all.toml"),
        ('"a  b" all', "a  b", False, True, None),
        ('"all" all', "all", False, True, None),
        ("'way to all'", "way to all", False, False, None),
        ("overall", "overall", False, False, None),
    ],
)
def test_what_follows_save(text: str, name: str, replaces: bool, everything: bool, to: str | None) -> None:
    wish = read_save(text)
    assert (wish.name, wish.replace, wish.everything) == (name, replaces, everything)
    assert wish.to == (None if to is None else Path(to))


@pytest.mark.parametrize("text", ["", "all", "to", "--replace", '""', "''", "a:b", "to x.toml"])
def test_save_needs_a_name(text: str) -> None:
    with pytest.raises(api.FootworkError):
        read_save(text)


@pytest.mark.parametrize(
    ("units", "move"),
    [
        ("m", "move drill by -0.33333,-0.01234"),
        ("m", "turn bench 7.123456"),
        ("ft", "move drill by -1.23456789,-1/16 in"),
        ("in", "move drill by -7.12345678,-1/64 in"),
        ("mm", "move drill by -333.333,-12.34567"),
        ("m", "move drill by -1/3 in,-1/7 in"),
    ],
)
def test_figures_of_a_what_if_are_those_of_what_is_saved(tmp_path: Path, units: str, move: str) -> None:
    path = write_box(tmp_path, in_units(BOX, units))
    told = json.loads(footwork("whatif", path, move, "--save", "tried", "--json").out)
    again = json.loads(footwork("score", path, "--layout", "tried", "--json").out)
    assert told["cost"] == again["cost"]
    assert told["moves"][0]["jobs"][0]["after"] == again["jobs"][0]["metres_per_year"]
    places = load(path).layouts[-1].placements
    assert told["placements"] == {
        name: {"at": list(place.at), "facing": place.facing} for name, place in places.items()
    }


def in_units(text: str, units: str) -> str:
    """The box shed with its lengths as texts of metres, in a file of other units."""
    if units == "m":
        return text
    spelt = re.sub(r"(?<![\w.-])-?\d+\.\d+(?![\w.])", lambda found: f'"{found[0]} m"', text)
    return spelt.replace('units = "m"', f'units = "{units}"').replace('inside = "0.0 m"', "inside = 0.0")


SEARCH = ("--iterations", "60", "--pitch", "0.9 m", "--processes", "1", "--quiet")


@pytest.mark.parametrize("units", ["m", "ft", "in"])
def test_figures_of_a_suggestion_are_those_of_what_is_saved(tmp_path: Path, units: str) -> None:
    path = write_box(tmp_path, in_units(BOX, units))
    told = json.loads(
        footwork("suggest", path, *SEARCH, "--anywhere", "--facings", "8", "--save", "best", "--json").out
    )
    again = json.loads(footwork("score", path, "--layout", "best", "--json").out)
    assert told["layouts"][0]["cost"] == again["cost"]
    assert told["anywhere"]["bound"] <= told["layouts"][0]["cost"]
    places = load(path).layouts[-1].placements
    assert told["layouts"][0]["placements"] == {
        name: {"at": list(place.at), "facing": place.facing} for name, place in places.items()
    }


def piped(words: Sequence[object], reads: int, typed: str = "", err: bool = False) -> tuple[int, str]:
    """Run the command with its output read for so many bytes, then closed; its status, and its stderr."""
    run = subprocess.Popen(
        [*COMMAND, *map(str, words)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT if err else subprocess.PIPE,
    )
    assert run.stdin is not None
    assert run.stdout is not None
    if reads:
        run.stdin.write(typed.encode())
        run.stdin.close()
        os.read(run.stdout.fileno(), reads)
        run.stdout.close()
    else:
        run.stdout.close()
        run.stdin.write(typed.encode())
        run.stdin.close()
    told = run.stderr.read().decode() if run.stderr else ""
    return run.wait(60), told


MANY = ["move drill by -0.01,0"] * 40


@pytest.mark.parametrize("reads", [0, 20])
@pytest.mark.parametrize("err", [False, True], ids=["out", "both"])
def test_a_closed_pipe_loses_nothing(tmp_path: Path, reads: int, err: bool) -> None:
    path = write_box(tmp_path)
    for words in (["whatif", path, *MANY, "--save", "a"], ["suggest", path, *SEARCH[:-1], "--save", "b"]):
        status, told = piped(words, reads, err=err)
        assert status in ((141,) if not reads else (0, 141))
        assert err or f"saved as layout '{words[-1]}' in {path}\n" in told
        assert "Traceback" not in told
    names = [layout.name for layout in load(path).layouts]
    assert names == ["today", "closer", "a", "b"]


def test_lines_from_a_pipe_are_done_though_nobody_reads(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    typed = "score\nmove drill by -1,0\nscore\nsave a\nmove drill by 0.5,0\n"
    status, told = piped(["whatif", path, "--save", "b"], 0, typed)
    assert (status, told) == (141, f"saved as layout 'a' in {path}\nsaved as layout 'b' in {path}\n")
    assert [layout.placements["drill"].x for layout in load(path).layouts] == [5.0, 4.0, 4.0, 4.5]


def test_what_is_not_saved_is_said_though_nobody_reads(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    status, told = piped(["whatif", path, "remove rack", "--save", "a"], 0)
    assert status == 2
    assert told.endswith("footwork: layout 'a' is not saved; --all writes all of it, --to FILE a new file\n")


def test_what_cannot_be_printed_is_saved_all_the_same(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_box(tmp_path)
    order = []
    monkeypatch.setattr(output, "nobody_reads", lambda *_: order.append("closed"))

    def show(saved: bool) -> None:
        order.append(f"shown {saved}")
        raise BrokenPipeError

    with pytest.raises(BrokenPipeError):
        keep_then_show(lambda: order.append("kept") or ["said"], show)  # type: ignore[func-returns-value]
    assert order == ["kept", "shown True", "closed"]
    assert path.read_text(encoding="utf-8") == BOX


EDITS = {
    "room": (("size = [8.0, 6.0]", "size = [8.5, 6.0]"), "it was edited after it was read (room): "),
    "job": (
        ('times = "1 per week"', 'times = "2 per week"'),
        "it was edited after it was read (jobs.hang): ",
    ),
    "name": (("[layouts.closer]", "[layouts.best]"), "it has a layout 'best' already; "),
    "broken": (("[layouts.today]", "[layouts.today"), "line "),
}


def suggest_while(monkeypatch: pytest.MonkeyPatch, path: Path, *edit: str) -> Done:
    """A search during which somebody edits the file: a text in it, or the whole."""
    real = suggest_module.suggest

    def edited(*args: Any, **named: Any) -> Any:
        found = real(*args, **named)
        text = path.read_text(encoding="utf-8")
        assert edit[0] in text
        path.write_text(text.replace(*edit), encoding="utf-8")
        return found

    monkeypatch.setattr(suggest_module, "suggest", edited)
    return footwork("suggest", path, *SEARCH, "--save", "best")


@pytest.mark.parametrize("kind", EDITS)
def test_a_room_edited_during_the_search(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    """The layout is saved beside it, with the room that it was found for, and the edit stays as it is."""
    path, beside = write_box(tmp_path), tmp_path / "box-best.toml"
    edit, why = EDITS[kind]
    done = suggest_while(monkeypatch, path, *edit)
    assert done.status == 2
    assert done.out.startswith("Box: ")
    first, second = done.err.splitlines()
    assert first.startswith(f"footwork: {path}: {why}")
    assert second == (
        f"footwork: layout 'best' is saved beside it, with the scenario as it was read, in {beside}"
    )
    assert path.read_text(encoding="utf-8") == BOX.replace(*edit)
    assert [layout.name for layout in load(beside).layouts] == ["today", "closer", "best"]
    assert load(beside).room.size == (8.0, 6.0)


def test_comments_and_layouts_edited_during_the_search_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = write_box(tmp_path)
    done = suggest_while(monkeypatch, path, "[layouts.closer]", "# nearer to the bench\n[layouts.near]")
    assert (done.status, done.err) == (0, f"saved as layout 'best' in {path}\n")
    assert [layout.name for layout in load(path).layouts] == ["today", "near", "best"]
    assert "# nearer to the bench" in path.read_text(encoding="utf-8")
    assert [each.name for each in tmp_path.iterdir()] == ["box.toml"]


def test_a_file_beside_never_writes_over_another(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write_box(tmp_path)
    (tmp_path / "box-best.toml").write_text("mine", encoding="utf-8")
    done = suggest_while(monkeypatch, path, *EDITS["room"][0])
    assert done.err.endswith(f"in {tmp_path / 'box-best-2.toml'}\n")
    assert (tmp_path / "box-best.toml").read_text(encoding="utf-8") == "mine"


def test_a_name_with_two_blanks_can_be_said(tmp_path: Path) -> None:
    path = write_box(tmp_path, BOX.replace("drill =", '"my  drill" =').replace('"drill"', '"my  drill"'))
    done = footwork("whatif", path, 'move "my  drill" by -1,0', "--save", "my  layout", "--json")
    assert (done.status, json.loads(done.out)["moves"][0]["move"]) == (0, 'move "my  drill" by -1,0')
    assert load(path).layouts[-1].placements["my  drill"] == Placement(4.0, 5.7, 180.0)
    assert footwork("whatif", path, "turn", "my  drill", "90").status == 0


def test_a_report_of_a_search_is_of_what_was_saved(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Or of the room as it was when that was edited meanwhile."""
    path, page = write_box(tmp_path), tmp_path / "page.html"
    real = suggest_module.suggest

    def edited(*args: Any, **named: Any) -> Any:
        path.write_text(BOX.replace(*EDITS["room"][0]), encoding="utf-8")
        return real(*args, **named)

    monkeypatch.setattr(suggest_module, "suggest", edited)
    done = footwork("report", path, "--out", page, "--suggest", *SEARCH, "--save", "best")
    assert (done.status, done.out) == (2, f"wrote {page}\n")
    assert "saved beside it" in done.err
    assert page.exists()
