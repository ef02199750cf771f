"""Moves as text: what can be read, and the one line for what cannot."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from footwork.model.errors import UsageError
from footwork.moves import (
    FORMS,
    Add,
    Form,
    Inside,
    Move,
    MoveBy,
    MoveTo,
    Remove,
    Resize,
    Swap,
    Times,
    Turn,
    parse,
)


@pytest.mark.parametrize(
    ("text", "move"),
    [
        ("move drill to 5.2,6.2 facing south", MoveTo("drill", (5.2, 6.2), 180.0)),
        ("move drill to 5.2, 6.2", MoveTo("drill", (5.2, 6.2))),
        ("  Move   drill to 1,2   Facing W ", MoveTo("drill", (1.0, 2.0), 270.0)),
        ("move 'long bench' to 600 mm,2 ft facing 45", MoveTo("long bench", (0.6, 0.6096), 45.0)),
        ("move drill by 0.5,0", MoveBy("drill", (0.5, 0.0))),
        ('move  "long  bench"  by  0.5,0', MoveBy("long  bench", (0.5, 0.0))),
        ('move "jo\'s  bench" by 0.5,0', MoveBy("jo's  bench", (0.5, 0.0))),
        ('swap "boys\'" "a   b"', Swap("boys'", "a   b")),
        ("turn 'a\tb' 90", Turn("a b", 90.0)),
        ("move drill by -6 in,+0.25", MoveBy("drill", (-0.1524, 0.25))),
        ("turn bench 90", Turn("bench", 90.0)),
        ("turn bench -90", Turn("bench", 270.0)),
        ("turn bench to face east", Turn("bench", facing=90.0)),
        ("turn bench facing east", Turn("bench", facing=90.0)),
        ("swap lathe mill", Swap("lathe", "mill")),
        ("swap lathe and mill", Swap("lathe", "mill")),
        ("remove roller", Remove("roller")),
        (
            "add press 0.6x0.5 wall at 4,6.7 facing south",
            Add("press", (4.0, 6.7), (0.6, 0.5), None, "wall", 180.0),
        ),
        ("add press 0.6 x 0.5 at 4,6.7", Add("press", (4.0, 6.7), (0.6, 0.5))),
        (
            'add press like "pillar drill" at 4,6.7 facing w',
            Add("press", (4.0, 6.7), like="pillar drill", facing=270.0),
        ),
        (
            "add press like drill 600mmx20in island at 4,6.7",
            Add("press", (4.0, 6.7), (0.6, 0.508), "drill", "island"),
        ),
        ("room 11x7", Resize((11.0, 7.0))),
        ('times gate_frame "5 per week"', Times("gate_frame", "5 per week", 260.0)),
        ('times "gate  frame" "5  per week"', Times("gate  frame", "5 per week", 260.0)),
        ("times gate_frame 2 per month", Times("gate_frame", "2 per month", 24.0)),
        ("take van out", Inside("van", 0.0)),
        ("bring van in", Inside("van", 1.0)),
    ],
)
def test_reads(text: str, move: Move) -> None:
    assert parse(text) == move


def test_bare_lengths_are_in_the_units_of_the_file() -> None:
    assert parse("move drill to 10,5", "ft") == MoveTo("drill", (3.048, 1.524))
    assert parse("""move drill to 7' 6-1/2",5 m""", "ft") == MoveTo("drill", (2.2987, 5.0))
    assert parse("""move drill to 7'  6",8'  2\"""", "ft") == MoveTo("drill", (2.286, 2.4892))
    assert parse("add press 24x20 at 10,10", "in") == Add("press", (0.254, 0.254), (0.6096, 0.508))


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (
            "mvoe drill to 1,2",
            (
                "cannot read 'mvoe drill to 1,2': no move begins with 'mvoe'; "
                "the nearest form is: move NAME to X,Y [facing WAY]"
            ),
        ),
        (
            "paint it",
            (
                "cannot read 'paint it': no move begins with 'paint'; "
                "the moves are move, turn, swap, remove, add, room, times, take, bring"
            ),
        ),
        (
            "move drill 1,2",
            (
                "cannot read 'move drill 1,2'; the form is: move NAME to X,Y [facing WAY], "
                "for example: move drill to 5.2,6.2 facing south"
            ),
        ),
        (
            "move drill by",
            "cannot read 'move drill by'; the form is: move NAME by X,Y, for example: move drill by 0.5,0",
        ),
        ("move drill to 1", "cannot read 'move drill to 1': '1' is no place; write X,Y, as in 5.2,6.2"),
        (
            "move drill to 1,2 facing sout",
            "cannot read 'move drill to 1,2 facing sout': 'sout' is not a facing; did you mean 'south'?",
        ),
        ("swap a b c", "cannot read 'swap a b c'; the form is: swap NAME NAME, for example: swap lathe mill"),
        (
            "room 11",
            "cannot read 'room 11': '11' is no size; write two lengths with an x between them, as in 1.2x0.8",
        ),
        ("room 0x7", "cannot read 'room 0x7': the size '0x7' must be above nothing both ways"),
        (
            "add press at 1,2",
            (
                "cannot read 'add press at 1,2': a new station needs a size, as in 0.6x0.5, "
                'or the catalogue, as in like "pillar drill"'
            ),
        ),
        ("", "an empty move; for example: move drill to 5.2,6.2 facing south"),
    ],
)
def test_says_in_one_line_what_would_mend_it(text: str, line: str) -> None:
    with pytest.raises(UsageError) as caught:
        parse(text)
    assert caught.value.lines == (line,)


@pytest.mark.parametrize("number", ["nan", "inf", "-inf", "1e400", "1e9"])
def test_refuses_numbers_that_are_no_lengths(number: str) -> None:
    for text in (f"move drill to {number},1", f"room {number}x5", f"add a {number}x1 at 1,1"):
        with pytest.raises(UsageError):
            parse(text)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.text)
def test_every_example_is_a_move(form: Form) -> None:
    parse(form.example)


@given(st.text(max_size=60))
def test_any_text_is_a_move_or_one_line(text: str) -> None:
    for line in (text, f"move {text}", f"add {text}", f"turn a {text}", f"room {text}", f"times a {text}"):
        assert not any("\n" in told for told in told_of(line))


def told_of(line: str) -> tuple[str, ...]:
    try:
        parse(line)
    except UsageError as fault:
        return fault.lines
    return ()
