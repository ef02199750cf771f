"""The search beside one's own moving, in a real browser: with real pointer and key events."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from footwork.model.read import load
from footwork.scoring import score
from page.serving import Served
from page.test_page import browser, middle, path, served, settled, shown, until, visit
from show.test_report_page import axe

__all__ = ["browser", "path", "served", "visit"]
ENDED = "document.querySelector('#search-panel').dataset.running === 'false'"
FOUND = "document.querySelectorAll('#search-moved li').length > 0"


def begin(page: Any, moves: str = "3") -> None:
    page.select_option("#search-seconds", "300")
    page.fill("#search-moves", moves)
    page.press("#search-moves", "Enter")
    until(page, FOUND, 150.0)
    page.click("#search-stop")
    until(page, ENDED, 60.0)


def test_pinned_stays_stopped_taken_one_by_one_and_all(
    visit: Callable[..., Any], served: Served, path: Path
) -> None:
    page = visit(served.url)
    before = shown(page)
    page.mouse.click(*middle(page, "bench"))
    until(page, "!document.querySelector('#pin').disabled")
    page.keyboard.press("p")
    page.wait_for_selector('.body[data-thing="bench"] .pin-mark')
    assert page.get_attribute('.body[data-thing="bench"]', "aria-label") == "bench, pinned"
    begin(page)
    told = page.locator("#search-moved button").all_inner_texts()
    assert 1 <= len(told) <= 3
    assert not any(words.startswith("bench:") for words in told)
    assert page.locator("#goals [data-goal]:not(.taken)").count() == len(told)
    cost = page.inner_text("#search-best").split()[0]

    # The first by dragging it near to its outline; it stands there as it was found, in one move.
    name = told[0].partition(":")[0]
    page.mouse.click(*middle(page, name))
    page.wait_for_selector(f'.body.chosen[data-thing="{name}"]')  # and with it all that stands below the plan
    goal = page.locator(f'#goals [data-goal="{name}"] path').last.bounding_box()
    page.mouse.move(*middle(page, name))
    page.mouse.down()
    page.mouse.move(goal["x"] + goal["width"] / 2 + 4, goal["y"] + goal["height"] / 2 - 4, steps=12)
    page.mouse.up()
    until(page, f"document.querySelectorAll('#search-moved li').length === {len(told) - 1}")
    page.keyboard.press("Control+z")
    until(page, f"document.querySelectorAll('#search-moved li').length === {len(told)}")
    until(page, "document.querySelector('#undo').disabled")

    page.click("#search-take")
    until(page, "document.querySelectorAll('#search-moved li').length === 0")
    settled(page)
    assert f"with wishes and checks {cost} m" in page.inner_text("#cost")
    page.fill("#save-name", "found")
    page.press("#save-name", "Enter")
    until(page, "document.querySelector('#told').textContent.startsWith('saved')")
    assert f"{score(load(path), 'found').cost:,.0f}" == cost
    page.click("#undo")
    settled(page)
    assert shown(page) == before
    page.click("#search-forget")
    until(page, "document.querySelector('#goals').childNodes.length === 0")


def test_a_number_of_moves_that_is_none(visit: Callable[..., Any], served: Served) -> None:
    page = visit(served.url)
    for typed in ("0", "two", "1.5"):
        page.fill("#search-moves", typed)
        page.click("#search-start")
        assert "a whole number" in page.inner_text("#search-words")
    assert page.is_visible("#search-start")


def test_axe_finds_nothing_while_it_searches_and_after(visit: Callable[..., Any], served: Served) -> None:
    source = axe()
    page = visit(served.url, 400)
    begin(page)
    assert page.evaluate("document.documentElement.scrollWidth") <= 400
    page.evaluate(source)
    found = page.evaluate("axe.run().then(r => r.violations.map(v => [v.id, v.nodes.map(n => n.html)]))")
    assert found == []
