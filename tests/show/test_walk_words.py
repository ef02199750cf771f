"""A job that cannot be walked says what would open the way; doors are called doors."""

from __future__ import annotations

from pathlib import Path

from cli.run import footwork
from footwork.show.places import side_words

SHUT = """\
name = "Shut"
units = "m"
room = { size = [6.0, 4.0], doors = [{ name = "side", wall = "west", from = 1.0, width = 0.9 }] }
jobs.cut = { times = "1 per week", route = ["door:side", "bench", "saw"] }

[stations]
bench = { size = [1.0, 0.6] }
saw = { size = [0.6, 0.6] }
low = { size = [0.5, 1.75], stand = [] }
high = { size = [0.5, 1.75], stand = [] }

[layouts.today]
bench = { at = [1.5, 3.6], facing = "south" }
saw = { at = [5.0, 3.6], facing = "south" }
low = { at = [3.0, 0.875], facing = "south" }
high = { at = [3.0, 3.125], facing = "south" }
"""


def test_what_would_have_to_open_for_a_job_to_be_walked(tmp_path: Path) -> None:
    """Low and high leave 0.50 m between them; a walker is 0.60 m wide."""
    path = tmp_path / "shut.toml"
    path.write_text(SHUT, encoding="utf-8")
    result = footwork("walk", path, "--job", "cut")
    said = " ".join(result.out.split())
    assert result.status == 1
    assert "1. Stand at the side door." in said
    assert "No way 0.60 m wide leads to the front of saw: 4.14 m, squeezed through 0.50 m between" in said
    assert "the gap between high and low is 0.50 m, 0.10 m too narrow: move" in said


def test_doors_and_sides_in_words() -> None:
    assert side_words("roller", None) == "the roller door"
    assert side_words("door", None) == "the door"
    assert side_words("Back door", None) == "the Back door"
    assert side_words("van", "left") == "the left side of van"
    assert side_words("saw", "front") == "the front of saw"
