"""Where would it go, in a real browser: with real pointer and key events, never by calling its functions."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from footwork.model.read import load
from footwork.page.desk import Desk
from footwork.scoring import score
from page.serving import Served
from page.test_page import browser, middle, path, served, settled, shown, until, visit
from show.test_report_page import axe

__all__ = ["browser", "path", "served", "visit"]
THING = "grinder"
FOUND = """document.querySelector("#spots-panel").dataset.done === "true"
    && !document.querySelector("#spots").classList.contains("stale")
    && document.querySelectorAll("#spots [data-square]").length > 0"""


def looked(page: Any, thing: str = THING) -> None:
    """Choose a thing, switch the spots on by the key, and wait until all are there."""
    page.mouse.click(*middle(page, thing))
    until(page, "!document.querySelector('#spots-button').disabled")
    page.keyboard.press("w")
    until(page, FOUND, 120.0)


def best(page: Any) -> tuple[float, float]:
    """The middle of the square that the first of the list is in."""
    page.hover("#spots-best button >> nth=0")
    box = page.locator("#spots .at").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def test_a_click_puts_it_there_at_the_cost_that_was_told(
    visit: Callable[..., Any], served: Served, path: Path
) -> None:
    page = visit(served.url)
    before = shown(page)
    looked(page)
    words = page.inner_text("#spots-best button >> nth=0")
    page.mouse.click(*best(page))
    until(page, "document.body.classList.contains('unsaved')")
    until(page, FOUND, 120.0)
    settled(page)
    cost = page.inner_text("#cost").split()[-2]
    assert f": {cost} m a year, " in words
    assert page.get_attribute("#undo", "title") == f"take back: move {THING}"
    page.fill("#save-name", "there")
    page.press("#save-name", "Enter")
    until(page, "document.querySelector('#told').textContent.startsWith('saved')")
    assert f"{score(load(path), 'there').cost:,.0f}" == cost
    page.mouse.click(*middle(page, "skip"))
    page.keyboard.press("Control+z")
    settled(page)
    assert shown(page) == before


def test_the_floor_says_why_not(visit: Callable[..., Any], served: Served, path: Path) -> None:
    page = visit(served.url)
    looked(page)
    page.mouse.move(*middle(page, "bench"))
    until(page, "document.querySelector('#spots-here').textContent.startsWith('not here: ')")
    where = Desk(load(path), load(path).layouts[0]).layout.placements[THING]
    x, y = middle(page, "weld")
    page.mouse.click(x, y + 75)
    until(page, "document.querySelector('#spots-here').textContent.length > 0")
    assert Desk(load(path), load(path).layouts[0]).layout.placements[THING] == where
    assert "not saved" not in page.inner_text("#where")
    assert page.inner_text("#thing-name") == THING


def test_with_keys_alone(visit: Callable[..., Any], served: Served) -> None:
    page = visit(served.url)
    page.focus(f'.body[data-thing="{THING}"]')
    page.keyboard.press("Enter")
    page.wait_for_selector(f'.body.chosen[data-thing="{THING}"]')
    page.focus("#spots-button")
    page.keyboard.press("Enter")
    until(page, FOUND, 120.0)
    page.focus("#spots")
    assert "arrow keys" in (page.get_attribute("#spots", "aria-label") or "")
    until(page, "document.querySelector('#spots-here').textContent.includes('m a year')")
    here = page.locator("#spots .at").get_attribute("y")
    page.keyboard.press("ArrowUp")
    until(page, f"document.querySelector('#spots .at').getAttribute('y') !== '{here}'")
    page.keyboard.press("ArrowDown")
    until(page, "document.querySelector('#spots-here').textContent.includes('m a year')")
    assert "not saved" not in page.inner_text("#where")
    page.keyboard.press("Enter")
    until(page, "document.body.classList.contains('unsaved')")
    settled(page)
    assert page.get_attribute("#undo", "title") == f"take back: move {THING}"
    page.focus("#spots-close")
    page.keyboard.press("Enter")
    assert page.evaluate("document.activeElement.id") == "spots-button"
    assert page.locator("#spots [data-square]").count() == 0


def test_what_moves_meanwhile_makes_it_stale_and_it_is_asked_again(
    visit: Callable[..., Any], served: Served
) -> None:
    page = visit(served.url)
    looked(page)
    page.focus("#turn")
    page.keyboard.press("ArrowUp")
    until(page, FOUND, 120.0)
    page.mouse.click(*middle(page, "offcuts"))
    until(page, "document.querySelector('#spots-words').textContent.startsWith('offcuts')", 60.0)
    until(page, FOUND, 120.0)
    page.keyboard.press("Escape")
    until(page, "document.querySelectorAll('#spots [data-square]').length === 0")


@pytest.mark.parametrize("width", [400, 1400])
def test_axe_finds_nothing_and_nothing_is_cut_off(
    visit: Callable[..., Any], served: Served, width: int
) -> None:
    source = axe()
    page = visit(served.url, width)
    looked(page)
    page.focus("#spots")
    until(page, "document.querySelector('#spots-here').textContent.length > 0")
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.evaluate(source)
    found = page.evaluate("axe.run().then(r => r.violations.map(v => [v.id, v.nodes.map(n => n.html)]))")
    assert found == []
