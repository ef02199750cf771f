"""The marks of failed checks on a plan, and the notes that go with them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from footwork.checks.result import CheckResult
from footwork.show import ink
from footwork.show.board import At, Board, Points
from footwork.show.labels import Ground
from footwork.show.notes import Note, Section
from footwork.show.sheet import Box

_SIDE = 4.6  # millimetres: the side of a mark's triangle
_CLEAR = 0.5
_APART = 0.6  # millimetres that a mark keeps from what is not its subject


@dataclass(frozen=True)
class Mark:
    """Failed checks of one subject under one number; ``at`` is None for what has no place on the plan.

    ``leader`` is a line from the mark to its subject, where it does not stand on it.
    """

    number: int
    subject: str
    checks: tuple[CheckResult, ...]
    home: shapely.Geometry | None
    at: Points | None = None
    leader: Points | None = None

    @property
    def must(self) -> bool:
        """Whether a `must` is among them."""
        return any(check.severity == "must" for check in self.checks)


def failed_marks(results: Sequence[CheckResult], homes: Mapping[str, shapely.Geometry]) -> list[Mark]:
    """Failed checks joined by subject, `must` first, numbered from 1."""
    by_subject: dict[str, list[CheckResult]] = {}
    for check in sorted((c for c in results if not c.ok), key=lambda c: c.severity):
        by_subject.setdefault(check.subject, []).append(check)
    return [
        Mark(number, subject, tuple(checks), _home(subject, homes))
        for number, (subject, checks) in enumerate(by_subject.items(), start=1)
    ]


def _home(subject: str, homes: Mapping[str, shapely.Geometry]) -> shapely.Geometry | None:
    """The shape of the first thing that a subject names."""
    if subject in homes:
        return homes[subject]
    found = []
    for name in homes:
        match = re.search(rf"(?<![\w-]){re.escape(name)}(?![\w-])", subject)
        if match:
            found.append((match.start(), -len(name), name))
    return homes[min(found)[2]] if found else None


def place_marks(marks: Sequence[Mark], ground: Ground) -> list[Mark]:
    """Marks in a free corner of their subject, else on its rim, else beside it with a line to it."""
    placed = []
    for mark in marks:
        at = None if mark.home is None else _on(mark.home, ground)
        leader = None
        if at is None and mark.home is not None:
            at, leader = _beside(mark.home, ground)
        if at is not None:
            ground.solids.append(_box(at))
        if leader is not None:
            ground.leaders.append(shapely.LineString(leader))
        placed.append(replace(mark, at=at, leader=leader))
    return placed


def _box(at: Points) -> shapely.Geometry:
    half = _SIDE / 2
    return shapely.box(at[0] - half, at[1] - half, at[0] + half, at[1] + half)


def _on(home: shapely.Geometry, ground: Ground) -> Points | None:
    """A free place inside a shape, at a corner of it, else on its rim; None where there is none."""
    x0, y0, x1, y1 = home.bounds
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    reach = _SIDE / 2 + _CLEAR
    others = shapely.STRtree([g.buffer(_APART) for g in ground.shut if not g.equals(home)])
    for x, y in [(x1, y1), (x0, y1), (x1, y0), (x0, y0)]:
        corner: Points = np.array([x - np.sign(x - middle[0]) * reach, y - np.sign(y - middle[1]) * reach])
        if home.covers(_box(corner)) and not len(others.query(_box(corner), predicate="intersects")):
            return corner
    for shut in (ground.shut, ground.solids):  # over a wall only where nothing else is free
        near = shapely.STRtree([g for g in shut if not g.equals(home)])
        for rim in _rim(home):
            shape = _triangle(rim).buffer(_APART / 2)
            if ground.paper.covers(shape) and not len(near.query(shape, predicate="intersects")):
                return rim
    return None


def _rim(home: shapely.Geometry) -> list[Points]:
    """Places on the outline of a shape: its corners, then along its sides, the upper right first."""
    ring = shapely.get_coordinates(home.convex_hull)[:-1]
    along = [a + share * (b - a) for a, b in zip(ring, np.roll(ring, -1, axis=0), strict=True)
             for share in (0.25, 0.75, 0.5)]  # fmt: skip
    return [p for group in (list(ring), along) for p in sorted(group, key=lambda q: -(q[0] + q[1]))]


def _beside(home: shapely.Geometry, ground: Ground) -> tuple[Points | None, Points | None]:
    """The best free place round a shape, and a line from there to the shape."""
    x0, y0, x1, y1 = home.bounds
    middle: Points = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    reach = _SIDE / 2 + _CLEAR
    shut = shapely.STRtree(ground.shut)
    lines = shapely.STRtree(ground.leaders) if ground.leaders else None
    best: tuple[float, Points | None, Points | None] = (np.inf, None, None)
    for far in (0.3, 1.5, 3.0, 5.0, 8.0, 12.0, 18.0, 26.0):
        if best[0] <= far:
            break
        for k in range(24):
            turn = np.pi / 4 + 2 * np.pi * k / 24
            d = np.array([np.cos(turn), np.sin(turn)])
            half = np.array([(x1 - x0) / 2 + reach + far, (y1 - y0) / 2 + reach + far])
            # the point of the enlarged box in that direction
            scale = min(half[0] / max(abs(d[0]), 1e-9), half[1] / max(abs(d[1]), 1e-9))
            at: Points = middle + d * scale
            box = _box(at)
            busy = len(shut.query(box, predicate="intersects"))
            if lines is not None:
                busy += len(lines.query(box, predicate="intersects"))
            if busy or not ground.paper.covers(box):
                continue
            leader = _leader(box, home)
            cost = far + _crossed(leader, home, ground)
            if cost < best[0]:
                best = (cost, at, leader)
    return best[1], best[2]


def _leader(box: shapely.Geometry, home: shapely.Geometry) -> Points:
    """From the rim of a mark to a little inside its home."""
    line: Points = shapely.get_coordinates(shapely.shortest_line(box, home))
    inward = np.array([home.centroid.x, home.centroid.y]) - line[1]
    far = float(np.hypot(*inward))
    return np.vstack([line[:1], line[1:] + inward * min(1.0, 1.0 / max(far, 1e-9))])


def _crossed(leader: Points, home: shapely.Geometry, ground: Ground) -> float:
    """What it costs, in millimetres, that a line leads over other things, names and lines."""
    line = shapely.LineString(leader)
    over = [g for g in ground.solids if not g.equals(home) and not home.covers(g) and g.intersects(line)]
    crossed = [other for other in ground.leaders if other.crosses(line)]
    return 15.0 * (len(over) + len(crossed))


def _triangle(at: At) -> shapely.Geometry:
    (x, y), half = at, _SIDE / 2
    low, high = y - 0.42 * _SIDE, y + 0.46 * _SIDE
    return shapely.Polygon([(x - half, low), (x + half, low), (x, high)])


def draw_marks(board: Board, marks: Sequence[Mark]) -> None:
    """The triangles, and the outline of what fails a `must`."""
    for mark in marks:
        if mark.must and mark.home is not None:
            board.shape(mark.home, edge=ink.FAIL, weight=ink.FAIL_LINE, z=ink.Z_FRONT - 0.1)
        if mark.leader is not None:
            board.line(mark.leader, color=ink.FAIL, weight=0.5, z=ink.Z_MARK - 0.1)
            board.circle(mark.leader[-1], 0.42, fill=ink.FAIL, z=ink.Z_MARK - 0.1)
        if mark.at is not None:
            mark_symbol(board, mark.at, str(mark.number), mark.must)


def mark_symbol(board: Board, at: At, words: str, must: bool) -> None:
    """A triangle with a number: full for `must`, open for `should`."""
    x, y = float(at[0]), float(at[1])
    board.shape(_triangle(at), fill=ink.FAIL if must else ink.PAPER, edge=ink.FAIL, weight=1.0, z=ink.Z_MARK)
    size = 6.2 if len(words) == 1 else 4.8
    base = (x, y - 0.42 * _SIDE + 0.62)
    color = ink.PAPER if must else ink.FAIL
    board.text(base, words, size, color=color, bold=True, align="center", z=ink.Z_MARK + 0.1)


def failed_section(marks: Sequence[Mark]) -> Section | None:
    """The notes on failed checks: by subject, what is wrong in words; what one pinch holds is told once."""
    if not marks:
        return None
    notes: list[Note] = []
    told: dict[object, Mark] = {}
    for mark in marks:
        if mark.at is None:
            notes.append(Note(mark.subject, bold=True, indent=True, gap=1.8))
        else:
            notes.append(Note(mark.subject, bold=True, symbol=_symbol(mark), gap=2.2))
        for check in mark.checks:
            pinch = (check.id, check.severity, tuple(held.by for held in check.held))
            first = told.setdefault(pinch, mark) if check.held else mark
            said = check.message if first is mark else f"as for {first.subject}"
            notes.append(Note(f"{check.severity}, {check.id}: {said}", indent=True))
    return Section("Failed checks", tuple(notes), ": footwork score")


def _symbol(mark: Mark) -> Callable[[Board, tuple[float, float]], None]:
    return lambda board, at: mark_symbol(board, at, str(mark.number), mark.must)


def must_sample(board: Board, box: Box) -> None:
    """The mark of a failed `must`."""
    mark_symbol(board, ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), "", True)


def should_sample(board: Board, box: Box) -> None:
    """The mark of a failed `should`."""
    mark_symbol(board, ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2), "", False)
