"""Usual slips of people who write a file by hand or paste into it, each with the right way to write it.

Units without quotes, decimal commas, columns out of a spreadsheet, "weekly".  Text goes in, text comes out;
what is told for a line of the file has been read as TOML before.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Sequence

Slip = tuple[str, str]
"""What is wrong, and what would mend it."""

_FIGURE = r"-?(?:\d{1,9}(?:[.,]\d{1,9})?|\.\d{1,9})"
_FRACTION = rf"(?:{_FIGURE}[ -]\d{{1,3}}/\d{{1,3}}|\d{{1,3}}/\d{{1,3}}|{_FIGURE})"
_UNIT = r"(?:mm|cm|metres?|meters?|m|feet|foot|ft|inch(?:es)?|in|''|['\"′″’”])"
_MEASURE = rf"{_FRACTION}\s*{_UNIT}"
_LENGTH = re.compile(rf"(?<![\w.,/'\"-]){_MEASURE}(?:\s*-?\s*{_MEASURE})?(?![\w'\"])", re.IGNORECASE)
_TWO = re.compile(
    rf"\[?\s*({_FIGURE})\s*({_UNIT})?\s*([x×;]|\bby\b|,\s|\s)\s*({_FIGURE})\s*({_UNIT})?\s*\]?",
    re.IGNORECASE,
)
_FOUR = re.compile(r"\[\s*(-?\d{1,9}),(\d{1,9})\s*,\s*(-?\d{1,9}),(\d{1,9})\s*\]")
_COMMA = re.compile(r"(=\s*-?\d{1,9}),(\d{1,9})(?=\s*(?:$|\}|,\s))")
_STRING = re.compile(r"((?<![^\s=,\[{(])(?:\"[^\"]*\"|'[^']*'))")
_BARE = re.compile(r"(=\s*)((?:[^\W\d]|\d+[ x]+[^\W\d])[^\"'\[\]{}]*)$")
_WORD = re.compile(r"(?<=[\[,\s])(?!true\b|false\b)([^\W\d][\w:-]*)(?=\s*[,\]])")
_ROW = re.compile(rf"{_FIGURE}(?:(?:[\s;]+|,\s+){_FIGURE})+")
_NAMED = re.compile(
    rf"([^\W\d][\w -]*?)[\s;,]+({_FIGURE})[\s;,]+({_FIGURE})(?:[\s;,]+(north|east|south|west))?",
    re.IGNORECASE,
)
_OPEN = re.compile(r"([\w.-]+)\s*=\s*\[?")
_TABLE = re.compile(r"\[+([^\[\]]+)\]+")
_MORE = 2
"""Rows of pasted columns that are shown as they are written; the rest is dots."""
_LONG = 100
"""Letters of a mended line that are shown."""


def in_toml(rows: Sequence[str], line: int) -> Slip | None:
    """What is wrong with ``line`` (from 1), which is no TOML, where that is a usual slip."""
    text = _without_comment(rows[line - 1]) if 0 < line <= len(rows) else ""
    return _in_line(text) or _columns(rows, line) or _named_row(text, _table_of(rows, line))


def _in_line(text: str) -> Slip | None:
    """A slip in ``key = value``, or in one line of a list: mended step by step until it can be read."""
    said = ""
    steps: tuple[tuple[str, Callable[[str], str]], ...] = (
        ("a list goes in square brackets", _squared),
        ("two figures go in brackets, with a comma between", _bracketed),
        ("a length with its unit goes in quotes", lambda t: _outside(t, _units_quoted)),
        ("decimals go after a point", lambda t: _outside(t, _pointed)),
        ("text goes in quotes", lambda t: _text_quoted(_outside(t, _words_quoted))),
    )
    for what, step in steps:
        mended = step(text)
        if mended != text:
            said, text = said or what, mended
            if _reads(text):
                return said, f"write {_told(text)}"
    return None


def _told(text: str) -> str:
    """A mended line as it is shown: short, and with "1 per week" for weekly right away."""
    text = " ".join(text.removesuffix(",").split())
    often = re.fullmatch(r'(times = )"([^"]*)"', text)
    if often and frequency(often[2]):
        return often[1] + frequency(often[2])
    return text if len(text) <= _LONG else f"{text[: _LONG - 3]}..."


def _squared(text: str) -> str:
    return re.sub(r"=\s*\((.*)\)$", r"= [\1]", text)


def _bracketed(text: str) -> str:
    key, equals, value = text.partition("=")
    value = value.strip()
    if not equals or _LENGTH.fullmatch(value) or (value.startswith("[") and ", " in value):
        return text
    found = _TWO.fullmatch(value)
    return f"{key.rstrip()} = {_pair(found)}" if found else text


def _pair(found: re.Match[str]) -> str:
    """Two lengths of a text; a unit behind the second of 2 x 3 ft is that of both."""
    first, unit, between, second, other = found.groups()
    if between.strip().lower() in ("x", "×", "by"):
        unit, other = unit or other, other or unit
    return f"[{_one(first, unit)}, {_one(second, other)}]"


def _one(figure: str, unit: str | None) -> str:
    figure = figure.replace(",", ".")
    return f'"{figure} {_unit_word(unit)}"' if unit else figure


def _unit_word(unit: str) -> str:
    return {"'": "ft", "′": "ft", "’": "ft", '"': "in", "″": "in", "”": "in", "''": "in"}.get(unit, unit)


def _units_quoted(text: str) -> str:
    return _LENGTH.sub(lambda found: f'"{_spaced(found[0])}"', text)


def _spaced(length: str) -> str:
    """``7' 6"`` and ``20ft`` with their units in words and a blank before each."""
    parts = re.findall(rf"({_FRACTION})\s*({_UNIT})", length, re.IGNORECASE)
    return " ".join(f"{figure.replace(',', '.').lstrip('-')} {_unit_word(unit)}" for figure, unit in parts)


def _pointed(text: str) -> str:
    text = _COMMA.sub(r"\1.\2", _FOUR.sub(r"[\1.\2, \3.\4]", text))
    return re.sub(r"(?<=[\s=,\[])\.(?=\d)", "0.", text)


def _words_quoted(text: str) -> str:
    return _WORD.sub(r'"\1"', text)


def _text_quoted(text: str) -> str:
    return _BARE.sub(lambda found: f'{found[1]}"{found[2].rstrip()}"', text)


def _outside(text: str, mend: Callable[[str], str]) -> str:
    """The text with what stands outside its strings mended."""
    return "".join(part if k % 2 else mend(part) for k, part in enumerate(_STRING.split(text)))


def _without_comment(text: str) -> str:
    kept = ""
    for k, part in enumerate(_STRING.split(text)):
        if k % 2 == 0 and "#" in part:
            return (kept + part[: part.index("#")]).strip()
        kept += part
    return kept.strip()


def _reads(text: str) -> bool:
    """Whether a line is TOML, be it one of a list or the first of one."""
    for before, after in (("", ""), ("", "]"), ("", "]]"), ("", "}"), ("x = [", "]"), ("x = [[", "]")):
        try:
            tomllib.loads(f"{before}{text}{after}")
        except ValueError:
            continue
        return True
    return False


def _columns(rows: Sequence[str], line: int) -> Slip | None:
    """Rows of figures pasted below each other, at the line or from the next one on."""
    at = line - 1
    if 0 <= at < len(rows) and _OPEN.fullmatch(rows[at].strip()):
        at += 1
    found: list[str] = []
    while at + len(found) < len(rows) and _ROW.fullmatch(rows[at + len(found)].strip()):
        found.append(rows[at + len(found)])
    if not found:
        return None
    key = _OPEN.fullmatch(rows[at - 1].strip()) if at > 0 else None
    written = [f"[{', '.join(_figures(row))}]" for row in found[:_MORE]]
    dots = ", ..." if len(found) > _MORE else ""
    return (
        "columns of figures go in brackets",
        f"write {key[1] if key else 'outline'} = [{', '.join(written)}{dots}]",
    )


def _figures(row: str) -> list[str]:
    return [figure.replace(",", ".") for figure in re.findall(_FIGURE, re.sub(r",\s", " ", row))]


def _named_row(text: str, table: str) -> Slip | None:
    """A row of a table of names, places or sizes."""
    found = _NAMED.fullmatch(text)
    if found is None:
        return None
    name, x, y, facing = found.groups()
    key = name if re.fullmatch(r"[\w-]+", name) else f'"{name}"'
    pair = f"[{x.replace(',', '.')}, {y.replace(',', '.')}]"
    if table.startswith("layouts"):
        mend = f'write {key} = {{ at = {pair}, facing = "{(facing or "south").lower()}" }}'
    else:
        mend = f"write [stations.{key}] and below it size = {pair}"
    return "a row of columns is no TOML", mend


def _table_of(rows: Sequence[str], line: int) -> str:
    """The name of the table that a line belongs to."""
    heads = [found[1] for row in rows[:line] if (found := _TABLE.fullmatch(_without_comment(row)))]
    return heads[-1] if heads else ""


def two_lengths(text: str) -> str:
    """How two lengths are written that stand in one text; "" where it holds none."""
    found = _TWO.fullmatch(text.strip())
    return _pair(found) if found else ""


def split_by_commas(values: Sequence[object]) -> str:
    """How two figures are written whose decimal commas made more of them: ``[3,5, 2,4]`` is four."""
    if not all(isinstance(v, int) and not isinstance(v, bool) for v in values):
        return ""
    if len(values) == 4:
        return "[{}.{}, {}.{}]".format(*values)
    return "[{0}.{1}, {2}] or [{0}, {1}.{2}]".format(*values) if len(values) == 3 else ""


def ring(value: object) -> str:
    """How the points of an outline are written that stand in one text, or one after the other."""
    if isinstance(value, str):
        figures = _figures(value) if re.fullmatch(rf"(?:{_FIGURE}|[\s;,\[\]()])+", value) else []
    elif isinstance(value, list) and all(isinstance(v, (int, float)) for v in value):
        figures = [str(v) for v in value]
    else:
        return ""
    if len(figures) < 6 or len(figures) % 2:
        return ""
    points = [f"[{x}, {y}]" for x, y in zip(figures[:4:2], figures[1:4:2], strict=True)]
    return f"[{', '.join(points)}, ...]"


def decimal_comma(text: str) -> str:
    """A length without its comma, as a file takes it; "" where there is none.

    Three figures after it may be decimals or thousands: where no workshop has use for the one, the other.
    """
    found = re.fullmatch(rf"\s*(-?\d{{1,9}}),(\d{{1,9}})\s*({_UNIT})?\s*", text, re.IGNORECASE)
    if found is None:
        return ""
    whole, decimals, unit = found.groups()
    point, parted = _one(f"{whole}.{decimals}", unit), _one(f"{whole}{decimals}", unit)
    if len(decimals) != 3 or (unit or "").lower() in ("m", "ft", "feet", "'"):
        return point
    return parted if unit == "mm" else f"{point}, or {parted} where it parts thousands"


_COUNTS = {"once": 1, "one": 1, "twice": 2, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6}
_COUNT = rf"(?:\d{{1,6}}(?:[.,]\d{{1,6}})?|{'|'.join(_COUNTS)})"
_PERIOD = r"(dai|day|week|month|year|annual|fortnight|quarter)(?:s|ly|y|ally)?"
_OFTEN = re.compile(rf"({_COUNT})?\s*(?:x|times?)?\s*(?:per|an?|each|every|in an?|/)?\s*{_PERIOD}")
_EVERY = re.compile(rf"(?:once\s+)?every\s+({_COUNT}|other|second)\s+{_PERIOD}")
_BETWEEN = re.compile(
    rf"({_COUNT})\s*(?:-|–|to|or)\s*({_COUNT})\s*(?:x|times?)?\s*(?:per|an?|each|/)?\s*{_PERIOD}"
)
_EITHER = re.compile(r"bi-?(week|month)ly")
_A_YEAR = {"day": 365, "week": 52, "month": 12, "year": 1}
_MEANT = {"dai": ("day", 1.0), "annual": ("year", 1.0), "fortnight": ("week", 0.5), "quarter": ("year", 4.0)}


def frequency(text: str) -> str:
    """How often, as a file takes it: ``"1 per week"`` for weekly; "" where that is not to be guessed."""
    said = " ".join(text.lower().replace("×", "x").split())
    if re.fullmatch(r"(?:on |every )?(?:weekday|workday|working day)s?", said):
        return '"5 per week"'
    if found := _EITHER.fullmatch(said):
        return f'"2 per {found[1]}" or "{_A_YEAR[found[1]] // 2} per year"'
    if found := _EVERY.fullmatch(said):
        period, times = _MEANT.get(found[2], (found[2], 1.0))
        gap = 2.0 if found[1] in ("other", "second") else _count(found[1])
        return f'"{_A_YEAR[period] * times / gap:.4g} per year"' if gap else ""
    if found := _BETWEEN.fullmatch(said):
        period, times = _MEANT.get(found[3], (found[3], 1.0))
        low, high = (times * _count(found[k]) for k in (1, 2))
        return (
            f'"{(low + high) / 2:g} per {period}", with times_range = ["{low:g} per {period}", '
            f'"{high:g} per {period}"] for how sure that is'
        )
    if found := _OFTEN.fullmatch(said):
        period, times = _MEANT.get(found[2], (found[2], 1.0))
        return f'"{times * _count(found[1] or "once"):g} per {period}"'
    return ""


def _count(word: str) -> float:
    return float(_COUNTS.get(word) or word.replace(",", "."))
