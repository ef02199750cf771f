"""The house keeps its rules: imports run one way, rooms stay small, starting up stays light."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

SOURCE = Path(__file__).parent.parent / "src" / "footwork"
MODULES = sorted(SOURCE.rglob("*.py"))
IN_ROOMS = [path for path in MODULES if path.name not in ("__main__.py",) and path != SOURCE / "__init__.py"]

ROOMS = (
    ("model",),
    ("floor",),
    ("checks",),
    ("scoring",),
    ("arrange",),
    ("whatif", "moves", "applying", "resizing"),
    ("study",),
    ("show",),
    ("cli",),
)
"""Lowest first: a room may import those before it and itself."""

RANK = {name: rank for rank, names in enumerate(ROOMS) for name in names}

HEAVY = ("numba", "shapely", "ortools", "matplotlib", "pydantic", "rich", "networkx")
"""Not imported by ``import footwork`` nor by ``footwork --help``."""

MODULE_LINES = 540
FUNCTION_LINES = 80
"""The aim is 400 and 60; one that holds a single purpose may run a third over."""

LONGER = {"footwork.arrange.relaxation.trws.work"}
"""Compiled loops that lose their speed when they are cut up."""


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


@pytest.mark.parametrize("path", MODULES, ids=name_of)
def test_rooms_stay_small(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    lines = text.count("\n")
    assert lines <= MODULE_LINES, f"{name_of(path)} has {lines} lines"
    for node in ast.walk(ast.parse(text)):
        if isinstance(node, ast.FunctionDef) and f"{name_of(path)}.{node.name}" not in LONGER:
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= FUNCTION_LINES, f"{name_of(path)}: {node.name} has {length} lines"


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
    made = {"entry", "inner", "bare", "bare_entry"}
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
    if kind in ("inner", "bare")
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
    assert INNER.get("footwork.arrange.relaxation.rounding.decode") == "inner"
    assert INNER.get("footwork.floor.contact.hits") == "bare"


TESTS = sorted(Path(__file__).parent.rglob("*.py"))


@pytest.mark.parametrize("path", [*MODULES, *TESTS], ids=lambda path: path.stem)
def test_python_calls_no_inner_function(path: Path) -> None:
    """It would end the process: such a function has no wrapper to call it by."""
    assert not INNER.keys() & set(named_in_python(path))
