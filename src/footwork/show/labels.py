"""Names on a plan: inside the footprint where one fits, else led out to free paper by a line.

Everything is in millimetres on paper.  Nothing is laid on top of anything: a label's box keeps clear of
every other label, of footprints other than its own, and of the lines listed as solid.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from footwork.show import ink
from footwork.show.board import Points, text_width

ASCENT, DESCENT, LEADING = 0.76, 0.22, 1.12
"""Of the text size: above the baseline, below it, from one baseline to the next."""
PAD = 0.45
"""Millimetres kept free round a label."""
RIM = 0.8
"""Millimetres kept free between a name and the rim of the footprint it stands in."""
_OFF_LINE = 1.1  # millimetres kept free between a name inside and a fine line
_ROTATED, _WRAPPED = 1.6, 0.5  # what a rotated or wrapped name costs, in points of text size
_RINGS = (1.2, 2.5, 4.0, 6.0, 8.5, 11.5, 15.0, 20.0, 26.0, 34.0, 44.0, 60.0)
_DIRECTIONS = 24
_BESIDE = 2.0  # millimetres within which a label with a direction of its own needs no line
_WALL_CROSSED = 5.0  # millimetres of leader that crossing a wall is worth
Box = NDArray[np.float64]


@dataclass(frozen=True)
class Wanted:
    """A name that wants a place.  ``home`` is the shape it belongs to.

    ``lead`` False: it may only stand inside.  ``tidy`` is a direction (unit vector) that a led-out
    label likes to go to.  ``shared`` are shapes above or below the home: its name may lie on larger ones.
    """

    text: str
    home: shapely.Geometry
    sizes: tuple[float, ...] = ink.NAME_SIZES
    led_sizes: tuple[float, ...] = ink.LED_SIZES
    angles: tuple[float, ...] = (0.0, 90.0)
    inside: bool = True
    lead: bool = True
    bold: bool = False
    italic: bool = False
    color: str = ink.INK
    tidy: tuple[float, float] | None = None
    shared: tuple[shapely.Geometry, ...] = ()


@dataclass(frozen=True)
class Label:
    """A name that has its place.  ``box`` are the corners of all its text, shape (4, 2)."""

    text: str
    lines: tuple[str, ...]
    size: float
    angle: float
    centre: tuple[float, float]
    box: Box
    inside: bool
    leader: Points | None
    wanted: Wanted


@dataclass
class Ground:
    """What labels have to keep off.  It fills up as labels are placed."""

    paper: shapely.Polygon
    solids: list[shapely.Geometry] = field(default_factory=list)
    soft: list[tuple[shapely.Geometry, float]] = field(default_factory=list)
    """Areas better left free, with what a square millimetre of them costs in millimetres of leader."""
    leaders: list[shapely.Geometry] = field(default_factory=list)
    uncrossed: list[shapely.Geometry] = field(default_factory=list)
    """Lines that a leader should not cross, such as routes."""
    under: list[shapely.Geometry] = field(default_factory=list)
    """Solid to names, but a leader may run across: walls."""
    fine: list[shapely.Geometry] = field(default_factory=list)
    """Fine lines that a name inside its footprint shifts to keep off, where it can."""

    @property
    def shut(self) -> list[shapely.Geometry]:
        """What no label may lie on."""
        return [*self.solids, *self.under]


@dataclass(frozen=True)
class _Setting:
    lines: tuple[str, ...]
    size: float
    angle: float
    width: float
    height: float
    cost: float


def wraps(text: str) -> list[tuple[str, ...]]:
    """One line, and the most even split in two at a space, hyphen or slash."""
    found: list[tuple[str, ...]] = [(text,)]
    cuts = [k for k in range(1, len(text) - 1) if text[k] in " -/"]
    if cuts:
        best = min(cuts, key=lambda k: (abs(len(text) - 2 * k - 1), k))
        first = text[:best] if text[best] == " " else text[: best + 1]
        found.append((first.strip(), text[best + 1 :].strip()))
    return found


def block(lines: Sequence[str], size: float, bold: bool = False, italic: bool = False) -> tuple[float, float]:
    """Width and height in millimetres of lines of text set in ``size`` points."""
    width = max(text_width(line, size, bold, italic) for line in lines)
    return width, size * ink.POINT * (ASCENT + DESCENT + LEADING * (len(lines) - 1))


def place(wanted: Sequence[Wanted], ground: Ground) -> tuple[tuple[Label, ...], tuple[Wanted, ...]]:
    """Places for all that fit, in the order asked, and those for which the sheet has no room."""
    inside, rest = place_inside(wanted, ground)
    led, left = lead_out(rest, ground)
    return (*inside, *led), left


def place_inside(wanted: Sequence[Wanted], ground: Ground) -> tuple[tuple[Label, ...], tuple[Wanted, ...]]:
    """Labels that fit inside their home, the least room first, and those that do not."""
    found: dict[int, Label] = {}
    order = sorted(range(len(wanted)), key=lambda k: (wanted[k].home.area, k))
    for k in order:
        label = _inside(wanted[k], ground) if wanted[k].inside else None
        if label is not None:
            found[k] = label
            ground.solids.append(shapely.Polygon(label.box))
    left = tuple(w for k, w in enumerate(wanted) if k not in found)
    return tuple(found[k] for k in sorted(found)), left


def lead_out(wanted: Sequence[Wanted], ground: Ground) -> tuple[tuple[Label, ...], tuple[Wanted, ...]]:
    """Labels on free paper with a line to their home, and those for which there is none."""
    labels: list[Label] = []
    left: list[Wanted] = []
    for want in sorted(wanted, key=lambda w: w.home.area):
        label = _led(want, ground) if want.lead else None
        if label is None:
            left.append(want)
            continue
        labels.append(label)
        ground.solids.append(shapely.Polygon(label.box))
        if label.leader is not None:
            ground.leaders.append(shapely.LineString(label.leader))
    return tuple(labels), tuple(left)


def _settings(want: Wanted, sizes: Sequence[float], angles: Sequence[float]) -> list[_Setting]:
    found = []
    for size in sizes:
        for lines in wraps(want.text):
            width, height = block(lines, size, want.bold, want.italic)
            for angle in angles:
                cost = sizes[0] - size + (_ROTATED if angle else 0.0) + (_WRAPPED if len(lines) > 1 else 0.0)
                found.append(_Setting(lines, size, angle, width, height, cost))
    return sorted(found, key=lambda s: s.cost)


def corners(centre: Sequence[float], width: float, height: float, angle: float) -> Box:
    """The corners of a box turned by ``angle`` degrees about its centre."""
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    half = np.array([[-width, -height], [width, -height], [width, height], [-width, height]]) / 2
    turned: Box = half @ np.array([[c, s], [-s, c]]) + np.asarray(centre, float)
    return turned


def _inside(want: Wanted, ground: Ground) -> Label | None:
    free = _free_inside(want.home, ground.shut, want.shared)
    for clear in (_less(free, ground.fine, _OFF_LINE), _less(free, ground.fine), free):
        label = None if clear.is_empty else _fit(want, clear)
        if label is not None:
            return label
    return None


def _free_inside(
    home: shapely.Geometry, solids: Sequence[shapely.Geometry], shared: Sequence[shapely.Geometry]
) -> shapely.Geometry:
    """The home less its rim and less anything that lies on it; it may itself be listed as solid.

    Of larger shapes that it shares the floor with only the rim counts; smaller ones are for their own names.
    """
    near = shapely.STRtree(list(solids)).query(home, predicate="intersects")
    on_it = [solids[k] for k in sorted(near) if not solids[k].equals(home)]
    larger = [shape for shape in shared if shape.area > home.area]
    return _less(home.buffer(-RIM), [s.boundary if any(s.equals(b) for b in larger) else s for s in on_it])


def _less(
    shape: shapely.Geometry, others: Sequence[shapely.Geometry], clear: float = PAD
) -> shapely.Geometry:
    """The shape less what lies on it or nearer than ``clear``."""
    if not others or shape.is_empty:
        return shape
    near = shapely.STRtree(list(others)).query(shape, predicate="dwithin", distance=clear)
    close = [others[k] for k in sorted(near)]
    return shape.difference(shapely.union_all(close).buffer(clear)) if close else shape


def _fit(want: Wanted, free: shapely.Geometry) -> Label | None:
    shapely.prepare(free)
    centres = _centres(want.home, free)
    for setting in _settings(want, want.sizes, want.angles):
        box = corners((0.0, 0.0), setting.width, setting.height, setting.angle)
        boxes = centres[:, None, :] + box
        fits = shapely.covers(free, shapely.polygons(boxes))
        if fits.any():
            k = int(np.argmax(fits))
            c = (float(centres[k][0]), float(centres[k][1]))
            return Label(want.text, setting.lines, setting.size, setting.angle, c, boxes[k], True, None, want)
    return None


def _centres(home: shapely.Geometry, free: shapely.Geometry) -> Points:
    """Where a name may be centred: the middle of its home first, then a grid, the nearest first."""
    middle = np.array([home.centroid.x, home.centroid.y])
    x0, y0, x1, y1 = free.bounds
    step = max(0.7, max(x1 - x0, y1 - y0) / 24)
    xs = np.arange(x0, x1 + step, step)
    ys = np.arange(y0, y1 + step, step)
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    # on the middle lines too, so that a name that must shift keeps to one of them
    lines = np.vstack([np.column_stack([xs, np.full(len(xs), middle[1])]),
                       np.column_stack([np.full(len(ys), middle[0]), ys])])  # fmt: skip
    points = np.vstack([middle[None, :], lines, grid])
    far = np.hypot(*(points - middle).T)
    far[1 + len(lines) :] *= 1.15
    order = np.lexsort((points[:, 0], points[:, 1], np.round(far, 6)))
    sorted_points: Points = points[order]
    return sorted_points


def _led(want: Wanted, ground: Ground) -> Label | None:
    tree = shapely.STRtree(ground.shut)
    for candidates in (_ring_candidates, _sheet_candidates):
        for setting in _settings(want, want.led_sizes, (0.0,)):
            label = _best_led(want, setting, candidates(want, setting, ground), ground, tree)
            if label is not None:
                return label
    return None


def _ring_candidates(want: Wanted, setting: _Setting, ground: Ground) -> Points:
    middle = np.array([want.home.centroid.x, want.home.centroid.y])
    ring = shapely.get_coordinates(want.home.convex_hull) - middle
    found = []
    for reach in _RINGS:
        for k in range(_DIRECTIONS):
            turn = 2 * np.pi * k / _DIRECTIONS
            d = np.array([np.cos(turn), np.sin(turn)])
            out = float((ring @ d).max()) + reach
            out += abs(d[0]) * setting.width / 2 + abs(d[1]) * setting.height / 2
            found.append(middle + out * d)
    return np.array(found)


def _sheet_candidates(want: Wanted, setting: _Setting, ground: Ground) -> Points:
    x0, y0, x1, y1 = ground.paper.bounds
    xs, ys = np.arange(x0, x1, 3.0), np.arange(y0, y1, 2.0)
    grid: Points = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    return grid


def _best_led(
    want: Wanted, setting: _Setting, centres: Points, ground: Ground, tree: shapely.STRtree
) -> Label | None:
    """The cheapest free box of those centred at ``centres``, or None."""
    half = np.array([setting.width / 2 + PAD, setting.height / 2 + PAD])
    boxes = shapely.box(*(centres - half).T, *(centres + half).T)
    taken = np.zeros(len(boxes), bool)
    taken[tree.query(boxes, predicate="intersects")[0]] = True
    if ground.leaders:
        taken[shapely.STRtree(ground.leaders).query(boxes, predicate="intersects")[0]] = True
    free = ~taken & shapely.covers(ground.paper, boxes)
    if not free.any():
        return None
    centres, boxes = centres[free], boxes[free]
    leaders = _leaders(centres, setting.width, setting.height, want.home)
    cost = _leader_costs(want, leaders, ground) + _soft_costs(boxes, ground)
    if want.tidy is not None:
        away = centres - np.array([want.home.centroid.x, want.home.centroid.y])
        cost -= 4.0 * (away @ np.array(want.tidy)) / np.maximum(np.hypot(*away.T), 1e-9)
    best = int(np.argmin(np.round(cost, 6)))
    if not np.isfinite(cost[best]):
        return None
    centre = (float(centres[best][0]), float(centres[best][1]))
    box = corners(centre, setting.width, setting.height, 0.0)
    beside = want.tidy is not None and float(shapely.distance(boxes[best], want.home)) < _BESIDE
    leader = None if beside else leaders[best]
    return Label(want.text, setting.lines, setting.size, 0.0, centre, box, False, leader, want)


def _leaders(centres: Points, width: float, height: float, home: shapely.Geometry) -> Points:
    """From the middle of each label's nearest side to a little inside the home; shape (n, 2, 2)."""
    w, h = width / 2 + PAD, height / 2 + 0.1
    sides = centres[:, None, :] + np.array([[-w, 0.0], [w, 0.0], [0.0, -h], [0.0, h]])
    nearest = shapely.distance(shapely.points(sides), home).argmin(axis=1)
    starts = sides[np.arange(len(centres)), nearest]
    lines = shapely.shortest_line(shapely.points(starts), home)
    touch = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 1]
    inward = np.array([home.centroid.x, home.centroid.y]) - touch
    far = np.hypot(*inward.T)
    share = np.where(far > 1e-6, np.minimum(1.0, 1.3 / np.maximum(far, 1e-6)), 0.0)
    return np.stack([starts, touch + inward * share[:, None]], axis=1)


def _leader_costs(want: Wanted, leaders: Points, ground: Ground) -> NDArray[np.float64]:
    lines = shapely.linestrings(leaders)
    cost: NDArray[np.float64] = shapely.length(lines)
    own: dict[int, bool] = {}
    for k, solid in _crossings(lines, ground.solids):
        other = ground.solids[solid]
        if solid not in own:
            own[solid] = bool(
                other.intersection(want.home).area > 0.9 * other.area or other.equals(want.home)
            )
        if not own[solid]:  # never through another name or footprint if it can be helped
            cost[k] += 60.0 + 10.0 * other.intersection(lines[k]).length
    for k, _ in _crossings(lines, ground.under):
        cost[k] += _WALL_CROSSED
    for k, _ in _crossings(lines, ground.leaders):
        cost[k] = np.inf
    for k, _ in _crossings(lines, ground.uncrossed):
        cost[k] += 8.0
    return cost


def _soft_costs(boxes: NDArray[np.object_], ground: Ground) -> NDArray[np.float64]:
    """What the areas better left free cost that each box lies on."""
    cost = np.zeros(len(boxes))
    if ground.soft:
        areas = np.array([area for area, _ in ground.soft], dtype=object)
        prices = np.array([price for _, price in ground.soft])
        box, area = shapely.STRtree(areas).query(boxes, predicate="intersects")
        np.add.at(cost, box, prices[area] * shapely.area(shapely.intersection(boxes[box], areas[area])))
    return cost


def _crossings(lines: NDArray[np.object_], others: Sequence[shapely.Geometry]) -> Iterator[tuple[int, int]]:
    if others:
        for a, b in shapely.STRtree(list(others)).query(lines, predicate="intersects").T:
            yield int(a), int(b)


def baselines(label: Label) -> Iterator[tuple[tuple[float, float], str]]:
    """Where the middle of each line's baseline falls."""
    step = label.size * ink.POINT
    top = step * (ASCENT + DESCENT + LEADING * (len(label.lines) - 1)) / 2
    c, s = np.cos(np.radians(label.angle)), np.sin(np.radians(label.angle))
    for k, line in enumerate(label.lines):
        down = top - step * (ASCENT + LEADING * k)
        yield (label.centre[0] - s * down, label.centre[1] + c * down), line
