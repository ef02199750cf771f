"""What is practised before the clock starts holds all that the work compiles."""

from __future__ import annotations

from typing import Any

import pytest

from footwork.arrange import suggest
from footwork.arrange.branch_and_bound import node
from footwork.arrange.ready import smallest


def test_practice_tightens_walks(monkeypatch: pytest.MonkeyPatch) -> None:
    """Otherwise the first small node of a real search would wait for it to be compiled."""
    calls, on_tightened = [], node.on_tightened

    def watched(*args: Any) -> Any:
        calls.append(args)
        return on_tightened(*args)

    monkeypatch.setattr(node, "on_tightened", watched)
    suggest._practise(smallest(), lambda: None)
    assert calls
