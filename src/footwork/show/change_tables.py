"""What a move did."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from rich.console import Console

from footwork.checks.result import merged
from footwork.model.scenario import Scenario
from footwork.show import text
from footwork.show.score_tables import SAFETY
from footwork.show.text import figures, words
from footwork.show.walked import Walked, walked
from footwork.whatif import Change, JobChange

_NAMED = 3  # checks that a layout would fail, at most


def change(result: Change, console: Console, scenario: Scenario | None = None) -> None:
    """A move: the change in metres a year, in all and by job, and every check that turned."""
    text.heading(console, result.text)
    for note in result.notes:
        text.line(console, note, indent=2)
    told = walked(scenario)
    heads = (f"{told.unit} a year before", "after", "change", "")
    columns = [words(""), *map(figures, heads)]
    before, after = result.before, result.after
    rows = [_row("in all", before.metres_per_year, after.metres_per_year, result.metres_per_year, told)]
    if before.squeezed or after.squeezed:
        was, now = before.squeezed_per_year, after.squeezed_per_year
        rows.append(_row("of which squeezed", was, now, now - was, told))
    both = (before, after)
    wishes = ["wishes"] if any(score.prefer_metres for score in both) else []
    shoulds = ["checks"] if any(score.check_metres for score in both) else []
    if wishes or shoulds:
        name = f"cost with {text.listed([*wishes, *shoulds])}"
        rows.append(_row(name, before.cost, after.cost, result.cost, told))
    other = [job for job in result.jobs if job.change != 0 and abs(job.change) >= 0.05]
    rows += [_row(_job_name(job), job.before, job.after, job.change, told) for job in other]
    text.grid(console, columns, rows)
    same = len(result.jobs) - len(other)
    if same and other:
        text.line(console, f"{text.plural(same, 'other job')} as before", indent=2)
    for check in merged(turned.result for turned in result.turned if not turned.ok):
        style = "bold red" if check.severity == "must" else "yellow"
        text.line(console, f"now fails ({check.severity}): {check.id}: {check.message}", style=style)
    for turned in result.turned:
        if turned.ok:
            text.line(console, f"now holds: {turned.result.id}: {turned.result.subject}", style="green")
    if any(turned.result.id in SAFETY for turned in result.turned):
        text.caution(console)
    text.line(console)


def shared_lines(
    changes: Sequence[Change], left_out: int = 0, scenario: Scenario | None = None
) -> Iterator[str]:
    """What a change that layouts share does to each: its metres, and the must-checks it would fail."""
    told = walked(scenario)
    for each in changes:
        was, now = (s.metres_per_year for s in (each.before, each.after))
        before, after = ("no way" if math.isinf(metres) else told.whole(metres) for metres in (was, now))
        said = f"{after} {told.unit} a year"
        said += ", as before" if before == after else f" instead of {before}"
        failed = [t.result for t in each.turned if not t.ok and t.result.severity == "must"]
        if failed:
            some = [f"{check.id} {check.subject}" for check in failed[:_NAMED]]
            more = [f"{len(failed) - _NAMED} more"] if len(failed) > _NAMED else []
            said += f", and it would fail {text.listed([*some, *more])}"
        yield f"layout {each.text}: {said}"
    if left_out:
        yield f"and {text.plural(left_out, 'more layout')}"


def _job_name(job: JobChange) -> str:
    if job.before_times != job.after_times:
        return f"{job.name} ({job.before_times:,.4g} to {job.after_times:,.4g} times a year)"
    return job.name


def _row(name: str, before: float, after: float, change: float, told: Walked) -> tuple[str, ...]:
    share = f"{change / before:+.1%}".replace("%", " %") if math.isfinite(change) and before > 0 else ""
    shown = ["no way" if math.isinf(v) else told.whole(v) for v in (before, after)]
    return (name, *shown, told.signed(change), "" if share in ("+0.0 %", "-0.0 %") else share)
