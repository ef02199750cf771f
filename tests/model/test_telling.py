"""Messages: one line of at most 300 letters, nothing raw in it that a terminal would obey."""

from __future__ import annotations

from pathlib import Path

import pytest

from footwork.model.errors import LONGEST_TOLD, ScenarioError, UsageError
from footwork.model.names import name_fault, text_fault
from footwork.model.read import load, loads
from footwork.model.telling import one_line, shortened, spelt

from .variants import BASE, faults

FAMILY = "\U0001f468\u200d\U0001f469\u200d\U0001f467"
PAINTER = "\U0001f9d1\U0001f3fd\u200d\U0001f3a8"
SCOTLAND = "\U0001f3f4" + "".join(chr(0xE0000 + ord(c)) for c in "gbsct") + "\U000e007f"


def test_what_cannot_be_seen_is_spelt() -> None:
    assert spelt("a\x1b[31m\u202eb\n\ud800") == "a\\x1b[31m\\u202eb\\n\\ud800"
    assert spelt(f"bench {FAMILY} ❤️") == f"bench {FAMILY} ❤️"


def test_a_long_line_keeps_both_its_ends() -> None:
    assert shortened("abcdefghij" * 10, 30) == "abcdefghijabcdefgh...bcdefghij"
    line = one_line(f"/tmp/{'x' * 4000}/shed.toml: line 3: {'9' * 4000} is too great; check its unit")
    assert len(line) < 300
    assert line.startswith("/tmp/xxx")
    assert line.endswith(LAST)


LAST = " is too great; check its unit"


def test_every_error_of_the_package_is_told_so() -> None:
    error = UsageError("no job " + " ".join(["'\x00\u202e" + "long" * 30 + "'"] * 20))
    assert all(len(line) <= LONGEST_TOLD for line in error.lines)
    assert "\x00" not in str(error)
    assert str(error) == error.lines[0]


@pytest.mark.parametrize(
    "name", [FAMILY, PAINTER, SCOTLAND, "❤️ saw", "میز\u200cکار", "טבלה", "ß-1", "作業台", "=1+1"]
)
def test_letters_of_any_script_and_joined_emoji_are_names(name: str) -> None:
    assert name_fault(name) == ""
    scenario = loads(BASE.replace("bench", f'"{name}"').replace(f'""{name}""', f'"{name}"'))
    assert scenario.stations[0].name == name


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("a\u202eb", "a name cannot hold U+202E RIGHT-TO-LEFT OVERRIDE (letter 2)"),
        ("\x1b[31m", "a name cannot hold U+001B ESCAPE (letter 1)"),
        ("saw\x00", "a name cannot hold U+0000 NUL (letter 4)"),
        ("saw\x85", "a name cannot hold U+0085 a control character (letter 4)"),
        ("\ud800", "a name cannot hold U+D800 which has no name (letter 1)"),
        ("a\u00a0b", "a name cannot hold U+00A0 NO-BREAK SPACE (letter 2)"),
        ("saw\u200d", "a name cannot begin or end with U+200D ZERO WIDTH JOINER (letter 4)"),
        (" saw", "a name cannot begin or end with a space"),
        ("a:b", 'a name cannot hold any of : , " \\ [ ] { }, and it holds U+003A COLON (letter 2)'),
        ("x" * 61, "a name has at most 60 letters"),
    ],
)
def test_a_refusal_says_which_character(name: str, told: str) -> None:
    assert name_fault(name) == told


def test_what_the_scenario_is_called_holds_no_escape() -> None:
    told = faults(('name = "Base"', 'name = "Ba\\u001b[31mse"'))
    assert told == [
        "line 1: name: 'Ba [31mse': a text cannot hold U+001B ESCAPE (letter 3); write it in plain letters"
    ]
    assert text_fault("Anna's shed: 2 [new]") == ""
    assert text_fault("x" * 201) == "a text has at most 200 letters"


def test_a_file_name_with_an_escape_is_spelt(tmp_path: Path) -> None:
    path = tmp_path / "she\x1b[31md.toml"
    path.write_text(BASE.replace('name = "Base"\n', ""), encoding="utf-8")
    assert load(path).name == "she\\x1b[31md"
    path.write_text("name = 1", encoding="utf-8")
    with pytest.raises(ScenarioError) as caught:
        load(path)
    assert all(line.isprintable() for line in caught.value.lines)


def test_a_reason_and_a_frequency_hold_no_line_breaks() -> None:
    accepted = '[checks.accepted]\ngives-minds = "a\\u0007b"\n[layouts.today]'
    assert any("U+0007 BELL" in line for line in faults(("[layouts.today]", accepted)))
    assert loads(BASE.replace('"1 per week"', '"1  per\\n week"')).jobs[0].times == "1 per week"
