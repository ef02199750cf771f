"""The marking-out list as a table and as CSV: one row a corner, in the file's units."""

from __future__ import annotations

import csv
import io

from rich.console import Console

from footwork.floor.plan import wall_words
from footwork.model.cells import text_cell
from footwork.model.units import FACTORS, format_length
from footwork.show import text
from footwork.show.mark_out import FIXED, FLOOR, OUTSIDE, VEHICLES, Base, Mark, MarkList, corner_letter
from footwork.show.places import facing_words
from footwork.show.text import Column, figures, words

_UNIT_WORDS = {
    "m": "metres",
    "mm": "millimetres",
    "cm": "centimetres",
    "ft": "feet and inches",
    "in": "inches",
}
_GROUPS = {
    FIXED: "Fixed where it is: check this first",
    FLOOR: "Out on the floor",
    OUTSIDE: "Outside",
    VEHICLES: "Vehicles",
}

_SIZE = 18
"""Letters of a size beyond which it goes on two rows, so that it is not cut in the middle of a length."""


def tape(metres: float, units: str) -> str:
    """A length as it is read off a tape: millimetres, or sixteenths of an inch; the unit is left out where
    it is metric."""
    if units in ("ft", "in"):
        return format_length(metres, units)
    decimals = {"m": 3, "cm": 1, "mm": 0}[units]
    return f"{round(metres / float(FACTORS[units]), decimals) + 0.0:.{decimals}f}"


def group_words(group: str) -> str:
    """The heading of a group."""
    return _GROUPS.get(group) or f"Along {'' if group.isdigit() else 'the '}{wall_words(group)}"


def heads() -> list[Column]:
    """The heads of the table."""
    return [words("station"), words("corner"), words("wall"), words("from"), figures("along"), figures("out")]


def rows(mark: Mark, units: str) -> list[tuple[str, ...]]:
    """The rows of one footprint under :func:`heads`: a corner each, from the first wall, and from the second
    where that says something more."""
    cells = [_from_wall(mark, w, k, units) for w in range(len(mark.shown)) for k in range(len(mark.corners))]
    beside = [("",) * 5] * max(0, len(_beside(mark, units)) - len(cells))
    names = [*_beside(mark, units), *[""] * len(cells)]
    return [(name, *rest) for name, rest in zip(names, [*cells, *beside], strict=False)]


def _beside(mark: Mark, units: str) -> list[str]:
    """Number and name, and under them which way it looks, how large it is and what it measures across."""
    sides = [tape(side, units) for side in mark.size]
    size = " x ".join(sides)
    lines = [facing_words(mark.facing), *([size] if len(size) <= _SIZE else [f"{sides[0]} x", sides[1]])]
    lengths = [tape(d.metres, units) for d in mark.diagonals]
    if len(set(lengths)) == 1 and len(mark.corners) == 4:
        lines.append(f"across {lengths[0]}")
    else:
        ends = [f"{corner_letter(d.start)} to {corner_letter(d.end)}" for d in mark.diagonals]
        lines += [f"{end} {length}" for end, length in zip(ends, lengths, strict=True)]
    if mark.underside:
        lines.append(f"underside {tape(mark.underside, units)}")
    head = f"{mark.number} "
    return [f"{head}{mark.name}", *(" " * len(head) + line for line in lines)]


def _from_wall(mark: Mark, which: int, k: int, units: str) -> tuple[str, ...]:
    along, out = (tape(float(v), units) for v in mark.offsets[which, k])
    wall, corner = base_words(mark.bases[which]) if k == 0 else ("", "")
    return (f"{corner_letter(k)} {mark.sides[k]}".strip(), wall, corner, along, out)


def base_words(base: Base) -> tuple[str, str]:
    """The wall, and the wall whose corner the lengths along it are measured from."""
    return (f"{base.wall}, outside" if base.outside else base.wall, base.corner)


def explanation(found: MarkList) -> list[str]:
    """How to read the list, one sentence or two a line."""
    unit = _UNIT_WORDS[found.scenario.units]
    lines = [
        f"Lengths in {unit}, from the inside faces of the walls.",
        "along: along the wall, from its corner with the wall under from; out: square out from the wall.",
        "Corners a, b, c ... go round from the front left: left as you stand at the front and look at it.",
        "across: a to c and b to d; where these differ, it is not square.",
    ]
    bases = [base for mark in found.marks for base in mark.shown]
    if any(len(mark.shown) > 1 for mark in found.marks):
        lines.append("Where two walls are given, mark from the first and check from the second.")
    if any(base.outside for base in bases):
        lines.append("outside: beyond the wall; take its thickness off when you measure from its outer face.")
    if any(mark.underside for mark in found.marks):
        lines.append(
            "underside: how high above the floor a thing hangs; its corners are plumb above those marked."
        )
    if any(base.carried_on for base in bases):
        lines.append(
            "A length along that is below 0 or beyond the wall's end: carry the wall's line on with a string."
        )
    return lines


def marking_list(found: MarkList, console: Console) -> None:
    """The list as a table, group after group."""
    text.heading(console, f"{found.scenario.name}, layout {found.layout.name}: marking out")
    for said in explanation(found):
        text.line(console, said)
    for group, marks in found.groups:
        text.line(console)
        text.heading(console, group_words(group))
        text.grid(console, heads(), [row for mark in marks for row in rows(mark, found.scenario.units)])


_CSV_HEADS = (
    "number", "group", "station", "facing", "corner", "which",
    "wall", "from", "along", "out", "second wall", "second from", "second along", "second out",
    "across to", "across", "underside",
)  # fmt: skip


def as_csv(found: MarkList) -> str:
    """The list as CSV, one row a corner; lengths in the file's units, named in the heads."""
    units = found.scenario.units
    unit = "" if units in ("ft", "in") else f" ({units})"
    measured = ("along", "out", "second along", "second out", "across", "underside")
    file = io.StringIO()
    writer = csv.writer(file, lineterminator="\n")
    writer.writerow([f"{head}{unit}" if head in measured else head for head in _CSV_HEADS])
    for mark in found.marks:
        for k in range(len(mark.corners)):
            across = [d for d in mark.diagonals if d.start == k]
            walls: list[str] = []
            for w, base in enumerate(mark.bases):
                walls += [
                    *map(text_cell, base_words(base)),
                    *(tape(float(v), units) for v in mark.offsets[w, k]),
                ]
            writer.writerow(
                [
                    mark.number,
                    text_cell(group_words(mark.group)),
                    text_cell(mark.name),
                    facing_words(mark.facing).removeprefix("facing "),
                    corner_letter(k),
                    mark.sides[k],
                    *walls,
                    corner_letter(across[0].end) if across else "",
                    tape(across[0].metres, units) if across else "",
                    tape(mark.underside, units) if mark.underside else "",
                ]
            )
    return file.getvalue()
