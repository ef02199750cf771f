"""How often jobs are done, counted anew: written into the text of a file, whose comments stay."""

from __future__ import annotations

from collections.abc import MutableMapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from footwork.model import spelling
from footwork.model.compare import differing
from footwork.model.errors import ScenarioError, UsageError
from footwork.model.lines import with_table
from footwork.model.read import loads


@dataclass(frozen=True, slots=True)
class Recount:
    """A job's frequency and its range, as a file writes them, such as ``"3 per week"``.

    ``route`` is given for a job that the file does not have.
    """

    job: str
    times: str
    times_range: tuple[str, str]
    route: tuple[str, ...] | None = None


def recounted(text: str, counts: Sequence[Recount], path: Path | None = None) -> str:
    """The text of a scenario file with these frequencies in it; all else stays as it is.

    Raises UsageError where one cannot be written, and ScenarioError where the text is no scenario.
    """
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    before = loads(text, path)
    try:
        doc: Any = tomlkit.parse(text.replace("\r\n", "\n"))
        tables = [_put(doc, count) for count in counts]
        new = tomlkit.dumps(doc)
    except (TOMLKitError, LookupError, ValueError, TypeError, AttributeError) as fault:
        what = " ".join(str(fault).split())[:80] or type(fault).__name__
        raise UsageError(f"{path}: the counts cannot be written into it ({what})") from None
    for table in filter(None, tables):
        new = with_table(new, "jobs", table)
    new = new.replace("\n", "\r\n") if "\r\n" in text else new
    try:
        after = loads(new, path)
    except ScenarioError as fault:
        raise UsageError(*(f"with these counts, {problem}" for problem in fault.problems)) from None
    meant = {f"jobs.{count.job}" for count in counts}
    if others := [part for part in differing(before, after) if part not in meant]:
        raise UsageError(f"{path}: the counts would change {', '.join(others[:4])}; nothing is written")
    return new


def _put(doc: MutableMapping[str, Any], count: Recount) -> str:
    """Put a count into its job's table; a table of its own is returned as text."""
    import tomlkit

    low, high = map(spelling.string, count.times_range)
    if count.route is not None:
        route = ", ".join(spelling.string(word) for word in count.route)
        rows = f"times = {spelling.string(count.times)}\nroute = [{route}]\ntimes_range = [{low}, {high}]\n"
        if isinstance(doc.get("jobs"), tomlkit.items.InlineTable):
            inline = f"{{ {', '.join(rows.strip().splitlines())} }}"
            doc["jobs"][count.job] = tomlkit.parse(f"value = {inline}")["value"]
            return ""
        return f"[jobs.{spelling.key(count.job)}]\n{rows}"
    table = doc["jobs"][count.job]
    table["times"] = count.times
    pair: Any = tomlkit.parse(f"value = [{low}, {high}]")["value"]
    if isinstance(table, tomlkit.items.InlineTable) and "times_range" not in table:
        pair.trivia.trail = " "  # before the brace
    table["times_range"] = pair
    return ""
