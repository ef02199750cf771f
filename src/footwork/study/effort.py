"""How long and how finely each case of a study is searched."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from footwork.arrange.core.results import Suggestion
from footwork.arrange.suggest import suggest
from footwork.model.errors import NoLayoutError
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import placements_dict

SECONDS = 10.0
"""For each case, where nobody says."""


@dataclass(frozen=True, slots=True)
class Effort:
    """As the arguments of ``suggest``, of each case: ``iterations`` instead of ``seconds`` makes what it
    finds depend on ``seed`` alone."""

    seconds: float = SECONDS
    iterations: int | None = None
    pitch: float | None = None
    facings: int = 4
    seed: int = 1
    strict: bool = False

    def suggestion(self, scenario: Scenario, base: Layout | None, **more: Any) -> Suggestion:
        """What ``suggest`` finds with it, on one core: a study runs a case on each."""
        return suggest(
            scenario,
            base,
            seconds=self.seconds,
            iterations=self.iterations,
            pitch=self.pitch,
            facings=self.facings,
            seed=self.seed,
            strict=self.strict,
            processes=1,
            **more,
        )

    def found(self, scenario: Scenario, base: Layout | None, **more: Any) -> dict[str, Any]:
        """The best layout of ``suggestion`` as plain JSON; ``why`` instead where there is none."""
        try:
            best = self.suggestion(scenario, base, **more)
        except NoLayoutError as fault:
            return {"why": fault.lines[0]}
        return {
            "placements": placements_dict(best.best.placements),
            "cost": best.best.cost,
            "metres": best.best.metres_per_year,
            "hours": best.best.hours_per_year,
            "bound": min(best.bound, best.best.cost),
            "finished": best.finished,
        }


def layout_of(placements: Mapping[str, Any], name: str) -> Layout:
    """The layout that ``placements_dict`` was made of."""
    places = ((thing, (*place["at"], place["facing"])) for thing, place in placements.items())
    return Layout(name, {thing: Placement(x, y, facing) for thing, (x, y, facing) in places})
