"""A board that writes SVG elements: the same drawing as on paper, with text that stays text.

It takes the place of the matplotlib board for everything that draws on one.  A unit is a millimetre on
paper; the page scales the whole picture.  No element has an id, so that several pictures go into one page.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from functools import cache
from xml.sax.saxutils import escape, quoteattr

import numpy as np
import shapely

from footwork.show import ink
from footwork.show.board import At, Board, Points, missing_letters, polygons, text_width

FAMILY = "'DejaVu Sans', Verdana, 'Bitstream Vera Sans', sans-serif"
"""Fonts of the widths that names are placed with, or narrower ones."""

Element = tuple[float, str]
"""Stacking height and markup."""


def number(value: float) -> str:
    """A hundredth of a millimetre is finer than any screen."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def attributes(**values: str | float | None) -> str:
    """Attributes with a blank before each; names are written with dashes, None is left out."""
    return "".join(f" {_name(n)}={_quoted(v)}" for n, v in values.items() if v is not None)


@cache
def _name(parameter: str) -> str:
    return parameter.rstrip("_").replace("_", "-")


def _quoted(value: str | float) -> str:
    return quoteattr(value) if isinstance(value, str) else f'"{number(value)}"'


class SvgBoard(Board):
    """A sheet of ``width`` by ``height`` millimetres whose drawing is read from :meth:`markup`."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height  # and no figure: nothing here goes through matplotlib
        self._elements: list[Element] = []

    def markup(self) -> str:
        """Everything drawn, from the ground up; what was drawn later lies on top of its own height."""
        return "\n".join(text for _, text in sorted(self._elements, key=lambda e: e[0]))

    @contextmanager
    def group(self, z: float, **values: str | float | None) -> Iterator[None]:
        """What is drawn inside goes into one ``g`` with these attributes."""
        outer, self._elements = self._elements, []
        try:
            yield
        finally:
            inner = self.markup()
            self._elements = outer
            if inner:
                self._elements.append((z, f"<g{attributes(**values)}>{inner}</g>"))

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
        rings = [ring for polygon in polygons(shape) for ring in (polygon.exterior, *polygon.interiors)]
        if not rings:
            return
        d = "".join(f"{self._path(np.asarray(ring.coords)[:-1])}Z" for ring in rings)
        stroke = _stroke(edge, weight, dash)
        looks = attributes(
            fill=fill or "none", fill_rule="evenodd" if len(rings) > 1 else None, opacity=alpha
        )
        self._elements.append((z, f'<path d="{d}"{looks}{stroke}/>'))

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
        ends = attributes(stroke_linecap="round", stroke_linejoin="round") if round_ends else ""
        d = self._path(np.asarray(list(points), float))
        self._elements.append((z, f'<path d="{d}" fill="none"{_stroke(color, weight, dash)}{ends}/>'))

    def lines(self, segments: Sequence[Points], *, color: str, weight: float, z: float) -> None:
        """Many open polylines of one weight."""
        if segments:
            d = "".join(map(self._path, segments))
            self._elements.append((z, f'<path d="{d}" fill="none"{_stroke(color, weight, None)}/>'))

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
        x, y = float(centre[0]), self.height - float(centre[1])
        looks = attributes(cx=x, cy=y, r=radius, fill=fill or "none", opacity=alpha)
        self._elements.append((z, f"<circle{looks}{_stroke(edge, weight, None)}/>"))

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
        x, y = float(at[0]), self.height - float(at[1])
        foreign = bool(missing_letters(text))  # in whatever font it is set, it keeps to the room it was given
        looks = attributes(
            x=x,
            y=y,
            fill=color,
            font_size=size * ink.POINT,
            font_weight="bold" if bold else None,
            font_style="italic" if italic else None,
            text_anchor={"center": "middle", "right": "end"}.get(align),
            transform=f"rotate({number(-angle)} {number(x)} {number(y)})" if angle else None,
            textLength=text_width(text, size, bold, italic) if foreign else None,
            lengthAdjust="spacingAndGlyphs" if foreign else None,
        )
        self._elements.append((z, f"<text{looks}>{escape(text)}</text>"))

    def _path(self, points: Points) -> str:
        flipped = np.column_stack([points[:, 0], self.height - points[:, 1]])
        return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in flipped.tolist())


def _stroke(color: str | None, weight: float, dash: tuple[float, ...] | None) -> str:
    """Weights and dashes are points."""
    if not color:
        return ""
    dashes = " ".join(number(part * ink.POINT) for part in dash) if dash else None
    return attributes(stroke=color, stroke_width=weight * ink.POINT, stroke_dasharray=dashes)
