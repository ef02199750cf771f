"""Results as objects of other libraries: pandas tables, shapely shapes, networkx graphs.

pandas is an optional part of footwork: it is imported when a table is asked for.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any

from footwork.floor.plan import Plan
from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import Score, find_layout

if TYPE_CHECKING:
    import networkx as nx
    import pandas as pd
    import shapely


def _jobs(score: Score) -> list[dict[str, Any]]:
    return [
        {
            "job": job.name,
            "times_per_year": job.times_per_year,
            "metres_each": job.metres_each,
            "metres_per_year": job.metres_per_year,
            "squeezed_metres_each": job.squeezed_each,
            "one_step_share": job.one_step_share,
        }
        for job in score.jobs
    ]


def _legs(score: Score) -> list[dict[str, Any]]:
    return [
        {
            "job": job.name,
            "leg": number,
            "from": leg.start.name,
            "from_side": leg.start.side,
            "to": leg.end.name,
            "to_side": leg.end.side,
            "metres": leg.metres,
            "squeezed": leg.squeezed,
            "narrowest": leg.narrowest.width if leg.narrowest else None,
        }
        for job in score.jobs
        for number, leg in enumerate(job.legs, start=1)
    ]


def _from_to(score: Score) -> list[dict[str, Any]]:
    return [{"from": a, "to": b, "metres_per_year": metres} for (a, b), metres in score.from_to.items()]


def _standing(score: Score) -> list[dict[str, Any]]:
    return [
        {
            "station": place.station,
            "side": place.side,
            "x": place.at[0],
            "y": place.at[1],
            "hours_per_year": place.hours_per_year,
        }
        for place in score.standing
    ]


def _checks(score: Score) -> list[dict[str, Any]]:
    keys = ("id", "subject", "severity", "ok", "required", "actual", "unit", "source", "message")
    return [{key: getattr(check, key) for key in keys} for check in score.checks]


def _placements(score: Score) -> list[dict[str, Any]]:
    return [
        {"name": name, "x": place.x, "y": place.y, "facing": place.facing}
        for name, place in score.placements.items()
    ]


_TABLES: Mapping[str, tuple[Callable[[Score], list[dict[str, Any]]], tuple[str, ...]]] = {
    "jobs": (_jobs, ("job",)),
    "legs": (_legs, ("job", "leg")),
    "from_to": (_from_to, ("from", "to")),
    "standing": (_standing, ()),
    "checks": (_checks, ()),
    "placements": (_placements, ("name",)),
}


def to_pandas(score: Score, what: str = "jobs") -> pd.DataFrame:
    """Figures of a layout as a pandas table.

    ``what``: ``"jobs"`` (a row a job), ``"legs"`` (of every job, in order), ``"from_to"`` (metres a year by
    pair), ``"standing"`` (hours a year by place), ``"checks"`` or ``"placements"``.  Lengths are metres,
    bearings degrees.  Raises UsageError when pandas is missing, or there is no such table.
    """
    if what not in _TABLES:
        raise UsageError(f"there is no table {what!r}; {hint(what, _TABLES, 'tables')}")
    try:
        import pandas as pd
    except ImportError:
        raise UsageError("pandas is not there; install it with: pip install pandas") from None
    rows, index = _TABLES[what]
    found = rows(score)
    table = pd.DataFrame(found) if found else pd.DataFrame(columns=list(index))
    return table.set_index(list(index)) if index else table


def to_shapely(scenario: Scenario, layout: Layout | str | None = None) -> dict[str, shapely.Polygon]:
    """The footprint of every station and vehicle by name, and ``"room"`` for the floor inside the walls.

    Metres, x east and y north.  ``layout``: its name, itself, or the file's first.  Raises UsageError when
    there is none, or a thing has the name room.
    """
    import shapely

    plan = Plan(scenario, find_layout(scenario, layout))
    if "room" in plan.things:
        raise UsageError("a station named 'room' stands in the way of the room's own shape; rename it")
    shapes = {name: shapely.Polygon(plan.footprint(name)) for name in plan.things}
    return {"room": shapely.Polygon(scenario.room.outline), **shapes}


def to_networkx(score: Score) -> nx.DiGraph[str]:
    """The from-to chart as a directed graph.

    ``metres_per_year`` on each edge; ``at`` and ``facing`` on each station and vehicle; doors have neither.
    """
    import networkx as nx

    graph: nx.DiGraph[str] = nx.DiGraph(scenario=score.scenario, layout=score.layout)
    for name, place in score.placements.items():
        graph.add_node(name, at=place.at, facing=place.facing)
    for (start, end), metres in score.from_to.items():
        graph.add_edge(start, end, metres_per_year=metres)
    return graph
