"""The from-to chart as a heat table."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence

from footwork.scoring import Score
from footwork.show.report.table import Cell, Head, Row, Table, figure, shades, words
from footwork.show.walked import Walked

STEPS = 6
"""Shades; all so pale that dark figures stand out from them."""
MOST = 40
"""Names that a chart has room for on a sheet of paper; the rest are summed up."""
OTHERS = "all others"


def order(scores: Sequence[Score]) -> tuple[str, ...]:
    """The stations, vehicles and doors that are walked between in any of the layouts, busiest first.

    Beyond MOST the last one is OTHERS, which stands for all the rest.
    """
    busy: dict[str, float] = defaultdict(float)
    for score in scores:
        for (start, end), walked in score.from_to.items():
            if walked > 0 and math.isfinite(walked):
                busy[start] += walked
                busy[end] += walked
    names = sorted(busy, key=lambda name: (-busy[name], name))
    return tuple(names) if len(names) <= MOST else (*names[: MOST - 1], OTHERS)


def table(score: Score, names: Sequence[str], key: str, told: Walked) -> Table | None:
    """What is walked a year from the row to the column; None where nothing is."""
    walked = _walked(score, frozenset(names))
    most = max((v for v in walked.values() if math.isfinite(v)), default=0.0)
    if not names or most <= 0:
        return None
    rows = []
    for start in names:
        cells = [_cell(walked.get((start, end), 0.0), most, told) for end in names]
        total = math.fsum(walked.get((start, end), 0.0) for end in names)
        rows.append(Row((words(start), *cells, figure(told.whole(total), total))))
    sums = [math.fsum(walked.get((start, end), 0.0) for start in names) for end in names]
    total_row = Row((words("in all"), *(figure(told.whole(v), v) for v in (*sums, math.fsum(sums)))))
    return Table(
        id=f"chart-{key}",
        caption=f"Layout {score.layout}: {told.word} a year from the station on the left to the one on top",
        heads=(Head("from"), *(Head(name, True) for name in names), Head("in all", True)),
        rows=tuple(rows),
        total=total_row,
        heat=True,
    )


def _walked(score: Score, named: frozenset[str]) -> dict[tuple[str, str], float]:
    """Metres a year by pair, with those not named joined to OTHERS."""
    found: dict[tuple[str, str], float] = defaultdict(float)
    for (start, end), metres in score.from_to.items():
        found[start if start in named else OTHERS, end if end in named else OTHERS] += metres
    return found


def _cell(value: float, most: float, told: Walked) -> Cell:
    if value <= 0:
        return figure("", 0.0)
    if not math.isfinite(value):
        return figure("no way", value, "heat-0")
    return figure(told.whole(value), value, f"heat-{shades(value, most, STEPS)}")
