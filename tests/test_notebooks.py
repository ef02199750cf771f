"""Notebooks are stored as they were written, without what a run puts into them; CI runs them anew."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

FOLDER = Path(__file__).parent.parent / "notebooks"
NOTEBOOKS = sorted(FOLDER.rglob("*.ipynb"))


def test_there_are_notebooks() -> None:
    assert NOTEBOOKS != []


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_is_stored_without_outputs(path: Path) -> None:
    notebook: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    assert notebook["metadata"]["kernelspec"]["name"] == "python3"
    for number, cell in enumerate(notebook["cells"], 1):
        where = f"{path.name}, cell {number}"
        assert cell["metadata"] == {}, f"{where}: a run left {cell['metadata']} in it"
        assert "attachments" not in cell, f"{where}: a picture is stored in it"
        if cell["cell_type"] == "code":
            assert cell["outputs"] == [], f"{where}: clear its outputs before it is committed"
            assert cell["execution_count"] is None, f"{where}: clear its outputs before it is committed"


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_checks_its_figures(path: Path) -> None:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    code = "\n".join("".join(cell["source"]) for cell in cells if cell["cell_type"] == "code")
    assert "\nassert " in code, f"{path.name}: nothing fails in it when a figure goes wrong"
