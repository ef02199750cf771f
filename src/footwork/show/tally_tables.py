"""What a sheet of visits says: how often each job is done, and how sure that is."""

from __future__ import annotations

from rich.console import Console

from footwork.model.units import PER_YEAR
from footwork.show import text
from footwork.show.text import figures, words
from footwork.study.tally import Rate, Tally

PAIRS = 12
"""Rows of the from-to chart; the rest is summed up."""


def tally(result: Tally, console: Console) -> None:
    """Jobs and the from-to chart with what each is likely to be, and what to know."""
    scenario = result.scenario
    kept = "1 week" if result.weeks == 1 else f"{result.weeks:.1f} weeks".replace(".0 ", " ")
    text.heading(console, f"{scenario.name}: {text.plural(result.rows, 'row')} kept for {kept}")
    sure = f"likely, {100 * result.level:g} %"
    text.line(console)
    text.grid(
        console,
        [words("job"), figures("times"), figures("a week"), figures(sure), words("")],
        [(job.name, *_rate(job.rate), "" if job.known else "new to the file") for job in result.jobs],
    )
    if result.unseen:
        text.line(console, f"not in the sheet, as the file has them: {', '.join(result.unseen)}")
    text.line(console)
    text.grid(
        console,
        [words("from"), words("to"), figures("times"), figures("a week"), figures(sure)],
        [(start, end, *_rate(rate)) for start, end, rate in result.chart[:PAIRS]],
    )
    others = result.chart[PAIRS:]
    if others:
        count = sum(rate.count for *_, rate in others)
        text.line(console, f"and {count:,} walks between {len(others)} other pairs")
    if result.notes:
        text.line(console)
    for note in result.notes:
        text.line(console, f"Note: {note}.")


def _rate(rate: Rate) -> tuple[str, str, str]:
    week = PER_YEAR["week"]
    low, high = (_figure(value / week) for value in (rate.low, rate.high))
    return f"{rate.count:,}", _figure(rate.per_year / week), f"{low} to {high}"


def _figure(value: float) -> str:
    """To three figures."""
    return f"{value:,.0f}" if value >= 100 else f"{value:.1f}" if value >= 10 else f"{value:.2f}"
