"""What is not saved: on the disk whole or not at all, offered when nobody holds it, never to two at once."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from footwork.page.keeping import journal
from footwork.page.keeping.journal import Journal, Kept, forget

KEPT = Kept("base", "[room]\nsize = [5, 4]", "today", {"bench": (1.0, 2.0, 180.0)}, 12.5)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "shed.toml"


def files(state: Path, kind: str = "json") -> list[Path]:
    return list((state / "footwork" / "unsaved").glob(f"*.{kind}"))


def test_what_is_left_behind_is_offered_once_nobody_holds_it(path: Path, state: Path) -> None:
    first = Journal(path)
    first.keep(KEPT)
    assert first.settle()
    second = Journal(path)
    assert (second.left_behind(), second.elsewhere()) == ([], True)
    first.end()
    assert not second.elsewhere()
    ((file, kept),) = second.left_behind()
    assert kept == KEPT
    forget(file)
    assert second.left_behind() == []
    second.end()
    assert files(state) == files(state, "lock") == []


def test_a_lock_of_nothing_is_cleared_away(path: Path, state: Path) -> None:
    first = Journal(path)
    first.end()
    lost = state / "footwork" / "unsaved" / f"{first._stem}-0.lock"
    lost.touch()
    second = Journal(path)
    assert second.left_behind() == []
    assert not lost.exists()
    assert len(files(state, "lock")) == 1
    second.end()


def test_of_another_file_nothing_is_offered(path: Path) -> None:
    first = Journal(path)
    first.keep(KEPT)
    first.end()
    other = Journal(path.with_name("other.toml"))
    assert other.left_behind() == []
    other.end()


def test_the_newest_is_kept_and_what_is_saved_is_not(path: Path, state: Path) -> None:
    kept = Journal(path)
    for k in range(50):
        kept.keep(Kept(None, f"text {k}", "today", {}, float(k)))
    assert kept.settle()
    (file,) = files(state)
    assert json.loads(file.read_text(encoding="utf-8"))["text"] == "text 49"
    kept.keep(None)
    assert kept.settle()
    assert files(state) == []
    kept.end()


def test_a_write_that_fails_leaves_what_was_there(
    path: Path, state: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whole or not at all: the disk is full, the power is gone before the new file is in its place."""
    kept = Journal(path)
    kept.keep(KEPT)
    assert kept.settle()
    (file,) = files(state)
    before = file.read_bytes()

    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(journal.os, "replace", full)
    kept.keep(Kept(None, "newer", "today", {}, 99.0))
    assert kept.settle()
    assert (kept.fault, file.read_bytes()) == ("no space left on device", before)
    assert [each.suffix for each in file.parent.iterdir() if each.suffix not in (".json", ".lock")] == []
    monkeypatch.undo()
    kept.end()


def test_a_killed_program_lets_go_of_what_it_kept(path: Path) -> None:
    code = (
        "import sys, time\nfrom pathlib import Path\n"
        "from footwork.page.keeping.journal import Journal, Kept\n"
        "held = Journal(Path(sys.argv[1])); held.keep(Kept(None, 'text', 'today', {}, 1.0)); held.settle()\n"
        "print('kept', flush=True); time.sleep(60)"
    )
    with subprocess.Popen([sys.executable, "-c", code, str(path)], stdout=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == b"kept\n"
        own = Journal(path)
        assert own.left_behind() == []
        process.kill()
        process.wait()
        assert [kept.text for _, kept in own.left_behind()] == ["text"]
        own.end()


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": 2}', '{"format": 1, "places": 3}', "\0"])
def test_what_is_no_journal_is_not_offered(path: Path, state: Path, text: str) -> None:
    first = Journal(path)
    first.keep(KEPT)
    first.end()
    (file,) = files(state)
    file.write_text(text, encoding="utf-8")
    second = Journal(path)
    assert second.left_behind() == []
    second.end()


def test_where_nothing_can_be_kept_that_is_told(path: Path, tmp_path: Path) -> None:
    (tmp_path / "state").write_text("no folder", encoding="utf-8")
    kept = Journal(path)
    assert kept.fault
    kept.keep(KEPT)
    assert kept.settle()
    assert kept.left_behind() == []
    kept.end()
