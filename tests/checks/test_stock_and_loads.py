"""Full sheets, long bars and wide loads on the shed; walkers who must pass; where a strip's figure is from.

The side door is in the west wall, y 1..1.9; the window in the north wall, x 2..4.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

import footwork
from footwork.model.read import loads
from footwork.model.scenario import Carry, Placement, Scenario, Stock, Walker
from shed import BENCH, DRILL, ROLLER, SHED, failed, job, one, results, station, with_room

# a full sheet of 2.4 x 1.2 m goes over a table saw 0.8 x 0.8 m that looks east: its right is north
SHEET = station("tablesaw", 0.8, 0.8, stock=Stock(left=1.2, right=2.4, width=1.2), work_height=0.9, stand=())
AT = Placement(3.0, 1.6, 90.0)  # its sheet is over x 2.4..3.6, y 0..4.4


def with_sheet(**bench: object) -> Scenario:
    return SHED.with_(stations=(replace(BENCH, stand=(), **bench), DRILL, SHEET), jobs=())  # type: ignore[arg-type]


def test_a_full_sheet_passes_above_a_lower_bench_and_out_of_the_window() -> None:
    # the bench under the window, x 2.25..3.75, y 3.2..4
    low = with_sheet(height=0.85)
    assert one(low, "stock-clear", "tablesaw", tablesaw=AT).ok
    as_high = one(with_sheet(height=0.9), "stock-clear", "tablesaw", tablesaw=AT)
    assert not as_high.ok
    assert as_high.actual == pytest.approx(1.2)  # from the saw's side at y 2.0 to the bench at 3.2
    assert as_high.required == 2.4
    # 0.41 m further west the sheet meets the wall beside the window
    assert not one(low, "stock-clear", "tablesaw", tablesaw=Placement(2.59, 1.6, 90.0)).ok


def test_a_bar_of_six_metres_comes_in_by_the_door_in_line() -> None:
    # looking south its left is east, its right west: 6 m out through the side door, 0.1 m wide
    saw = station("saw", 0.6, 0.6, stock=Stock(right=6.0, width=0.1), work_height=0.95, stand=())
    bars = SHED.with_(stations=(BENCH, replace(DRILL, height=1.8), saw), jobs=())
    in_line = Placement(4.0, 1.5, 0.0)  # looks north: its right is west
    assert one(bars, "stock-clear", "saw", saw=in_line).ok
    beside = one(bars, "stock-clear", "saw", saw=Placement(4.0, 2.2, 0.0))
    assert not beside.ok
    assert beside.actual == pytest.approx(3.7)  # from the saw's side at x 3.7 to the west wall
    assert "west wall" in beside.message
    tall = one(bars, "stock-clear", "saw", saw=in_line, drill=Placement(2.0, 1.4, 0.0))
    assert tall.actual == pytest.approx(1.4)  # the drill's east side is x 2.3
    lower = bars.with_(stations=(BENCH, replace(DRILL, height=0.9), saw))
    assert one(lower, "stock-clear", "saw", saw=in_line, drill=Placement(2.0, 1.4, 0.0)).ok


def test_a_wide_load_needs_its_width_all_the_way_and_the_pinch_is_named() -> None:
    shelf = station("shelf", 5.0, 0.2, stand=())
    wide = with_room(doors=(ROLLER,)).with_(
        stations=(BENCH, DRILL, shelf),
        jobs=(job("make", "bench", "drill", carry=(Carry("bench", "drill", 1.2),)),),
    )
    # the shelf's end is x 5.1: 0.9 m to the east wall, 0.3 m too narrow; 0.1 m to the west wall to spare
    found = one(wide, "reachable", "make", shelf=Placement(2.6, 1.9, 180.0))
    assert (found.ok, found.required) == (False, 1.2)
    assert found.actual == pytest.approx(0.9)
    assert found.message == (
        "make: no way 1.20 m wide from the front of bench to the front of drill: "
        "the gap between shelf and east wall is 0.90 m, 0.30 m too narrow: no short straight move mends it: "
        "find another spot for shelf, or turn it"
    )
    short = wide.with_(stations=(BENCH, DRILL, station("shelf", 4.7, 0.2, stand=())))
    told = one(short, "reachable", "make", shelf=Placement(2.75, 1.9, 180.0)).message
    assert told.endswith(
        "the gap between shelf and east wall is 0.90 m, 0.30 m too narrow: move shelf 0.30 m west"
    )
    assert found.source == "your file"
    empty_handed = wide.with_(jobs=(job("make", "bench", "drill"),))
    assert one(empty_handed, "reachable", "make", shelf=Placement(2.6, 1.9, 180.0)).ok


def test_two_walkers_who_must_pass_each_other() -> None:
    # 1.2 m is twice 0.6 m: a gap of 1.19 m lets one through, not two abreast
    shelf = station("shelf", 4.81, 0.2, stand=())
    alone = SHED.with_(stations=(BENCH, DRILL, shelf))
    two = alone.with_(walker=Walker(width=1.2))
    at = {"shelf": Placement(2.405, 1.9, 180.0)}
    assert one(alone, "reachable", "make", **at).ok
    found = one(two, "reachable", "make", **at)
    assert found.required == 1.2
    assert found.actual == pytest.approx(1.19)
    wider = two.with_(stations=(BENCH, DRILL, station("shelf", 4.8, 0.2, stand=())))
    assert one(wider, "reachable", "make", shelf=Placement(2.4, 1.9, 180.0)).ok


SOURCES = """
[walker]
profile = "{profile}"
[room]
size = [8, 6]
[stations]
plain = {{ size = [1, 0.5] }}
own = {{ size = [1, 0.5], strip = 0.9 }}
saw = {{ like = "table saw" }}
chest = {{ like = "tool chest" }}
[layouts.today]
plain = {{ at = [1, 5.7], facing = "south" }}
own = {{ at = [3, 5.7], facing = "south" }}
saw = {{ at = [5, 3], facing = "south" }}
chest = {{ at = [7, 5.7], facing = "south" }}
"""


def test_a_strip_s_figure_says_where_it_is_from() -> None:
    def sources(profile: str) -> dict[str, tuple[float | None, str]]:
        found = footwork.score(loads(SOURCES.format(profile=profile))).checks
        return {c.subject: (c.required, c.source) for c in found if c.id == "strips-clear"}

    standing = sources("standing")
    assert standing["plain"] == (0.75, "common practice")
    assert standing["own"] == (0.9, "your file")
    assert standing["saw"][1].startswith("published: HSE")
    assert standing["chest"][1] == "common practice"
    chair = sources("wheelchair")
    assert chair["plain"] == (0.76, "published: ADA Standards 2010, 305.3 (from a secondary text)")
    assert chair["own"] == (0.9, "your file")
    assert (chair["chest"][0] or 0.0) >= 0.76


def test_the_catalogue_never_makes_a_strip_too_shallow_for_a_wheelchair() -> None:
    from footwork.model.catalogue import CATALOGUE

    shallow = next(
        name for name, e in CATALOGUE.items() if "strip" in e.values and e.values["strip"].value < 0.7
    )
    text = '[walker]\nprofile = "wheelchair"\n[room]\nsize = [9, 9]\n[stations]\n'
    text += f'one = {{ like = "{shallow}" }}\n'
    assert loads(text).station("one").strip == 0.76
    assert loads(text.replace(" }", ", strip = 0.6 }")).station("one").strip == 0.6  # the file has its way
    assert loads(text.replace("wheelchair", "standing")).station("one").strip < 0.7


CHAIR_ROOM = """
[walker]
profile = "wheelchair"
[room]
size = [4.6, 4.0]
doors = [{ name = "door", wall = "south", from = 1.8, width = 1.0 }]
[stations]
bench = { size = [1.5, 0.7], placing = "wall" }
drill = { size = [0.5, 0.6] }
rack = { size = [1.2, 0.4], placing = "wall" }
post = { size = [0.4, 0.4], stand = [] }
[jobs]
make = { times = "5 per week", route = ["rack", "bench", "drill", "bench", "door:door"] }
"""


def test_suggest_leaves_a_wheelchair_its_floor_and_its_turning_circle() -> None:
    scenario = loads(CHAIR_ROOM)
    found = footwork.suggest(scenario, iterations=400, pitch=0.4, seed=2, processes=1, alternatives=2)
    assert len(found.layouts) >= 1
    for score in found.layouts:
        assert score.ok
        held = {c.subject: c.ok for c in score.checks if c.id == "wheelchair"}
        assert held == dict.fromkeys(("route", "turning circle", "bench", "drill", "rack"), True)


def test_the_widest_circle_there_is_to_turn_in_is_told() -> None:
    # a block from wall to wall, y 1.4..2.4, shuts the desk in the south up in an aisle of 1.4 m
    desk, block = station("desk", 1.2, 0.2), station("block", 6.0, 1.0, stand=())
    chair = SHED.with_(
        walker=Walker(profile="wheelchair", width=0.915), stations=(desk, block), jobs=(), vehicles=()
    )
    at = {"desk": Placement(5.0, 0.1, 0.0), "block": Placement(3.0, 1.9, 180.0)}
    found = one(chair, "wheelchair", "turning circle", **at)
    assert not found.ok
    assert found.actual == pytest.approx(1.4, abs=0.01)
    assert found.message.startswith("the widest free circle to turn a wheelchair in is 1.4")
    assert "clear 0.12" in found.message
    # with the block 0.2 m further north it can turn there
    assert one(chair, "wheelchair", "turning circle", **{**at, "block": Placement(3.0, 2.1, 180.0)}).ok
    shut = one(chair, "wheelchair", "turning circle", **{**at, "block": Placement(3.0, 1.2, 180.0)})
    assert shut.message.startswith("no station can be got to on floor 0.915 m wide")


def test_clear_floor_names_what_to_move() -> None:
    shelf = station("shelf", 2.0, 0.3, stand=())
    chair = SHED.with_(
        walker=Walker(profile="wheelchair", width=0.915), stations=(BENCH, DRILL, shelf), jobs=()
    )
    at = {"shelf": Placement(5.0, 1.45, 180.0)}  # y 1.3..1.6: 0.7 m before the drill, 0.06 m short of 0.76 m
    told = one(chair, "wheelchair", "drill", **at).message
    assert told == (
        "no 0.76 m x 1.22 m of clear floor at drill, alongside or head on: move shelf 0.06 m north"
    )
    assert ("wheelchair", "drill") not in failed(chair, shelf=Placement(5.0, 1.51, 180.0))
    assert [r for r in results(chair, **at) if r.id == "wheelchair" and not r.ok]
