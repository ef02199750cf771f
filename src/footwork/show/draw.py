"""Draw a layout into a file: svg, png, pdf or dxf."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

import matplotlib

from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import Score, find_layout
from footwork.scoring import score as score_layout
from footwork.show.board import RC, quiet
from footwork.show.files import check_goal, save_figure, write_whole
from footwork.show.plan import Drawing, draw_plan
from footwork.show.request import Before, Request
from footwork.show.sheet import read_wish
from footwork.show.walking import density

if TYPE_CHECKING:
    from footwork.elsewhere.answer import Elsewhere

DPI = 200
"""Dots an inch of a png, fewer on paper so large that it would have more than MOST_DOTS."""
MOST_DOTS = 36e6
KINDS = ("svg", "png", "pdf", "dxf")

# no dates and no versions: the same plan gives the same bytes
METADATA: dict[str, dict[str, Any]] = {
    "svg": {"Date": None, "Creator": "footwork"},
    "png": {"Software": "footwork"},
    "pdf": {"CreationDate": None, "ModDate": None, "Creator": "footwork", "Producer": "footwork"},
}


def draw(
    scenario: Scenario,
    layout: Layout | str | None,
    out: str | Path,
    *,
    job: str | None = None,
    standing: bool = False,
    walking: bool = False,
    before: Layout | str | None = None,
    scale: str | None = None,
    paper: str | None = None,
    elsewhere: Elsewhere | None = None,
    score: Score | None = None,
    unsaved: bool = False,
) -> None:
    """Draw the plan of ``layout`` into ``out``: svg, png, pdf or dxf by its suffix, to scale.

    ``job`` names a job whose route is drawn; ``standing`` draws circles for the hours standing at each
    side; ``walking`` draws how many times a year each place is walked over; ``before`` is a layout whose
    places are drawn as dashed outlines with lines to the new ones, and goes with none of the other three.
    ``elsewhere`` draws where else one thing could stand, as ``where`` found it.
    ``scale`` (``"1:25"``) and ``paper`` (``"A3"``) are customary ones unless given; a dxf is full size in
    the file's units (metres, or inches for feet and inches), and they set the size of its text.
    ``score`` spares reckoning the layout's figures again when they are at hand.  ``unsaved`` has the picture
    say that moves made it of the layout of its name, and no file has it.

    The file is written whole or not at all; the same arguments give the same bytes.  Raises UsageError
    when the suffix is none of these, the file cannot be written, there is no such layout, job or paper, or
    the plan has no room at that scale on that paper.
    """
    path = Path(out)
    kind = path.suffix.lower().removeprefix(".")
    if kind not in KINDS:
        raise UsageError(
            f"{path}: a plan is drawn as .svg, .png, .pdf or .dxf; give the file one of these suffixes"
        )
    check_goal(path)
    drawing = compose(
        scenario,
        layout,
        job=job,
        standing=standing,
        walking=walking,
        before=before,
        elsewhere=elsewhere,
        scale=scale,
        paper=paper,
        score=score,
        unsaved=unsaved,
    )
    write_whole(path, lambda file: _write(drawing, file, kind))


def compose(
    scenario: Scenario,
    layout: Layout | str | None,
    *,
    job: str | None = None,
    standing: bool = False,
    walking: bool = False,
    before: Layout | str | None = None,
    scale: str | None = None,
    paper: str | None = None,
    elsewhere: Elsewhere | None = None,
    score: Score | None = None,
    unsaved: bool = False,
) -> Drawing:
    """The drawing itself, not yet in a file.  Raises UsageError as :func:`draw` does."""
    wish = read_wish(scale, paper)
    chosen = find_layout(scenario, layout)
    names = [each.name for each in scenario.jobs]
    if job is not None and job not in names:
        raise UsageError(f"no job {job!r}; {hint(job, names, 'jobs')}")
    if before is not None and (job is not None or standing or walking):
        raise UsageError("a comparison stands alone: draw the job, the standing or the walking by itself")
    old = None if before is None else find_layout(scenario, before)
    figures = score_layout(scenario, chosen) if score is None else score
    request = Request(
        scenario,
        chosen,
        figures,
        job=figures.job(job) if job is not None else None,
        standing=standing,
        walking=density(scenario, chosen) if walking else None,
        before=None if old is None else Before(old, score_layout(scenario, old)),
        elsewhere=elsewhere,
        wish=wish,
        unsaved=unsaved,
    )
    with matplotlib.rc_context(RC):
        return draw_plan(request)


def _write(drawing: Drawing, file: BinaryIO, kind: str) -> None:
    if kind == "dxf":
        from footwork.show.dxf import write_dxf  # here: the other kinds need not wait for it

        write_dxf(drawing, file)
        return
    figure = drawing.board.figure
    dots = (drawing.sheet.width * drawing.sheet.height) / 25.4**2
    dpi = min(float(DPI), float(math.floor(math.sqrt(MOST_DOTS / dots))))
    metadata = {**METADATA[kind], "Title": f"{drawing.title.name}: {drawing.title.what}"}
    with matplotlib.rc_context(RC), quiet():
        save_figure(figure, file, kind, dpi if kind == "png" else 72, metadata)
