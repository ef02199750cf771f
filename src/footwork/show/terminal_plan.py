"""A small plan in characters, for the terminal: true to proportion, 80 columns wide at most.

A character is about twice as tall as wide, so that one stands for ``s`` metres of the floor across and
``2 s`` up.  Outlines run on the points of that grid; every point has a line or none to each of its four
neighbours, and the box character is chosen by these.
"""

from __future__ import annotations

import functools
import math
import unicodedata
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import ArrayLike
from rich.cells import cell_len
from rich.console import Console
from rich.text import Text

from footwork.floor.headroom import share_floor
from footwork.floor.plan import Plan
from footwork.floor.shapes import front_axes
from footwork.model.moved import has_moved
from footwork.model.scenario import Door, Layout, Placement, Scenario, Station, Vehicle, Window
from footwork.scoring import find_layout

WIDTH, ROWS = 80, 32
"""Columns and rows that a plan takes at most."""

_LIGHT, _HEAVY = 1, 2
_NORTH, _EAST, _SOUTH, _WEST = range(4)
_NAMES = {"UP": (_NORTH,), "RIGHT": (_EAST,), "DOWN": (_SOUTH,), "LEFT": (_WEST,),
          "VERTICAL": (_NORTH, _SOUTH), "HORIZONTAL": (_EAST, _WEST)}  # fmt: skip
_PLAIN = {"═": "=", "║": "H", "╌": ".", "╎": ":", "▒": "#", "·": " "}
_Cell = tuple[int, int]


@functools.cache
def _characters() -> dict[tuple[int, ...], str]:
    """Box characters by the weight of their lines to north, east, south and west, read from their names."""
    found: dict[tuple[int, ...], str] = {}
    for code in range(0x2500, 0x2580):
        words = unicodedata.name(chr(code)).removeprefix("BOX DRAWINGS ").split()
        if not set(words) <= {*_NAMES, "LIGHT", "HEAVY", "AND"}:
            continue
        weights = [0, 0, 0, 0]
        for part in " ".join(words).split(" AND "):
            said = part.split()  # a part without a word of its own goes by the first of all
            word = next(w for w in (*said, *words) if w in ("LIGHT", "HEAVY"))
            for side in (s for w in said if w in _NAMES for s in _NAMES[w]):
                weights[side] = _HEAVY if word == "HEAVY" else _LIGHT
        found[tuple(weights)] = chr(code)
    return found


@dataclass
class _Grid:
    """The characters while they are drawn.  Cells are (column, row), row 0 on top."""

    columns: int
    rows: int
    left: float
    top: float
    s: float
    lines: dict[_Cell, list[int]] = field(default_factory=dict)
    over: dict[_Cell, str] = field(default_factory=dict)
    under: dict[_Cell, str] = field(default_factory=dict)

    def cell(self, point: Sequence[float]) -> _Cell:
        """The grid point nearest to a point of the room."""
        across, up = (point[0] - self.left) / self.s, (self.top - point[1]) / (2 * self.s)
        return math.floor(across + 0.5), math.floor(up + 0.5)

    def centre(self, cell: _Cell) -> tuple[float, float]:
        """The point of the room that a cell stands for."""
        return self.left + cell[0] * self.s, self.top - cell[1] * 2 * self.s

    def join(self, one: _Cell, other: _Cell, weight: int) -> None:
        """A line between two neighbours; the heavier of two wins."""
        step = (other[0] - one[0], other[1] - one[1])
        side = {(0, -1): _NORTH, (1, 0): _EAST, (0, 1): _SOUTH, (-1, 0): _WEST}[step]
        for cell, towards in ((one, side), (other, (side + 2) % 4)):
            weights = self.lines.setdefault(cell, [0, 0, 0, 0])
            weights[towards] = max(weights[towards], weight)

    def on_wall(self, cell: _Cell) -> bool:
        """Whether a wall, door or window runs through a cell."""
        return _HEAVY in self.lines.get(cell, ()) or self.over.get(cell, "") in (*"═║╌╎",)

    def outline(self, cells: Iterable[_Cell], weight: int) -> None:
        """A closed line through these points."""
        ring = list(cells)
        for a, b in zip(ring, (*ring[1:], ring[0]), strict=True):
            way = list(_steps(a, b))
            for one, other in pairwise(way):
                self.join(one, other, weight)

    def text(self, plain: bool) -> list[str]:
        """The rows, without blanks at their ends."""
        shown = []
        for row in range(self.rows):
            cells = [self._shown((column, row), plain) for column in range(self.columns)]
            shown.append("".join(cells).rstrip())
        return shown

    def _shown(self, cell: _Cell, plain: bool) -> str:
        if cell in self.over:
            char = self.over[cell]
            return _PLAIN.get(char, char) if plain else char
        weights = self.lines.get(cell)
        if weights and any(weights):
            return _plain_line(weights) if plain else _characters()[tuple(weights)]
        char = self.under.get(cell, " ")
        return _PLAIN.get(char, char) if plain else char


def _plain_line(weights: list[int]) -> str:
    up, across = weights[_NORTH] or weights[_SOUTH], weights[_EAST] or weights[_WEST]
    return "+" if up and across else "|" if up else "-"


def _steps(a: _Cell, b: _Cell) -> Iterator[_Cell]:
    """Grid points from a to b, one step across or up at a time, as near the straight line as can be."""
    x, y = a
    yield x, y
    while (x, y) != b:
        towards = [(x + _sign(b[0] - x), y), (x, y + _sign(b[1] - y))]
        x, y = min((p for p in towards if p != (x, y)), key=lambda p: _off_line(p, a, b))
        yield x, y


def _sign(value: int) -> int:
    return (value > 0) - (value < 0)


def _off_line(p: _Cell, a: _Cell, b: _Cell) -> int:
    return abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]))


def terminal_plan(
    scenario: Scenario,
    layout: Layout | str | None,
    console: Console,
    moved: Collection[str] = (),
) -> None:
    """Print the plan of a layout on a console; names in ``moved`` get a star."""
    plain = not _can_show(console)
    for row in plan_lines(scenario, layout, min(WIDTH, console.width), moved=moved, plain=plain):
        if console.is_terminal:
            console.print(Text(row), no_wrap=True, crop=False, overflow="ignore")
        else:
            console.file.write(f"{row}\n")


def stands_elsewhere(
    before: Mapping[str, Placement] | None, after: Mapping[str, Placement]
) -> frozenset[str]:
    """Names that stand elsewhere than before, or are new; none when there is no before."""
    if before is None:
        return frozenset()
    return frozenset(name for name, place in after.items() if has_moved(before.get(name), place))


def _can_show(console: Console) -> bool:
    try:
        "┏┷╌═▒·".encode(console.encoding)
    except (UnicodeEncodeError, LookupError):
        return False
    return True


def plan_lines(
    scenario: Scenario,
    layout: Layout | str | None = None,
    width: int = WIDTH,
    rows: int = ROWS,
    moved: Collection[str] = (),
    plain: bool = False,
) -> list[str]:
    """The plan of a layout as lines of at most ``width`` columns, and under it what its signs mean.

    ``plain``: ASCII alone.  Raises UsageError when there is no such layout, or it leaves something out.
    """
    plan = Plan(scenario, find_layout(scenario, layout))
    grid = _grid(plan, width, rows)
    for yard in plan.room.yards:
        for cell in _cells_in(grid, yard.outline):
            grid.under[cell] = "·"
    for cell in _cells_in(grid, plan.room.outline):
        grid.under.pop(cell, None)
    for fixture in plan.room.fixtures:
        for cell in _cells_in(grid, fixture.outline) or [grid.cell(fixture.at)]:
            grid.over[cell] = "▒"
    grid.outline((grid.cell(p) for p in plan.room.outline), _HEAVY)
    openings: tuple[Door | Window, ...] = (*plan.room.windows, *plan.room.doors)
    for opening in openings:
        _open(grid, opening)
    numbered: list[tuple[int, str]] = []
    drawn: list[_Cell] = []
    for number, thing in enumerate(scenario.things, start=1):
        cells = _footprint(grid, plan.footprint(thing.name))
        grid.outline(cells, _LIGHT)
        drawn += cells
        star = "*" if thing.name in moved else ""
        name = f"({thing.name})" if isinstance(thing, Vehicle) else thing.name
        inside = _inside(cells)
        covered = _covered(grid, plan, thing.name)
        free = [cell for cell in inside if cell not in covered]
        for cell in (*inside, *_cells_in(grid, plan.footprint(thing.name))):
            grid.under.pop(cell, None)
        if not _write(grid, free, f"{name}{star}"):
            numbered.append((number, f"{name}{star}"))
            rim = [cell for cell in _rim(cells) if cell not in covered]
            _number(grid, free or rim or _rim(cells), f"{number}{star}")
        _front(grid, cells, plan.placements[thing.name].facing)
    return [*grid.text(plain), *_legend(grid, plan, numbered, bool(moved), width, plain)]


def _grid(plan: Plan, width: int, rows: int) -> _Grid:
    """The grid for the room and all that stands in it or outside."""
    rings = [np.asarray(plan.room.outline), *(plan.footprint(name) for name in plan.things)]
    points = np.vstack(rings)
    (x0, y0), (x1, y1) = points.min(axis=0), points.max(axis=0)
    s = max((x1 - x0) / (width - 2), (y1 - y0) / (2 * (rows - 1)), 1e-3)
    columns, tall = math.floor((x1 - x0) / s + 0.5) + 1, math.floor((y1 - y0) / (2 * s) + 0.5) + 1
    return _Grid(columns, tall, float(x0), float(y1), float(s))


def _cells_in(grid: _Grid, ring: ArrayLike) -> list[_Cell]:
    """Cells whose middle lies in a ring."""
    every = [(column, row) for column in range(grid.columns) for row in range(grid.rows)]
    inside = shapely.contains_xy(shapely.Polygon(np.asarray(ring)), [grid.centre(cell) for cell in every])
    return [cell for cell, there in zip(every, inside, strict=True) if there]


def _open(grid: _Grid, opening: Door | Window) -> None:
    """A door or window in its wall: the wall's own line is taken away between its ends."""
    way = list(_steps(grid.cell(opening.start), grid.cell(opening.end)))
    across = abs(opening.inward[1]) > abs(opening.inward[0])
    signs = ("═", "║") if isinstance(opening, Window) else ("╌", "╎")
    for cell in way[1:-1] or way:
        grid.over[cell] = signs[0] if across else signs[1]


def _footprint(grid: _Grid, ring: ArrayLike) -> list[_Cell]:
    """The corners of a footprint on the grid, at least one step across and up."""
    cells = [grid.cell(p) for p in np.asarray(ring)]
    xs, ys = [c[0] for c in cells], [c[1] for c in cells]
    if min(xs) < max(xs) and min(ys) < max(ys):
        return cells
    x = min(min(xs), grid.columns - 2)
    y = min(min(ys), grid.rows - 2)
    right, low = max(max(xs), x + 1), max(max(ys), y + 1)
    return [(x, low), (right, low), (right, y), (x, y)]


def _inside(cells: list[_Cell]) -> list[_Cell]:
    """Cells within an outline, in reading order."""
    xs, ys = [c[0] for c in cells], [c[1] for c in cells]
    every = [(x, y) for y in range(min(ys) + 1, max(ys)) for x in range(min(xs) + 1, max(xs))]
    if not every:
        return []
    # a little smaller, so that a slanted line's stairs are not written over
    shape = shapely.Polygon(cells)
    slanted = len(cells) != 4 or len({*xs}) != 2 or len({*ys}) != 2
    inside = shapely.contains_xy(shape.buffer(-0.75) if slanted else shape, every)
    return [cell for cell, there in zip(every, inside, strict=True) if there]


def _covered(grid: _Grid, plan: Plan, name: str) -> frozenset[_Cell]:
    """Cells of smaller things above or below one that hangs: their own names go there."""
    thing = plan.things[name]
    found: set[_Cell] = set()
    for other in plan.things.values():
        if other is not thing and share_floor(other, thing) and _floor(other) < _floor(thing):
            found.update(_rim(_footprint(grid, plan.footprint(other.name))))
    return frozenset(found)


def _floor(thing: Station | Vehicle) -> float:
    return math.prod(thing.size)


def _longest_run(xs: list[int]) -> list[int]:
    """The most neighbours in a row, from the left."""
    best: list[int] = []
    run: list[int] = []
    for x in sorted(xs):
        run = [*run, x] if run and x == run[-1] + 1 else [x]
        best = run if len(run) > len(best) else best
    return best


def _write(grid: _Grid, free: list[_Cell], name: str) -> bool:
    """A name in the middle of the free cells, over several rows at its blanks and hyphens; False: no room."""
    if cell_len(name) != len(name) or any(unicodedata.bidirectional(c) in ("R", "AL") for c in name):
        return False
    by_row: dict[int, list[int]] = {}
    for x, y in free:
        by_row.setdefault(y, []).append(x)
    by_row = {y: _longest_run(xs) for y, xs in by_row.items()}
    for words in _wraps(name):
        rows = sorted(by_row)
        if len(words) > len(rows):
            continue
        first = rows[(len(rows) - len(words)) // 2]
        chosen = [by_row.get(first + k, []) for k in range(len(words))]
        if all(len(word) <= len(xs) for word, xs in zip(words, chosen, strict=True)):
            for k, (word, xs) in enumerate(zip(words, chosen, strict=True)):
                _put(grid, (min(xs) + (len(xs) - len(word)) // 2, first + k), word)
            return True
    return False


def _wraps(name: str) -> Iterator[list[str]]:
    """A name on one row, then cut at blanks, underscores and hyphens."""
    yield [name]
    words = name.replace("_", "_ ").replace("-", "- ").split()
    if len(words) > 1:
        for cut in range(1, len(words)):
            yield ["".join(_joined(words[:cut])), "".join(_joined(words[cut:]))]
        yield words


def _joined(words: list[str]) -> Iterator[str]:
    for k, word in enumerate(words):
        yield word if k == len(words) - 1 or word[-1:] in "_-" else f"{word} "


def _put(grid: _Grid, at: _Cell, word: str) -> None:
    for k, char in enumerate(word):
        grid.over[at[0] + k, at[1]] = char


def _number(grid: _Grid, cells: list[_Cell], number: str) -> None:
    """A number in the middle of the cells, off the walls where that can be."""
    middle_x = (min(x for x, _ in cells) + max(x for x, _ in cells) + 1 - len(number)) / 2
    middle_y = (min(y for _, y in cells) + max(y for _, y in cells)) / 2

    def worse(at: _Cell) -> tuple[int, float]:
        taken = [(at[0] + k, at[1]) for k in range(len(number))]
        bad = sum(2 * grid.on_wall(c) + (c in grid.over) for c in taken)
        return bad, abs(at[0] - middle_x) + 2 * abs(at[1] - middle_y)

    starts = {(x + k, y) for x, y in cells for k in range(1 - len(number), 1)}
    inside = [(x, y) for x, y in starts if 0 <= x <= grid.columns - len(number)]
    _put(grid, min(sorted(inside), key=worse), number)


def _rim(cells: list[_Cell]) -> list[_Cell]:
    """The cells of the lines round a box that has none within."""
    xs, ys = [c[0] for c in cells], [c[1] for c in cells]
    return [(x, y) for y in range(min(ys), max(ys) + 1) for x in range(min(xs), max(xs) + 1)]


def _front(grid: _Grid, cells: list[_Cell], facing: float) -> None:
    """An arrow head on the side that looks along ``facing``."""
    (_, _), (vx, vy) = front_axes(facing)
    xs, ys = [c[0] for c in cells], [c[1] for c in cells]
    middle_x, middle_y = (min(xs) + max(xs)) // 2, (min(ys) + max(ys)) // 2
    if abs(vx) > abs(vy):
        at, sign = ((min(xs), middle_y), "<") if vx > 0 else ((max(xs), middle_y), ">")
        step = (1, 0) if vx > 0 else (-1, 0)
    else:
        at, sign = ((middle_x, max(ys)), "v") if vy > 0 else ((middle_x, min(ys)), "^")
        step = (0, -1) if vy > 0 else (0, 1)
    for _ in range(max(max(xs) - min(xs), max(ys) - min(ys))):  # the side of a turned thing lies further in
        if grid.lines.get(at) and any(grid.lines[at]):
            break
        at = (at[0] + step[0], at[1] + step[1])
    if grid.over.get(at, "v") in "v^<>╌╎═║":
        grid.over[at] = sign


def _legend(
    grid: _Grid, plan: Plan, numbered: Sequence[tuple[int, str]], moved: bool, width: int, plain: bool
) -> list[str]:
    """What the signs mean, wrapped to the width."""
    room = plan.room
    signs = [(bool(plan.things), "v ^ < > front"), (bool(room.doors), "╌ ╎ door"),
             (bool(room.windows), "═ ║ window"), (bool(room.fixtures), "▒ fixture"),
             (bool(room.yards) and not plain, "· yard"), (bool(plan.scenario.vehicles), "( ) vehicle"),
             (moved, "* moved")]  # fmt: skip
    parts = [words for there, words in signs if there]
    if plain:
        parts = ["".join(_PLAIN.get(c, c) for c in part) for part in parts]
    parts += ["north is up", _scale(grid, plan.scenario.units, plain)]
    return [*_wrapped([f"{k} {name}" for k, name in numbered], width), *_wrapped(parts, width)]


def _scale(grid: _Grid, units: str, plain: bool) -> str:
    """A bar of a round length, four columns or more."""
    inch = units in ("ft", "in")
    lengths = (1, 2, 3, 5, 10, 20, 50, 100, 200, 500, 1000, 2000)
    metres = 0.3048 if inch else 1.0
    length = next((n for n in lengths if n * metres / grid.s >= 4), lengths[-1])
    bar = "─" * max(1, round(length * metres / grid.s) - 1)
    words = f"├{bar}┤ {length} {'ft' if inch else 'm'}"
    return words.translate(str.maketrans("├─┤", "|-|")) if plain else words


def _wrapped(parts: Sequence[str], width: int) -> list[str]:
    """Parts in lines, two blanks between them."""
    lines: list[str] = []
    for part in parts:
        if lines and cell_len(lines[-1]) + 2 + cell_len(part) <= width:
            lines[-1] += f"  {part}"
        else:
            lines.append(part)
    return lines
