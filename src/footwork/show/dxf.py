"""A plan as a dxf drawing for CAD: full size, one layer for each kind of thing.

Lengths are metres, or inches where the file is in feet or inches, and the drawing says which; the origin is
the room's.  Names stand where they stand on the sheet of the same plan, so that text has its size when the
drawing is plotted at the sheet's scale.  Frame, legend and notes belong to paper and are left out.
"""

from __future__ import annotations

import io
import math
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import pairwise
from typing import Any, BinaryIO

import numpy as np
import shapely
from ezdxf import options  # type: ignore[attr-defined]
from ezdxf.document import Drawing as Document
from ezdxf.enums import TextEntityAlignment
from ezdxf.filemanagement import new
from numpy.typing import ArrayLike

from footwork.floor.headroom import underside
from footwork.floor.shapes import around, footprint, service_strips, stock_strips, strips
from footwork.model.scenario import Door, Placement, Station, Vehicle
from footwork.model.units import format_length
from footwork.show import building, compare_plan, ink
from footwork.show.board import At, polygons
from footwork.show.dimensions import chains
from footwork.show.furniture import front_edge, nose_lines
from footwork.show.labels import Label, baselines
from footwork.show.plan import Drawing, extent
from footwork.show.routes import arrow_shapes
from footwork.show.sheet import Sheet
from footwork.show.walking import Band

_METRES, _INCHES = 6, 1  # $INSUNITS
_INCH = 0.0254
_CAP = 0.72
"""Height of a capital letter as a part of the text size: what a dxf calls the height of a text."""
_FONT, _FONT_FILE = "NAMES", "DejaVuSans.ttf"


@dataclass(frozen=True)
class Layer:
    """A layer: its name, the colour's number in the customary index (7: black or white), its line."""

    name: str
    color: int
    weight: int
    """Hundredths of a millimetre."""
    line: str = "Continuous"


LAYERS = (
    Layer("YARDS", 9, 18),
    Layer("WALLS", 7, 50),
    Layer("DOORS", 7, 25),
    Layer("DOOR-SWINGS", 8, 18),
    Layer("WINDOWS", 7, 25),
    Layer("FIXTURES", 8, 35),
    Layer("KEEP-CLEAR", 8, 25, "DOT"),
    Layer("STANDING-STRIPS", 9, 13),
    Layer("SERVICE-STRIPS", 9, 18, "DASHDOT"),
    Layer("STOCK-STRIPS", 8, 18, "DASHED"),
    Layer("VEHICLES", 7, 35, "DASHED"),
    Layer("VEHICLE-SPACE", 9, 18, "DASHDOT"),
    Layer("STATIONS", 7, 35),
    Layer("FRONTS", 7, 60),
    Layer("NAMES", 7, 18),
    Layer("DIMENSIONS", 8, 18),
    Layer("CHECKS", 30, 50),
    Layer("STANDING", 5, 35),
    Layer("ROUTE", 5, 50),
    Layer("OLD-PLACES", 5, 25, "DASHED"),
    Layer("MOVES", 5, 35),
)
"""Every kind of thing that a plan can show, beside the classes of walking; a drawing holds those it shows."""

_LINES: dict[str, tuple[str, list[float]]] = {
    "DASHED": ("Dashed __ __ __", [2.2, 1.4, -0.8]),
    "DOT": ("Dots . . . .", [1.0, 0.0, -1.0]),
    "DASHDOT": ("Dash dot __ . __ .", [4.0, 2.6, -0.65, 0.1, -0.65]),
}
"""Millimetres on paper: the whole pattern, then its parts."""


def write_dxf(drawing: Drawing, file: BinaryIO) -> None:
    """Write the plan; the same drawing gives the same bytes: no date, no chance in it."""
    with _plain_header():
        text = io.StringIO()
        doc = document(drawing)
        for kind in sorted(doc.entitydb.dxf_types_in_use()):  # ezdxf goes through a set, in no fixed order
            doc.classes.add_class(kind)
        doc.write(text)
    file.write(text.getvalue().encode("utf-8"))


def document(drawing: Drawing) -> Document:
    """The plan as a document of ezdxf."""
    pen = _Pen(drawing)
    if drawing.request.walking is not None:  # first: what is drawn later lies on top
        for band in drawing.request.walking.bands:
            pen.fill(band.area, pen.walking_layer(band), rgb=band.color)
    _building(pen)
    _strips(pen)
    _things(pen)
    _over(pen)
    for label in drawing.labels:
        _name(pen, label)
    _dimensions(pen)
    pen.tidy()
    return pen.doc


@contextmanager
def _plain_header() -> Iterator[None]:
    """ezdxf's own switch for a header without today's date and without a random id."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


class _Pen:
    """Draws in metres of the room, writes in the drawing's units."""

    def __init__(self, drawing: Drawing) -> None:
        self.drawing, self.sheet = drawing, drawing.sheet
        inch = drawing.request.scenario.units in ("ft", "in")
        self.scale = 1 / _INCH if inch else 1.0
        self.doc = new("R2010", units=_INCHES if inch else _METRES)
        self.doc.header["$MEASUREMENT"] = 0 if inch else 1
        self.doc.header["$LUNITS"] = 4 if inch else 2
        self.doc.header["$LUPREC"] = 4 if inch else 3
        for name, (words, pattern) in _LINES.items():
            if name not in self.doc.linetypes:
                self.doc.linetypes.add(name, [self.paper(v) for v in pattern], description=words)
        for layer in LAYERS:
            self.doc.layers.add(layer.name, color=layer.color, lineweight=layer.weight, linetype=layer.line)
        self.doc.styles.add(_FONT, font=_FONT_FILE)
        self.space = self.doc.modelspace()

    def walking_layer(self, band: Band) -> str:
        """A layer of its own for a class of walking, whose name says how often: there is no legend."""
        over = f"OVER-{band.low:g}" if math.isinf(band.high) else f"UP-TO-{band.high:g}"
        name = f"WALKING-{over}-A-YEAR"
        if name not in self.doc.layers:
            self.doc.layers.add(name, color=5, lineweight=13)
        return name

    def paper(self, mm: float) -> float:
        """A length on the sheet, in the drawing's units at full size."""
        return mm / self.sheet.factor * self.scale

    def points(self, metres: ArrayLike) -> list[tuple[float, float]]:
        """Points of the room in the drawing's units, to a ten-thousandth of a millimetre."""
        scaled = np.round(np.atleast_2d(np.asarray(metres, float)) * self.scale, 7) + 0.0
        return [(float(x), float(y)) for x, y in scaled]

    def line(
        self, metres: ArrayLike, layer: str, *, closed: bool = False, width: float = 0.0, **more: Any
    ) -> None:
        """A polyline; ``width`` in the drawing's units."""
        attributes = {"layer": layer, **more}
        if width:
            attributes["const_width"] = width
        self.space.add_lwpolyline(self.points(metres), close=closed, dxfattribs=attributes)

    def shape(self, shape: shapely.Geometry, layer: str, **more: Any) -> None:
        """The rings of polygons."""
        for polygon in polygons(shape):
            for ring in (polygon.exterior, *polygon.interiors):
                self.line(np.asarray(ring.coords)[:-1], layer, closed=True, **more)

    def fill(self, shape: shapely.Geometry, layer: str, rgb: str | None = None) -> None:
        """Polygons filled in the layer's colour; or in ``rgb``, half transparent, for text to lie on."""
        for piece in _without_holes(shape):
            hatch = self._hatch(piece, layer)
            if rgb is not None:
                hatch.rgb = tuple(int(rgb[k : k + 2], 16) for k in (1, 3, 5))
                hatch.transparency = 0.5

    def lines_in(self, shape: shapely.Geometry, layer: str, angle: float, step: float) -> None:
        """Polygons hatched with lines ``step`` millimetres apart on paper."""
        turn = np.radians(angle)
        away = self.paper(step) * np.array([-np.sin(turn), np.cos(turn)])
        pattern = [[angle, (0.0, 0.0), (float(away[0]), float(away[1])), []]]
        for piece in _without_holes(shape):
            self._hatch(piece, layer).set_pattern_fill("LINES", color=256, definition=pattern)

    def _hatch(self, polygon: shapely.Polygon, layer: str) -> Any:
        hatch = self.space.add_hatch(color=256, dxfattribs={"layer": layer})
        hatch.paths.add_polyline_path(self.points(np.asarray(polygon.exterior.coords)[:-1]), is_closed=True)
        return hatch

    def circle(self, at: ArrayLike, radius: float, layer: str) -> None:
        """A circle round a point of the room; ``radius`` in millimetres on paper."""
        self.space.add_circle(self.points(at)[0], self.paper(radius), dxfattribs={"layer": layer})

    def text(self, at: ArrayLike, words: str, size: float, layer: str, angle: float = 0.0) -> None:
        """One line of text whose baseline is centred at a point of the room; ``size`` in points on paper."""
        entity = self.space.add_text(
            _plain(words),
            height=self.paper(_CAP * size * ink.POINT),
            rotation=angle,
            dxfattribs={"layer": layer, "style": _FONT},
        )
        entity.set_placement(self.points(at)[0], align=TextEntityAlignment.CENTER)

    def tidy(self) -> None:
        """Drop the layers that hold nothing, and open the drawing on the plan."""
        used = {entity.dxf.layer for entity in self.space}
        for layer in LAYERS:
            if layer.name not in used:
                self.doc.layers.remove(layer.name)
        request = self.drawing.request
        box = np.array(extent(request.scenario, request.layout)) * self.scale
        size = box[2:] - box[:2]
        self.doc.set_modelspace_vport(
            height=1.3 * float(max(size[1], size[0] / 1.5)), center=tuple((box[:2] + box[2:]) / 2)
        )


def _without_holes(shape: shapely.Geometry) -> Iterator[shapely.Polygon]:
    """Polygons cut through their holes: some viewers go by the boxes round holes, and fill some of them."""
    for polygon in polygons(shape):
        if not polygon.interiors:
            yield polygon
            continue
        x0, y0, x1, y1 = polygon.bounds
        level = shapely.Polygon(polygon.interiors[0]).representative_point().y
        yield from _without_holes(polygon.intersection(shapely.box(x0, y0, x1, level)))
        yield from _without_holes(polygon.intersection(shapely.box(x0, level, x1, y1)))


def _plain(words: str) -> str:
    """Text without the codes that a dxf reads in it."""
    return words.replace("%%", "%%%%%%").replace("^", "^ ")


def _building(pen: _Pen) -> None:
    room = pen.drawing.request.scenario.room
    for yard in room.yards:
        pen.line(yard.outline, "YARDS", closed=True)
    walls = building.walls_in_metres(room)
    pen.fill(walls, "WALLS")
    pen.shape(walls, "WALLS")
    for door in room.doors:
        _door(pen, door)
    for window in room.windows:
        for depth in (0.0, building.WALL / 2, building.WALL):
            pen.line(building.across(window, depth), "WINDOWS")
    for zone in room.keep_clear:
        pen.line(zone.outline, "KEEP-CLEAR", closed=True)
    for fixture in room.fixtures:
        pen.line(fixture.outline, "FIXTURES", closed=True)
        pen.lines_in(shapely.Polygon(fixture.outline), "FIXTURES", -45.0, 0.9)


def _door(pen: _Pen, door: Door) -> None:
    if door.swing == "none":
        pen.line(building.across(door, building.WALL / 2), "DOORS", linetype="DASHED")
        return
    hinge, leaf, arc = building.leaf(door)
    pen.line([hinge, leaf], "DOORS")
    ends = np.degrees(np.arctan2(*(np.array([arc[0], arc[-1]]) - hinge).T[::-1]))
    # an arc runs counter-clockwise
    first, last = ends if (ends[1] - ends[0]) % 360.0 < 180.0 else ends[::-1]
    pen.space.add_arc(
        pen.points(hinge)[0],
        door.width * pen.scale,
        float(round(first, 6)),
        float(round(last, 6)),
        dxfattribs={"layer": "DOOR-SWINGS"},
    )


def _placed(pen: _Pen) -> Iterable[tuple[Station | Vehicle, Placement]]:
    request = pen.drawing.request
    for thing in request.scenario.things:
        if thing.name in request.layout.placements:
            yield thing, request.layout.placements[thing.name]


def _strips(pen: _Pen) -> None:
    pen.lines_in(_back(pen.sheet, pen.drawing.shapes.standing), "STANDING-STRIPS", 45.0, 1.7)
    for thing, placement in _placed(pen):
        if isinstance(thing, Vehicle):
            rings = [("VEHICLE-SPACE", s) for s in around(thing, placement)]
            if thing.name in pen.drawing.request.out:
                continue
        else:
            rings = [("STANDING-STRIPS", s) for s in strips(thing, placement)]
            rings += [("SERVICE-STRIPS", s) for s in service_strips(thing, placement)]
            rings += [("STOCK-STRIPS", s) for s in stock_strips(thing, placement)]
        for layer, strip in rings:
            pen.line(strip.polygon, layer, closed=True)


def _things(pen: _Pen) -> None:
    for thing, placement in _placed(pen):
        ring = footprint(thing, placement)
        if isinstance(thing, Vehicle):
            out = thing.name in pen.drawing.request.out
            pen.line(ring, "VEHICLES", closed=True, linetype="DOT" if out else "BYLAYER")
            if not out:
                tip, screen = nose_lines(thing, placement)
                pen.line(tip, "VEHICLES", closed=True, linetype="Continuous")
                pen.line(screen, "VEHICLES", linetype="Continuous")
        else:
            pen.line(ring, "STATIONS", closed=True, linetype="DASHED" if underside(thing) else "BYLAYER")
            pen.line(front_edge(thing, placement), "FRONTS")
    for mark in pen.drawing.marks:
        if mark.must and mark.home is not None:
            pen.shape(_back(pen.sheet, mark.home), "CHECKS")


def _over(pen: _Pen) -> None:
    """Standing, route and moves, as far as the plan shows them."""
    drawing, sheet = pen.drawing, pen.sheet
    for circle in drawing.circles:
        pen.circle(sheet.metres(circle.at), circle.radius, "STANDING")
        if circle.roomy:
            _number(pen, circle.at, circle.hours, ink.SMALL_TEXT, "STANDING")
        if circle.mat is not None:
            pen.shape(_back(sheet, circle.mat), "STANDING")
    if drawing.route is not None:
        for track in drawing.route.tracks:
            if len(track.points) < 2:
                continue
            if track.squeezed:
                pen.line(sheet.metres(track.points), "CHECKS", linetype="DASHED")
                continue
            pen.line(sheet.metres(track.points), "ROUTE", width=pen.paper(track.weight * ink.POINT))
        for arrow in arrow_shapes(drawing.route):
            pen.fill(_back(sheet, arrow), "ROUTE")
        for halt in drawing.route.halts:
            _disc(pen, halt.drawn, halt.number, "ROUTE")
    for shift in drawing.shifts:
        pen.shape(_back(sheet, shift.old), "OLD-PLACES")
        if len(shift.line):
            pen.line(sheet.metres(shift.line), "MOVES")
            pen.fill(_back(sheet, compare_plan.head(shift.line)), "MOVES")
        _disc(pen, shift.at, shift.number, "MOVES")


def _disc(pen: _Pen, at: At, number: int, layer: str) -> None:
    pen.circle(pen.sheet.metres(at), compare_plan.RADIUS, layer)
    _number(pen, at, str(number), 7.0, layer)


def _number(pen: _Pen, at: At, words: str, size: float, layer: str) -> None:
    base = (float(at[0]), float(at[1]) - 0.365 * size * ink.POINT)
    pen.text(pen.sheet.metres(base), words, size, layer)


def _back(sheet: Sheet, shape: shapely.Geometry) -> shapely.Geometry:
    """A shape on paper in the room, in metres."""
    return shapely.transform(shape, sheet.metres)


def _name(pen: _Pen, label: Label) -> None:
    if label.leader is not None:
        pen.line(pen.sheet.metres(label.leader), "NAMES")
    for at, words in baselines(label):
        pen.text(pen.sheet.metres(at), words, label.size, "NAMES", label.angle)


def _dimensions(pen: _Pen) -> None:
    """The room's lengths as dimensions, on the sides where the sheet has them."""
    request = pen.drawing.request
    room, units = request.scenario.room, request.scenario.units
    bounds = extent(request.scenario, request.layout)
    for chain in chains(room, bounds):
        along, across = (0, 1) if chain.axis == "x" else (1, 0)
        ring = np.asarray(room.outline)
        for k, cuts in enumerate(chain.rows):
            low = chain.low_side
            edge = bounds[across] if low else bounds[across + 2]
            away = (8.0 + 6.0 * k) / pen.sheet.factor
            base = edge - away if low else edge + away
            wall = float(ring[:, across].min() if low else ring[:, across].max())
            for a, b in pairwise(cuts):
                ends = [(a, wall), (b, wall)] if along == 0 else [(wall, a), (wall, b)]
                line = (a, base) if along == 0 else (base, a)
                _dimension(pen, ends, line, 0.0 if along == 0 else 90.0, format_length(b - a, units))


def _dimension(pen: _Pen, ends: Sequence[At], base: At, angle: float, words: str) -> None:
    p, q = pen.points(np.asarray(ends, float))
    style = {
        "dimtxsty": _FONT,
        "dimtxt": pen.paper(_CAP * 7.0 * ink.POINT),
        "dimtsz": pen.paper(0.8),
        "dimexe": pen.paper(1.2),
        "dimexo": pen.paper(4.5),
        "dimgap": pen.paper(1.0),
        "dimdle": pen.paper(1.2),
        "dimtad": 1,
        "dimscale": 1.0,
        "dimlfac": 1.0,
    }
    pen.space.add_linear_dim(
        base=pen.points(base)[0],
        p1=p,
        p2=q,
        angle=angle,
        text=_plain(words),
        override=style,
        dxfattribs={"layer": "DIMENSIONS"},
    ).render()
