"""What a plan is asked to show."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from footwork.model.scenario import Layout, Scenario
from footwork.scoring import JobScore, Score
from footwork.show import ink
from footwork.show.sheet import Wish
from footwork.show.walking import Density

if TYPE_CHECKING:
    from footwork.elsewhere.answer import Elsewhere


@dataclass(frozen=True)
class Before:
    """The layout that a plan is compared with, and its figures."""

    layout: Layout
    score: Score


@dataclass(frozen=True)
class Request:
    """A layout with its figures, and what to lay over it.

    ``job``: its route; ``standing``: the hours; ``walking``: the density of all walking; ``before``: what
    has moved since that layout; ``elsewhere``: where else one thing could stand.
    ``wish``: the scale and the paper asked for.
    ``unsaved``: the layout is what moves made of the one of its name, and no file has it.
    """

    scenario: Scenario
    layout: Layout
    score: Score
    job: JobScore | None = None
    standing: bool = False
    walking: Density | None = None
    before: Before | None = None
    elsewhere: Elsewhere | None = None
    wish: Wish | None = None
    unsaved: bool = False

    @property
    def plain(self) -> bool:
        """Whether nothing is laid over the plan; it then shows every check that fails, else the musts."""
        over = (self.job, self.walking, self.before, self.elsewhere)
        return not self.standing and all(each is None for each in over)

    @property
    def out(self) -> frozenset[str]:
        """Vehicles that are out in the state that the job's legs are drawn for."""
        if self.job is None or not self.job.states:
            return frozenset()
        main = max(self.job.states, key=lambda s: s.share)
        return frozenset(v.name for v in self.scenario.vehicles) - frozenset(main.vehicles_in)

    @property
    def job_color(self) -> str:
        """The colour of the job's route, by its place in the file."""
        names = [job.name for job in self.scenario.jobs]
        return ink.ROUTES[names.index(self.job.name) % len(ink.ROUTES)] if self.job else ink.INK
