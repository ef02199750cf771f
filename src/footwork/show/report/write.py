"""The page in a file: the facts laid out with the templates, whole or not at all."""

from __future__ import annotations

import base64
import functools
import hashlib
from collections.abc import Sequence
from dataclasses import replace
from importlib import resources
from pathlib import Path

import jinja2
from markupsafe import Markup

from footwork.arrange.core.results import Suggestion
from footwork.model.errors import UsageError
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import find_layout
from footwork.scoring import score as score_layout
from footwork.show.files import check_goal, write_whole
from footwork.show.report.facts import Page, page
from footwork.show.report.studies import section

SUFFIXES = (".html", ".htm")
SUGGESTED = "suggested"
"""What a layout that a search found is called on the page."""


def report(
    scenario: Scenario,
    layout: Layout | Suggestion | str | None,
    out: str | Path,
    *,
    before: Layout | str | None = None,
    name: str = SUGGESTED,
    studies: Sequence[object] = (),
) -> None:
    """Write the page about ``layout`` into ``out``, an .html file that needs no other file and no network.

    ``layout`` is a layout, the name of one in the file, None for the file's first, or what
    :func:`footwork.suggest` returned: then the page shows its best layout, and how good that is proven to be.
    ``name`` is what the page calls that one, when it is already in the file.
    ``before`` is the layout to compare it with; for a suggestion it is its base unless given, and without
    one the page shows ``layout`` alone.  ``studies`` are results of ``sizes``, ``fit``, ``weekend``,
    ``robust`` or ``tally``, or what their ``to_dict`` gives: each becomes a section.

    The file is written whole or not at all; the same arguments give the same bytes.  Raises UsageError when
    the suffix is another, the file cannot be written, or there is no such layout.
    """
    path = Path(out)
    check_page(path)
    told = [each.to_dict() if hasattr(each, "to_dict") else each for each in studies]
    sections = tuple(section(each, scenario, k) for k, each in enumerate(told, start=1))
    found = replace(facts(scenario, layout, before, name), studies=sections)
    text = as_html(found).encode("utf-8")
    write_whole(path, lambda file: file.write(text))


def check_page(path: Path) -> None:
    """Refuse, before any work is done, a file that cannot become the page: UsageError says why."""
    if path.suffix.lower() not in SUFFIXES:
        raise UsageError(f"{path}: a report is written as .html; give the file this suffix")
    check_goal(path)


def facts(
    scenario: Scenario,
    layout: Layout | Suggestion | str | None,
    before: Layout | str | None = None,
    name: str = SUGGESTED,
) -> Page:
    """What the page says.  Raises UsageError when there is no such layout, or the search found none."""
    found = layout if isinstance(layout, Suggestion) else None
    if isinstance(layout, Suggestion):
        if not layout.layouts:
            raise UsageError(f"{layout.scenario}: the search found no layout to report on")
        chosen = Layout(name, layout.layouts[0].placements)
        if before is None and layout.base_score is not None:
            before = Layout(layout.base_score.layout, layout.base_score.placements)
    else:
        chosen = find_layout(scenario, layout)
    old = None if before is None else find_layout(scenario, before)
    pair = None if old is None else (old, score_layout(scenario, old))
    return page(scenario, pair, (chosen, score_layout(scenario, chosen)), found)


def as_html(facts: Page) -> str:
    """The page as text; every name in it is escaped, whatever it holds."""
    style, script = _part("page.css"), _part("page.js")
    # the page's own script may run and nothing else, even if a name got past the escaping
    digest = base64.b64encode(hashlib.sha256(f"\n{script}".encode()).digest()).decode("ascii")
    template = _environment().get_template("page.html.j2")
    return template.render(
        page=facts, style=Markup(style), script=Markup(script), script_hash=f"sha256-{digest}"
    )


@functools.lru_cache(maxsize=1)
def _environment() -> jinja2.Environment:
    loader = jinja2.FunctionLoader(_part)
    environment = jinja2.Environment(
        loader=loader, autoescape=True, undefined=jinja2.StrictUndefined, keep_trailing_newline=True
    )
    environment.filters["drawn"] = Markup  # elements from svg_board.py, which escapes what it is given
    return environment


def _part(name: str) -> str:
    """One of the files in ``templates/``."""
    return (resources.files(__package__) / "templates" / name).read_text(encoding="utf-8")
