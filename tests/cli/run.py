"""Running the command in a test: the real one, its exit status and exactly what it printed."""

from __future__ import annotations

from typing import NamedTuple

from click.testing import CliRunner

from footwork.cli import main


class Done(NamedTuple):
    status: int
    out: str
    err: str


def footwork(*words: object, typed: str | None = None) -> Done:
    """Run ``footwork WORDS``; ``typed`` is its standard input, which is no terminal."""
    result = CliRunner().invoke(main, [str(word) for word in words], input=typed)
    assert result.exception is None or isinstance(result.exception, SystemExit), result.exception
    return Done(result.exit_code, result.stdout, result.stderr)
