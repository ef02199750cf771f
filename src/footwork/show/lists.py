"""The catalogue and the rules as lists."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Any

from rich.console import Console

from footwork.checks.rule import Rule
from footwork.model.catalogue import CatalogueEntry
from footwork.model.errors import Problem
from footwork.model.units import format_length
from footwork.show import text
from footwork.show.text import figures, words
from footwork.show.walked import walked_in

_PLAIN = frozenset(("weight", "count"))  # numbers that are no lengths


def catalogue(entries: Sequence[CatalogueEntry], console: Console) -> None:
    """Every entry by trade: its size, and what it is."""
    for trade in dict.fromkeys(entry.trade for entry in entries):
        text.heading(console, trade)
        rows = [
            (e.name, value_words("size", e.values["size"].value) if "size" in e.values else "", e.note)
            for e in entries
            if e.trade == trade
        ]
        text.grid(console, [words("name"), words("size"), words("")], rows)
        text.line(console)
    text.line(console, 'One of them in full: footwork stations NAME; in a file: like = "NAME"')


def matches(word: str, found: Sequence[CatalogueEntry], console: Console) -> None:
    """The entries that a word is found in, where it is the name of none."""
    text.line(console, f"'{word}' is in {text.plural(len(found), 'station')} of the catalogue:")
    rows = [
        (e.name, value_words("size", e.values["size"].value) if "size" in e.values else "", e.trade, e.note)
        for e in found
    ]
    text.grid(console, [words("name"), words("size"), words("trade"), words("")], rows)
    text.line(console)
    text.line(console, f'One of them in full: footwork stations "{found[0].name}"')


def entry(found: CatalogueEntry, console: Console, near: Sequence[CatalogueEntry] = ()) -> None:
    """One entry: what else it is called, each value with where it comes from, and others of the name."""
    text.heading(console, found.name)
    if found.note:
        text.line(console, found.note)
    if found.also:
        text.line(console, f"also called {', '.join(found.also)}")
    text.line(console)
    rows = [(key, value_words(key, s.value), s.source) for key, s in found.values.items()]
    text.grid(console, [words("key"), words("value"), words("source")], rows)
    if near:
        text.line(console)
        text.line(console, f"See also: {', '.join(f'{e.name} ({e.note})' for e in near)}")
    text.caution(console)


def value_words(key: str, value: Any) -> str:
    """A value of the catalogue as a person reads it; lengths in metres."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        return f"{value:g} kg" if key == "weight" else f"{value:g}" if key in _PLAIN else format_length(value)
    if isinstance(value, Mapping):
        return ", ".join(f"{k} {value_words(key, v)}" for k, v in value.items()) or "none"
    if isinstance(value, (list, tuple)):
        if value and all(isinstance(v, (int, float)) for v in value):
            return " x ".join(format_length(float(v)).removesuffix(" m") for v in value) + " m"
        return ", ".join(value_words(key, v) for v in value) or "none"
    return str(value)


_WIDE = 110
"""Columns from which on the rules fit into a table: below, each has its sentence under it."""


def rules(found: Sequence[Rule], console: Console, units: str = "m") -> None:
    """Every check with its figure, what failing it costs, and its source."""
    told = walked_in(units)
    rows = [
        (
            rule.id,
            "accepted" if rule.accepted else rule.severity,
            "" if rule.figure is None else _figure(rule.figure, rule.unit, units),
            told.total(rule.price) if rule.severity == "should" and not rule.accepted else "",
            rule.sentence(partial(_figure, unit=rule.unit, units=units)) + _accepted(rule),
            rule.source,
        )
        for rule in found
    ]
    columns = [words("check"), words(""), figures("figure"), figures("price"), words("what"), words("source")]
    if console.width >= _WIDE:
        text.grid(console, columns, rows)
    else:
        widths = [max(len(row[k]) for row in rows) for k in range(4)]
        for name, severity, figure, price, what, source in rows:
            head = f"{name:{widths[0]}}  {severity:{widths[1]}}  {figure:>{widths[2]}}  {price:>{widths[3]}}"
            text.line(console, head.rstrip(), style="bold")
            text.line(console, what, indent=4)
            text.line(console, source, style="dim", indent=4)
    text.line(console, f"price: {told.word} {PRICE}")
    text.caution(console)


PRICE = (
    "of walking a year that failing counts at most, half of it for failing at all and half by how "
    "much is missing; [checks] in the file sets it"
)


def _accepted(rule: Rule) -> str:
    return f" (accepted: {rule.accepted})" if rule.accepted else ""


def _figure(value: float, unit: str, units: str) -> str:
    if unit != "m":
        return f"{value:g} {unit}"
    return f"{value:.3f}".rstrip("0").rstrip(".") + " m" if units == "m" else format_length(value, units)


def problems(found: Sequence[Problem], console: Console, path: str = "") -> None:
    """Everything wrong with a file, one problem a line, by line of the file."""
    for problem in sorted(found, key=lambda p: (p.line is None, p.line or 0)):
        text.line(console, f"{path}: {problem}" if path else str(problem))
