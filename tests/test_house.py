"""The house keeps its rules: imports run one way, rooms stay small, starting up stays light."""

from __future__ import annotations

import ast
import graphlib
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parent.parent / "src" / "footwork"
MODULES = sorted(SOURCE.rglob("*.py"))
IN_ROOMS = [path for path in MODULES if path.name not in ("__main__.py",) and path != SOURCE / "__init__.py"]

ROOMS = (
    ("compiled",),
    ("model",),
    ("floor",),
    ("checks",),
    ("scoring",),
    ("arrange",),
    ("whatif", "moves", "applying", "resizing", "elsewhere"),
    ("study",),
    ("show",),
    ("page",),
    ("cli",),
)
"""Lowest first: a room may import those before it and itself."""

RANK = {name: rank for rank, names in enumerate(ROOMS) for name in names}

ARRANGE = [
    {
        "core": "arrays solver slack options random results stop progress packing pairwise visit_variables "
        "once"
    },
    {
        "relaxation": "model build aggregation scaling edge_weights restrict edge_minima packing_multipliers "
        "rlt_multipliers trws rounding",
        "spots": "layers alike frames overlaps alone enumerate symmetry_breaking minkowski conflicts "
        "packing_points stamps",
    },
    {"pair_table": "legs wishes prices walks table visit_choice visit_walks"},
    {"true_cost": "routes distance_cache evaluate judge beyond"},
    {
        "search": "neighbourhoods anneal_table anneal_true guided_ejection construct multistart single_moves "
        "at_fault exact_completion"
    },
    {"tightening": "compulsory tighten collect"},
    {"branch_and_bound": "cutoffs frontier node strong_branching tree"},
    {"every_position": "cells cell_conflicts difference_grid cell_table cell_packing cell_tree refine stage"},
    {"assignment": "problem hungarian gilmore_lawler hahn_grant tabu memetic assign"},
    {"": "nowhere levels instance unavoidable screens tidy ready early run outcome practice suggest"},
]
"""The rooms of ``arrange/`` and the modules of each, lowest first: a module may import those before it in its
room, and rooms in lines above its own.  The last are those that stand in no room of these."""

MODULES_IN_ROOM = 12
"""Of a room of ``arrange/``."""

HEAVY = ("numba", "shapely", "ortools", "matplotlib", "pydantic", "rich", "networkx")
"""Not imported by ``import footwork`` nor by ``footwork --help``."""

MODULE_LINES = 540
FUNCTION_LINES = 80
"""The aim is 400 and 60; one that holds a single purpose may run a third over."""


def name_of(path: Path) -> str:
    return ".".join(("footwork", *path.relative_to(SOURCE).with_suffix("").parts))


def imported(path: Path) -> Iterator[str]:
    """Modules of this package that a file imports, anywhere in it."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name.split(".")[0] == "footwork")
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}:{node.lineno}: a relative import"
            if node.module == "footwork":
                yield from (f"footwork.{alias.name}" for alias in node.names)
            elif node.module and node.module.startswith("footwork."):
                yield node.module


@pytest.mark.parametrize("path", IN_ROOMS, ids=name_of)
def test_imports_run_one_way(path: Path) -> None:
    room = path.relative_to(SOURCE).with_suffix("").parts[0]
    assert room in RANK, f"{room}: give it a place in ROOMS"
    rooms = {name: name.split(".")[1] for name in imported(path) if "." in name}
    # A name that is no room is one of the package's own verbs: those belong to the users of the package.
    up = [name for name, other in rooms.items() if other not in RANK or RANK[other] > RANK[room]]
    assert up == [], f"{name_of(path)} imports {up}"


def module_name(path: Path) -> str:
    """``name_of``, of a package without its ``__init__``."""
    return name_of(path).removesuffix(".__init__")


NAMES = {module_name(path) for path in MODULES}


def modules_imported(path: Path) -> set[str]:
    """As ``imported``; of ``from room import module`` the module, not the room."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            names = {f"{node.module}.{alias.name}" for alias in node.names}
            found |= {name if name in NAMES else node.module for name in names}
    return found & NAMES - {"footwork"}


IN_ARRANGE = {
    ".".join(filter(None, ("footwork.arrange", room, module))): (line, room, place)
    for line, rooms in enumerate(ARRANGE)
    for room, modules in rooms.items()
    for place, module in enumerate(modules.split())
}
"""Where each module of ``arrange/`` stands: its line, its room, its place there."""


@pytest.mark.parametrize("path", sorted((SOURCE / "arrange").rglob("*.py")), ids=name_of)
def test_imports_inside_arrange_run_one_way(path: Path) -> None:
    others = {name for name in modules_imported(path) if name.startswith("footwork.arrange.")}
    if path.name == "__init__.py":
        assert others == set(), f"{name_of(path)} imports {others}"
        return
    assert name_of(path) in IN_ARRANGE, f"{name_of(path)}: give it a place in ARRANGE"
    line, room, place = IN_ARRANGE[name_of(path)]
    for name in others & IN_ARRANGE.keys():
        there, other, before = IN_ARRANGE[name]
        assert before < place if other == room else there < line, f"{name_of(path)} imports {name}"


def test_rooms_of_arrange_are_as_listed() -> None:
    there = {name for name in map(name_of, MODULES) if name.startswith("footwork.arrange.")}
    assert IN_ARRANGE.keys() == {name for name in there if not name.endswith(".__init__")}
    for rooms in ARRANGE:
        for room, modules in rooms.items():
            assert len(modules.split()) <= MODULES_IN_ROOM, room


def test_no_imports_run_in_a_circle() -> None:
    """Of all modules, inside functions too: a circle is one module in two files."""
    graph = {module_name(path): modules_imported(path) for path in MODULES}
    try:
        graphlib.TopologicalSorter(graph).prepare()
    except graphlib.CycleError as circle:
        pytest.fail(f"imports in a circle: {' <- '.join(circle.args[1])}")


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_rooms_stay_small(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    lines = text.count("\n")
    assert lines <= MODULE_LINES, f"{name_of(path)} has {lines} lines"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= FUNCTION_LINES, f"{name_of(path)}: {node.name} has {length} lines"


ARGUMENTS = 8
PUBLIC_VERBS = {"footwork.arrange.suggest.suggest", "footwork.arrange.assignment.assign.assign"}
"""Of keywords, most of which nobody gives."""


@pytest.mark.parametrize("path", [p for p in MODULES if {"floor", "arrange"} & {*p.parts}], ids=name_of)
def test_what_belongs_together_is_handed_on_as_a_record(path: Path) -> None:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.FunctionDef) and f"{name_of(path)}.{node.name}" not in PUBLIC_VERBS:
            taken = [a.arg for a in (*node.args.args, *node.args.kwonlyargs) if a.arg not in ("self", "cls")]
            assert len(taken) <= ARGUMENTS, f"{name_of(path)}: {node.name} takes {taken}"


@pytest.mark.parametrize(
    "code",
    ["import footwork", "from footwork.cli import main\nmain(['--help'], standalone_mode=False)"],
    ids=["import footwork", "footwork --help"],
)
def test_starting_up_stays_light(code: str) -> None:
    seen = f"{code}\nimport sys\nprint('loaded:', *[m for m in {HEAVY} if m in sys.modules])"
    done = subprocess.run([sys.executable, "-c", seen], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "loaded:"


def compiled_as(path: Path) -> dict[str, str]:
    """Compiled functions of a module and the decorator of each."""
    made = {"entry", "unit", "inner", "bare", "bare_entry", "bare_unit", "njit"}
    return {
        node.name: decorator.id
        for node in ast.parse(path.read_text()).body
        if isinstance(node, ast.FunctionDef)
        for decorator in node.decorator_list
        if isinstance(decorator, ast.Name) and decorator.id in made
    }


INNER = {
    f"{name_of(path)}.{function}": kind
    for path in MODULES
    for function, kind in compiled_as(path).items()
    if kind in ("unit", "inner", "bare", "bare_unit")
}


def named_in_python(path: Path) -> Iterator[str]:
    """Full names of what a file's functions that are not compiled, and its top level, speak of."""
    tree = ast.parse(path.read_text())
    known = {}
    if path in MODULES:
        room = name_of(path)
        known = {node.name: f"{room}.{node.name}" for node in tree.body if isinstance(node, ast.FunctionDef)}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and node.module:
            known |= {a.asname or a.name: f"{node.module}.{a.name}" for a in node.names}
    compiled = compiled_as(path)
    for part in tree.body:
        if not (isinstance(part, ast.FunctionDef) and part.name in compiled):
            for node in ast.walk(part):
                if isinstance(node, ast.Name):
                    yield known.get(node.id, "")
                elif isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
                    yield f"{known.get(node.value.id, '')}.{node.attr}"


def test_the_inner_functions_are_known() -> None:
    assert INNER.get("footwork.arrange.relaxation.rounding.decode") == "unit"
    assert INNER.get("footwork.floor.contact.hits") == "bare"


TESTS = sorted(Path(__file__).parent.rglob("*.py"))


@pytest.mark.parametrize("path", [*MODULES, *TESTS], ids=lambda path: path.stem)
def test_python_calls_no_inner_function(path: Path) -> None:
    """It would end the process: such a function has no wrapper to call it by."""
    assert not INNER.keys() & set(named_in_python(path))


def test_the_lowest_versions_that_are_tried_are_those_that_are_allowed() -> None:
    root = SOURCE.parents[1]
    project = tomllib.loads((root / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    extras = project["optional-dependencies"]
    named = [*project["dependencies"], *extras["cluster"], *extras["test"]]
    allowed = dict(one.split(">=") for one in named if ">=" in one)
    tried = dict(re.findall(r"^(\S+)==(\S+)$", (root / ".ci/lowest.txt").read_text(encoding="utf-8"), re.M))
    assert tried.keys() == allowed.keys()
    for name, lowest in allowed.items():
        assert f"{tried[name]}.".startswith(f"{lowest}."), name
