"""Every way to fail is one line on stderr and a status; nothing is written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from box import BOX, write_box
from cli.run import footwork
from footwork.cli import COMMANDS, score

COMMAND = [sys.executable, "-c", "from footwork.cli import main; main()"]


@pytest.mark.parametrize(
    ("words", "line"),
    [
        (["scroe"], "no command 'scroe'; did you mean 'score'? try: footwork --help"),
        (["--jsno"], "no such option '--jsno'; try: footwork --help"),
        (["score"], "missing argument 'FILE'; try: footwork score --help"),
        (["score", "FILE", "--jsn"],
         "no such option '--jsn'; did you mean '--json'? try: footwork score --help"),
        (["score", "FILE", "--layout"], "option '--layout' requires an argument; try: footwork score --help"),
        (["score", "FILE", "x"], "got unexpected extra argument (x); try: footwork score --help"),
        (["score", "FILE", "--layout", "tody"], "Box: there is no layout 'tody'; did you mean 'today'?"),
        (["check"], "which file? try: footwork check FILE"),
        (["walk", "FILE"], "which job? --job NAME; there are hang, fetch"),
        (["walk", "FILE", "--job", "hnag"], "no job 'hnag'; did you mean 'hang'?"),
        (["compare", "FILE", "today"], "name two layouts or more to compare; FILE has today, closer"),
        (["compare", "FILE", "today", "closr"], "Box: there is no layout 'closr'; did you mean 'closer'?"),
        (["draw", "FILE"], "missing option '--out'; try: footwork draw --help"),
        (["draw", "FILE", "--out", "OUT.svg", "--job", "x"], "no job 'x'; jobs: fetch, hang"),
        (["suggest", "FILE", "--seconds", "nan"],
         "invalid value for '--seconds': 'nan' is not a number above 0; try: footwork suggest --help"),
        (["suggest", "FILE", "--seconds", "0"],
         "invalid value for '--seconds': '0' is not a number above 0; try: footwork suggest --help"),
        (["suggest", "FILE", "--seconds", "1", "--iterations", "9"],
         "--seconds and --iterations exclude each other; give one"),
        (["suggest", "FILE", "--keep", "a,,b"],
         ("invalid value for '--keep': 'a,,b' has an empty name; "
          "write NAME,NAME; try: footwork suggest --help")),
        (["suggest", "FILE", "--pitch", "0"], "--pitch: 0 is 0 m; give one between 0.02 m and 10 m"),
        (["suggest", "FILE", "--pitch", "wide"],
         "--pitch: 'wide' is not a length; write it as \"2400 mm\", \"2.4 m\", \"7 ft 6 in\" or 7' 6-1/2\""),
        (["suggest", "FILE", "--save", "today"],
         ("--save 'today': the file has a layout of that name; "
          "choose another, or add --replace to write over it")),
        (["suggest", "FILE", "--save", "a:b"],
         "--save 'a:b': a name cannot hold any of : , \" \\ [ ] { }, and it holds U+003A COLON (letter 2)"),
        (["suggest", "FILE", "--replace"], "--replace does nothing without --save NAME"),
        (["suggest", "FILE", "--base", "tody", "--seconds", "1"],
         "Box: there is no layout 'tody'; did you mean 'today'?"),
        (["whatif", "FILE", "--json", "--save", "closer", "turn drill 90"],
         ("--save 'closer': the file has a layout of that name; "
          "choose another, or add --replace to write over it")),
        (["whatif", "FILE", "turn drill 90", "--all"], "--all does nothing without --save NAME"),
        (["whatif", "FILE", "turn drill 90", "--to", "OUT.toml"], "--to does nothing without --save NAME"),
        (["whatif", "FILE", "turn drill 90", "--save", "a", "--to", "OUT.toml", "--all"],
         "--all and --to exclude each other; give one"),
        (["whatif", "FILE", "turn drill 90", "--save", "a", "--to", "FILE"],
         "FILE: there is such a file already; choose another name"),
        (["whatif", "FILE", "turn drill 90", "--save", "a", "--to", "OUT/x.toml"],
         "OUT/x.toml: there is no folder OUT"),
        (["stations", "pilar drill"], "'pilar drill' is not in the catalogue; did you mean 'pillar drill'?"),
        (["new", "OUT.toml", "--room", "9"],
         "--room: '9' is no size; write two lengths with an x between them, as in 1.2x0.8"),
        (["new", "FILE"], "FILE: there is such a file already; choose another name"),
        (["new", "OUT/x.toml"], "OUT/x.toml: No such file or directory"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)  # fmt: skip
def test_wrong_usage_is_one_line_and_2(words: list[str], line: str, tmp_path: Path) -> None:
    path = write_box(tmp_path)

    def real(text: str) -> str:
        return text.replace("FILE", str(path)) if "argument" not in text and "try:" not in text else text

    out = str(tmp_path / "OUT")
    done = footwork(*(real(word).replace("OUT", out) for word in words))
    assert done.err == f"footwork: {real(line).replace('OUT', out)}\n"
    assert (done.status, done.out) == (2, "")
    assert path.read_text(encoding="utf-8") == BOX
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("command", [c for c in COMMANDS if c not in ("new", "stations", "schema", "open")])
def test_a_bad_file_says_everything_at_once(command: str, tmp_path: Path) -> None:
    path = write_box(tmp_path, BOX.replace("placing", "plcaing").replace('units = "m"', 'untis = "m"'))
    out = {"draw": "plan.svg", "report": "report.html"}
    extra = ["--out", str(tmp_path / out[command])] if command in out else []
    needed = {"walk": ["--job", "hang"], "fit": ["saw"], "where": ["drill"]}
    done = footwork(command, path, *extra, *needed.get(command, []))
    assert (done.status, done.out) == (2, "")
    lines = done.err.splitlines()
    assert len(lines) == 3
    assert all(line.startswith(f"footwork: {path}: line ") for line in lines)
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("command", ["score", "check", "suggest", "whatif", "compare"])
@pytest.mark.parametrize("kind", ["missing", "folder", "binary", "empty", "nonsense"])
def test_no_file_of_ours(command: str, kind: str, tmp_path: Path) -> None:
    path = tmp_path / "it.toml"
    if kind == "folder":
        path.mkdir()
    elif kind != "missing":
        path.write_bytes({"binary": b"\x00\xff\xfe", "empty": b"", "nonsense": b"[[[\n"}[kind])
    done = footwork(command, path)
    assert (done.status, done.out) == (2, "")
    assert done.err
    assert all(line.startswith(f"footwork: {path}: ") for line in done.err.splitlines())


def test_a_file_without_layouts_points_to_suggest(tmp_path: Path) -> None:
    path = write_box(tmp_path, BOX[: BOX.index("[layouts.today]")])
    for words in (["score"], ["walk", "--job", "hang"], ["whatif"], ["compare"], ["draw", "--out", "x.svg"]):
        done = footwork(words[0], path, *words[1:])
        assert (done.status, done.out) == (2, "")
        assert done.err == "footwork: Box: the file has no layout; `footwork suggest` makes one\n"


def test_a_fault_of_the_program_is_one_line_and_70(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: object) -> None:
        raise KeyError("two\nlines")

    path = write_box(tmp_path)
    monkeypatch.setattr("footwork.scoring.score", broken)
    monkeypatch.delenv("FOOTWORK_DEBUG", raising=False)
    done = footwork("score", path)
    assert (done.status, done.out) == (70, "")
    assert done.err == (
        "footwork: a fault of the program, not of your file: KeyError: 'two\\nlines'; "
        "FOOTWORK_DEBUG=1 shows where\n"
    )
    monkeypatch.setenv("FOOTWORK_DEBUG", "1")
    assert "Traceback" in footwork("score", path).err


def test_interrupted_before_there_is_a_result_is_130(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*args: object, **named: object) -> None:
        raise KeyboardInterrupt

    path = write_box(tmp_path)
    monkeypatch.setattr("footwork.scoring.score", stopped)
    done = footwork("score", path)
    assert (done.status, done.out, done.err) == (130, "", "footwork: stopped; nothing to show yet\n")


def test_a_reader_that_leaves_is_no_fault() -> None:
    with subprocess.Popen(
        [*COMMAND, "stations", "--json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == ""
    assert process.returncode == 141


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs /dev/full")
def test_a_full_disk_is_one_line() -> None:
    with open("/dev/full", "w") as full:
        done = subprocess.run([*COMMAND, "stations"], stdout=full, stderr=subprocess.PIPE, text=True)
    assert (done.returncode, done.stderr) == (2, "footwork: cannot go on: No space left on device\n")


def test_letters_that_the_terminal_lacks_stop_nothing(tmp_path: Path) -> None:
    path = write_box(tmp_path, BOX.replace('name = "Box"', 'name = "Büchse"'))
    environment = {**os.environ, "PYTHONIOENCODING": "ascii"}
    done = subprocess.run(
        [*COMMAND, "score", path, "--layout", "x"], capture_output=True, text=True, env=environment
    )
    assert (done.returncode, done.stdout) == (2, "")
    assert done.stderr.startswith("footwork: B?chse: there is no layout 'x'")


@pytest.mark.skipif(sys.platform == "win32", reason="signals")
def test_ctrl_c_shows_the_best_so_far(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    with subprocess.Popen(
        [*COMMAND, "suggest", path, "--seconds", "120", "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    ) as process:
        assert process.stderr is not None
        for line in process.stderr:
            if "best" in line:
                break
        time.sleep(0.2)
        os.killpg(process.pid, signal.SIGINT)  # as a terminal does: to the whole group
        out, err = process.communicate(timeout=60)
    assert process.returncode == 0, err
    assert '"layouts"' in out
    assert "Traceback" not in err


def test_help_alone_is_the_page_and_0() -> None:
    assert footwork() == footwork("--help") == footwork("-h")
    assert footwork().status == 0
    assert footwork("--version").out == "footwork 0.1.0\n"
    assert score.command.name == "score"
