"""What a move did."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

from rich.console import Console

from footwork.model.scenario import Scenario
from footwork.show import text
from footwork.show.score_tables import SAFETY
from footwork.show.text import figures, words
from footwork.whatif import Change, JobChange


def change(result: Change, console: Console, scenario: Scenario | None = None) -> None:
    """A move: the change in metres a year, in all and by job, and every check that turned."""
    text.heading(console, result.text)
    for note in result.notes:
        text.line(console, note, indent=2)
    columns = [words(""), figures("m a year before"), figures("after"), figures("change"), figures("")]
    rows = [
        _row("in all", result.before.metres_per_year, result.after.metres_per_year, result.metres_per_year)
    ]
    both = (result.before, result.after)
    wishes = ["wishes"] if any(score.prefer_metres for score in both) else []
    shoulds = ["checks"] if any(score.check_metres for score in both) else []
    if wishes or shoulds:
        name = f"cost with {text.listed([*wishes, *shoulds])}"
        rows.append(_row(name, result.before.cost, result.after.cost, result.cost))
    other = [job for job in result.jobs if job.change != 0 and abs(job.change) >= 0.05]
    rows += [_row(_job_name(job), job.before, job.after, job.change) for job in other]
    text.grid(console, columns, rows)
    same = len(result.jobs) - len(other)
    if same and other:
        text.line(console, f"{text.plural(same, 'other job')} as before", indent=2)
    for turned in result.turned:
        check = turned.result
        style = "green" if turned.ok else "bold red" if check.severity == "must" else "yellow"
        said = "now holds" if turned.ok else f"now fails ({check.severity})"
        what = check.subject if turned.ok else check.message
        text.line(console, f"{said}: {check.id}: {what}", style=style)
    if any(turned.result.id in SAFETY for turned in result.turned):
        text.caution(console)
    text.line(console)


def shared_lines(
    changes: Sequence[Change], left_out: int = 0, scenario: Scenario | None = None
) -> Iterator[str]:
    """What a change that layouts share does to each: its metres, and the must-checks it would fail."""
    for each in changes:
        was, now = (s.metres_per_year for s in (each.before, each.after))
        before, after = ("no way" if math.isinf(metres) else text.whole(metres) for metres in (was, now))
        said = f"{after} m a year"
        said += ", as before" if before == after else f" instead of {before}"
        failed = [t.result for t in each.turned if not t.ok and t.result.severity == "must"]
        if failed:
            some = [f"{check.id} {check.subject}" for check in failed[:3]]
            more = [f"{len(failed) - 3} more"] if len(failed) > 3 else []
            said += f", and it would fail {text.listed([*some, *more])}"
        yield f"layout {each.text}: {said}"
    if left_out:
        yield f"and {text.plural(left_out, 'more layout')}"


def _job_name(job: JobChange) -> str:
    if job.before_times != job.after_times:
        return f"{job.name} ({job.before_times:,.4g} to {job.after_times:,.4g} times a year)"
    return job.name


def _row(name: str, before: float, after: float, change: float) -> tuple[str, ...]:
    share = f"{change / before:+.1%}".replace("%", " %") if math.isfinite(change) and before > 0 else ""
    shown = ["no way" if math.isinf(v) else text.whole(v) for v in (before, after)]
    return (name, *shown, text.signed(change), "" if share in ("+0.0 %", "-0.0 %") else share)
