"""Draw a layout into a file: svg, png or pdf."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path
from typing import Any

import matplotlib

from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import Score, find_layout
from footwork.scoring import score as score_layout
from footwork.show.board import RC
from footwork.show.plan import Drawing, Request, draw_plan

DPI = 200
"""Dots an inch of a png."""

# no dates and no versions: the same plan gives the same bytes
_METADATA: dict[str, dict[str, Any]] = {
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
    score: Score | None = None,
) -> None:
    """Draw the plan of ``layout`` into ``out``: svg, png or pdf by its suffix, to scale on customary paper.

    ``job`` names a job whose route is drawn; ``standing`` draws circles for the hours standing at each
    place.  ``score`` spares reckoning the layout's figures again when they are at hand.  The file is
    written whole or not at all; the same arguments give the same bytes.  Raises UsageError when the suffix
    is none of these, the file cannot be written, or there is no such layout or job.
    """
    path = Path(out)
    kind = path.suffix.lower().removeprefix(".")
    if kind not in _METADATA:
        raise UsageError(
            f"{path}: a plan is drawn as .svg, .png or .pdf; give the file one of these suffixes"
        )
    _check_folder(path)
    drawing = compose(scenario, layout, job=job, standing=standing, score=score)
    _save(drawing, path, kind)


def compose(
    scenario: Scenario,
    layout: Layout | str | None,
    *,
    job: str | None = None,
    standing: bool = False,
    score: Score | None = None,
) -> Drawing:
    """The drawing itself, not yet in a file.  Raises UsageError as :func:`draw` does."""
    chosen = find_layout(scenario, layout)
    names = [each.name for each in scenario.jobs]
    if job is not None and job not in names:
        raise UsageError(f"no job {job!r}; {hint(job, names, 'jobs')}")
    figures = score_layout(scenario, chosen) if score is None else score
    request = Request(scenario, chosen, figures, figures.job(job) if job is not None else None, standing)
    with matplotlib.rc_context(RC):
        return draw_plan(request)


def _check_folder(path: Path) -> None:
    if path.is_dir():
        raise UsageError(f"{path}: is a folder; name a file in it")
    if not path.parent.is_dir():
        raise UsageError(f"{path}: there is no folder {path.parent}; make it, or choose another")


def _save(drawing: Drawing, path: Path, kind: str) -> None:
    """Write beside the goal, then put in its place."""
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{path.stem}-", suffix=path.suffix, dir=path.parent)
        with os.fdopen(handle, "wb") as file, matplotlib.rc_context(RC):
            drawing.board.figure.savefig(file, format=kind, dpi=DPI, metadata=_METADATA[kind])
        os.chmod(temporary, _usual_mode())
        os.replace(temporary, path)
        temporary = None
    except OSError as fault:
        raise UsageError(f"{path}: cannot be written: {fault.strerror or fault}") from None
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)


def _usual_mode() -> int:
    """The permissions that a new file gets; a temporary file is private."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
