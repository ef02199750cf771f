"""footwork whatif: moves as arguments, from a pipe, at a prompt; completion."""

from __future__ import annotations

import json
import os
import re
import sys
import time
from pathlib import Path

import pytest

from box import BOX, write_box
from cli.run import footwork
from footwork.cli.completion import candidates
from footwork.cli.whatif import as_moves
from footwork.model.read import load, loads
from footwork.whatif import Session


def test_json_of_moves(tmp_path: Path) -> None:
    done = footwork("whatif", write_box(tmp_path), "move drill by -1,0", "times hang 2 per week", "--json")
    told = json.loads(done.out)
    assert (done.status, done.err) == (0, "")
    assert [move["move"] for move in told["moves"]] == ["move drill by -1,0", "times hang 2 per week"]
    hang = [move["jobs"][0] for move in told["moves"]]
    assert hang[0] == {"name": "hang", "before": 312.0, "after": 208.0, "change": -104.0}
    assert hang[1] == {"name": "hang", "before": 208.0, "after": 416.0, "change": 208.0}
    assert told["placements"]["drill"] == {"at": [4.0, 5.7], "facing": 180.0}
    assert told["ok"] is True
    assert told["cost"] == told["moves"][1]["cost"]["after"]


def test_a_move_is_printed_with_every_job(tmp_path: Path) -> None:
    done = footwork("whatif", write_box(tmp_path), "move drill by -1,0")
    assert (done.status, done.err) == (0, "")
    assert "move drill by -1,0" in done.out
    assert "hang" in done.out
    assert "fetch" in done.out
    assert "104" in done.out


def test_a_layout_that_fails_leaves_with_1(tmp_path: Path) -> None:
    done = footwork("whatif", write_box(tmp_path), "move rack to 5,5", "--json")
    assert done.status == 1
    assert {turned["id"] for turned in json.loads(done.out)["moves"][0]["turned"]} >= {"strips-clear"}


def test_at_a_bad_move_nothing_is_saved(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    done = footwork("whatif", path, "move drill by -1,0", "move drlil by 1,0", "--save", "tried")
    assert done.status == 2
    assert done.err == "footwork: no station or vehicle 'drlil'; did you mean 'drill'?\n"
    assert "move drill by -1,0" in done.out
    assert path.read_text(encoding="utf-8") == BOX


def test_forgotten_quotes(tmp_path: Path) -> None:
    assert as_moves(["move", "drill", "to", "1,2"]) == ["move drill to 1,2"]
    assert as_moves(["times", "hang", "2 per week"]) == ['times hang "2 per week"']
    assert as_moves(["undo"]) == ["undo"]
    assert as_moves(["turn drill 90", "undo"]) == ["turn drill 90", "undo"]
    done = footwork("whatif", write_box(tmp_path), "turn", "drill", "0", "--json")
    assert json.loads(done.out)["moves"][0]["move"] == "turn drill 0"


def test_save_writes_one_layout_and_keeps_the_rest(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    done = footwork("whatif", path, "move drill by -0.5,0", "--save", "tried")
    assert (done.status, done.err) == (0, f"saved as layout 'tried' in {path}\n")
    again = load(path)
    assert [layout.name for layout in again.layouts] == ["today", "closer", "tried"]
    assert again.layouts[2].placements["drill"].at == (4.5, 5.7)
    assert again.layouts[0] == loads(BOX).layouts[0]
    assert "# what stands here" in path.read_text(encoding="utf-8")
    done = footwork("whatif", path, "move drill by -1,0", "--save", "tried", "--replace")
    assert (done.status, load(path).layouts[2].placements["drill"].at) == (0, (4.0, 5.7))


def test_lines_from_a_pipe(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    typed = "# first\nmove drill by -1,0\n\nmvoe drill by 1,0\nundo\nredo\nredo\nunod\n"
    typed += "save tried\nsave tried\nquit\nturn x 1\n"
    done = footwork("whatif", path, typed=typed)
    assert done.status == 0
    assert done.err.splitlines() == [
        (
            "footwork: cannot read 'mvoe drill by 1,0': no move begins with 'mvoe'; "
            "the nearest form is: move NAME to X,Y [facing WAY]"
        ),
        "footwork: nothing to redo",
        "footwork: cannot read 'unod'; did you mean 'undo'?",
        f"saved as layout 'tried' in {path}",
        f"footwork: {path}: it has a layout 'tried' already; --replace writes over it",
    ]
    assert load(path).layouts[2].placements["drill"].at == (4.0, 5.7)


def test_saving_what_fails_a_check_says_so(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    note = "note: it fails a must-check; `footwork score` says which\n"
    done = footwork("whatif", path, "move rack to 5,5", "--save", "tight")
    assert (done.status, done.err) == (1, f"saved as layout 'tight' in {path}\n{note}")
    done = footwork("whatif", path, typed="move rack to 5,5\nsave tighter\n")
    assert (done.status, done.err) == (0, f"saved as layout 'tighter' in {path}\n{note}")


def test_help_at_the_prompt_lists_every_form(tmp_path: Path) -> None:
    from footwork.cli.prompt import WORDS
    from footwork.moves import FORMS

    done = footwork("whatif", write_box(tmp_path), typed="help\n")
    assert all(f"  {text}\n" in done.out for text in [*(f.text for f in FORMS), *(w for w, _ in WORDS)])


def test_draw_at_the_prompt(tmp_path: Path) -> None:
    out = tmp_path / "plan.svg"
    done = footwork("whatif", write_box(tmp_path), typed=f"draw {out}\ndraw\ndraw {out}.doc\n")
    assert out.exists()
    assert done.out == f"wrote {out}\n"
    assert len(done.err.splitlines()) == 2


def title(path: Path) -> str:
    """What a drawn plan says it is of."""
    found = re.search("<dc:title>Box: (.*)</dc:title>", path.read_text(encoding="utf-8"))
    assert found
    return found[1]


def test_a_picture_drawn_at_the_prompt_says_whether_it_is_saved(tmp_path: Path) -> None:
    """It is while nothing has moved, or when that is undone, and under the name that it was saved by."""
    moves = [
        "draw a.svg", "move drill by -1,0", "draw b.svg", "save tried", "draw c.svg", "undo", "draw d.svg",
        "move drill by -1,0", "draw e.svg", "times hang 3 per week", "draw f.svg", "save much all",
        "undo", "draw g.svg",
    ]  # fmt: skip
    lines = [line.replace("draw ", f"draw {tmp_path}/") for line in moves]
    done = footwork("whatif", write_box(tmp_path), typed="\n".join(lines))
    assert done.status == 0
    unsaved = "Not saved: what moves made of layout today"
    expected = ["Layout today", unsaved, "Layout tried", "Layout today", "Layout tried", unsaved, unsaved]
    assert [title(tmp_path / f"{letter}.svg") for letter in "abcdefg"] == expected


def test_the_small_plan_says_when_it_is_not_saved(tmp_path: Path) -> None:
    path, said = write_box(tmp_path), "\nNot saved: what moves made of layout today\n"
    assert said in footwork("whatif", path, "move drill by -1,0", "--plan").out
    assert said not in footwork("whatif", path, "move drill by -1,0", "--plan", "--save", "tried").out
    assert said not in footwork("whatif", path, typed="plan\n").out
    assert (
        footwork("whatif", path, typed="move drill by -0.5,0\nplan\nsave half\nplan\n").out.count(said) == 1
    )


def test_json_from_a_pipe(tmp_path: Path) -> None:
    done = footwork("whatif", write_box(tmp_path), "--json", typed="move drill by -1,0\n")
    assert [move["move"] for move in json.loads(done.out)["moves"]] == ["move drill by -1,0"]


@pytest.mark.parametrize(
    ("text", "word", "found"),
    [
        ("mo", "mo", ["move"]),
        ("re", "re", ["remove", "redo"]),
        ("move ", "", ["bench", "drill", "rack", "sink", "van"]),
        ("move dr", "dr", ["drill"]),
        ("move drill ", "", ["to", "by"]),
        ("move drill to 1,2 ", "", ["facing"]),
        ("move drill to 1,2 facing s", "s", ["south"]),
        ("move drill by 1,2 ", "", []),
        ("turn bench ", "", ["90", "180", "270", "north", "east", "south", "west"]),
        ("swap bench r", "r", ["rack"]),
        ("remove v", "v", ["van"]),
        ("times ", "", ["hang", "fetch"]),
        ("times hang 3 p", "p", ["per"]),
        ("times hang 3 per w", "w", ["week"]),
        ("take ", "", ["van"]),
        ("take van ", "", ["out"]),
        ("bring van i", "i", ["in"]),
        ("add press like pillar", "pillar", ['"pillar drill"']),
        ('add press like "pillar d', '"pillar d', ['"pillar drill"']),
        ("add press 1x1 w", "w", ["wall"]),
        ("add press 1x1 at 1,1 f", "f", ["facing"]),
        ("save ", "", ["today", "closer"]),
        ("save tried ", "", ["--replace", "all", "to"]),
        ("save tried a", "a", ["all"]),
        ("frob ", "", []),
    ],
)
def test_completion(text: str, word: str, found: list[str]) -> None:
    assert candidates(text, Session(loads(BOX))) == (word, found)


@pytest.mark.skipif(sys.platform == "win32", reason="needs a pseudo-terminal")
def test_a_prompt_at_a_terminal(tmp_path: Path) -> None:
    """Type at a pseudo-terminal: a completed name, a bad move, Ctrl-C, quit; history is kept."""
    import pty
    import select
    import termios

    path = write_box(tmp_path)
    words = [sys.executable, "-c", "from footwork.cli import main; main()", "whatif", str(path)]
    pid, terminal = pty.fork()
    if pid == 0:
        os.environ |= {"XDG_STATE_HOME": str(tmp_path), "TERM": "dumb", "COLUMNS": "120"}
        os.execv(words[0], words)
    told, seen = "", 0

    def until(text: str) -> None:
        nonlocal told, seen
        while text not in told[seen:]:
            assert select.select([terminal], [], [], 30)[0], told
            told += os.read(terminal, 4096).decode()
        seen = told.index(text, seen) + len(text)

    def prompted() -> None:
        """Until the prompt is there and takes keys itself: a moment sooner Ctrl-C would be the terminal's."""
        until("> ")
        for _ in range(3000):
            if not termios.tcgetattr(terminal)[3] & termios.ISIG:
                return
            time.sleep(0.01)
        raise AssertionError(told)

    prompted()
    os.write(terminal, b"move drll by -1,0\r")
    until("did you mean 'drill'?")
    prompted()
    os.write(terminal, b"\x03")
    prompted()
    os.write(terminal, b"move drill by -1,0\r")
    until("104")
    prompted()
    os.write(terminal, b"quit\r")
    assert os.waitstatus_to_exitcode(os.waitpid(pid, 0)[1]) == 0
    history = (tmp_path / "footwork" / "whatif-history").read_text(encoding="utf-8")
    assert "+move drill by -1,0" in history
    assert "Traceback" not in told
