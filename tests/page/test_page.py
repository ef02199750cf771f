"""The page in a real browser: with real pointer and key events, never by calling its functions.

Skipped where Chromium or playwright is missing; with FOOTWORK_NEEDS_BROWSER set that is a failure instead.
"""

from __future__ import annotations

import os
import shutil
import signal
import time
from collections.abc import Callable, Iterator
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from threading import Thread
from typing import Any

import pytest

from footwork.model.read import load
from footwork.page.clearances import clear_distances
from footwork.page.ground import Standing
from footwork.scoring import score
from page.hostile import hostile_text
from page.serving import Served, serving
from show.report_pages import RENAMED
from show.test_report_page import axe, browser  # the fixture, and what it looks for

SCENARIOS = Path(__file__).parents[2] / "scenarios"
__all__ = ["browser"]


class QuietHandler(SimpleHTTPRequestHandler):
    """Serves files and says nothing of it."""

    def log_message(self, *told: object) -> None:
        pass


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return Path(shutil.copy(SCENARIOS / "gate-shed.toml", tmp_path / "shed.toml"))


@pytest.fixture
def served(path: Path) -> Iterator[Served]:
    with serving(path) as found:
        yield found


@pytest.fixture
def visit(browser: Any) -> Iterator[Callable[..., Any]]:
    """Open a page; at the end nothing may have gone wrong in it, nor may it have asked elsewhere."""
    contexts: list[Any] = []
    heard: list[str] = []
    asked: list[str] = []
    homes: list[str] = []

    def opened(url: str, width: int = 1400) -> Any:
        context = browser.new_context(viewport={"width": width, "height": 900})
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: heard.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda fault: heard.append(str(fault)))
        page.on("dialog", lambda dialog: (heard.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        page.on("request", lambda request: asked.append(request.url))
        homes.append(url)
        page.goto(url)
        until(page, f"{SETTLED} || document.body.matches('.roomless, .broken')", 120.0)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert heard == []
    assert [url for url in asked if not url.startswith((*homes, "data:,"))] == []


def until(page: Any, condition: str, seconds: float = 60.0) -> None:
    """Wait until an expression is true; asked from outside, for the page's policy lets nothing be made up."""
    end = time.monotonic() + seconds
    while not page.evaluate(condition):
        assert time.monotonic() < end, condition
        time.sleep(0.02)


SETTLED = """(() => { const d = document.body.dataset, checks = document.querySelector("#checks").dataset;
    return d.asked === d.answered && d.revision !== undefined && checks.revision === d.revision
        && checks.words === "true"; })()"""


def settled(page: Any) -> None:
    """Wait until everything shown is of where things stand, in words."""
    until(page, SETTLED, 120.0)


def middle(page: Any, name: str) -> tuple[float, float]:
    box = page.locator(f'.body[data-thing="{name}"] .hold path').bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(page: Any, name: str, dx: float, dy: float) -> None:
    x, y = middle(page, name)
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x + dx, y + dy, steps=12)
    page.mouse.up()


def shown(page: Any) -> float:
    return float(page.get_attribute("#figures", "data-metres"))


def test_drag_type_undo_and_save(visit: Callable[..., Any], served: Served, path: Path) -> None:
    page = visit(served.url)
    scenario = load(path)
    assert shown(page) == score(scenario).metres_per_year
    drag(page, "trestles", 60, -30)
    settled(page)
    dragged = shown(page)
    assert dragged != score(scenario).metres_per_year
    assert "not saved" in page.inner_text("#where")

    page.fill("#side-back", "60 cm")
    page.press("#side-back", "Enter")
    settled(page)
    assert page.input_value("#side-back") == "0.60 m"
    page.fill("#side-back", "99")
    page.press("#side-back", "Enter")
    until(page, "document.querySelector('#told').textContent.includes('there is no room')")
    settled(page)
    assert page.input_value("#side-back") == "0.60 m"
    typed = shown(page)

    page.mouse.click(*middle(page, "skip"))
    page.keyboard.press("Control+z")
    settled(page)
    assert shown(page) == dragged
    page.keyboard.press("Control+y")
    settled(page)
    assert shown(page) == typed

    page.fill("#save-name", "tried here")
    page.press("#save-name", "Enter")
    until(page, "document.querySelector('#told').textContent.startsWith('saved')")
    kept = load(path)
    assert score(kept, "tried here").metres_per_year == typed
    found = clear_distances(Standing(kept, kept.layouts[-1].placements), "trestles")
    assert found["back"].metres == pytest.approx(0.6, abs=1e-4)


def test_figures_and_words_are_those_of_score(visit: Callable[..., Any], served: Served, path: Path) -> None:
    page = visit(served.url)
    drag(page, "drill", -40, 90)
    settled(page)
    page.fill("#save-name", "moved")
    page.click("#save button")
    until(page, "document.querySelector('#told').textContent.startsWith('saved')")
    said = score(load(path), "moved")
    assert page.inner_text("#metres") == f"{said.metres_per_year:,.0f}"
    years = page.locator("#jobs td:nth-child(4)").all_inner_texts()
    assert years == [f"{job.metres_per_year:,.0f}" for job in said.jobs]
    assert page.evaluate(SETTLED)  # saving changes no figure: none is reckoned again
    words = page.locator("#check-list li span").all_inner_texts()
    assert set(words) >= {c.message for c in said.checks if not c.ok and not c.held}


def test_what_lags_behind_the_hand_looks_so(visit: Callable[..., Any], served: Served) -> None:
    """With the process that reckons held up: the old figures stay, pale, until there are new ones."""
    page = visit(served.url)
    listed = Path(f"/proc/{served.process.pid}/task/{served.process.pid}/children")
    if not listed.exists():
        pytest.skip("this system does not list the children of a process")
    before = page.inner_text("#metres")
    pale = ("#figures", "#jobs", "#check-list", "#verdict", "#walk")
    for child in map(int, listed.read_text().split()):
        os.kill(child, signal.SIGSTOP)
    try:
        drag(page, "trestles", 60, -30)
        until(page, "document.body.dataset.asked === document.body.dataset.answered")
        assert [q for q in pale if "stale" not in (page.get_attribute(q, "class") or "")] == []
        assert page.inner_text("#metres") == before
    finally:
        for child in map(int, listed.read_text().split()):
            os.kill(child, signal.SIGCONT)
    settled(page)
    assert [q for q in pale if "stale" in (page.get_attribute(q, "class") or "")] == []
    assert page.inner_text("#metres") != before


def test_keys_alone(visit: Callable[..., Any], served: Served) -> None:
    page = visit(served.url)
    before = shown(page)
    page.focus('.body[data-thing="bench"]')
    page.keyboard.press("Enter")
    page.wait_for_selector('.body.chosen[data-thing="bench"]')
    page.keyboard.press("Shift+ArrowLeft")
    page.keyboard.press("ArrowUp")
    page.keyboard.press("r")
    settled(page)
    assert "facing west" in page.inner_text("#thing-words")
    assert shown(page) != before
    for _ in range(3):
        page.keyboard.press("Control+z")
    settled(page)
    assert shown(page) == before
    assert "not saved" not in page.inner_text("#where")


def test_several_at_once_and_escape(visit: Callable[..., Any], served: Served) -> None:
    page = visit(served.url)
    page.mouse.click(*middle(page, "weld"))
    page.keyboard.down("Shift")
    page.mouse.click(*middle(page, "trestles"))
    page.keyboard.up("Shift")
    until(page, "document.querySelector('#thing-name').textContent === '2 things'")
    before = {name: middle(page, name) for name in ("weld", "trestles")}
    x, y = before["weld"]
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x - 50, y, steps=10)
    until(page, "document.body.classList.contains('unsaved')")
    page.keyboard.press("Escape")
    until(page, "!document.body.classList.contains('unsaved')")
    page.mouse.up()
    assert {name: middle(page, name) for name in before} == before
    drag(page, "weld", -50, 0)
    settled(page)
    for name, (x, _) in before.items():
        assert middle(page, name)[0] == pytest.approx(x - 50, abs=1.5)


def test_a_hand_held_off_a_wall(visit: Callable[..., Any], served: Served) -> None:
    """Dragged to within a hand's breadth of the wall it is flush; with Alt it is not."""
    page = visit(served.url)
    page.mouse.click(*middle(page, "paint"))
    until(page, "document.querySelector('#side-back')?.value === '0.00 m'")
    drag(page, "paint", 0, -4)
    settled(page)
    assert page.input_value("#side-back") == "0.00 m"
    page.keyboard.down("Alt")
    drag(page, "paint", 0, -4)
    page.keyboard.up("Alt")
    settled(page)
    assert 0.0 < float(page.input_value("#side-back").removesuffix(" m")) <= 0.1


def test_the_handle_turns(visit: Callable[..., Any], served: Served) -> None:
    page = visit(served.url)
    page.mouse.click(*middle(page, "trestles"))
    handle = page.locator("#handle circle")
    handle.wait_for()
    box = handle.bounding_box()
    x, y = middle(page, "trestles")
    page.mouse.move(box["x"] + box["width"] / 2, box["y"] + box["height"] / 2)
    page.mouse.down()
    page.mouse.move(x + 80, y + 3, steps=8)
    page.mouse.up()
    settled(page)
    assert "facing east" in page.inner_text("#thing-words")


def test_the_walk_of_a_job_and_the_vehicle(visit: Callable[..., Any], served: Served) -> None:
    page = visit(served.url)
    assert page.is_checked("#vehicles input")
    page.click("#jobs button >> text=brackets")
    page.wait_for_selector("#walk circle")
    assert not page.is_checked("#vehicles input")
    assert not page.is_visible('.body[data-thing="van"]')
    page.check("#vehicles input")
    page.wait_for_selector('.body[data-thing="van"]', state="visible")
    page.click("#jobs button >> text=brackets")
    until(page, "!document.querySelector('#walk').childNodes.length")


def test_an_edit_made_meanwhile_is_told(visit: Callable[..., Any], served: Served, path: Path) -> None:
    page = visit(served.url)
    drag(page, "trestles", 30, 0)
    text = path.read_text(encoding="utf-8") + "# theirs\n"
    path.write_text(text, encoding="utf-8")
    page.click("#save button")
    page.wait_for_selector("#ask:visible")
    assert "was changed elsewhere" in page.inner_text("#ask-text")
    page.click("#ask-no")
    assert path.read_text(encoding="utf-8") == text
    page.click("#save button")
    page.click("#ask-yes")
    until(page, "document.querySelector('#told').textContent.startsWith('saved')")
    assert "# theirs" in path.read_text(encoding="utf-8")


def test_the_pages_own_close_ends_it(visit: Callable[..., Any], served: Served) -> None:
    page = visit(served.url)
    drag(page, "trestles", 30, 0)
    settled(page)
    page.click("#close")
    page.wait_for_selector("#ask:visible")
    page.click("#ask-yes")
    page.wait_for_selector("#over:visible")
    assert served.left() == (0, "", "")


def test_names_that_would_break_a_page_are_text(visit: Callable[..., Any], tmp_path: Path) -> None:
    """Shown word for word, and nothing of them becomes an element."""
    path = tmp_path / "hostile.toml"
    path.write_text(hostile_text(), encoding="utf-8")
    scenario = load(path)
    with serving(path) as served:
        page = visit(served.url)
        labels = page.locator(".body").evaluate_all("all => all.map(g => g.dataset.thing)")
        assert set(labels) == {thing.name for thing in scenario.things}
        page.locator(".body").first.focus()
        page.keyboard.press("Enter")
        settled(page)
        page.click("#jobs button >> nth=0")
        settled(page)
        assert page.locator("#plan script, #plan img, main script, main img, b b").count() == 0
        assert any(name in page.inner_text("#jobs") for name in RENAMED.values())


ELSEWHERE = """async (url) => {
    const socket = new Promise((done) => {
        const talk = new WebSocket(url.replace("http", "ws") + "talk");
        talk.onopen = () => done("open"); talk.onerror = () => done("refused"); });
    const read = fetch(url).then((page) => page.text()).catch(() => "refused");
    const script = new Promise((done) => {
        const made = document.createElement("script");
        made.type = "module"; made.src = url + "main.js";
        made.onload = () => done("open"); made.onerror = () => done("refused");
        document.head.append(made); });
    const frame = document.createElement("iframe");
    frame.src = url;
    document.body.append(frame);
    return [await socket, await read, await script];
}"""


def test_another_page_cannot_reach_it(browser: Any, served: Served, tmp_path: Path) -> None:
    """In the same browser and on the same machine, even if it knew the token."""
    (tmp_path / "other.html").write_text("<!doctype html><title>other</title><body>", encoding="utf-8")
    handler = partial(QuietHandler, directory=str(tmp_path))
    with ThreadingHTTPServer(("127.0.0.1", 0), handler) as other:
        Thread(target=other.serve_forever, daemon=True).start()
        page = browser.new_page()
        page.goto(f"http://127.0.0.1:{other.server_port}/other.html")
        assert page.evaluate(ELSEWHERE, served.url) == ["refused"] * 3
        page.wait_for_timeout(500)
        assert not any("Footwork" in frame.content() for frame in page.frames)
        page.close()
        other.shutdown()


@pytest.mark.parametrize("width", [400, 1400])
def test_nothing_is_cut_off(visit: Callable[..., Any], served: Served, width: int) -> None:
    page = visit(served.url, width)
    page.locator('.body[data-thing="bench"]').focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#thing:visible")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_axe_finds_nothing(visit: Callable[..., Any], served: Served) -> None:
    """Read into the page by the driver: the page's own policy would not let it in."""
    source = axe()
    page = visit(served.url)
    page.locator('.body[data-thing="bench"]').focus()
    page.keyboard.press("Enter")
    page.wait_for_selector("#thing:visible")
    settled(page)
    page.evaluate(source)
    found = page.evaluate("axe.run().then(r => r.violations.map(v => [v.id, v.nodes.map(n => n.html)]))")
    assert found == []
