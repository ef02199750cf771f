"""Records: the same object for Python and for compiled code, and let go of when nobody has it any more."""

from __future__ import annotations

import gc
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import numpy as np
import pytest

from footwork.compiled import records
from footwork.compiled.functions import bare_entry, entry
from footwork.compiled.records import record
from footwork.floor.contact import Floats


@record
class Inner(NamedTuple):
    """A record in another."""

    values: Floats
    factor: float
    flag: bool


@record
class Outer(NamedTuple):
    inner: Inner
    table: Floats
    count: int


@entry
def grown(outer: Outer, by: float) -> Outer:
    inner = Inner(outer.inner.values + by, outer.inner.factor * 2.0, flag=not outer.inner.flag)
    return Outer(inner, outer.table[1:, ::2], outer.count + 1)


@entry
def fill(outer: Outer) -> float:
    for k in range(len(outer.inner.values)):
        outer.inner.values[k] = outer.inner.factor * k
    return float(outer.inner.values.sum())


@bare_entry
def total(outer: Outer) -> float:
    whole = 0.0
    for value in outer.inner.values:
        whole += value
    return whole


def made() -> Outer:
    return Outer(Inner(np.arange(4.0), 3.0, True), np.arange(12.0).reshape(3, 4), 7)


def test_python_reads_what_compiled_code_made() -> None:
    outer = grown(made(), 1.0)
    assert outer.inner.values.tolist() == [1.0, 2.0, 3.0, 4.0]
    assert (outer.inner.factor, outer.inner.flag, outer.count) == (6.0, False, 8)
    assert outer.table.tolist() == [[4.0, 6.0], [8.0, 10.0]]
    assert not outer.table.flags.c_contiguous


def test_what_compiled_code_made_can_be_handed_on_unread() -> None:
    outer = made()
    for _ in range(5):
        outer = grown(outer, 1.0)
        outer = outer._replace(table=np.arange(12.0).reshape(3, 4))
    assert outer.inner.values.tolist() == [5.0, 6.0, 7.0, 8.0]
    assert total(outer) == 26.0


def test_arrays_are_shared_not_copied() -> None:
    outer = made()
    assert fill(outer) == 18.0
    assert outer.inner.values.tolist() == [0.0, 3.0, 6.0, 9.0]
    again = grown(outer, 0.0)
    again.table[:] = -1.0
    assert outer.table[1, 0] == -1.0


def test_an_array_outlives_its_record() -> None:
    values = grown(made(), 1.0).inner.values
    gc.collect()
    np.zeros(4)  # what was freed would be taken for this
    assert values.tolist() == [1.0, 2.0, 3.0, 4.0]


def test_nothing_is_kept_once_nobody_has_it() -> None:
    table = np.zeros((300, 400))
    before = sys.getrefcount(table)
    for _ in range(50):
        outer = Outer(Inner(np.arange(4.0), 3.0, True), table, 7)
        total(outer), grown(outer, 1.0)
    del outer
    gc.collect()
    assert sys.getrefcount(table) == before


def test_fields_by_name_and_all_of_them() -> None:
    with pytest.raises(TypeError, match="flag"):
        Inner(np.zeros(1), factor=1.0)  # type: ignore[call-arg]
    assert Inner(flag=True, values=np.zeros(0), factor=2.0).factor == 2.0
    with pytest.raises(AttributeError):
        made().inner.factor = 1.0  # type: ignore[misc]
    assert [type(field).__name__ for field in made()] == ["Inner", "ndarray", "int"]


def test_an_interrupt_while_a_record_is_laid_out_is_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """It became the fault of a function that returned NULL and said nothing."""

    def press(outer: object) -> None:
        raise KeyboardInterrupt

    fill(made())  # compiled by now
    monkeypatch.setattr(records, "_lay_out", press)
    for _ in range(3):
        with pytest.raises(KeyboardInterrupt):
            fill(made())
    monkeypatch.undo()
    assert fill(made()) == 18.0


INTERRUPTED = """
import signal
from typing import NamedTuple

import numpy as np

from footwork.compiled import records
from footwork.compiled.functions import entry
from footwork.compiled.records import record

@record
class Found(NamedTuple):
    values: np.ndarray
    length: float

@entry
def found(values: np.ndarray) -> Found:
    return Found(values, values[0])

values, times = np.ones(3), 0
found(values)
signal.signal(signal.SIGALRM, signal.default_int_handler)
for k in range(300):
    try:
        signal.setitimer(signal.ITIMER_REAL, 2e-5 + 1e-6 * k)
        for _ in range(1000):
            found(values)
    except KeyboardInterrupt:
        times += 1
signal.setitimer(signal.ITIMER_REAL, 0)
print(times)
"""


def test_an_interrupt_while_a_record_is_handed_back_is_one(tmp_path: Path) -> None:
    """Python runs while the object is made, so that Ctrl-C may come there: it ended the process."""
    program = tmp_path / "interrupted.py"
    program.write_text(INTERRUPTED)
    done = subprocess.run([sys.executable, str(program)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-300:]
    assert int(done.stdout) > 200
