"""A short run of all that is thrown at the program, the same each time; ``long.py`` is the longer one."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import HealthCheck, given, settings

from . import promise
from .strategies import (
    EXAMPLES,
    command_lines,
    mutated_texts,
    rows_of_lines,
    rows_of_messages,
    rows_of_moves,
    scenario_texts,
    sheets,
)
from .toml import text_of

NOOK = text_of(EXAMPLES["frame-nook"])
THINGS = (*EXAMPLES["frame-nook"]["stations"], *EXAMPLES["frame-nook"]["jobs"], "nothing")


def short(examples: int) -> settings:
    """The same examples on every run, none kept between runs."""
    return settings(
        max_examples=examples,
        derandomize=True,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )


@pytest.fixture(autouse=True)
def _in_a_folder() -> object:
    with promise.folder() as path:
        yield path


@short(60)
@given(scenario_texts)
def test_random_files(text: str) -> None:
    promise.scenario_file(text)


@short(60)
@given(mutated_texts(("frame-nook", "gate-shed")))
def test_spoilt_files(text: str) -> None:
    promise.scenario_file(text)


@short(40)
@given(command_lines)
def test_random_command_lines(words: Sequence[str]) -> None:
    promise.command_line(words, NOOK)


@short(30)
@given(rows_of_moves(THINGS))
def test_random_moves(row: list[str]) -> None:
    promise.moves(NOOK, row)


@short(8)
@given(rows_of_lines(THINGS))
def test_random_lines_at_the_prompt(row: list[str]) -> None:
    promise.prompt(NOOK, row)


@short(12)
@given(rows_of_messages(THINGS))
def test_random_messages_of_a_page(row: list[str]) -> None:
    promise.page(NOOK, row)


@short(20)
@given(sheets(THINGS))
def test_random_sheets_of_visits(rows: str) -> None:
    promise.sheet(NOOK, rows)


def test_a_message_nested_too_deeply_is_answered() -> None:
    assert promise.page(NOOK, ["[" * 2000]) == "refused"
