"""The JSON Schema accepts what the reader accepts, and refuses the slips that people make."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from box import BOX
from cli.run import footwork
from footwork.model import schema
from footwork.model.errors import ScenarioError
from footwork.model.json_schema import FILE, json_schema
from footwork.model.json_values import FACING, LENGTH, NAME, NOT_NEGATIVE, POSITIVE, TIMES, Schema
from footwork.model.names import name_fault
from footwork.model.read import loads
from footwork.model.starter import starter
from footwork.model.starter_kinds import KINDS
from footwork.model.units import parse_facing, parse_length, parse_times
from model.test_faults import CASES
from model.test_reference import EXAMPLES, whole
from model.variants import BASE, variant

ROOT = Path(__file__).parents[2]
SCENARIOS = sorted((ROOT / "scenarios").glob("*.toml"))
WHOLE = json_schema()
JUDGE = jsonschema.Draft7Validator(WHOLE)
README = re.findall(r"^```toml\n(.*?)^```", (ROOT / "README.md").read_text(encoding="utf-8"), re.M | re.S)


def faults(text: str) -> list[str]:
    """What the schema says against a file, the place first."""
    found = JUDGE.iter_errors(tomllib.loads(text))
    return [f"{'.'.join(map(str, error.absolute_path))}: {error.message}" for error in found]


def test_it_is_a_schema() -> None:
    jsonschema.Draft7Validator.check_schema(WHOLE)
    assert json.loads(json.dumps(WHOLE)) == WHOLE


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_scenario_is_accepted(path: Path) -> None:
    assert faults(path.read_text(encoding="utf-8")) == []


@pytest.mark.parametrize("text", EXAMPLES, ids=lambda text: text.split("\n")[0])
def test_every_example_of_the_reference_is_accepted(text: str) -> None:
    assert faults(whole(text)) == []


def test_the_examples_of_the_readme_are_accepted() -> None:
    assert README
    for text in README:
        assert faults(text) == []


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("room", [None, (4.0, 3.0), (12.0, 9.0)])
def test_every_starter_is_accepted(kind: str, room: tuple[float, float] | None) -> None:
    assert faults(starter(kind, room)) == []


BEYOND = ("unknown key", "is not a length", "is not a facing", "is not true or false", "is not a list",
          "is missing", "is out of range", "is not a frequency", "is not more than 0", "is not a side",
          "unknown check", "is not two lengths", "is not a place", "is not known here", "is not a word",
          "is not a whole number", "is not a number", "is not in the catalogue", "both a size and an outline",
          "it has no size")  # fmt: skip
"""Faults that a value shows by itself: the others are left to the reader, which knows the whole file."""


UNSEEN = ("'door' is missing", "2.0 is not a whole number", "is not a number that can be used", "there is no")
"""To JSON Schema 2.0 is whole, and infinity a number; which names there are it cannot tell."""

VISIBLE = [
    case
    for case in CASES
    if any(words in case[1] for words in BEYOND) and not any(words in case[1] for words in UNSEEN)
]


@pytest.mark.parametrize(("change", "said"), VISIBLE, ids=str)
def test_what_one_value_shows_is_refused(change: tuple[str, str], said: str) -> None:
    """The reader's own tests of faults, as far as the schema can see them."""
    assert faults(variant(change)) != [], said


def test_most_faults_are_visible() -> None:
    assert len(VISIBLE) > len(CASES) / 3


def test_every_text_that_the_reader_takes_is_taken() -> None:
    """All of the reader's tests: whatever the schema refuses, the reader refuses."""
    for change, _ in CASES:
        text = variant(change)
        try:
            loads(text)
        except ScenarioError:
            continue
        assert faults(text) == []
    assert faults(variant()) == faults(BASE) == faults(BOX) == []


LENGTHS = [
    "2400 mm",
    "2.4 m",
    "240cm",
    "35 ft",
    "7 ft 6 in",
    "7' 6-1/2\"",
    "7'-6\"",
    "1/2 in",
    "6 1/2 in",
    "-3 ft",
    " 2 Metres ",
    "7’ 6”",
    "12 inches",
    "1 Foot 2 Inches",
    "3 ft. 2 in.",
    "5''",
    "5′",
    ".5 m",
    "5. m",
    "2,4 m",
    "2400",
    "mm",
    "",
    "2 yd",
    "2 m 40 cm",
    "7 in 6 ft",
    "1/2/3 in",
    "2 m x",
    "--2 m",
    "1e3 mm",
    "7' 6",
    "in 7",
    "6--1/2 in",
    "2 mm mm",
    "3 ft 2 m",
    "+2 m",
    "½ in",
]
TIMES_TEXTS = [
    "3 per week",
    "twice a month",
    "once a day",
    "2/week",
    "1.5 per year",
    "5 per weeks",
    "3 Per Week",
    "per week",
    "three per week",
    "3 per fortnight",
    "3",
    "",
    "3 week",
    "-1 per week",
]
FACINGS = ["north", " East ", "SOUTH", 45, -90.5, "northeast", "up", "", True, "45"]
NAMES = [
    "bench",
    "big bench",
    "bench-1",
    "作業台",
    "a:b",
    "a,b",
    " a",
    "a ",
    "",
    "[x]",
    "{x}",
    'a"b',
    "a\\b",
    "x" * 60,
    "x" * 61,
    "d'Arcy",
]


def takes(known: Schema, value: Any) -> bool:
    return jsonschema.Draft7Validator(dict(known)).is_valid(value)


def reads(reader: Any, value: Any) -> bool:
    try:
        reader(value)
    except ValueError:
        return False
    return True


@pytest.mark.parametrize("text", LENGTHS)
def test_a_length_is_taken_exactly_when_it_is_read(text: str) -> None:
    assert takes(LENGTH, text) == reads(parse_length, text)
    sound = reads(parse_length, text) and parse_length(text) > 0
    assert takes(POSITIVE, text) == takes(NOT_NEGATIVE, text) == sound


@pytest.mark.parametrize("text", TIMES_TEXTS)
def test_a_frequency_is_taken_exactly_when_it_is_read(text: str) -> None:
    assert takes(TIMES, text) == reads(parse_times, text)


@pytest.mark.parametrize("value", FACINGS, ids=str)
def test_a_facing_is_taken_exactly_when_it_is_read(value: object) -> None:
    assert takes(FACING, value) == reads(parse_facing, value)


@pytest.mark.parametrize("name", NAMES)
def test_a_name_is_taken_exactly_when_it_is_read(name: str) -> None:
    assert takes(NAME, name) == (name_fault(name) == "")


def test_numbers_have_their_limits() -> None:
    assert takes(POSITIVE, 0.1)
    assert not takes(POSITIVE, 0)
    assert takes(NOT_NEGATIVE, 0)
    assert not takes(NOT_NEGATIVE, -0.1)
    assert not takes(LENGTH, True)


@pytest.mark.parametrize(
    "model", [m for m in vars(schema).values() if isinstance(m, type) and issubclass(m, schema.Table)]
)
def test_every_key_of_every_table_is_there_with_what_it_means(model: type[schema.Table]) -> None:
    if model is schema.Table:
        return
    places = {"HeadTable": WHOLE["properties"], "RoomTable": WHOLE["properties"]["room"]["properties"]}
    keys = places.get(model.__name__) or WHOLE["definitions"][model.__name__]["properties"]
    for name, field in model.model_fields.items():
        said = keys[field.alias or name]
        assert said["description"], name
        assert "null" not in json.dumps(said)


def test_the_command_prints_and_writes_it(tmp_path: Path) -> None:
    done = footwork("schema")
    assert (done.status, done.err) == (0, "")
    assert json.loads(done.out) == WHOLE
    out = tmp_path / FILE
    assert footwork("schema", "--out", out) == (0, f"wrote {out}\n", "")
    assert json.loads(out.read_text(encoding="utf-8")) == WHOLE
    refused = footwork("schema", "--out", tmp_path / "no" / "such.json")
    assert (refused.status, refused.err.count("\n")) == (2, 1)
