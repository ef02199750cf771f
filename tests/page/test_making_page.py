"""Making a shed on the page from nothing, in a real browser: with pointer, keys and fingers alone."""

from __future__ import annotations

import shutil
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from footwork.model.read import load
from footwork.scoring import score
from page.serving import Served, serving
from page.test_page import SCENARIOS, axe, browser, middle, path, served, settled, shown, until, visit

__all__ = ["browser", "path", "served", "visit"]

ROOM_FORM = "document.querySelector('#form-title').textContent === 'The room'"
CLOSED = "document.querySelector('#form').hidden"
SAVED = "document.querySelector('#told').textContent.startsWith('saved')"


def on_plan(page: Any, across: float, down: float) -> tuple[float, float]:
    """A point of the plan, as shares of the room from its north-west corner."""
    box = page.locator("#ground").bounding_box()
    return box["x"] + across * box["width"], box["y"] + down * box["height"]


def station(page: Any, name: str, **given: str) -> None:
    page.click("[data-make=station]")
    page.keyboard.type(name)
    for key, value in given.items():
        if key == "placing":
            page.select_option("#f-placing", value)
        else:
            page.fill(f"#f-{key}", value)
    page.keyboard.press("Enter") if "placing" not in given else page.click("#form-send")
    until(page, CLOSED)
    settled(page)


def test_from_an_empty_page_to_a_scored_shed(visit: Callable[..., Any], tmp_path: Path) -> None:
    path = tmp_path / "mine.toml"
    with serving(path) as served:
        page = visit(served.url)
        until(page, ROOM_FORM)
        page.keyboard.type("6")
        page.keyboard.press("Enter")
        page.keyboard.type("4.5")
        until(page, "document.querySelector('#traced').textContent.includes('6.00 m west')")
        page.click("#form-send")
        until(page, CLOSED)

        page.click("[data-make=doors]")
        page.mouse.click(*on_plan(page, 0.4, 0.86))
        until(page, "document.querySelector('#f-from').value !== ''")
        page.fill("#f-name", "side")
        page.select_option("#f-swing", "in")
        page.click("#form-send")
        until(page, CLOSED)
        station(page, "bench", like="workbench")
        station(page, "drill", like="pillar drill")
        station(page, "rack", wide="2", deep="500 mm", placing="wall")
        assert not path.exists()

        page.click("#job-new")
        page.keyboard.type("bracket")
        page.fill("#job-times", "3")
        for name in ("rack", "bench", "drill"):
            page.mouse.click(*middle(page, name))
            page.wait_for_selector(f"#stops >> text={name}")
        page.click("#stop-1")
        page.click("#stop-2")
        page.fill("#repeat-times", "4")
        page.click("#repeat")
        page.wait_for_selector("#stops .repeat >> text=bench")
        page.click("#job-done")
        settled(page)

        assert page.input_value("#save-name") == "today"
        page.click("#save button")
        until(page, SAVED)
        scenario = load(path)
        assert [visit.name for visit in scenario.jobs[0].route] == ["rack", *["bench", "drill"] * 4]
        assert shown(page) == score(scenario).metres_per_year > 0
        assert scenario.room.size == (6.0, 4.5)


def test_every_edit_is_undone_and_done_again(visit: Callable[..., Any], served: Served, path: Path) -> None:
    page = visit(served.url)
    before = shown(page)
    station(page, "vice", wide="0.5", deep="0.4")
    page.click("#jobs button >> text=sweep up")
    page.click("#job-change")
    page.fill("#job-times", "10")
    page.keyboard.press("Tab")
    until(page, "document.querySelector('#undo').title.includes('change job sweep_up')")
    page.click("#job-done")
    settled(page)
    assert shown(page) > before
    page.click("#undo")
    settled(page)
    assert shown(page) == before
    page.click("#undo")
    settled(page)
    assert page.locator('.body[data-thing="vice"]').count() == 0
    assert "not saved" not in page.inner_text("#where")
    page.click("#redo")
    settled(page)
    assert page.locator('.body[data-thing="vice"]').count() == 1


def test_what_is_chosen_is_changed_and_deleted(visit: Callable[..., Any], served: Served, path: Path) -> None:
    page = visit(served.url)
    page.mouse.click(*middle(page, "grinder"))
    page.click("#thing-change")
    page.fill("#f-name", "linisher")
    page.fill("#f-wide", "0.60")
    page.keyboard.press("Enter")
    until(page, CLOSED)
    settled(page)
    page.mouse.click(*middle(page, "shear"))
    settled(page)
    page.keyboard.press("Delete")
    until(page, "!document.querySelector('.body[data-thing=shear]')")
    page.click("#save button")
    until(page, SAVED)
    raw = tomllib.loads(path.read_text(encoding="utf-8"))
    assert raw["stations"]["linisher"]["size"] == [0.6, 0.45]
    assert "linisher" in raw["jobs"]["gate_frame"]["route"]
    assert "shear" not in raw["stations"]
    assert "# pedestal grinder and linisher" in path.read_text(encoding="utf-8")


def test_what_the_reader_refuses_is_told_in_the_form(visit: Callable[..., Any], served: Served) -> None:
    page = visit(served.url)
    page.click("[data-make=doors]")
    page.fill("#f-from", "1")
    page.click("#form-send")
    until(page, "document.querySelector('#form-fault').textContent.includes('overlaps the door')")
    page.keyboard.press("Escape")
    until(page, CLOSED)
    assert "not saved" not in page.inner_text("#where")


def test_a_room_of_any_outline_by_keys_alone(visit: Callable[..., Any], tmp_path: Path) -> None:
    """And a station, and a job, without a pointer."""
    path = tmp_path / "mine.toml"
    with serving(path) as served:
        page = visit(served.url)
        until(page, ROOM_FORM)
        for length, way in (("7", None), ("4", None), ("3", None), ("2.5", "n")):
            page.keyboard.type(length)
            if way is not None:
                page.keyboard.press("Tab")
                page.keyboard.type(way)  # in a list a letter chooses
                page.keyboard.press("Shift+Tab")
            else:
                page.keyboard.press("Enter")
        until(page, "document.querySelector('#traced').textContent.includes('6.50 m south')")
        tab_to(page, "#form-send")
        page.keyboard.press("Enter")
        until(page, CLOSED)
        for name, like in (("bench", "workbench"), ("vice", "workbench")):
            tab_to(page, "[data-make=station]")
            page.keyboard.press("Enter")
            page.keyboard.type(name)
            page.keyboard.press("Tab")
            page.keyboard.type(like)
            page.keyboard.press("Enter")
            until(page, CLOSED)
        tab_to(page, "#job-new")
        page.keyboard.press("Enter")
        page.keyboard.type("filing")
        for first in "bv":
            tab_to(page, "#job-stop")
            page.keyboard.type(first)
            tab_to(page, "#job-add")
            page.keyboard.press("Enter")
            page.wait_for_selector(f"#stop-{'bv'.index(first)}")
        tab_to(page, "#job-done")
        page.keyboard.press("Enter")
        settled(page)
        tab_to(page, "#save-name")
        page.keyboard.press("Enter")
        until(page, SAVED)
    made = load(path)
    assert made.room.outline == ((0, 0), (7, 0), (7, 4), (4, 4), (4, 6.5), (0, 6.5))
    assert [visit.name for visit in made.jobs[0].route] == ["bench", "vice"]


def tab_to(page: Any, wanted: str) -> None:
    """Walk there as one does who has no pointer."""
    for _ in range(120):
        if page.evaluate("wanted => document.activeElement.matches(wanted)", wanted):
            return
        page.keyboard.press("Tab")
    raise AssertionError(f"the Tab key never came to {wanted}")


def swipe(page: Any, start: tuple[float, float], end: tuple[float, float]) -> None:
    """Real touch events: a finger put down, moved, lifted."""
    session = page.context.new_cdp_session(page)

    def touch(kind: str, *at: float) -> None:
        points = [{"x": at[0], "y": at[1]}] if at else []
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("touchStart", *start)
    for k in range(1, 9):
        touch("touchMove", *(a + (b - a) * k / 8 for a, b in zip(start, end, strict=True)))
    touch("touchEnd")
    session.detach()


def test_by_touch_on_a_narrow_screen(browser: Any, served: Served) -> None:
    context = browser.new_context(viewport={"width": 400, "height": 800}, has_touch=True, is_mobile=True)
    page = context.new_page()
    page.goto(served.url)
    settled(page)
    before = shown(page)
    x, y = middle(page, "trestles")
    swipe(page, (x, y), (x + 30, y - 10))
    settled(page)
    assert shown(page) != before
    assert middle(page, "trestles") == pytest.approx((x + 30, y - 10), abs=3)
    box = page.locator("#handle circle").bounding_box()
    grip = (
        box["x"] + box["width"] / 2,
        box["y"] + box["height"] / 2 + 9,
    )  # beside the circle, as fingers are
    x, y = middle(page, "trestles")
    swipe(page, grip, (x + 60, y))
    settled(page)
    assert "facing east" in page.inner_text("#thing-words")
    page.tap("#job-new")
    page.fill("#job-name", "by hand")
    for name in ("bench", "drill"):
        page.touchscreen.tap(*middle(page, name))
        page.wait_for_selector(f"#stops >> text={name}")
    page.tap("#job-done")
    settled(page)
    page.locator('.body[data-thing="grinder"] .hold path').scroll_into_view_if_needed()
    page.touchscreen.tap(*middle(page, "grinder"))
    until(page, "document.querySelector('#thing-name').textContent === 'grinder'")
    page.tap("#spots-button")
    page.wait_for_selector("#spots-panel[data-done=true] #spots-best button", timeout=60_000)
    before = shown(page)
    page.tap("#spots-best button >> nth=0")
    settled(page)
    assert shown(page) != before
    assert page.get_attribute("#undo", "title") == "take back: move grinder"
    context.close()


def test_names_on_a_narrow_screen_can_be_read(visit: Callable[..., Any], tmp_path: Path) -> None:
    """In the largest of the rooms, too: no name is under 7 pixels high, and nearly all are there."""
    path = Path(shutil.copy(SCENARIOS / "makerspace.toml", tmp_path / "space.toml"))
    with serving(path) as served:
        page = visit(served.url, 400)
        page.wait_for_selector("#names text")
        sizes = page.locator("#names text").evaluate_all(
            "all => all.map(t => parseFloat(getComputedStyle(t).fontSize) * t.getScreenCTM().a)"
            ".filter(size => size > 0)"
        )
        assert min(sizes) >= 7.0
        assert len(sizes) >= len(load(path).stations)
        assert page.evaluate("document.documentElement.scrollWidth") <= 400


@pytest.mark.parametrize("what", ["empty", "station", "job"])
def test_axe_finds_nothing_in_the_forms(
    visit: Callable[..., Any], served: Served, tmp_path: Path, what: str
) -> None:
    source = axe()
    if what == "empty":
        with serving(tmp_path / "none.toml") as empty:
            page = visit(empty.url)
            until(page, ROOM_FORM)
            page.evaluate(source)
            assert page.evaluate(FOUND) == []
        return
    page = visit(served.url)
    if what == "station":
        page.click("[data-make=station]")
        page.click("#parts-told")
    else:
        page.click("#jobs button >> text=gate frame")
        page.click("#job-change")
        page.click("#stop-4")
        page.wait_for_selector("#stop-tools:visible")
    settled(page)
    page.evaluate(source)
    assert page.evaluate(FOUND) == []


FOUND = "axe.run().then(r => r.violations.map(v => [v.id, v.nodes.map(n => n.html)]))"
