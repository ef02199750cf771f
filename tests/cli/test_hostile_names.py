"""What a name of a file or a word of a command holds never reaches the terminal raw."""

from __future__ import annotations

import json
import sys
from pathlib import Path

from click.testing import CliRunner

from cli.run import footwork
from footwork.cli import output

NOOK = Path(__file__).parents[2] / "scenarios" / "frame-nook.toml"


def test_draw_spells_the_name_of_what_it_wrote(tmp_path: Path) -> None:
    out = tmp_path / "pl\x1b[31m\u202ean.svg"
    done = footwork("draw", NOOK, "--out", out)
    assert done == (0, f"wrote {tmp_path}/pl\\x1b[31m\\u202ean.svg\n", "")
    assert out.exists()


def test_the_prompt_spells_the_name_of_what_it_saved(tmp_path: Path) -> None:
    goal = tmp_path / "b\u202egnp.toml"
    done = footwork("whatif", NOOK, typed=f"save b to {goal}\n")
    assert done.err.endswith(f"saved as layout 'b' in {tmp_path}/b\\u202egnp.toml\n")
    assert goal.exists()


def test_errors_spell_what_they_quote(tmp_path: Path) -> None:
    told = [
        footwork("draw", tmp_path / "sh\x1b[31med.toml", "--out", "x.svg"),
        footwork("score", NOOK, "--layout", "to\x00day\u202e"),
        footwork("whatif", NOOK, "swap a\x85b c\u202e"),
        footwork("\x1b[31m"),
        footwork("score", "x" * 5000),
        footwork("walk", NOOK, "--job", "9" * 5000),
    ]
    for done in told:
        assert done.status == 2
        assert done.err.removesuffix("\n").isprintable(), done.err
        assert len(done.err) <= 301


def test_a_word_with_half_a_character_is_refused() -> None:
    told = "holds NUL or half a character, which no file and no name can"
    assert footwork("schema", "--out", "\udfff") == (2, "", f"footwork: '\\udfff' {told}\n")
    assert footwork("score", "a\x00b") == (2, "", f"footwork: 'a\\x00b' {told}\n")


def test_walk_of_a_file_without_a_name_spells_that_of_the_file(tmp_path: Path) -> None:
    path = tmp_path / "no\x1b[31mok.toml"
    text = NOOK.read_text(encoding="utf-8")
    path.write_text(text.replace('name = "Frame nook"\n', ""), encoding="utf-8")
    done = footwork("walk", path, "--job", "frame")
    assert done.status == 0
    assert "\x1b" not in done.out
    assert "no\\x1b[31mok" in done.out


def test_json_keeps_what_cannot_be_seen_as_escapes() -> None:
    value = {"name": "a\x7f\x9b\u202e\U000f0000 \U0001f468\u200d\U0001f469"}
    with CliRunner().isolation() as (out, *_):
        output.data(value)
        sys.stdout.flush()
        text = out.getvalue().decode()
    assert json.loads(text) == value
    assert all(c not in text for c in "\x7f\x9b\u202e\U000f0000")
