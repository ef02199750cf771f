"""The marks of failed checks on a plan, and the notes that go with them."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

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


@dataclass(frozen=True)
class Mark:
    """Failed checks of one subject under one number; ``at`` is None for what has no place on the plan."""

    number: int
    subject: str
    checks: tuple[CheckResult, ...]
    home: shapely.Geometry | None
    at: Points | None = None

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
    """Marks at a free corner of their subject, else beside it, on nothing else."""
    placed = []
    for mark in marks:
        at = None if mark.home is None else _free_place(mark.home, ground)
        if at is not None:
            ground.solids.append(_box(at))
        placed.append(Mark(mark.number, mark.subject, mark.checks, mark.home, at))
    return placed


def _box(at: Points) -> shapely.Geometry:
    half = _SIDE / 2
    return shapely.box(at[0] - half, at[1] - half, at[0] + half, at[1] + half)


def _free_place(home: shapely.Geometry, ground: Ground) -> Points | None:
    x0, y0, x1, y1 = home.bounds
    middle = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    inside = [(x1, y1), (x0, y1), (x1, y0), (x0, y0)]
    reach = _SIDE / 2 + _CLEAR
    corners: list[Points] = [
        np.array([x - np.sign(x - middle[0]) * reach, y - np.sign(y - middle[1]) * reach]) for x, y in inside
    ]
    shapely.prepare(home)
    others = [g.buffer(0.6) for g in ground.solids if not g.equals(home)]
    tree = shapely.STRtree(others)
    for corner in corners:
        box = _box(corner)
        if home.covers(box) and not len(tree.query(box, predicate="intersects")):
            return corner
    return _beside(home, ground)


def _beside(home: shapely.Geometry, ground: Ground) -> Points | None:
    """The nearest free place round a shape, the upper right first."""
    x0, y0, x1, y1 = home.bounds
    middle: Points = np.array([(x0 + x1) / 2, (y0 + y1) / 2])
    reach = _SIDE / 2 + _CLEAR
    tree = shapely.STRtree(ground.shut)
    lines = shapely.STRtree(ground.leaders) if ground.leaders else None
    for far in (0.3, 1.5, 3.0, 5.0, 8.0, 12.0, 18.0, 26.0):
        for k in range(24):
            turn = np.pi / 4 + 2 * np.pi * k / 24
            d = np.array([np.cos(turn), np.sin(turn)])
            half = np.array([(x1 - x0) / 2 + reach + far, (y1 - y0) / 2 + reach + far])
            # the point of the enlarged box in that direction
            scale = min(half[0] / max(abs(d[0]), 1e-9), half[1] / max(abs(d[1]), 1e-9))
            at: Points = middle + d * scale
            box = _box(at)
            busy = len(tree.query(box, predicate="intersects"))
            if lines is not None:
                busy += len(lines.query(box, predicate="intersects"))
            if not busy and ground.paper.covers(box):
                return at
    return None


def draw_marks(board: Board, marks: Sequence[Mark]) -> None:
    """The triangles, and the outline of what fails a `must`."""
    for mark in marks:
        if mark.must and mark.home is not None:
            board.shape(mark.home, edge=ink.FAIL, weight=ink.FAIL_LINE, z=ink.Z_FRONT - 0.1)
        if mark.at is not None:
            mark_symbol(board, mark.at, str(mark.number), mark.must)


def mark_symbol(board: Board, at: At, words: str, must: bool) -> None:
    """A triangle with a number: full for `must`, open for `should`."""
    x, y = float(at[0]), float(at[1])
    half = _SIDE / 2
    shape = shapely.Polygon(
        [(x - half, y - 0.42 * _SIDE), (x + half, y - 0.42 * _SIDE), (x, y + 0.46 * _SIDE)]
    )
    board.shape(shape, fill=ink.FAIL if must else ink.PAPER, edge=ink.FAIL, weight=1.0, z=ink.Z_MARK)
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
