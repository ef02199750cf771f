"""How good a suggestion is, in words and figures."""

from __future__ import annotations

import math
from dataclasses import dataclass

from footwork.arrange.core.results import Suggestion
from footwork.show import text
from footwork.show.costs import cost_parts
from footwork.show.suggest_tables import anywhere_words, bound_words
from footwork.show.unavoidable import unavoidable_lines, uncounted_words
from footwork.show.walked import Walked


@dataclass(frozen=True)
class Proof:
    """``lead`` says it in sentences; ``rows`` are figures with what they are and what they mean."""

    lead: tuple[str, ...]
    rows: tuple[tuple[str, str, str], ...]
    searched: str


def proof(found: Suggestion, told: Walked) -> Proof:
    """Cost, bound and gap of the best layout of a search."""
    best = found.layouts[0]
    anywhere = found.anywhere
    parts = text.listed(["walking", *(name for name, _ in cost_parts([best])[:-1])])
    rows = [("Cost", told.a_year(best.cost), f"what the suggested layout takes: {parts}")]
    if anywhere is not None:
        rows.append(("On spots", told.a_year(anywhere.on_spots), "what the best layout on spots takes"))
    if found.status != "none" and math.isfinite(found.bound):
        bound = found.cost_on_spots if found.status == "proven" else found.bound
        rows += _bounded(told.a_year(bound), found.gap, "no layout on these spots costs less", "on spots")
    if anywhere is not None and anywhere.status != "none":
        proven = "no layout in any position costs less"
        rows += _bounded(told.a_year(anywhere.bound), anywhere.gap, proven, "anywhere")
    spots = text.plural(found.spots, "spot")
    impossible = (
        f"In this room {check} cannot hold: {why}." for check, why in unavoidable_lines(found, told.unit)
    )
    left_out = filter(None, (uncounted_words(found),))
    return Proof(
        (bound_words(found, told), *anywhere_words(found, told), *left_out, *impossible),
        tuple(rows),
        f"Searched {spots}, seed {found.seed}. A spot is a place and a facing at which a station may stand; "
        "the proof on spots is about these, not about every place there is.",
    )


def _bounded(bound: str, gap: float, proven: str, where: str) -> list[tuple[str, str, str]]:
    return [
        (f"Bound, {where}", bound, f"a proven limit: {proven}"),
        (f"Gap, {where}", text.percent(gap), "how far the bound lies below the cost: the most left to save"),
    ]
