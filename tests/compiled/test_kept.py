"""Compiled code on disk is today's: an edit is seen in the next run, and nobody deletes a cache by hand."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

PARTS = """
from footwork.compiled.functions import bare, unit

SHARE = 3.0

@bare
def part(x: float) -> float:
    return 2.0 * x

@unit
def called(x: float) -> float:
    return x + 10.0
"""
WHOLE = """
from parts import SHARE, called, part

from footwork.compiled.functions import entry

@entry
def whole(x: float) -> float:
    return part(x) + SHARE + called(x)
"""
RUN = """
import sys
from numba.core import event
from whole import whole

class Compiled(event.Listener):
    def on_start(self, seen): print(seen.data["dispatcher"].py_func.__name__, file=sys.stderr)
    def on_end(self, seen): pass

event.register("numba:compile", Compiled())
print(whole(1.0))
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "parts.py").write_text(PARTS)
    (tmp_path / "whole.py").write_text(WHOLE)
    return tmp_path


def run(folder: Path) -> tuple[float, set[str]]:
    """What a fresh process computes, and which functions it compiles for that."""
    environment = {k: v for k, v in os.environ.items() if k != "NUMBA_CACHE_DIR"}
    done = subprocess.run(
        [sys.executable, "-c", RUN], cwd=folder, env=environment, capture_output=True, text=True, check=True
    )
    return float(done.stdout), set(done.stderr.split()) - {"impl"}  # what Numba has of its own


def edit(path: Path, old: str, new: str) -> None:
    text = path.read_text()
    assert text.count(old) == 1
    path.write_text(text.replace(old, new))


def test_a_second_run_compiles_nothing(folder: Path) -> None:
    assert run(folder) == (16.0, {"whole", "part", "called"})
    assert run(folder) == (16.0, set())


def test_an_edit_of_a_function_compiled_into_another_is_seen(folder: Path) -> None:
    run(folder)
    edit(folder / "parts.py", "2.0 * x", "5.0 * x")
    assert run(folder) == (19.0, {"whole", "part"})


def test_an_edit_of_a_function_called_by_its_address_is_seen_and_its_callers_stay(folder: Path) -> None:
    run(folder)
    edit(folder / "parts.py", "x + 10.0", "x + 20.0")
    assert run(folder) == (26.0, {"called"})


def test_an_edit_of_a_constant_is_seen(folder: Path) -> None:
    run(folder)
    edit(folder / "parts.py", "SHARE = 3.0", "SHARE = 4.0")
    assert run(folder) == (17.0, {"whole", "part"})


def test_what_a_called_function_returns_may_change_its_type(folder: Path) -> None:
    run(folder)
    edit(folder / "parts.py", "x + 10.0", "int(x) + 10")
    assert run(folder) == (16.0, {"whole", "part", "called"})


def test_comments_and_lines_above_change_nothing(folder: Path) -> None:
    run(folder)
    edit(folder / "parts.py", "SHARE = 3.0", "# a share\n\n\nSHARE = 3.0  # of three")
    assert run(folder) == (16.0, set())


RECORD = """
from typing import NamedTuple

import numpy as np

from footwork.compiled.functions import entry
from footwork.compiled.records import record

@record
class Given(NamedTuple):
    values: np.ndarray

@entry
def whole(given: Given) -> float:
    return given.values[0]

def run() -> float:
    return whole(Given(np.ones(3)))
"""


def test_a_record_may_get_another_name(tmp_path: Path) -> None:
    """The old index then speaks of a class that is gone."""
    (tmp_path / "whole.py").write_text(RECORD)
    program = [sys.executable, "-c", "import whole; print(whole.run())"]
    for name in ("Given", "Taken"):
        (tmp_path / "whole.py").write_text(RECORD.replace("Given", name))
        done = subprocess.run(program, cwd=tmp_path, capture_output=True, text=True, check=True)
        assert float(done.stdout) == 1.0


MADE = """
from typing import NamedTuple

import numpy as np

from footwork.compiled.functions import entry, inner, unit
from footwork.compiled.records import record

@record
class Made(NamedTuple):
    values: np.ndarray

@unit
def make() -> Made:
    return Made(np.ones(3))

@unit
def of(made: Made) -> float:
    return made.values[0]

@inner
def made() -> Made:
    return make()

@entry
def whole() -> float:
    return of(made())
"""


def test_a_record_that_one_called_function_hands_to_another_may_get_other_fields(tmp_path: Path) -> None:
    """As after an upgrade beside the old version's code: the caller's has not changed, what it calls has."""
    program = [sys.executable, "-c", "import whole; print(whole.whole())"]
    other = MADE.replace("values: np.ndarray", "values: np.ndarray\n    more: np.ndarray")
    other = other.replace("np.ones(3))", "np.ones(3), np.full(3, 2.0))").replace("made.values", "made.more")
    for text, result in ((MADE, 1.0), (other, 2.0)):
        (tmp_path / "whole.py").write_text(text)
        done = subprocess.run(program, cwd=tmp_path, capture_output=True, text=True, check=True)
        assert float(done.stdout) == result


def test_where_the_package_cannot_be_written_to_the_users_cache_keeps_it(
    folder: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file in the way of ``__pycache__`` stops root too, as permissions would not."""
    cache = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache))
    (folder / "__pycache__").write_text("")
    assert run(folder) == (16.0, {"whole", "part", "called"})
    assert len(list(cache.rglob("*.nbi"))) == 2
    assert run(folder) == (16.0, set())
    edit(folder / "parts.py", "2.0 * x", "5.0 * x")
    assert run(folder) == (19.0, {"whole", "part"})
