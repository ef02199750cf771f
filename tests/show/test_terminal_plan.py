"""The small plan in the terminal: narrow enough, true to proportion, everything in it is named."""

from __future__ import annotations

import io
import re
from pathlib import Path

import pytest
from rich.cells import cell_len
from rich.console import Console

from box import write_box
from cli.run import footwork
from footwork.floor.plan import Plan
from footwork.model.read import load, loads
from footwork.model.scenario import Scenario
from footwork.show.terminal_plan import ROWS, _characters, _grid, plan_lines, stands_elsewhere, terminal_plan
from show.sheds import busy, crowded

EXAMPLES = sorted((Path(__file__).parents[2] / "scenarios").glob("*.toml"))
SHEDS = [*(pytest.param(load(path), id=path.stem) for path in EXAMPLES),
         pytest.param(crowded(), id="crowded"), pytest.param(busy(), id="busy")]  # fmt: skip

HAND = """
name = "Hand"
[room]
size = [7.8, 4.0]
doors = [{ name = "door", wall = "south", from = 1.0, width = 1.0 }]
windows = [{ wall = "north", from = 4.0, width = 2.0 }]
[stations]
bench = { size = [2.0, 0.8] }
bin = { size = [0.2, 0.2] }
[layouts.today]
bench = { at = [1.0, 3.6], facing = "south" }
bin = { at = [7.0, 2.0], facing = "west" }
"""


def test_by_hand() -> None:
    # 80 columns: 0.1 m a column, 0.2 m a row; the bench's 2.0 x 0.8 m are 20 columns and 4 rows
    lines = plan_lines(loads(HAND))
    assert lines[0] == "┏" + "━" * 19 + "┯" + "━" * 20 + "═" * 19 + "━" * 18 + "┓"
    assert lines[1] == "┃" + " " * 19 + "│" + " " * 57 + "┃"
    assert lines[2] == "┃" + "       bench       " + "│" + " " * 57 + "┃"
    assert lines[4] == "┠" + "─" * 9 + "v" + "─" * 9 + "┘" + " " * 57 + "┃"
    assert lines[20] == "┗" + "━" * 10 + "╌" * 9 + "━" * 58 + "┛"
    assert lines[21:] == ["2 bin", "v ^ < > front  ╌ ╎ door  ═ ║ window  north is up  ├─────────┤ 1 m"]


def test_every_box_character_is_known() -> None:
    known = _characters()
    assert len(known) == 3**4 - 1
    assert known[0, 2, 2, 0] == "┏"
    assert known[0, 2, 1, 2] == "┯"
    assert known[0, 1, 0, 2] == "╾"


@pytest.mark.parametrize("scenario", SHEDS)
@pytest.mark.parametrize("width", [80, 60])
def test_it_fits(scenario: Scenario, width: int) -> None:
    for plain in (False, True):
        lines = plan_lines(scenario, width=width, plain=plain)
        assert all(cell_len(line) <= width and line == line.rstrip() for line in lines)
        assert "\n".join(lines).isascii() == plain
    grid = _grid(Plan(scenario, scenario.layouts[0]), width, ROWS)
    assert grid.rows <= ROWS
    assert grid.columns <= width


@pytest.mark.parametrize("scenario", SHEDS)
def test_everything_is_named_once_in_the_plan_or_by_its_number(scenario: Scenario) -> None:
    plan = Plan(scenario, scenario.layouts[0])
    grid = _grid(plan, 80, ROWS)
    lines = plan_lines(scenario)
    drawn, below = lines[: grid.rows], "  ".join(lines[grid.rows :])
    for number, thing in enumerate(scenario.things, start=1):
        ring = [grid.cell(corner) for corner in plan.footprint(thing.name)]
        xs, ys = [c[0] for c in ring], [c[1] for c in ring]
        rows = drawn[min(ys) : max(ys) + 2]
        within = " ".join(row[max(0, min(xs) - 2) : max(xs) + 3] for row in rows)
        if re.search(rf"(?:^|  ){number} \(?{re.escape(thing.name)}\)?(?:  |$)", below):
            assert re.search(rf"(?<!\d){number}(?!\d)", within), (
                f"{thing.name}: no number {number} at its place"
            )
        else:
            words = re.split(r"[ _-]", thing.name)
            assert all(word in within for word in words), f"{thing.name}: not named at its place:\n{within}"


@pytest.mark.parametrize("scenario", SHEDS)
def test_it_is_true_to_proportion(scenario: Scenario) -> None:
    """Each corner is within half a character of where the one scale puts it."""
    plan = Plan(scenario, scenario.layouts[0])
    grid = _grid(plan, 80, ROWS)
    lines = plan_lines(scenario)
    for corner in plan.room.outline:
        column, row = grid.cell(corner)
        x, y = grid.centre((column, row))
        assert abs(x - corner[0]) <= grid.s / 2 + 1e-9
        assert abs(y - corner[1]) <= grid.s + 1e-9
        post = any(fixture.at == corner for fixture in plan.room.fixtures)
        assert lines[row][column] in ("▒" if post else "┏┓┗┛┡┢┩┪┱┲┹┺╃╄╅╆")


def test_a_star_marks_what_moved() -> None:
    scenario = loads(HAND)
    before = scenario.layouts[0].placements
    after = scenario.layouts[0].moved({"bench": before["bin"]}).placements
    assert stands_elsewhere(before, after) == {"bench"}
    assert stands_elsewhere(None, after) == frozenset()
    text = "\n".join(plan_lines(scenario, moved={"bench", "bin"}))
    assert "bench*" in text
    assert "2 bin*" in text
    assert "* moved" in text


def test_a_terminal_without_box_characters_gets_ascii() -> None:
    file = io.TextIOWrapper(io.BytesIO(), encoding="ascii")
    terminal_plan(loads(HAND), None, Console(file=file, width=80))
    file.seek(0)
    assert file.read().splitlines()[0].startswith("+-------------------+---")


def test_names_of_other_scripts_go_below() -> None:
    scenario = loads(HAND.replace("bench =", '"作業台" =').replace("bin =", '"שולחן" ='))
    lines = plan_lines(scenario)
    assert lines[21] == "1 作業台  2 שולחן"
    assert all(cell_len(line) <= 80 for line in lines)


def test_whatif_shows_it_after_the_moves_and_suggest_after_the_tables(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    done = footwork("whatif", path, "move drill by -1,0", "--plan")
    assert done.status == 0
    assert "drill*" in done.out
    assert "bench*" not in done.out
    found = footwork("suggest", path, "--iterations", 50, "--pitch", 1, "--processes", 1, "--quiet", "--plan")
    assert found.status == 0
    assert "├" in found.out.splitlines()[-1]
    for words in (["whatif", path, "turn bench 180"], ["suggest", path]):
        refused = footwork(*words, "--plan", "--json")
        assert (refused.status, refused.err.count("\n")) == (2, 1)
        assert "--plan and --json exclude each other" in refused.err


def test_the_prompt_knows_plan(tmp_path: Path) -> None:
    path = write_box(tmp_path)
    done = footwork("whatif", path, typed="plan\nmove drill by -1,0\nplan\nplan now\n")
    assert done.out.count("┏") == 2
    assert done.out.count("drill*") == 1
    assert done.err == "footwork: plan takes nothing after it\n"
    each = footwork("whatif", path, "--plan", typed="move drill by -1,0\nundo\n")
    assert each.out.count("┏") == 2
