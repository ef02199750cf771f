"""footwork walk: one job, leg by leg."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option, layout_option
from footwork.cli.shell_names import names_in

if TYPE_CHECKING:
    from footwork.model.scenario import Scenario
    from footwork.scoring import JobScore, Leg, Score


@click.command("walk", short_help="Go through one job leg by leg.")
@file_argument
@click.option(
    "--job",
    metavar="NAME",
    shell_complete=names_in("jobs"),
    help="The job; may be left out where the file has one.",
)
@layout_option
@json_option
def command(file: Path, job: str | None, layout: str | None, as_json: bool) -> int:
    """Go through one job leg by leg: where to stand, how far, the narrowest gap, what is in the way.

    Leaves with 1 when a leg has no way wide enough; it is then squeezed, as `footwork score` tells.
    """
    from footwork.model.read import load
    from footwork.scoring import find_layout, score

    scenario = load(file)
    chosen, name = find_layout(scenario, layout), pick_job(scenario, job)
    result = score(scenario, chosen)
    walked = result.job(name)
    if as_json:
        output.data(_to_dict(result, walked))
    else:
        from footwork.show import tables

        tables.walk(result, walked, output.console(), scenario)
    return 1 if walked.blocked else 0


def pick_job(scenario: Scenario, name: str | None) -> str:
    """The name of the job meant; UsageError names the nearest, or the ones there are."""
    from footwork.model.errors import UsageError
    from footwork.moves import unknown

    names = [job.name for job in scenario.jobs]
    if name is None:
        if len(names) == 1:
            return names[0]
        if not names:
            raise UsageError("the file has no jobs, so there is nothing to walk; add one under [jobs.NAME]")
        raise UsageError(f"which job? --job NAME; there are {', '.join(names)}")
    if name not in names:
        raise unknown("job", name, names)
    return name


def _to_dict(score: Score, job: JobScore) -> dict[str, Any]:
    from footwork.scoring import state_dict

    finite = _finite
    return {
        "scenario": score.scenario,
        "layout": score.layout,
        "job": job.name,
        "times_per_year": job.times_per_year,
        "seasons": list(job.only_in),
        "metres_each": finite(job.metres_each),
        "metres_per_year": finite(job.metres_per_year),
        "squeezed_metres_each": job.squeezed_each,
        "states": [state_dict(s) for s in job.states],
        "legs": [_leg(leg, score) for leg in job.legs],
    }


def _leg(leg: Leg, score: Score) -> dict[str, Any]:
    from footwork.scoring import squeezed_dict

    return {
        "from": {"name": leg.start.name, "side": leg.start.side, "at": list(leg.start.at)},
        "to": {"name": leg.end.name, "side": leg.end.side, "at": list(leg.end.at)},
        "metres": _finite(leg.metres),
        "steps": _finite(leg.metres / score.step),
        "seconds": _finite(leg.metres / score.speed),
        "width": leg.width,
        "squeezed": squeezed_dict(leg),
        "round": list(leg.round),
        "narrowest": None
        if leg.narrowest is None
        else {
            "width": _finite(leg.narrowest.width),
            "between": list(leg.narrowest.between),
            "at": list(leg.narrowest.at),
        },
        "path": [list(point) for point in leg.path],
    }


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
