"""What a move does to the scenario and the layout, on the box shed (tests/box.py)."""

from __future__ import annotations

from dataclasses import replace

import pytest

from box import BOX
from footwork.applying import Outcome, apply_move
from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.model.scenario import Placement, Scenario
from footwork.moves import parse
from model.variants import read

BOX_SHED = loads(BOX)


def applied(text: str, scenario: Scenario = BOX_SHED) -> Outcome:
    """The outcome of one move on the first layout; holds that nothing given was changed."""
    before = (scenario, dict(scenario.layouts[0].placements))
    outcome = apply_move(parse(text, scenario.units), scenario, scenario.layouts[0])
    assert before == (scenario, dict(scenario.layouts[0].placements))
    return outcome


def refused(text: str, scenario: Scenario = BOX_SHED) -> tuple[str, ...]:
    with pytest.raises(UsageError) as caught:
        applied(text, scenario)
    return caught.value.lines


@pytest.mark.parametrize(
    ("text", "name", "place"),
    [
        ("move drill to 4,3", "drill", Placement(4.0, 3.0, 180.0)),
        ("move drill to 4,3 facing east", "drill", Placement(4.0, 3.0, 90.0)),
        ("move drill by -0.1,0.2", "drill", Placement(4.9, 5.9, 180.0)),
        ("turn drill 270", "drill", Placement(5.0, 5.7, 90.0)),
        ("turn drill west", "drill", Placement(5.0, 5.7, 270.0)),
        ("move van to 2,2.25", "van", Placement(2.0, 2.25, 90.0)),
    ],
)
def test_moves_one_thing(text: str, name: str, place: Placement) -> None:
    outcome = applied(text)
    assert outcome.layout.placements == {**BOX_SHED.layouts[0].placements, name: place}
    assert outcome.scenario is BOX_SHED


def test_swap_takes_place_and_facing() -> None:
    places = applied("swap drill rack").layout.placements
    assert places["drill"] == Placement(5.0, 0.3, 0.0)
    assert places["rack"] == Placement(5.0, 5.7, 180.0)


def test_swap_brings_backs_to_the_wall() -> None:
    """The bench is 0.6 deep; a drill 0.4 deep stands 0.2 from the wall in its place, not 0.3."""
    shallow = loads(BOX.replace("drill = { size = [0.6, 0.6] }", "drill = { size = [0.6, 0.4] }"))
    places = applied("swap drill bench", shallow).layout.placements
    assert places["drill"] == Placement(2.0, 5.8, 180.0)
    # The drill's back was 0.1 m from the wall (5.7 + 0.2), which still counts as against it.
    assert places["bench"] == Placement(5.0, 5.6, 180.0)


def test_swap_away_from_walls_brings_middles_together() -> None:
    free = loads(BOX.replace("drill = { at = [5.0, 5.7]", "drill = { at = [5.0, 3.0]"))
    assert applied("swap drill bench", free).layout.placements["bench"] == Placement(5.0, 3.0, 180.0)


def test_remove_takes_a_station_out_of_everything() -> None:
    text = BOX.replace(
        'route = ["bench", "drill", "bench"] }', 'route = ["bench", "drill"], minutes = { drill = 5 } }'
    )
    text += '[[prefer]]\nstation = "bench"\nnear = "drill"\nweight = 3\n'
    outcome = applied("remove drill", loads(text))
    scenario = outcome.scenario
    assert [s.name for s in scenario.stations] == ["bench", "rack", "sink"]
    assert all("drill" not in layout.placements for layout in (*scenario.layouts, outcome.layout))
    assert [[v.name for v in job.route] for job in scenario.jobs] == [["bench"], ["rack", "rack"]]
    assert scenario.jobs[0].minutes == ()
    assert scenario.prefer == ()
    assert outcome.notes == (
        "drill is out of the route of hang, fetch",
        "hang, fetch: no leg is left, so it costs nothing",
        "1 [[prefer]] entry that named drill dropped",
    )


def test_remove_one_of_a_group_leaves_the_others_in_the_routes() -> None:
    text = BOX.replace("drill = { size = [0.6, 0.6] }", "drill = { size = [0.6, 0.6], count = 2 }")
    text = text.replace(
        "drill = { at = [5.0, 5.7], ",
        'drill-1 = { at = [4.0, 5.7], facing = "south" }\ndrill-2 = { at = [5.0, 5.7], ',
    )
    text = text.replace(
        "drill = { at = [4.0, 5.7], ",
        'drill-1 = { at = [4.0, 5.7], facing = "south" }\ndrill-2 = { at = [5.0, 5.7], ',
    )
    group = loads(text)
    assert group.jobs[0].route[1].members == ("drill-1", "drill-2")
    outcome = applied("remove drill-1", group)
    assert outcome.scenario.jobs[0].route[1].members == ("drill-2",)
    assert outcome.notes == ()
    assert applied("remove drill", group).notes[0] == "drill-1, drill-2 is out of the route of hang, fetch"
    assert refused("turn drill 90", group) == ("there are 2 of 'drill'; say which: drill-1, drill-2",)


def group_of(count: int, use: str) -> Scenario:
    """The base scenario with so many racks, used so."""
    rows = "".join(f"rack-{i} = {{ at = [{i}, 4], facing = 0 }}\n" for i in range(3, count + 1))
    return read(
        ("count = 2", f"count = {count}\nuse = {use}"),
        ("van = { at", f"{rows}van = {{ at"),
    )


@pytest.mark.parametrize(
    ("count", "use", "moves", "left"),
    [
        (3, '"evenly"', ["remove rack-2"], "evenly"),
        (3, '"evenly"', ["remove rack-2", "remove rack-1"], "nearest"),
        (3, "3", ["remove rack-2"], 2),
        (4, "2", ["remove rack-2"], 2),
        (2, "2", ["remove rack-2"], "nearest"),
    ],
)
def test_what_is_left_of_a_group_is_shared_out_as_far_as_it_goes(
    count: int, use: str, moves: list[str], left: str | int
) -> None:
    scenario = group_of(count, use)
    for move in moves:
        scenario = applied(move, scenario).scenario
    assert {station.use for station in scenario.stations if station.group == "rack"} == {left}


def test_remove_vehicle() -> None:
    outcome = applied("remove van")
    assert outcome.scenario.vehicles == ()
    assert "van" not in outcome.layout.placements


def test_add_as_the_reader_would_make_it() -> None:
    outcome = applied("add press 0.6x0.5 wall at 3,0.25")
    station = outcome.scenario.station("press")
    assert station == replace(
        BOX_SHED.station("bench"), name="press", group="press", size=(0.6, 0.5), outline=station.outline
    )
    assert outcome.layout.placements["press"] == Placement(3.0, 0.25, 0.0)  # its back to the south wall
    assert all(layout.placements["press"] == Placement(3.0, 0.25, 0.0) for layout in outcome.scenario.layouts)
    assert outcome.notes == (
        "no job visits press yet: it takes floor and adds no walking of its own",
        "the other layouts have press in the same place",
    )


def test_add_from_the_catalogue() -> None:
    from footwork.model.catalogue import entry

    station = applied('add press like "pillar drill" at 3,3 facing e').scenario.station("press")
    assert list(station.size) == list(entry("pillar drill").values["size"].value)
    assert station.like == "pillar drill"
    said = applied('add press like "drill press" at 3,3 facing e').scenario.station("press")
    assert (said.like, said.size) == (station.like, station.size)


def test_add_larger_than_the_room() -> None:
    closed = loads(
        BOX.replace("yards = ", "# ")
        .replace(", vehicle = true }", " }")
        .replace("[vehicles.van]\nsize = [1.6, 3.0]\ninside = 0.0\n", "")
        .replace("van = ", "# ")
    )
    assert refused("add press 20x1 at 1,1", closed) == ("press: it is larger than the room; check its unit",)


def test_room_moves_walls_and_what_hangs_on_them() -> None:
    outcome = applied("room 9x7")
    room = outcome.scenario.room
    assert room.size == (9.0, 7.0)
    assert set(room.outline) == {(0.0, 0.0), (9.0, 0.0), (9.0, 7.0), (0.0, 7.0)}
    gate, window = room.door("gate"), room.windows[0]
    assert (gate.start, gate.end) == ((0.0, 1.0), (0.0, 3.5))
    assert (window.start, window.end) == ((6.0, 7.0), (7.0, 7.0))
    assert room.fixtures == BOX_SHED.room.fixtures
    assert room.yards[0].outline == ((-6.0, 0.0), (0.0, 0.0), (0.0, 7.0), (-6.0, 7.0))
    assert outcome.layout == BOX_SHED.layouts[0]
    # The same file with the other size in it is read as the same room.
    text = BOX.replace("size = [8.0, 6.0]", "size = [9.0, 7.0]").replace(
        "[0.0, 6.0], [-6.0, 6.0]", "[0.0, 7.0], [-6.0, 7.0]"
    )
    assert loads(text).room == room


def test_room_back_again() -> None:
    there = applied("room 9.3x7.1")
    back = apply_move(parse("room 8x6"), there.scenario, there.layout)
    assert back.scenario.room == BOX_SHED.room


def test_room_takes_along_what_stands_beyond_its_walls() -> None:
    text = BOX.replace(
        "[-6.0, 6.0]] }]", '[-6.0, 6.0]] }, { name = "court", outline = [[2, 6], [6, 6], [6, 9], [2, 9]] }]'
    )
    text = text.replace(
        "vehicle = true }]", 'vehicle = true }, { name = "back", wall = "north", from = 3, width = 1 }]'
    )
    text = text.replace("drill = { size = [0.6, 0.6] }", "drill = { size = [0.6, 0.6], outdoors = true }")
    text = text.replace("drill = { at = [5.0, 5.7]", "drill = { at = [5.0, 8.0]")
    outcome = applied("room 8x6.5", loads(text))
    assert outcome.scenario.room.yards[1].outline == ((2.0, 6.5), (6.0, 6.5), (6.0, 9.5), (2.0, 9.5))
    assert outcome.layout.placements["drill"].at == (5.0, 8.5)


def test_room_takes_along_what_is_fixed_or_parked_beyond_its_walls() -> None:
    apron = '{ name = "apron", outline = [[8.0, 0.0], [11.0, 0.0], [11.0, 6.0], [8.0, 6.0]] }'
    changes = {
        "drill = { size = [0.6, 0.6] }": "drill = { size = [0.6, 0.6], castors = true, "
        'parked = { at = [8.5, 6.5], facing = "south" } }',
        "fixed = { at = [7.8, 3.0]": "outdoors = true, fixed = { at = [8.3, 3.0]",
        "vehicle = true }]": 'vehicle = true }, { name = "side", wall = "east", from = 1.0, width = 1.0 }]',
        "yards = [": f"yards = [{apron}, ",
    }
    text = BOX
    for old, new in changes.items():
        text = text.replace(old, new)
    outcome = applied("room 9x7", loads(text))
    assert outcome.scenario.station("drill").parked == Placement(9.5, 7.5, 180.0)
    assert outcome.scenario.station("sink").fixed == Placement(9.3, 3.0, 270.0)
    assert outcome.layout.placements["sink"] == Placement(9.3, 3.0, 270.0)


def test_places_and_sizes_are_as_the_file_can_hold_them() -> None:
    assert applied("move drill by -0.33333,0").layout.placements["drill"].x == 4.6667
    assert applied("turn drill 7.123456").layout.placements["drill"].facing == 187.1235
    assert applied("room 9.12344x7").scenario.room.size == (9.1234, 7.0)
    assert applied("add press 0.6x0.5 at 1/3 in,3").layout.placements["press"].x == 0.0085
    assert applied("add press 1/3 inx0.5 at 3,3").scenario.station("press").size == (0.0085, 0.5)
    feet = loads(BOX.replace('units = "m"', 'units = "ft"'))
    assert applied("move drill by 1/3 in,0", feet).layout.placements["drill"].x == pytest.approx(
        5.0278 * 0.3048, abs=1e-12
    )


def test_room_names_everything_that_no_longer_fits() -> None:
    assert refused("room 6.5x3") == (
        "a room of 6.50 m x 3.00 m: 'window' ends 7.00 m along the north wall, which would be 6.50 m long",
        "a room of 6.50 m x 3.00 m: 'gate' ends 3.50 m along the west wall, which would be 3.00 m long",
        "a room of 6.50 m x 3.00 m: 'stove' would be outside",
    )


def test_room_that_leaves_nothing_of_a_yard_is_refused() -> None:
    text = BOX.replace("[-6.0, 0.0], [0.0, 0.0], [0.0, 6.0], [-6.0, 6.0]", "[-6, 3], [0, 3], [0, 6], [-6, 6]")
    text = text.replace("at = [7.7, 5.7]", "at = [7.7, 2.5]")
    assert refused("room 8x3", loads(text))[-1] == (
        "a room of 8.00 m x 3.00 m: the yard 'lane' would be squeezed to nothing"
    )


def test_room_given_by_its_outline_cannot_be_resized() -> None:
    text = BOX.replace("size = [8.0, 6.0]", "outline = [[0, 0], [8, 0], [8, 6], [0, 6]]")
    text = text.replace('wall = "west", from = 1.0', "wall = 4, from = 2.5").replace(
        'wall = "north"', "wall = 3"
    )
    assert refused("room 9x7", loads(text)) == (
        "this room is given by its outline; only a room given by size can be resized so",
    )


def test_times() -> None:
    outcome = applied("times fetch 3 per week")
    job = outcome.scenario.jobs[1]
    assert (job.times_per_year, job.times, job.times_range) == (156.0, "3 per week", (52.0, 156.0))
    assert outcome.notes == ()


def test_times_of_a_job_that_belongs_to_some_weeks() -> None:
    """5 a week in 39 weeks are 195; its range, 1 to 3 a week, is 39 to 117 a year."""
    text = BOX.replace("times_range = [52, 156] }", "times_range = [52, 156], weeks = 39 }")
    outcome = applied("times fetch 5 per week", loads(text))
    job = outcome.scenario.jobs[1]
    assert (job.times_per_year, job.times, job.times_range) == (195.0, "5 per week", None)
    assert outcome.notes == (
        "fetch is done in 39 weeks of the year: 195 times",
        "fetch is now done outside its times_range, which is dropped",
    )
    assert applied("times fetch 3 per week", loads(text)).scenario.jobs[1].times_range == (39.0, 117.0)


def test_times_beyond_their_range() -> None:
    outcome = applied("times fetch 1 per month")
    assert outcome.scenario.jobs[1].times_range is None
    assert outcome.notes == ("fetch is now done outside its times_range, which is dropped",)


def test_vehicle_in_and_out() -> None:
    inside = applied("bring van in").scenario
    assert inside.vehicle("van").inside == 1.0
    assert applied("take van out", inside).scenario.vehicle("van").inside == 0.0


def test_vehicle_out_still_comes_in_for_jobs_that_visit_it() -> None:
    scenario = loads(BOX.replace('route = ["bench", "drill", "bench"]', 'route = ["bench", "van"]'))
    assert applied("take van out", scenario).notes == ("van still comes in for hang",)


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("move drill by 999,0", "1004.0 is 1,004 m; check its unit, bare numbers are in m"),
        (
            "add a:b 1x1 at 1,1",
            "add 'a:b': a name cannot hold any of : , \" \\ [ ] { }, and it holds U+003A COLON (letter 2)",
        ),
        ("move drll by 1,0", "no station or vehicle 'drll'; did you mean 'drill'?"),
        ("move sink by 1,0", "'sink' is fixed in the file; take out its `fixed` to let it move"),
        ("swap drill drill", "swap names 'drill' twice; name two things"),
        ("remove lathe", "no station or vehicle 'lathe'; the file has: bench, drill, rack, sink, van"),
        ("add drill 1x1 at 1,1", "there is a 'drill' already; give the new station another name"),
        (
            'add press like "pilar drill" at 1,1',
            "press: 'pilar drill' is not in the catalogue; did you mean 'pillar drill'?",
        ),
        ("times hnag 1 per day", "no job 'hnag'; did you mean 'hang'?"),
        ("take drill out", "no vehicle 'drill'; vehicles: van"),
    ],
)
def test_refuses_in_one_line(text: str, line: str) -> None:
    assert refused(text) == (line,)
