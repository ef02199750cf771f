"""Arrange a home workshop so that the work done in it takes less walking.

Some verbs and the objects they take and give::

    import footwork

    scenario = footwork.load("scenarios/gate-shed.toml")
    today = footwork.score(scenario)                        # the file's first layout
    better = footwork.suggest(scenario, "today", seconds=20)
    spots = footwork.where(scenario, "drill", "today")      # of one thing, all else staying
    tried, layout = footwork.apply(scenario, "today", "turn bench 90", "room 11x7")
    footwork.save(scenario, layout, "turned bench")         # into the scenario's own file
    footwork.draw(scenario, layout, "plan.svg")
    footwork.report(scenario, better, "report.html")        # one page: plans, jobs, checks, what to move
    footwork.look(scenario, layout)                         # the same plan in a notebook
    counted = footwork.tally(scenario, "visits.csv")        # how often each job is done, and how sure that is
    rooms = footwork.sizes(scenario, [(6, 4), (7, 4.5)])    # the best layout for each size, and the knee
    places = footwork.fit(scenario, footwork.Machine("mill", like="milling machine"), moves=1)
    few = footwork.weekend(scenario, most=4)             # what each number of moves saves, and their order
    sure = footwork.robust(scenario, percent=30)            # which to choose while frequencies are guesses
    turns = footwork.seasons(scenario)                      # whether another layout each season pays
    placed = footwork.assign(flow, distance)                # a plain assignment problem, as matrices

All lengths are metres, x runs east, y north, bearings are degrees clockwise from north.  Every
error raised on purpose is a :class:`FootworkError`, whose ``lines`` are ready to show.

Results show themselves in a notebook, and turn into objects of other libraries: ``to_pandas``,
``to_shapely``, ``to_networkx``.

Names are imported when first used, so that ``import footwork`` stays light.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from footwork.arrange.assignment.assign import assign
    from footwork.arrange.assignment.problem import Assignment
    from footwork.arrange.core.results import Suggestion
    from footwork.arrange.suggest import suggest
    from footwork.checks.result import CheckResult
    from footwork.elsewhere.answer import Elsewhere, where
    from footwork.floor.graph import visibility_graph
    from footwork.floor.plan import Plan
    from footwork.floor.scene import Scene
    from footwork.model.errors import FootworkError, ScenarioError
    from footwork.model.read import load
    from footwork.model.scenario import Layout, Placement, Scenario
    from footwork.model.write import save
    from footwork.scoring import Score, score
    from footwork.show.convert import to_networkx, to_pandas, to_shapely
    from footwork.show.draw import draw
    from footwork.show.mark_out import mark_out
    from footwork.show.notebook import look
    from footwork.show.report.write import report
    from footwork.study.fit import Fit, Machine, fit
    from footwork.study.random_shed import random_shed
    from footwork.study.robust import Robust, robust
    from footwork.study.seasons import Seasons, seasons
    from footwork.study.sizes import Sizes, sizes
    from footwork.study.tally import Tally, tally
    from footwork.study.weekend import Weekend, weekend
    from footwork.whatif import Change, Session, apply

__all__ = [
    "Assignment",
    "Change",
    "CheckResult",
    "Elsewhere",
    "Fit",
    "FootworkError",
    "Layout",
    "Machine",
    "Placement",
    "Plan",
    "Robust",
    "Scenario",
    "ScenarioError",
    "Scene",
    "Score",
    "Seasons",
    "Session",
    "Sizes",
    "Suggestion",
    "Tally",
    "Weekend",
    "apply",
    "assign",
    "draw",
    "fit",
    "load",
    "look",
    "mark_out",
    "random_shed",
    "report",
    "robust",
    "save",
    "score",
    "seasons",
    "sizes",
    "suggest",
    "tally",
    "to_networkx",
    "to_pandas",
    "to_shapely",
    "visibility_graph",
    "weekend",
    "where",
]

_HOMES = {
    "Assignment": "footwork.arrange.assignment.problem",
    "Change": "footwork.whatif",
    "CheckResult": "footwork.checks.result",
    "Elsewhere": "footwork.elsewhere.answer",
    "Fit": "footwork.study.fit",
    "FootworkError": "footwork.model.errors",
    "Layout": "footwork.model.scenario",
    "Machine": "footwork.study.fit",
    "Placement": "footwork.model.scenario",
    "Plan": "footwork.floor.plan",
    "Robust": "footwork.study.robust",
    "Scenario": "footwork.model.scenario",
    "ScenarioError": "footwork.model.errors",
    "Scene": "footwork.floor.scene",
    "Score": "footwork.scoring",
    "Session": "footwork.whatif",
    "Seasons": "footwork.study.seasons",
    "Sizes": "footwork.study.sizes",
    "Suggestion": "footwork.arrange.core.results",
    "Tally": "footwork.study.tally",
    "Weekend": "footwork.study.weekend",
    "apply": "footwork.whatif",
    "assign": "footwork.arrange.assignment.assign",
    "draw": "footwork.show.draw",
    "fit": "footwork.study.fit",
    "load": "footwork.model.read",
    "look": "footwork.show.notebook",
    "mark_out": "footwork.show.mark_out",
    "random_shed": "footwork.study.random_shed",
    "report": "footwork.show.report.write",
    "robust": "footwork.study.robust",
    "save": "footwork.model.write",
    "score": "footwork.scoring",
    "seasons": "footwork.study.seasons",
    "sizes": "footwork.study.sizes",
    "suggest": "footwork.arrange.suggest",
    "tally": "footwork.study.tally",
    "to_networkx": "footwork.show.convert",
    "to_pandas": "footwork.show.convert",
    "to_shapely": "footwork.show.convert",
    "visibility_graph": "footwork.floor.graph",
    "weekend": "footwork.study.weekend",
    "where": "footwork.elsewhere.answer",
}


def __getattr__(name: str) -> object:
    try:
        home = _HOMES[name]
    except KeyError:
        raise AttributeError(f"module 'footwork' has no attribute {name!r}") from None
    value: object = getattr(import_module(home), name)
    globals()[name] = value
    _wire()
    return value


def _wire() -> None:
    """Let results show themselves in a notebook: they ask ``model/showing.py``, which gets the maker from
    here, because no room may import ``show/`` from below."""
    from footwork.model.showing import show_with

    show_with(_html)


def _html(result: object) -> str | None:
    from footwork.show.notebook import html

    return html(result)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
