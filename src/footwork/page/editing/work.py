"""Edits of jobs: the stops in the order one goes, repeats, and how often."""

from __future__ import annotations

import re
from typing import Any

from footwork.model import spelling
from footwork.model.errors import ScenarioError, UsageError
from footwork.model.lines import without_elements
from footwork.model.scenario import Scenario
from footwork.page.editing import asked
from footwork.page.editing.asked import Message
from footwork.page.editing.building import Changed
from footwork.page.editing.document import (
    IN_THE_FILE,
    dotted,
    raw,
    read,
    renamed,
    value,
    with_keys,
    with_new,
    without,
)

WIDE = 100
"""Letters of a line above which a route goes on several."""
DEEPEST = 10


def job(scenario: Scenario, message: Message) -> Changed:
    """Make a job, or change how often it is done and the stops of its route."""
    name = asked.needed(message, "name", "the job's name")
    times = asked.needed(message, "times", "how often it is done")
    route = [_item(item, 0) for item in asked.entries(message, "route")]
    known = raw(scenario.text).get("jobs", {})
    if name not in known:
        if not route:
            raise UsageError(f"{name}: choose its first stop")
        keys = {"times": value(_times(times)), "route": _spelt(route)}
        return Changed(with_new(scenario.text, ("jobs", name), keys), f"make job {name}")
    new_name = asked.word(message, "new_name")
    if new_name and new_name != name:
        if new_name in known:
            raise UsageError(f"there is a job {new_name!r} already; give this one another name")
        return Changed(renamed(scenario.text, ("jobs", name), new_name), f"rename job {name} to {new_name}")
    if not route:
        raise UsageError(f"{name}: one stop has to stay; delete the job if it is no longer done")
    text = with_keys(scenario.text, ("jobs", name), {"times": value(_times(times))})
    text, gone = _without_unfit(_with_route(text, name, route), name, scenario)
    notes = (f"{gone} of its carry and minutes have no leg or stop any more and are gone",) if gone else ()
    return Changed(text, f"change job {name}", notes)


_UNFIT = re.compile(r"\.(?:carry\[(\d+)\]|minutes\.(.+))")


def _without_unfit(text: str, name: str, scenario: Scenario) -> tuple[str, int]:
    """The text without loads and minutes that the reader finds no leg or stop for; and how many they were."""
    try:
        read(text, scenario.path)
    except ScenarioError as fault:
        here = f"jobs.{spelling.key(name)}."
        found = [_UNFIT.search(p.where) for p in fault.problems if p.where.startswith(here)]
        table = raw(text)["jobs"][name]
        carry = {int(m[1]) - 1 for m in found if m and m[1]}
        stops = {m[2].strip('"') for m in found if m and m[2]}
        minutes = {word: given for word, given in table.get("minutes", {}).items() if word not in stops}
        if carry and len(carry) == len(table["carry"]):
            text = with_keys(text, ("jobs", name), {"carry": None})
        elif carry:
            text = without_elements(text, [("jobs", name, "carry", k) for k in carry])
        if stops:
            text = with_keys(text, ("jobs", name), {"minutes": value(minutes) if minutes else None})
        return text, len(carry) + len(stops)
    return text, 0


def _times(text: str) -> str | float:
    """As the file has it: a bare number of the page is times a week."""
    try:
        number = float(text)
    except ValueError:
        return text
    return f"{number:g} per week"


def _item(item: Any, depth: int) -> Any:
    """A stop, or a repeat of stops; UsageError for anything else."""
    if isinstance(item, str) and item:
        return item
    if isinstance(item, dict) and depth < DEEPEST:
        times, route = item.get("repeat"), item.get("route")
        if isinstance(times, int) and not isinstance(times, bool) and isinstance(route, list) and route:
            return {"repeat": times, "route": [_item(each, depth + 1) for each in route]}
    raise UsageError("the page sent no route")


def _spelt(route: list[Any]) -> str:
    """A route as TOML, on several lines where one would be long."""
    line = value(route)
    if len(line) <= WIDE:
        return line
    rows, row = [], ""
    for item in map(value, route):
        if row and len(row) + len(item) > WIDE - 6:
            rows.append(row)
            row = ""
        row += f"{item}, "
    rows.append(row)
    return "[\n" + "".join(f"    {row.rstrip()}\n" for row in rows) + "]"


def _with_route(text: str, name: str, route: list[Any]) -> str:
    """The text with another route; the stops that stay, and what is said beside them, are left alone."""
    import tomlkit

    if raw(text)["jobs"][name]["route"] == route:
        return text
    doc: Any = tomlkit.parse(text)
    try:
        there = doc["jobs"][name]["route"]
        plain = there.unwrap()
        same = 0
        while same < min(len(plain), len(route)) and plain[same] == route[same]:
            same += 1
        after = 0
        while after < min(len(plain), len(route)) - same and plain[-1 - after] == route[-1 - after]:
            after += 1
        for k in reversed(range(same, len(plain) - after)):
            del there[k]
        for k, item in enumerate(route[same : len(route) - after]):
            there.insert(same + k, tomlkit.value(value(item)))
        new = tomlkit.dumps(doc)
        if raw(new)["jobs"][name]["route"] == route:
            return new
    except (LookupError, ValueError, TypeError, AttributeError):
        pass
    text = with_keys(text, ("jobs", name), {"route": _spelt(route)})
    if raw(text)["jobs"][name]["route"] != route:
        raise UsageError(f"{dotted(('jobs', name, 'route'))}: {IN_THE_FILE}")
    return text


def without_job(scenario: Scenario, message: Message) -> Changed:
    """Delete a job."""
    name = asked.word(message, "name")
    if name not in {each.name for each in scenario.jobs}:
        raise UsageError(f"there is no job {name!r}")
    return Changed(without(scenario.text, ("jobs", name)), f"delete job {name}")
