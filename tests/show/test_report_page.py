"""The report in a real browser: the system's Chromium, driven by playwright.

Skipped with a reason where Chromium, playwright or axe-core is missing; with FOOTWORK_NEEDS_BROWSER set,
as in .ci/run, that is a failure instead.  axe-core (from npm) is looked for in .venv/axe; the environment
variable AXE_CORE names another file.
"""

from __future__ import annotations

import functools
import os
import re
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from footwork.show.draw import draw
from show.report_pages import HEBREW, LONG, SCRIPT, gate_shed, write_pages

ROOT = Path(__file__).parents[2]
WIDTHS = (400, 1400)
PAGES = ("shed", "alone", "hostile")
STATES = (("shed", "before"), ("shed", "after"), ("hostile", "before"), ("hostile", "after"), ("alone", ""))


def missing(what: str) -> None:
    """Skip, or fail where everything has to be there."""
    if os.environ.get("FOOTWORK_NEEDS_BROWSER"):
        pytest.fail(f"FOOTWORK_NEEDS_BROWSER is set, and there is no {what}")
    pytest.skip(f"there is no {what} on this machine")


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    program = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
    if program is None:
        missing("Chromium")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        missing("playwright")
    with sync_playwright() as driver:
        # as root and in a container Chromium's own sandbox cannot start, and shared memory may be small
        settings = ["--no-sandbox", "--disable-dev-shm-usage"]
        found = driver.chromium.launch(executable_path=program, args=settings)
        yield found
        found.close()


@pytest.fixture(scope="module")
def pages(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    return write_pages(tmp_path_factory.mktemp("pages"))


@pytest.fixture
def visit(browser: Any, pages: dict[str, Path]) -> Iterator[Callable[..., Any]]:
    """Open a page; at the end nothing may have gone wrong in it, nor may it have asked for anything."""
    contexts: list[Any] = []
    heard: list[str] = []
    asked: list[str] = []

    def opened(name: str, width: int = 1400, **settings: Any) -> Any:
        context = browser.new_context(viewport={"width": width, "height": 900}, **settings)
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda message: heard.append(f"{message.type}: {message.text}"))
        page.on("pageerror", lambda fault: heard.append(str(fault)))
        page.on("dialog", lambda dialog: (heard.append(f"dialog: {dialog.message}"), dialog.dismiss()))
        page.on("request", lambda request: asked.append(request.url))
        page.goto(pages[name].as_uri())
        return page

    yield opened
    for context in contexts:
        context.close()
    assert heard == []
    own = {path.as_uri() for path in pages.values()}
    assert [url for url in asked if url not in own and url != "data:,"] == []


@functools.cache
def axe() -> str:
    for place in (os.environ.get("AXE_CORE"), ROOT / ".venv/axe/node_modules/axe-core/axe.min.js"):
        if place and Path(place).is_file():
            return Path(place).read_text(encoding="utf-8")
    missing("axe-core")
    raise AssertionError


def show(page: Any, state: str) -> None:
    if state:
        page.check(f"[name=view-plan][value={state}]")


def job_names(page: Any) -> list[str]:
    return list(page.locator("#jobs tbody th").all_inner_texts())


# Looking at it


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", PAGES)
def test_a_page_is_no_wider_than_its_screen(visit: Callable[..., Any], name: str, width: int) -> None:
    page = visit(name, width)
    for state in ("before", "after") if name != "alone" else ("",):
        show(page, state)
        page.select_option("#walk", "0")
        assert page.evaluate("document.documentElement.scrollWidth") <= width
        beyond = page.evaluate(
            """() => [...document.querySelectorAll("body *")]
                .filter(e => !e.closest(".scroll, .unseen, svg") && e.getClientRects().length)
                .filter(e => e.getBoundingClientRect().right > innerWidth + 0.5)
                .map(e => e.outerHTML.slice(0, 80))"""
        )
        assert beyond == []


def test_on_a_phone_what_to_do_comes_first(visit: Callable[..., Any]) -> None:
    """On the first screen, before the plan and every table."""
    page = visit("shed", 400)
    tops = page.evaluate(
        """() => [".first h2", ".first li", ".plans h2", "table"]
            .map(q => document.querySelector(q).getBoundingClientRect().top)"""
    )
    assert tops == sorted(tops)
    assert tops[1] < 700
    assert page.locator(".first ol li").count() > 0
    page.click(".first a[href='#moving-head']")
    assert page.evaluate("document.querySelector('#moving-head').getBoundingClientRect().top") < 850


@pytest.mark.parametrize("width", WIDTHS)
def test_a_plan_of_many_stations_can_be_read(visit: Callable[..., Any], width: int) -> None:
    """Forty stations: letters of 9 px at least, on a phone on a plan that is pushed sideways."""
    page = visit("crowd", width)
    sizes = page.evaluate(
        """() => { const s = document.querySelector(".plans svg.plan"); const scale = s.getScreenCTM().a;
            const names = [...s.querySelectorAll(".names text")];
            return names.map(t => scale * parseFloat(getComputedStyle(t).fontSize)); }"""
    )
    assert len(sizes) >= 30
    assert min(sizes) >= 9.0
    assert page.locator(".push").first.is_visible() == (width == 400)


def test_each_plan_keeps_its_names_inside_and_apart(visit: Callable[..., Any]) -> None:
    """As the browser sets them: names that fit on paper must not run into each other here."""
    for name in ("shed", "hostile"):
        page = visit(name, 1400)
        for state in ("before", "after"):
            show(page, state)
            boxes = page.evaluate(
                """state => [...document.querySelectorAll(`.plans [data-view=${state}] svg text`)]
                    .filter(e => !e.closest(".walk, .out")).map(e => {
                    const b = e.getBoundingClientRect();
                    return [e.textContent, b.left, b.top, b.right, b.bottom];
                })""",
                state,
            )
            plan = page.locator(f".plans [data-view={state}] svg").bounding_box()
            assert len(boxes) > 8
            for text, left, top, right, bottom in boxes:
                assert left >= plan["x"] - 1, text
                assert right <= plan["x"] + plan["width"] + 1, text
                for other, x0, y0, x1, y1 in boxes:
                    if (text, left) < (other, x0):
                        # a box of letters is taller than they are: a third may be shared
                        shared = min(bottom, y1) - max(top, y0)
                        least = min(bottom - top, y1 - y0)
                        assert min(right, x1) - max(left, x0) < 1 or shared < least / 3, (text, other)


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize(("name", "state"), STATES)
def test_axe_finds_nothing(visit: Callable[..., Any], name: str, state: str, width: int) -> None:
    source = axe()
    page = visit(name, width)
    show(page, state)
    page.locator("button.pick").first.click()
    page.locator("#jobs thead button").nth(1).click()
    page.evaluate(f"{source}\nundefined")
    result = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
    told = [f"{v['id']}: {n['html'][:120]}" for v in result["violations"] for n in v["nodes"]]
    assert told == []
    assert len(result["passes"]) > 20


def test_axe_would_find_something(visit: Callable[..., Any]) -> None:
    """So that the test above can fail."""
    source = axe()
    page = visit("alone")
    page.evaluate("document.querySelector('svg.plan').removeAttribute('aria-labelledby')")
    page.evaluate("document.querySelector('svg.plan title').remove()")
    page.evaluate(f"{source}\nundefined")
    assert "svg-img-alt" in page.evaluate("axe.run().then(r => r.violations.map(v => v.id))")


# Before and after


def test_the_switch_shows_one_layout_everywhere(visit: Callable[..., Any]) -> None:
    page = visit("shed")

    def shown() -> set[str]:
        views = page.locator(".view").all()
        return {v.get_attribute("data-view") for v in views if v.is_visible()}

    assert shown() == {"after"}
    page.focus("[name=view-plan][value=after]")
    page.keyboard.press("ArrowLeft")  # as every group of radio buttons
    assert shown() == {"before"}
    assert page.is_checked("[name=view-chart][value=before]")
    page.check("[name=view-chart][value=after]")
    assert shown() == {"after"}
    assert page.is_checked("[name=view-plan][value=after]")


def test_a_layout_alone_has_no_switch(visit: Callable[..., Any]) -> None:
    page = visit("alone")
    assert page.locator(".switch").count() == 0
    assert page.locator("svg.plan:visible").count() == 1


# The walk of a job


def walks(page: Any) -> list[str]:
    """The jobs whose walk is drawn on the plan in sight."""
    groups = page.locator(".view:not(.off) .walk").all()
    return [group.get_attribute("data-job") for group in groups if group.is_visible()]


def test_a_job_is_chosen_by_a_click_and_stays(visit: Callable[..., Any]) -> None:
    page = visit("shed")
    assert walks(page) == []
    button = page.locator("button.pick").nth(1)
    button.click()
    page.mouse.move(2, 2)
    assert walks(page) == ["1"]
    assert button.get_attribute("aria-pressed") == "true"
    assert page.locator("#walk").input_value() == "1"
    said = page.locator("[role=status]").inner_text()
    assert said.startswith("railing, ")
    assert "Numbers on the plan: 1 rack" in said
    show(page, "before")
    assert walks(page) == ["1"]
    page.keyboard.press("Escape")
    assert walks(page) == []
    assert button.get_attribute("aria-pressed") == "false"


def test_a_pointer_or_the_keyboard_shows_a_walk_for_a_moment(visit: Callable[..., Any]) -> None:
    page = visit("shed")
    page.locator("#jobs tbody tr").nth(2).hover()
    assert walks(page) == ["2"]
    page.mouse.move(2, 2)
    assert walks(page) == []
    page.locator("#jobs thead button").last.focus()
    page.keyboard.press("Tab")
    if not page.evaluate("document.activeElement.matches('.pick')"):  # the region that scrolls comes between
        page.keyboard.press("Tab")
    assert walks(page) == ["0"]
    page.keyboard.press("Tab")
    assert walks(page) == ["1"]
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    assert walks(page) == ["2"]
    page.locator("h1").click()
    assert walks(page) == ["1"]


def test_a_tap_on_a_phone_brings_the_plan_into_sight(visit: Callable[..., Any]) -> None:
    page = visit("shed", 400, has_touch=True, is_mobile=True, reduced_motion="reduce")
    page.evaluate(
        """() => { window.ways = []; const go = Element.prototype.scrollIntoView;
            Element.prototype.scrollIntoView = function (how) {
                ways.push(how.behavior); go.call(this, how); }; }"""
    )
    page.locator("button.pick").nth(4).tap()
    assert walks(page) == ["4"]
    assert page.evaluate("ways") == ["auto"]  # no smooth scrolling for those who ask for less motion
    top = page.evaluate("document.querySelector('.view:not(.off) svg').getBoundingClientRect().top")
    assert 0 <= top < 300


def test_a_vehicle_that_is_out_is_drawn_as_out(visit: Callable[..., Any]) -> None:
    page = visit("shed")
    names = job_names(page)
    body, trace = ".view:not(.off) g.in", ".view:not(.off) g.out"
    assert page.is_visible(body)
    assert not page.is_visible(trace)
    page.select_option("#walk", label="gate_frame")
    assert (page.is_visible(body), page.is_visible(trace)) == (False, True)
    page.select_option("#walk", str(names.index("load_van")))
    assert (page.is_visible(body), page.is_visible(trace)) == (True, False)


# Tables


def test_a_head_sorts_by_click_and_by_key(visit: Callable[..., Any]) -> None:
    page = visit("shed")
    first = job_names(page)
    head = page.locator("#jobs thead th").nth(2)
    head.locator("button").click()
    assert head.get_attribute("aria-sort") == "descending"

    def after() -> list[float]:
        cells = page.locator("#jobs tbody tr td:nth-child(3)").all_inner_texts()
        return [float(text.replace(",", "")) for text in cells]

    assert after() == sorted(after(), reverse=True)
    assert sorted(job_names(page)) == sorted(first)
    head.locator("button").focus()
    page.keyboard.press("Enter")
    assert head.get_attribute("aria-sort") == "ascending"
    assert after() == sorted(after())
    page.locator("#jobs thead button").first.focus()
    page.keyboard.press("Space")
    assert job_names(page) == sorted(first)
    assert page.locator("#jobs thead [aria-sort]").count() == 1
    assert page.locator("#jobs tfoot th").inner_text() == "in all"


@pytest.mark.parametrize("name", PAGES)
def test_every_table_sorts_by_every_head(visit: Callable[..., Any], name: str) -> None:
    page = visit(name)
    told = page.evaluate(
        """() => {
            const faults = []; let heads = 0;
            for (const table of document.querySelectorAll("table")) {
                [...table.tHead.rows[0].cells].forEach((head, k) => {
                    const rows = new Set(table.tBodies[0].rows);
                    for (const want of [1, 2]) {
                        heads += 1;
                        head.querySelector("button").click();
                        const now = [...table.tBodies[0].rows];
                        if (now.length !== rows.size || now.some(r => !rows.has(r))) faults.push("rows lost");
                        const sign = head.getAttribute("aria-sort") === "ascending" ? 1 : -1;
                        const values = now.map(r => r.cells[k].dataset.figure).filter(v => v !== undefined)
                            .map(v => Number(v.replace("inf", "Infinity")));
                        const wrong = values.some((v, i) => i && sign * (v - values[i - 1]) < 0);
                        if (wrong) faults.push(table.id + k);
                    }
                });
            }
            return [faults, heads];
        }"""
    )
    assert told[0] == []
    assert told[1] > 30


# Printing, and without a script


def test_printing_shows_both_plans_and_every_table(visit: Callable[..., Any]) -> None:
    page = visit("shed")
    page.emulate_media(media="print")
    assert page.locator("svg.plan:visible").count() == 3
    assert page.locator("table:visible").count() == page.locator("table").count() == 6
    assert page.locator("input:visible, select:visible").count() == 0
    pdf = page.pdf(prefer_css_page_size=True)
    assert pdf.startswith(b"%PDF")
    sheets = len(re.findall(rb"/Type /Page\b", pdf))
    assert 4 <= sheets <= 9
    assert re.search(rb"/MediaBox \[0 0 59[45][\d.]* 84[12]", pdf)


@pytest.mark.parametrize("name", ["shed", "hostile", "crowd"])
def test_every_table_fits_its_sheet(visit: Callable[..., Any], name: str) -> None:
    """A4 less its margins is 186 mm wide, and 273 mm lying, which only the largest charts are."""
    page = visit(name, 703)
    page.emulate_media(media="print")
    sizes = page.evaluate(
        """() => [...document.querySelectorAll("table")].map(t =>
            [t.id, t.getBoundingClientRect().width, !!t.closest(".broad")])"""
    )
    for table, width, lying in sizes:
        assert width <= (1032 if lying else 703), table
    assert any(lying for *_, lying in sizes) == (name == "crowd")
    pdf = page.pdf(prefer_css_page_size=True)
    lying_sheets = re.findall(rb"/MediaBox \[0 0 84[12][\d.]* 59[45]", pdf)
    assert len(lying_sheets) == (1 if name == "crowd" else 0)


@pytest.mark.parametrize("width", WIDTHS)
def test_without_a_script_the_page_is_whole(visit: Callable[..., Any], width: int) -> None:
    page = visit("shed", width, java_script_enabled=False)
    assert page.locator("svg.plan:visible").count() == 3
    assert page.locator("table:visible").count() == 6
    assert page.locator(".walks li:visible").count() == 14
    assert page.locator("button, input:visible, select:visible").count() == 0


# Keys, names


def test_every_stop_of_the_tab_key_is_seen(visit: Callable[..., Any]) -> None:
    page = visit("shed", 400)
    seen = []
    for _ in range(150):
        page.keyboard.press("Tab")
        at = page.evaluate(
            """() => { const e = document.activeElement; const s = getComputedStyle(e);
                return [e.tagName, s.outlineStyle, parseFloat(s.outlineWidth)]; }"""
        )
        if at[0] == "BODY":
            break
        seen.append(at)
        assert at[1] == "solid", at
        assert at[2] >= 2, at
    assert {each[0] for each in seen} >= {"INPUT", "SELECT", "BUTTON", "DIV"}
    assert len(seen) == page.locator("a:visible, button:visible, select, .switch, .scroll[tabindex]").count()


def test_hostile_names_stay_text(visit: Callable[..., Any]) -> None:
    """That no script of theirs ran, and nothing was asked for, ``visit`` sees to."""
    page = visit("hostile")
    assert page.locator("script").count() == 1
    assert page.locator("img, iframe, b").count() == 0
    assert SCRIPT in page.title()
    shown = page.locator("body").inner_text()
    for name in (SCRIPT, HEBREW, LONG, "<b>sons</b>", "onerror=alert(2)"):
        assert name in shown, name
    assert page.locator(f"#jobs >> text={'</style>'}").count() == 1


def test_a_script_that_got_in_would_not_run(browser: Any, pages: dict[str, Path]) -> None:
    """The page's policy lets its own script run and no other."""
    text = pages["alone"].read_text(encoding="utf-8")
    broken = pages["alone"].with_name("broken.html")
    text = text.replace("<main>", f"<main>{SCRIPT}<img src=x onerror=alert(1)>", 1)
    broken.write_text(text, encoding="utf-8")
    page = browser.new_page()
    dialogs: list[str] = []
    page.on("dialog", lambda dialog: (dialogs.append(dialog.message), dialog.dismiss()))
    page.goto(broken.as_uri())
    assert dialogs == []
    assert page.locator("button.pick").count() > 0  # its own did
    page.close()


def test_a_script_that_got_into_a_plan_would_not_run(browser: Any, tmp_path: Path) -> None:
    """Opened by itself a plan runs nothing and asks for nothing, whatever is put into it."""
    plain, broken = tmp_path / "plan.svg", tmp_path / "broken.svg"
    draw(gate_shed(), "today", plain)
    text = plain.read_text(encoding="utf-8")
    inside = '<script>window.ran = 1</script><image href="http://127.0.0.1:8/x.png" width="9" height="9"/>'
    page = browser.new_page()
    said: list[str] = []
    page.on("console", lambda message: said.append(message.text))
    page.goto(plain.as_uri())
    assert said == []
    broken.write_text(text.replace("</svg>", f"{inside}</svg>"), encoding="utf-8")
    page.goto(broken.as_uri())
    assert page.evaluate("window.ran") is None
    assert sum("Content Security Policy" in line for line in said) == 2, said
    page.close()
