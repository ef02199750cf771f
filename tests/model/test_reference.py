"""The reference of the file format: each example reads, and each key is there."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
import tomlkit

from footwork.model import schema
from footwork.model.errors import ScenarioError
from footwork.model.read import loads
from footwork.model.rules import RULE_IDS, RULES_WITH_FIGURE
from footwork.model.scenario import SIDES

PAGE = (Path(__file__).parents[2] / "scenarios" / "README.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^```toml\n(.*?)^```", PAGE, re.DOTALL | re.MULTILINE)

SMALLEST = """
[room]
size = [10, 7]
doors = [
  { name = "roller", wall = "south", from = 0.4, width = 3, vehicle = true },
  { name = "side", wall = "east", from = 0.6, width = 0.9 },
]
windows = [{ wall = "north", from = 1, width = 1 }]
fixtures = [{ name = "socket-1", at = [2, 7] }]
[stations]
bench = { size = [1.5, 0.9], stand = ["front", "back"] }
drill = { like = "pillar drill" }
rack = { size = [3, 0.5], placing = "wall" }
saw = { size = [0.7, 0.9] }
[vehicles]
van = { size = [1.9, 5.2] }
"""
"""What an example that is no whole scenario is put into; its own tables win, key by key."""


def merged(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    both = dict(base)
    for key, value in over.items():
        both[key] = merged(both[key], value) if isinstance(value, dict) and key in both else value
    return both


def whole(example: str) -> str:
    """The example as a scenario: itself, or the smallest one with the example's keys."""
    said = tomllib.loads(example)
    if "room" in said and "stations" in said:
        return example
    base = tomllib.loads(SMALLEST)
    if "doors" in said.get("room", {}):  # the examples of doors add to those there are
        said["room"]["doors"] = [base["room"]["doors"][0], *said["room"]["doors"]]
    return tomlkit.dumps(merged(base, said))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda text: text.split("\n")[0])
def test_each_example_reads(example: str) -> None:
    scenario = loads(whole(example))
    assert scenario.stations
    for layout in scenario.layouts:
        assert set(layout.placements) == {thing.name for thing in scenario.things}


def tables(model: type[schema.Table]) -> Iterator[str]:
    for name, field in model.model_fields.items():
        yield field.alias or name


@pytest.mark.parametrize(
    "model",
    [m for m in vars(schema).values() if isinstance(m, type) and issubclass(m, schema.Table)],
    ids=lambda m: m.__name__,
)
def test_each_key_is_there(model: type[schema.Table]) -> None:
    """In the text between backticks, or in an example."""
    words = set(re.findall(r"[a-z_]+", " ".join([*re.findall(r"`([^`]*)`", PAGE), *EXAMPLES])))
    assert set(tables(model)) - set(SIDES) <= words


@pytest.mark.parametrize(
    ("section", "model"),
    [
        ("## The head", schema.HeadTable),
        ("## walker", schema.WalkerTable),
        ("## room", schema.RoomTable),
        ("### doors", schema.DoorTable),
        ("### windows", schema.WindowTable),
        ("### fixtures", schema.FixtureTable),
        ("### floor to keep clear", schema.KeepClearTable),
        ("### yards", schema.YardTable),
        ("## stations", schema.StationTable),
        ("## vehicles", schema.VehicleTable),
        ("## jobs", schema.JobTable),
        ("## spots", schema.SpotTable),
        ("## wishes", schema.PreferTable),
    ],
)
def test_a_section_names_the_keys_of_its_table_and_no_others(section: str, model: type[schema.Table]) -> None:
    """In the first column, or in the first line of a section without one ("`name` and `outline`")."""
    body = re.split(r"^##", PAGE.split(f"\n{section}\n")[1], flags=re.MULTILINE)[0].strip()
    rows = re.findall(r"^\| (`[^|]*`) \|", body, re.MULTILINE)
    told = re.findall(r"`([a-z_]+)`", " ".join(rows) if rows else body.split("\n")[0])
    assert sorted(told) == sorted(tables(model))


def test_each_check_is_there() -> None:
    """And no other, with a figure where the file may change one."""
    body = PAGE.split("\n## checks\n")[1].split("```toml")[0]
    with_figure, alone = re.findall(
        r"Figure and severity: (.*?)\. Severity alone:(.*?)\.\n", body, re.DOTALL
    )[0]
    assert set(re.findall(r"`([a-z-]+)`", with_figure)) == RULES_WITH_FIGURE
    assert set(re.findall(r"`([a-z-]+)`", alone)) == set(RULE_IDS) - RULES_WITH_FIGURE


def test_the_faults_shown_are_those_of_the_file_shown() -> None:
    file, lines = re.findall(r"^```text\n(.*?)^```", PAGE, re.DOTALL | re.MULTILINE)
    with pytest.raises(ScenarioError) as told:
        loads(file, Path("faulty.toml"))
    assert [f"footwork: {line}" for line in told.value.lines] == lines.splitlines()


def test_links_lead_somewhere() -> None:
    heads = re.findall(r"^#+ (.*)$", PAGE, re.MULTILINE)
    marks = {re.sub(r"[^a-z_ -]", "", head.lower()).replace(" ", "-") for head in heads}
    assert set(re.findall(r"\]\(#([^)]*)\)", PAGE)) <= marks
