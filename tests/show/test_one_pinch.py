"""What one gap holds back is one line wherever it is shown: the saw and the freezer of ``GARAGE``."""

from __future__ import annotations

import pytest

from checks.crowded_sheds import GARAGE
from footwork.model.read import loads
from footwork.scoring import score
from footwork.show import tables
from footwork.show.draw import compose
from footwork.show.report.write import facts
from footwork.whatif import Session
from show.test_tables import shown

SHED = loads(GARAGE)
BEHIND = "saw, bench, drill, grinder and rack"


def test_one_paragraph_in_the_terminal_and_counted_as_one() -> None:
    said = shown(tables.score, score(SHED, "today"), width=200)
    assert said.count("the gap between saw and freezer") == 2
    assert f" - way-out: {BEHIND}: the way to a door is 0.48 m wide" in said
    assert "1 must-check failed" in said
    assert "1 should-check failed" in said
    both = shown(tables.compare, [score(SHED, "today"), score(SHED, "today")], width=200)
    counts = [line.split()[-2:] for line in both.splitlines() if "-checks failed" in line]
    assert counts == [["1", "1"], ["1", "1"]]


def test_one_line_of_a_what_if() -> None:
    session = Session(SHED, "today")
    session.do("move saw 0.12 m south")
    said = shown(tables.change, session.do("move saw 0.05 m north"), width=300)
    assert said.count("now fails (must)") == 1
    assert "now fails (must): reachable: frame and sharpen: no way 0.60 m wide" in said
    assert "of which squeezed" in said
    back = shown(tables.change, session.do("move saw 0.05 m south"), width=300)
    assert back.count("now holds: reachable") == 2


@pytest.mark.parametrize("before", [None, "today"])
def test_one_row_in_the_report(before: str | None) -> None:
    scenario = SHED
    if before is not None:
        layout = SHED.layouts[0]
        narrower = layout.placements["saw"]
        scenario = SHED.with_(
            layouts=(layout, layout.moved({"saw": type(narrower)(2.2, 1.25, 180.0)}, "after"))
        )
    page = facts(scenario, "today" if before is None else "after", before)
    rows = [[cell.words for cell in row.cells] for row in page.checks.rows]
    failed = [row for row in rows if any(word.startswith("fails") for word in row)]
    assert [row[0] for row in failed] == ["reachable", "way-out"]
    assert [row[1] for row in failed] == ["frame and sharpen", BEHIND]
    assert all("the gap between saw and freezer" in row[-2] for row in failed)
    assert "1 must-check fails and 1 should-check fails of" in page.checks_lead


def test_told_once_beside_a_plan() -> None:
    texts = [t.get_text() for t in compose(SHED, "today").board.figure.axes[0].texts]
    said = " ".join(texts)
    assert said.count("the gap between saw and freezer") <= 2
    assert "as for frame" in said
