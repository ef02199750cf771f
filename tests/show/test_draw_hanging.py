"""What hangs on plans, in DXF, in the terminal and in the marking-out list: dashed, above what stands."""

from __future__ import annotations

import csv
import io
from functools import lru_cache

import ezdxf
import pytest
from rich.console import Console

from footwork.floor.shapes import footprint
from footwork.model.read import loads
from footwork.model.scenario import Scenario
from footwork.show.draw import compose
from footwork.show.dxf import write_dxf
from footwork.show.mark_out import mark_out
from footwork.show.mark_tables import as_csv, marking_list
from footwork.show.plan import Drawing
from footwork.show.terminal_plan import plan_lines
from show.test_draw_snapshots import hold, portrait

SHED = """
name = "Hung shed"
[room]
size = [4.0, 3.0]
[[room.doors]]
name = "side"
wall = "south"
from = 2.6
width = 0.9
[stations]
bench = { size = [2.0, 0.75], placing = "wall", height = 0.9, along = true }
cabinet = { like = "wall cabinet", count = 2 }
saw = { size = [0.7, 0.6], height = 0.9 }
rack = { size = [1.6, 0.8], from_floor = 2.1, height = 2.4 }
[jobs.make]
times = "5 per week"
route = ["bench", "cabinet-1", "saw", "rack"]
[layouts.today]
bench = { at = [1.0, 2.625], facing = "south" }
cabinet-1 = { at = [0.5, 2.85], facing = "south" }
cabinet-2 = { at = [1.5, 2.85], facing = "south" }
saw = { at = [1.0, 0.6], facing = "north" }
rack = { at = [1.0, 0.6], facing = "north" }
"""


@lru_cache
def shed() -> Scenario:
    return loads(SHED)


@lru_cache
def drawing() -> Drawing:
    return compose(shed(), "today")


def test_a_plan_with_hanging_things_is_as_it_was() -> None:
    hold("hanging", list(portrait(drawing())))


def test_what_hangs_is_dashed_and_hides_nothing() -> None:
    sheet = drawing().sheet
    axes = drawing().board.figure.axes[0]
    layout = shed().layouts[0]
    for station in shed().stations:
        ring = sheet.mm(footprint(station, layout.placements[station.name]))
        low, high = ring.min(axis=0), ring.max(axis=0)
        mine = [
            patch
            for patch in axes.patches
            if (abs(patch.get_path().vertices.min(axis=0) - low).max() < 1e-6)
            and (abs(patch.get_path().vertices.max(axis=0) - high).max() < 1e-6)
            and patch.get_edgecolor()[3] > 0
        ]
        hangs = station.from_floor > 0
        assert mine
        assert all(
            (patch.get_linestyle() != "-" and patch.get_linestyle() != "solid") is hangs for patch in mine
        )
        assert all((patch.get_facecolor()[3] == 0) is hangs for patch in mine)


def test_the_legend_says_what_dashes_mean_where_something_hangs() -> None:
    def words(scenario: Scenario) -> list[str]:
        from footwork.show.plan import legend

        return [sample.words for sample in legend(compose(scenario, "today").request, [])]

    assert "hangs" in words(shed())
    low = tuple(s for s in shed().stations if s.from_floor == 0)
    plain = shed().with_(stations=low, jobs=())
    assert "hangs" not in words(plain)


def test_every_name_stands_once_and_none_on_another() -> None:
    labels = {label.text: label for label in drawing().labels}
    assert {"bench", "cabinet-1", "cabinet-2", "saw", "rack"} <= labels.keys()
    assert labels["saw"].inside
    assert labels["cabinet-1"].inside
    assert not drawing().unplaced


def test_a_hanging_station_is_dashed_in_dxf() -> None:
    file = io.BytesIO()
    write_dxf(drawing(), file)
    doc = ezdxf.read(io.StringIO(file.getvalue().decode("utf-8")))
    kinds = [e.dxf.linetype for e in doc.modelspace() if e.dxf.layer == "STATIONS"]
    assert sorted(kinds) == ["BYLAYER", "BYLAYER", "DASHED", "DASHED", "DASHED"]


def test_the_terminal_writes_no_name_over_another() -> None:
    text = "\n".join(plan_lines(shed(), "today"))
    for name in ("bench", "cabinet-1", "cabinet-2", "saw", "rack"):
        assert name in text


def test_the_marking_out_list_says_how_high_the_underside_is() -> None:
    found = mark_out(shed(), "today")
    assert {m.name: m.underside for m in found.marks} == pytest.approx(
        {"bench": 0.0, "saw": 0.0, "cabinet-1": 1.4, "cabinet-2": 1.4, "rack": 2.1}
    )
    console = Console(file=io.StringIO(), width=120)
    marking_list(found, console)
    said = console.file.getvalue()  # type: ignore[attr-defined]
    assert said.count("underside 1.400") == 2
    assert said.count("underside 2.100") == 1
    assert "underside: how high above the floor" in said
    rows = list(csv.DictReader(io.StringIO(as_csv(found))))
    assert {row["station"]: row["underside (m)"] for row in rows} == {
        "bench": "", "saw": "", "cabinet-1": "1.400", "cabinet-2": "1.400", "rack": "2.100"
    }  # fmt: skip


def test_where_nothing_hangs_the_list_says_nothing_of_it() -> None:
    low = tuple(s for s in shed().stations if s.from_floor == 0)
    found = mark_out(shed().with_(stations=low, jobs=()), "today")
    console = Console(file=io.StringIO(), width=120)
    marking_list(found, console)
    assert "underside" not in console.file.getvalue()  # type: ignore[attr-defined]
