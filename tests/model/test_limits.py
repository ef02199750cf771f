"""What a file may hold: one clear line for each excess, at once, and nothing of it is made before."""

from __future__ import annotations

import re
import time
from pathlib import Path

import pytest

from footwork.model import limits
from footwork.model.errors import ScenarioError
from footwork.model.read import loads
from footwork.model.sizes import stops_of

from .variants import BASE, above, after, faults, read

ROUTE = 'route = ["bench", "rack", "bench"]'
JOB = "[jobs.mend]"
REFERENCE = (Path(__file__).parents[2] / "scenarios" / "README.md").read_text(encoding="utf-8")


def nested(depth: int) -> str:
    """Repeats of 10^9 inside each other."""
    return f"[{'{ repeat = 1000000000, route = [' * depth}{chr(34)}bench{chr(34)}{']}' * depth}]"


@pytest.mark.parametrize("depth", [1, 2, 60])
def test_nested_repeats_are_refused_at_once(depth: int) -> None:
    began = time.process_time()
    found = faults((ROUTE, f"route = {nested(depth)}"))
    assert time.process_time() - began < 2.0
    number = "1,000,000,000" if depth == 1 else "over a million million"
    what = f"{number} stops, repeats written out, are too many"
    assert found == [f"line 21: jobs.mend.route: {what}; lessen repeat, and raise times, to at most 2,000"]


def test_nothing_repeated_more_often_than_can_be_counted_is_an_empty_route() -> None:
    told = faults((ROUTE, f"route = [{{ repeat = 1{'0' * 400}, route = [] }}]"))
    assert told[0].startswith("line 21: jobs.mend.route[1].route: the route is empty")


def test_stops_are_counted_without_writing_them_out() -> None:
    assert stops_of(["a", {"repeat": 3, "route": ["b", {"repeat": 2, "route": ["c"]}]}, "d"]) == 11
    assert stops_of({"repeat": 5}) == stops_of(7) == stops_of([{"repeat": 4}]) == 0
    assert stops_of([{"repeat": 10**4000, "route": ["a"]}]) >= 10**12


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (
            above("[vehicles.van]", *(f"[stations.s{i}]\nsize = [1, 1]\ncount = 100" for i in range(3))),
            "line 12: stations: 303 stations, counts written out, are too many; give at most 250",
        ),
        (
            ("size = [6, 5]", f"outline = {[[i, 0] for i in range(300)]}"),
            "line 5: room.outline: its outline has 300 corners; draw it with 200 at most",
        ),
        (
            above(JOB, *['[[prefer]]\nstation = "rack"\nnear = "door"\nweight = 1'] * 1001),
            "line 19: prefer: 1,001 wishes are too many; give at most 1,000",
        ),
        (
            above(JOB, *(f"[layouts.l{i}]" for i in range(100))),
            "line 19: layouts: 101 layouts are too many; give at most 100",
        ),
        (
            above("[vehicles.van]", *(f"[[room.yards]]\noutline = [[0, -{i}]]" for i in range(11))),
            "line 17: room.yards: 11 yards are too many; give at most 10",
        ),
        (
            after(JOB, f"carry = [{'{}, ' * 201}]"),
            "line 20: jobs.mend.carry: 201 entries are too many; give at most 200",
        ),
        (
            after("[walker]", "step = 1e-300"),
            "line 4: walker.step: 1e-300 is less than a tenth of a millimetre; check its unit",
        ),
        (
            ('times = "1 per week"', 'times = "999999999999 per day"'),
            (
                "line 20: jobs.mend.times: '999999999999 per day' is 364,999,999,999,635 times a year; "
                "give a number a person could do"
            ),
        ),
    ],
)
def test_each_excess_is_one_line(change: tuple[str, str], told: str) -> None:
    assert told in faults(change)


def test_corners_are_counted_over_the_whole_file() -> None:
    ring = [[i / 100, (i % 2) / 10] for i in range(180)]
    tables = "".join(f"[stations.s{i}]\noutline = {ring}\ncount = 9\n" for i in range(1))
    told = faults(("[vehicles.van]\n", f"{tables}[vehicles.van]\n"))
    assert "1,640 corners of outlines are too many; give at most 1,500" in told


def test_wishes_are_counted_before_groups_are_written_out() -> None:
    wish = '[[prefer]]\nstation = "a"\napart_from = "b"\nby = 1\nweight = 1\n'
    groups = "".join(f"[stations.{n}]\nsize = [0.1, 0.1]\ncount = 100\n" for n in "ab")
    assert any("10,000 wishes, groups" in line for line in faults((f"{JOB}\n", f"{groups}{wish}{JOB}\n")))


def test_places_to_stand_along_very_long_benches_are_limited() -> None:
    along = ("[stations.bench]\nsize = [1.5, 0.7]", "[stations.bench]\nsize = [306, 1]\nalong = true")
    told = "510 standing places along their sides are too many; leave out along, to at most 500"
    assert faults(("size = [6, 5]", "size = [400, 5]"), along) == [f"line 12: stations: {told}"]


def test_two_hundred_stations_are_read() -> None:
    layout = BASE[BASE.index("[layouts.") :]
    s = read(("count = 2", "count = 100"), (layout, "[stations.stool]\nsize = [0.3, 0.3]\ncount = 99\n"))
    assert len(s.stations) == 200


def test_of_thousands_of_faults_the_first_hundred_are_told() -> None:
    with pytest.raises(ScenarioError) as caught:
        loads("\n".join(f"key{i} = 1" for i in range(5000)))
    assert len(caught.value.lines) == limits.MOST_PROBLEMS + 1
    assert caught.value.lines[-1] == "more than 100 things are wrong; mend these first"


def test_a_text_with_half_a_character_is_no_utf_8() -> None:
    with pytest.raises(ScenarioError, match="not UTF-8"):
        loads(f"{BASE}# \ud800\n")


def test_the_reference_states_every_limit() -> None:
    section = re.split(r"^## ", REFERENCE.partition("\n## Sizes and limits\n")[2], maxsplit=1, flags=re.M)[0]
    figures = [v for k, v in vars(limits).items() if k.startswith(("MOST_", "LONGEST")) and k != "MOST_PARTS"]
    for figure in (*figures, *limits.MOST_PARTS.values()):
        assert re.search(rf"(?<![\d,]){figure:,.0f}(?!\d|,\d)", section), figure
    assert "0.1 mm" in section
