"""That nothing is lost, in a real browser: killed programs, files that others write, broken files."""

from __future__ import annotations

import json
import shutil
import signal
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from footwork.model.read import load
from page.serving import Served, serving
from page.test_making_page import SAVED, station
from page.test_page import SCENARIOS, browser, drag, path, served, settled, shown, until, visit

__all__ = ["browser", "path", "served", "visit"]

SHED = SCENARIOS / "gate-shed.toml"


def kept(path: Path) -> list[Path]:
    return list((path.parent / "state" / "footwork" / "unsaved").glob("*.json"))


def is_kept(path: Path, words: str = "") -> None:
    """Wait until it is on the disk: a text with those words, and things elsewhere than the file has them."""
    end = time.monotonic() + 10
    while not any(words in one["text"] and moved(one, path) for one in map(read, kept(path))):
        assert time.monotonic() < end
        time.sleep(0.02)


def read(file: Path) -> Any:
    return json.loads(file.read_text(encoding="utf-8"))


def moved(one: Any, path: Path) -> bool:
    stood = load(path).layouts[0].placements
    return any(name not in stood or stood[name].at != (x, y) for name, (x, y, _) in one["places"].items())


def test_killing_the_program_loses_no_edit(visit: Callable[..., Any], path: Path) -> None:
    """What is kept is offered at the next open, taken up as one move, and gone once it is saved."""
    with serving(path) as served:
        page = visit(served.url)
        station(page, "vice", wide="0.5", deep="0.4")
        drag(page, "vice", 20, -40)
        settled(page)
        metres = shown(page)
        is_kept(path, "stations.vice")
        time.sleep(0.3)  # the drag, too
        served.process.send_signal(signal.SIGKILL)
        page.wait_for_selector("#over:visible")
        assert "is kept" in page.inner_text("#over")
    assert path.read_text(encoding="utf-8") == SHED.read_text(encoding="utf-8")
    with serving(path) as served:
        page = visit(served.url)
        assert "were not saved in shed.toml" in page.inner_text("#left-text")
        assert page.locator('.body[data-thing="vice"]').count() == 0
        page.click("#left-yes")
        page.wait_for_selector('.body[data-thing="vice"]')
        settled(page)
        assert (shown(page), page.is_visible("#left")) == (metres, False)
        page.click("#undo")
        until(page, "!document.querySelector('.body[data-thing=vice]')")
        page.click("#redo")
        page.wait_for_selector('.body[data-thing="vice"]')
        page.click("#save button")
        until(page, SAVED)
        assert "vice" in load(path).layouts[-1].placements
        assert served.interrupt()[0] == 0
    assert kept(path) == []


def test_closing_with_unsaved_moves_keeps_them_and_they_can_be_thrown_away(
    visit: Callable[..., Any], path: Path
) -> None:
    with serving(path) as served:
        page = visit(served.url)
        drag(page, "trestles", 30, 0)
        page.click("#close")
        page.wait_for_selector("#ask:visible")
        assert "It is kept" in page.inner_text("#ask-text")
        page.click("#ask-yes")
        assert served.left()[0] == 0
    assert len(kept(path)) == 1
    with serving(path) as served:
        page = visit(served.url)
        page.click("#left-no")
        page.wait_for_selector("#left", state="hidden")
        assert served.interrupt()[0] == 0
    assert kept(path) == []


def test_moves_are_taken_up_into_a_file_that_was_changed_since(visit: Callable[..., Any], path: Path) -> None:
    """Moves alone go onto what the file says now; what else was changed in it stays."""
    with serving(path) as served:
        page = visit(served.url)
        drag(page, "trestles", 30, 0)
        is_kept(path)
        served.process.kill()
        page.wait_for_selector("#over:visible")
    path.write_text(
        path.read_text(encoding="utf-8").replace("height = 1.3", "height = 1.4"), encoding="utf-8"
    )
    with serving(path) as served:
        page = visit(served.url)
        assert "has been changed since" in page.inner_text("#left-text")
        page.click("#left-yes")
        until(page, "document.body.classList.contains('unsaved')")
        page.click("#save button")
        until(page, SAVED)
    now = load(path)
    assert now.station("shear").height == 1.4
    assert now.layouts[1].placements["trestles"] != now.layouts[0].placements["trestles"]


def test_a_file_changed_elsewhere_is_told_and_shown_when_asked(
    visit: Callable[..., Any], served: Served, path: Path
) -> None:
    page = visit(served.url)
    station(page, "vice", wide="0.5", deep="0.4")
    theirs = path.read_text(encoding="utf-8").replace("shear", "snips")
    path.write_text(theirs, encoding="utf-8")
    page.wait_for_selector("#changed:visible")
    page.click("#save button")
    page.wait_for_selector("#ask:visible")
    assert "Write over it? What was changed there is lost." in page.inner_text("#ask-text")
    page.click("#ask-no")
    assert path.read_text(encoding="utf-8") == theirs
    page.click("#changed-yes")
    page.wait_for_selector('.body[data-thing="snips"]')
    assert page.locator('.body[data-thing="vice"]').count() == 0
    page.click("#undo")
    page.wait_for_selector('.body[data-thing="vice"]')
    page.click("#save button")
    page.wait_for_selector("#ask:visible")
    page.click("#ask-no")
    assert path.read_text(encoding="utf-8") == theirs


def test_two_pages_on_one_file_do_not_write_over_each_other(
    visit: Callable[..., Any], served: Served, path: Path
) -> None:
    one = visit(served.url)
    with serving(path) as other:
        two = visit(other.url)
        assert "open in another page too" in two.inner_text("#elsewhere")
        station(one, "vice", wide="0.5", deep="0.4")
        station(two, "clamps", wide="0.4", deep="0.4")
        is_kept(path, "stations.vice")
        is_kept(path, "stations.clamps")
        one.click("#save button")
        until(one, SAVED)
        two.click("#save button")
        two.wait_for_selector("#ask:visible")
        two.click("#ask-no")
        assert "vice" in {station.name for station in load(path).stations}


def test_a_broken_file_shows_its_faults_and_goes_on_when_mended(
    visit: Callable[..., Any], path: Path
) -> None:
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("size = [10.0, 7.0]", "sise = [10.0, 7.0]"), encoding="utf-8")
    line = text.splitlines().index(next(row for row in text.splitlines() if "[10.0, 7.0]" in row)) + 1
    with serving(path) as served:
        page = visit(served.url)
        first = page.inner_text("#faults li")
        assert first == f"line {line}: room.sise: unknown key; did you mean 'size'?"
        path.write_text("[room", encoding="utf-8")
        until(page, "document.querySelector('#faults').textContent.includes('line 1')")
        shutil.copy(SHED, path)
        until(page, "!document.body.classList.contains('broken')")
        settled(page)
        drag(page, "trestles", 30, 0)
        settled(page)
        path.write_text("[room", encoding="utf-8")
        until(page, "document.querySelector('#changed-text').textContent.includes('has faults now: line 1')")
        assert not page.is_visible("#changed-yes")
        assert page.locator('.body[data-thing="trestles"]').count() == 1
