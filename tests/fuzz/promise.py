"""What is promised of every input, and the running of one: a status of 0, 1 or 2, plain lines, no hang."""

from __future__ import annotations

import contextlib
import json
import os
import re
import tempfile
import time
import unicodedata
import zlib
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from click.testing import CliRunner

from footwork.cli import main
from footwork.model.errors import FootworkError, ScenarioError
from footwork.model.read import loads
from footwork.whatif import Session

SECONDS = 10.0
"""Of processor time: what takes longer counts as a hang."""

_NO_FIGURE = re.compile(r"(?<![\w.-])[+-]?(?:nan|inf|infinity)(?![\w-])", re.IGNORECASE)


_TURNING = "\u202a\u202b\u202d\u202e\u2066\u2067\u2068"
"""What turns the direction of writing."""


class Broken(AssertionError):
    """A promise that was not held."""


@contextlib.contextmanager
def folder() -> Iterator[Path]:
    """A new folder to be in, so that what commands write stays there."""
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as name:
        os.chdir(name)
        try:
            yield Path(name)
        finally:
            os.chdir(before)


def scenario_file(text: str) -> str:
    """Hold the promise for a scenario file; "accepted", or "refused" where the file or a shape cannot be."""
    path = Path("shed.toml")
    path.write_bytes(text.encode("utf-8", "surrogatepass"))
    began = time.process_time()
    try:
        scenario = loads(text)
    except ScenarioError as error:
        _plain_lines("\n".join(error.lines))
        if zlib.crc32(path.read_bytes()) % 4 == 0:  # the command reads the file once more, and says the same
            run(["check", str(path)], expected=(2,))
        return "refused"
    finally:
        _in_time(began)
    if not scenario.layouts:
        run(["check", str(path)])
        return "accepted"
    status = run(["score", str(path), "--json"])
    run(["check", str(path)])
    return "refused" if status == 2 else "accepted"


def command_line(words: Sequence[str], text: str) -> str:
    """Hold the promise for the words of a command on a file of this text."""
    Path("shed.toml").write_text(text, encoding="utf-8")
    status = run(["shed.toml" if word == "FILE" else word for word in words])
    return "refused" if status == 2 else "accepted"


def moves(text: str, row: Sequence[str]) -> str:
    """Hold the promise for what-if moves; "refused" where none of them could be done."""
    session = Session(loads(text))
    done = 0
    for move in row:
        began = time.process_time()
        try:
            told: Any = session.do(move).to_dict()
            done += 1
        except FootworkError as error:
            told = list(error.lines)
            _plain_lines("\n".join(error.lines))
        json.dumps(told, allow_nan=False)
        _in_time(began)
    return "accepted" if done else "refused"


def run(words: Sequence[str], expected: Sequence[int] = (0, 1, 2)) -> int:
    """Run one command in this process; Broken says which promise it did not hold."""
    began = time.process_time()
    done = CliRunner().invoke(main, list(words), input="")
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        raise Broken(f"traceback: {type(done.exception).__name__}: {done.exception}") from done.exception
    if done.exit_code not in expected:
        raise Broken(f"exit status {done.exit_code}: {done.stderr.strip()[:400]}")
    if "Traceback" in done.stderr + done.stdout:
        raise Broken("a traceback is printed")
    _plain_lines(done.stderr)
    _nothing_raw(done.stdout)
    if words[0] != "reference" and (found := _NO_FIGURE.search(done.stdout)):
        raise Broken(f"{found[0]} in the output: {done.stdout[max(0, found.start() - 80) : found.end()]!r}")
    if done.exit_code != 2 and "--json" in words and done.stdout.startswith("{"):
        json.loads(done.stdout, parse_constant=_no_constant)
    _in_time(began)
    return done.exit_code


def _no_constant(word: str) -> float:
    raise Broken(f"{word} in JSON")


def _in_time(began: float) -> None:
    took = time.process_time() - began
    if took > SECONDS:
        raise Broken(f"it took {took:.1f} s of processor time")


def _plain_lines(text: str) -> None:
    """Lines on stderr: of at most 300 letters, and nothing raw."""
    _nothing_raw(text)
    for line in text.splitlines():
        if len(line) > 300:
            raise Broken(f"a line of {len(line)} letters: {line[:200]}")


def _nothing_raw(text: str) -> None:
    for c in text:
        if c not in "\n\t" and (unicodedata.category(c) in ("Cc", "Cs") or c in _TURNING):
            raise Broken(f"U+{ord(c):04X} is printed raw")
