"""What is promised of every input, and the running of one: a status of 0, 1 or 2, plain lines, no hang."""

from __future__ import annotations

import asyncio
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
from unittest import mock

from click.testing import CliRunner

from footwork.cli import main
from footwork.model.errors import FootworkError, ScenarioError
from footwork.model.read import loads
from footwork.page.aside import asides
from footwork.page.keeping.opening import opened
from footwork.page.server import Host
from footwork.whatif import Session

SECONDS = 10.0
"""Of processor time: what takes longer counts as a hang."""

STUDIES, STUDY_SECONDS = frozenset(("fit", "robust", "sizes", "weekend")), 60.0
"""Commands that search for many layouts one after the other, and what they may take."""

_NO_FIGURE = re.compile(r"(?<![\w.-])[+-]?(?:nan|inf|infinity)(?![\w-])", re.IGNORECASE)


_TURNING = "\u202a\u202b\u202d\u202e\u2066\u2067\u2068"
"""What turns the direction of writing."""


class Broken(AssertionError):
    """A promise that was not held."""


@contextlib.contextmanager
def folder() -> Iterator[Path]:
    """A new folder to be in, so that what commands write stays there."""
    before = Path.cwd()
    with tempfile.TemporaryDirectory() as name, mock.patch.dict(os.environ):
        os.environ |= {"XDG_STATE_HOME": f"{name}/state", "XDG_CACHE_HOME": f"{name}/cache"}
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
    if zlib.crc32(path.read_bytes()) % 4 == 0:
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


def sheet(text: str, rows: str) -> str:
    """Hold the promise for a CSV file of visits."""
    Path("shed.toml").write_text(text, encoding="utf-8")
    Path("visits.csv").write_bytes(rows.encode("utf-8", "surrogatepass"))
    status = run(["tally", "shed.toml", "visits.csv", "--weeks", "2", "--merge", "--json"])
    loads(Path("shed.toml").read_text(encoding="utf-8"))
    return "refused" if status == 2 else "accepted"


def prompt(text: str, lines: Sequence[str]) -> str:
    """Hold the promise for what is typed at the prompt; the file stays one that can be read."""
    Path("shed.toml").write_text(text, encoding="utf-8")
    run(["whatif", "shed.toml"], typed="\n".join(lines))
    loads(Path("shed.toml").read_text(encoding="utf-8"))
    return "accepted"


class _Idle:
    """A process beside the page that is asked and never answers."""

    def __init__(self, *words: object) -> None: ...

    def send(self, *words: object) -> None: ...

    def end(self) -> None: ...

    dismiss = end


def page(text: str, row: Sequence[str]) -> str:
    """Hold the promise for messages to the page's server: it answers each, in JSON, and goes on."""
    path = Path("page") / "shed.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    with mock.patch.object(asides, "Process", _Idle):
        host = Host(opened(path), lambda: None)
        try:
            told = asyncio.run(_conversation(host, row))
        finally:
            host.end()
    loads(path.read_text(encoding="utf-8"))
    return "refused" if all(message["say"] in ("placed", "told") for message in told) else "accepted"


async def _conversation(host: Host, row: Sequence[str]) -> list[dict[str, Any]]:
    queue: asyncio.Queue[str | None] = asyncio.Queue()
    host._queue = queue
    told = []
    for words in row:
        began = time.process_time()
        await host._hear(words)
        while host._naming is not None and not host._naming.done():
            await host._naming
        _in_time(began)
        while not queue.empty():
            message = json.loads(queue.get_nowait() or "{}", parse_constant=_no_constant)
            if message["say"] == "told":
                _plain_lines(message["text"])
            told.append(message)
    return told


def run(words: Sequence[str], expected: Sequence[int] = (0, 1, 2), typed: str = "") -> int:
    """Run one command in this process; Broken says which promise it did not hold."""
    began = time.process_time()
    done = CliRunner().invoke(main, list(words), input=typed)
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
    _in_time(began, STUDY_SECONDS if words[0] in STUDIES else SECONDS)
    return done.exit_code


def _no_constant(word: str) -> float:
    raise Broken(f"{word} in JSON")


def _in_time(began: float, seconds: float = SECONDS) -> None:
    took = time.process_time() - began
    if took > seconds:
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
