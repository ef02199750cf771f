"""Plans drawn before, kept as text: what is on the sheet, and where, to a tenth of a millimetre.

A change that is meant is looked at in the picture, then kept with

    FOOTWORK_SNAPSHOTS=write pytest tests/show/test_draw_snapshots.py
"""

from __future__ import annotations

import difflib
import io
import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import ezdxf
import matplotlib
import numpy as np
import pytest
from matplotlib.collections import LineCollection
from matplotlib.colors import to_hex
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Patch
from matplotlib.text import Text

from footwork.show.draw import compose
from footwork.show.dxf import write_dxf
from footwork.show.plan import Drawing
from show.sheds import crowded
from show.test_plans import handed_on

pytestmark = pytest.mark.skipif(
    matplotlib.__version_info__ < (3, 11), reason="texts are a hair narrower, and stand elsewhere"
)
KEPT = Path(__file__).parent / "snapshots"
WAYS: dict[str, dict[str, Any]] = {
    "plain": {},
    "job": {"job": "sort", "scale": "1:50", "paper": "A3"},
    "walking": {"walking": True},
    "standing": {"standing": True},
    "moves": {"before": handed_on(crowded())},
}


def tenths(*values: float) -> str:
    """Figures to a tenth, off the edge where rounding could go either way."""
    return " ".join(f"{round(float(v) + 1.7e-5, 1) + 0.0:g}" for v in values)


def portrait(drawing: Drawing) -> Iterator[str]:
    """A line for each thing drawn, from the ground up."""
    yield f"{drawing.sheet.paper} {drawing.sheet.scale_words}"
    axes = drawing.board.figure.axes[0]
    frame = {axes.patch, *axes.spines.values()}
    artists = [a for a in axes.get_children() if a.get_zorder() >= 1 and a not in frame]
    for artist in sorted(artists, key=lambda a: a.get_zorder()):
        if isinstance(artist, Text):
            if artist.get_text():
                yield f"text {tenths(*artist.get_position(), artist.get_fontsize())} {artist.get_text()}"
        elif isinstance(artist, Circle):
            yield f"circle {tenths(*artist.center, artist.radius)} {paint(artist)}"
        elif isinstance(artist, Patch):
            points = artist.get_path().vertices
            yield f"shape {tenths(*points.min(axis=0), *points.max(axis=0))} {paint(artist)}"
        elif isinstance(artist, Line2D):
            points = artist.get_xydata()
            yield f"line {tenths(*points[0], *points[-1], length(points))} {to_hex(artist.get_color())}"
        elif isinstance(artist, LineCollection):
            parts = [np.asarray(s) for s in artist.get_segments()]
            yield f"hatch {len(parts)} lines {tenths(sum(map(length, parts)))}"


def paint(artist: Patch) -> str:
    fill, edge = artist.get_facecolor(), artist.get_edgecolor()
    return " ".join("-" if c[3] == 0 else to_hex(c) for c in (fill, edge)) + f" {artist.get_linewidth():g}"


def length(points: Any) -> float:
    return float(np.hypot(*np.diff(np.asarray(points), axis=0).T).sum())


def entities(drawing: Drawing) -> Iterator[str]:
    """A line for each entity of the dxf."""
    file = io.BytesIO()
    write_dxf(drawing, file)
    doc = ezdxf.read(io.StringIO(file.getvalue().decode("utf-8")))
    yield f"units {doc.header['$INSUNITS']}"
    for entity in doc.modelspace():
        words = [entity.dxftype(), entity.dxf.layer]
        if entity.dxftype() == "LWPOLYLINE":
            points = np.array([p[:2] for p in entity.get_points()])
            words.append(f"{len(points)} points {mm(points.min(axis=0))} {mm(points.max(axis=0))}")
        elif entity.dxftype() == "TEXT":
            words.append(f"{mm(entity.get_placement()[1])} {entity.dxf.text}")
        elif entity.dxftype() in ("CIRCLE", "ARC"):
            words.append(f"{mm(entity.dxf.center)} {mm([entity.dxf.radius])}")
        elif entity.dxftype() == "DIMENSION":
            words.append(f"{mm([entity.get_measurement()])} {entity.dxf.text}")
        yield " ".join(words)


def mm(metres: Any) -> str:
    return " ".join(f"{round(1000 * float(v) + 0.017):d}" for v in list(metres)[:2])


def hold(name: str, lines: list[str]) -> None:
    """Compare with what is kept, or keep it when asked to."""
    path = KEPT / f"{name}.txt"
    text = "\n".join(lines) + "\n"
    if os.environ.get("FOOTWORK_SNAPSHOTS") == "write":
        KEPT.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    kept = path.read_text(encoding="utf-8")
    assert len(kept) < 40_000
    change = difflib.unified_diff(kept.splitlines(), text.splitlines(), "kept", "drawn", lineterm="", n=0)
    assert "\n".join(change) == ""


@pytest.mark.parametrize("way", WAYS)
def test_a_plan_is_as_it_was(way: str) -> None:
    hold(way, list(portrait(compose(crowded(), "today", **WAYS[way]))))


def test_a_dxf_is_as_it_was() -> None:
    hold("dxf", list(entities(compose(crowded(), "today", job="haul"))))


def test_a_portrait_sees_a_change() -> None:
    """So that the tests above can fail: a station moved by a centimetre, a name, a colour."""
    usual = list(portrait(compose(crowded(), "today")))
    layout = crowded().layouts[0]
    bench = layout.placements["bench"]
    moved = layout.moved({"bench": type(bench)(bench.x + 0.01, bench.y, bench.facing)})
    assert list(portrait(compose(crowded(), moved))) != usual
    assert list(portrait(compose(crowded(), "today", standing=True))) != usual
