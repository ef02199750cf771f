"""The sheet of paper that a plan is drawn on: one matplotlib axes whose unit is a millimetre.

Everything in the drawing goes through here, so that the rest of ``show`` speaks of millimetres,
points of line weight and shapely shapes, and no other module needs matplotlib.
"""

from __future__ import annotations

import functools
import warnings
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any, Literal

import numpy as np
import shapely
from matplotlib.backends.backend_agg import RendererAgg
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont, fontManager, get_font
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, PathPatch
from matplotlib.path import Path as Outline
from numpy.typing import NDArray

from footwork.show import ink

Points = NDArray[np.float64]
At = Sequence[float] | Points
"""One point."""
FAMILY = "DejaVu Sans"  # comes with matplotlib, so that a plan looks the same on every machine
_MEASURE_DPI = 432.0

RC: Any = {
    "svg.hashsalt": "footwork",
    "svg.fonttype": "path",
    "pdf.fonttype": 42,
    "lines.scale_dashes": False,
    "path.simplify": False,
    "font.family": FAMILY,
    "text.usetex": False,
    "text.parse_math": False,
    "savefig.bbox": None,
    "savefig.facecolor": "auto",
    "savefig.transparent": False,
}
"""Settings that a drawing is made and saved under, whatever the user's own matplotlib settings say."""


@functools.lru_cache(maxsize=1)
def _renderer() -> RendererAgg:
    return RendererAgg(64, 64, _MEASURE_DPI)  # type: ignore[no-untyped-call]


@functools.lru_cache(maxsize=4096)
def text_width(text: str, size: float, bold: bool = False, italic: bool = False) -> float:
    """Width in millimetres of ``text`` set in ``size`` points, as the renderer measures it."""
    if not text:
        return 0.0
    font = _font(text, size, bold, italic)
    with quiet():
        measured = _renderer().get_text_width_height_descent(text, font, False)  # type: ignore[no-untyped-call]
    width, _, _ = measured
    return float(width) * 25.4 / _MEASURE_DPI


def _font(text: str, size: float, bold: bool, italic: bool) -> FontProperties:
    missing = missing_letters(text)
    other = _font_with(missing) if missing else None
    return FontProperties(
        family=[FAMILY, other] if other else [FAMILY],
        size=size,
        weight="bold" if bold else "normal",
        style="italic" if italic else "normal",
    )


@functools.lru_cache(maxsize=1)
def _letters() -> frozenset[int]:
    return frozenset(get_font(findfont(FAMILY)).get_charmap())


def missing_letters(text: str) -> str:
    """The letters of ``text`` that the plan's own font has not, each once."""
    return "".join(sorted({c for c in text if c.isprintable() and ord(c) not in _letters()}))


def boxed_letters(text: str) -> str:
    """The letters of ``text`` that no font on this machine has: they are drawn as boxes."""
    missing = missing_letters(text)
    return missing if missing and _font_with(missing) is None else ""


@functools.lru_cache(maxsize=256)
def _font_with(letters: str) -> str | None:
    """The first font of this machine, by name, that has all of ``letters``."""
    wanted = {ord(c) for c in letters}
    for entry in sorted(fontManager.ttflist, key=lambda e: (e.name, e.fname)):
        try:
            if wanted <= get_font(entry.fname).get_charmap().keys():
                return str(entry.name)
        except (OSError, RuntimeError):  # a font that cannot be read
            continue
    return None


@contextmanager
def quiet() -> Iterator[None]:
    """Without the warnings that a letter is missing from a font: the sheet says so itself."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=r"Glyph \d+ .* missing from", category=UserWarning)
        yield


class Board:
    """A blank sheet of ``width`` by ``height`` millimetres, origin at the lower left corner."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self.figure = Figure(figsize=(width / 25.4, height / 25.4), facecolor=ink.PAPER)
        self.axes = self.figure.add_axes((0.0, 0.0, 1.0, 1.0))
        self.axes.set_xlim(0.0, width)
        self.axes.set_ylim(0.0, height)
        self.axes.set_axis_off()

    def shape(
        self,
        shape: shapely.Geometry,
        *,
        fill: str | None = None,
        edge: str | None = None,
        weight: float = ink.OUTLINE,
        dash: tuple[float, ...] | None = None,
        z: float,
        alpha: float | None = None,
    ) -> None:
        """A polygon, with holes if it has any, or several."""
        for polygon in polygons(shape):
            patch = PathPatch(
                _outline(polygon),
                facecolor=fill or "none",
                edgecolor=edge or "none",
                linewidth=weight if edge else 0.0,
                linestyle=(0, dash) if dash else "solid",
                joinstyle="miter",
                capstyle="butt",
                zorder=z,
                alpha=alpha,
            )
            self.axes.add_artist(patch)

    def line(
        self,
        points: Iterable[At] | Points,
        *,
        color: str = ink.INK,
        weight: float = ink.OUTLINE,
        dash: tuple[float, ...] | None = None,
        z: float,
        round_ends: bool = False,
    ) -> None:
        """An open polyline."""
        xy = np.asarray(list(points), float)
        cap: Literal["round", "butt"] = "round" if round_ends else "butt"
        self.axes.add_artist(
            Line2D(
                xy[:, 0],
                xy[:, 1],
                color=color,
                linewidth=weight,
                linestyle=(0, dash) if dash else "solid",
                solid_capstyle=cap,
                dash_capstyle=cap,
                solid_joinstyle="round" if round_ends else "miter",
                zorder=z,
            )
        )

    def lines(self, segments: Sequence[Points], *, color: str, weight: float, z: float) -> None:
        """Many open polylines of one weight."""
        if segments:
            self.axes.add_artist(LineCollection(segments, colors=color, linewidths=weight, zorder=z))

    def circle(
        self,
        centre: At,
        radius: float,
        *,
        fill: str | None = None,
        edge: str | None = None,
        weight: float = ink.OUTLINE,
        z: float,
        alpha: float | None = None,
    ) -> None:
        """A circle of ``radius`` millimetres."""
        self.axes.add_artist(
            Circle(
                (float(centre[0]), float(centre[1])),
                radius,
                facecolor=fill or "none",
                edgecolor=edge or "none",
                linewidth=weight if edge else 0.0,
                zorder=z,
                alpha=alpha,
            )
        )

    def text(
        self,
        at: At,
        text: str,
        size: float,
        *,
        color: str = ink.INK,
        bold: bool = False,
        italic: bool = False,
        angle: float = 0.0,
        align: str = "left",
        z: float = ink.Z_TEXT,
    ) -> None:
        """One line of text whose baseline starts, is centred or ends at ``at`` (``align``)."""
        self.axes.text(
            float(at[0]),
            float(at[1]),
            text,
            fontproperties=_font(text, size, bold, italic),
            color=color,
            rotation=angle,
            rotation_mode="anchor",
            ha=align,
            va="baseline",
            zorder=z,
            parse_math=False,
        )

    def hatch(
        self, shape: shapely.Geometry, spacing: float, angle: float, *, color: str, weight: float, z: float
    ) -> None:
        """Parallel lines, ``spacing`` millimetres apart, clipped to ``shape``.

        The lines run on one grid for the whole sheet, so that neighbouring areas join without a seam.
        """
        if shape.is_empty:
            return
        reach = float(np.hypot(self.width, self.height))
        direction = np.array([np.cos(np.radians(angle)), np.sin(np.radians(angle))])
        normal = np.array([-direction[1], direction[0]])
        offsets = np.arange(-reach, reach, spacing)[:, None] * normal
        ends = np.stack([offsets - reach * direction, offsets + reach * direction], axis=1)
        clipped = shapely.intersection(shapely.linestrings(ends), shape)
        parts = shapely.get_parts(clipped)
        lines = parts[(shapely.get_type_id(parts) == 1) & (shapely.length(parts) > 0.05)]
        self.lines([shapely.get_coordinates(line) for line in lines], color=color, weight=weight, z=z)


def polygons(shape: shapely.Geometry) -> list[shapely.Polygon]:
    """The polygons that a shape consists of; lines and points are left out."""
    parts = shapely.get_parts(shape)
    if any(shapely.get_type_id(part) > 3 for part in parts):
        return [p for part in parts for p in polygons(part)]
    return [part for part in parts if shapely.get_type_id(part) == 3 and not part.is_empty]


def _outline(polygon: shapely.Polygon) -> Outline:
    rings = [polygon.exterior, *polygon.interiors]
    return Outline.make_compound_path(*(Outline(np.asarray(r.coords), closed=True) for r in rings))
