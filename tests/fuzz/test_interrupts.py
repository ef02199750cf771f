"""A short run of interrupts; ``interrupts.py`` is the longer one."""

from __future__ import annotations

import sys

import pytest

from . import interrupts

BUSY = 20.0
"""Times as long as is promised: the machine runs other tests beside this, and compiles."""

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="signals")


@pytest.mark.parametrize("way", interrupts.WAYS, ids=[way.name for way in interrupts.WAYS])
def test_an_interrupt_leaves_no_trace(way: interrupts.Way) -> None:
    run = interrupts.some(1, seed=len(way.name), ways=[way], patience=BUSY)
    assert run.broken == []
