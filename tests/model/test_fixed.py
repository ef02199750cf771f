"""A station that the file fixes stands in the room."""

from __future__ import annotations

import pytest

from footwork.model.errors import ScenarioError
from footwork.model.read import loads

FILE = """
[room]
size = [6.0, 4.0]
doors = [{{ name = "gate", wall = "south", from = 1.0, width = 1.0 }}]
yards = [{{ name = "drive", outline = [[0, 0], [6, 0], [6, -3], [0, -3]] }}]
[stations.bench]
size = [1.0, 0.6]
outdoors = {outdoors}
fixed = {{ at = [{at}], facing = "north" }}
"""


@pytest.mark.parametrize(
    ("at", "outdoors", "told"),
    [
        ("3, 2", "false", ""),
        ("3, -2", "true", ""),
        ("3, 9", "true", "it is fixed outside the room; check its place, and its unit"),
        ("3, -2", "false", "it is fixed in a yard, and not outdoors = true; check its place"),
    ],
)
def test_where_a_station_may_be_fixed(at: str, outdoors: str, told: str) -> None:
    text = FILE.format(at=at, outdoors=outdoors)
    if not told:
        assert loads(text).stations[0].fixed is not None
        return
    with pytest.raises(ScenarioError) as found:
        loads(text)
    (line,) = found.value.lines
    assert told in line
