"""Whatever is done to an example, reading it gives a scenario or a ScenarioError, and nothing else."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path

import pytest

from footwork.model.errors import ScenarioError
from footwork.model.read import load, loads

EXAMPLES = {
    path.stem: path.read_text(encoding="utf-8")
    for path in sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
}

ODD = (
    "nan", "-inf", "true", "''", "[]", "{}", "[[[]]]", "-1", "0", "1e300", "9" * 30, "1979-05-27", "'1/0 in'",
    "\"\\u0000\"", "'door'", "[1, 2, 3]", "[{}]", "{ at = 1 }", "'north'", "'7 ft'",
    "{ repeat = 99999, route = ['bench'] }",
)  # fmt: skip
MARKS = "\"'[]{}=,.#\\\n\r\t\0\ufeff\u2028é-:0aZ"


def _swap_lines(lines: list[str], rng: random.Random) -> None:
    i, j = rng.randrange(len(lines)), rng.randrange(len(lines))
    lines[i], lines[j] = lines[j], lines[i]


def _drop_line(lines: list[str], rng: random.Random) -> None:
    del lines[rng.randrange(len(lines))]


def _repeat_line(lines: list[str], rng: random.Random) -> None:
    lines.insert(rng.randrange(len(lines)), rng.choice(lines))


def _odd_value(lines: list[str], rng: random.Random) -> None:
    i = rng.randrange(len(lines))
    key, equals, _ = lines[i].partition("=")
    if equals:
        lines[i] = f"{key}= {rng.choice(ODD)}"


def _odd_number(lines: list[str], rng: random.Random) -> None:
    i = rng.randrange(len(lines))
    words = lines[i].split(" ")
    j = rng.randrange(len(words))
    words[j] = rng.choice(ODD) + ("," if words[j].endswith(",") else "")
    lines[i] = " ".join(words)


def _odd_mark(lines: list[str], rng: random.Random) -> None:
    i = rng.randrange(len(lines))
    at = rng.randrange(len(lines[i]) + 1)
    lines[i] = lines[i][:at] + rng.choice(MARKS) + lines[i][at + rng.randrange(2) :]


def _misspelling(lines: list[str], rng: random.Random) -> None:
    i = rng.randrange(len(lines))
    if lines[i]:
        at = rng.randrange(len(lines[i]))
        lines[i] = lines[i][:at] + lines[i][at + 1 :]


CHANGES: tuple[Callable[[list[str], random.Random], None], ...] = (
    _swap_lines, _drop_line, _repeat_line, _odd_value, _odd_value, _odd_number, _odd_mark, _misspelling,
)  # fmt: skip


def spoilt(text: str, rng: random.Random) -> str:
    """The text with one to four changes."""
    lines = text.split("\n")
    for _ in range(rng.randint(1, 4)):
        rng.choice(CHANGES)(lines, rng)
    return "\n".join(lines)


@pytest.mark.parametrize("example", EXAMPLES)
def test_a_spoilt_example_raises_nothing_but_a_scenario_error(example: str) -> None:
    rng = random.Random(example)
    refused = 0
    for _ in range(400):
        text = spoilt(EXAMPLES[example], rng)
        try:
            loads(text)
        except ScenarioError as error:
            refused += 1
            check_lines(error)
        except Exception as error:
            pytest.fail(f"{type(error).__name__}: {error}, on:\n{text}")
    assert refused > 50, "the changes are too mild to test anything"


def check_lines(error: ScenarioError) -> None:
    """Each message is one printable line of a bearable length, and none is said twice."""
    assert error.lines
    assert len(set(error.lines)) == len(error.lines)
    for line in error.lines:
        assert line.isprintable(), repr(line)
        assert len(line) < 500, line


def test_bytes_of_any_kind(tmp_path: Path) -> None:
    rng = random.Random(1)
    path = tmp_path / "shed.toml"
    for _ in range(100):
        path.write_bytes(rng.randbytes(rng.randrange(60)))
        with pytest.raises(ScenarioError):
            load(path)
