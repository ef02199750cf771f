"""For every test of the page: what is not saved is kept in the test's own folder, not in the user's."""

from __future__ import annotations

from pathlib import Path

import pytest


@pytest.fixture(autouse=True)
def state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder that programs keep their state in."""
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    return tmp_path / "state"
