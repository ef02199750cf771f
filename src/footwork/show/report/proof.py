"""How good a suggestion is, in words and figures."""

from __future__ import annotations

import math
from dataclasses import dataclass

from footwork.arrange.suggestion import Suggestion
from footwork.show import text
from footwork.show.suggest_tables import bound_words


@dataclass(frozen=True)
class Proof:
    """``lead`` in one sentence; ``rows`` are figures with what they are and what they mean."""

    lead: str
    rows: tuple[tuple[str, str, str], ...]
    searched: str


def proof(found: Suggestion) -> Proof:
    """Cost, bound and gap of the best layout of a search."""
    best = found.layouts[0]
    known = found.status != "none" and math.isfinite(found.bound)
    wishes = " and your wishes" if best.prefer_metres else ""
    rows = [
        ("Cost", f"{text.whole(best.cost)} m a year", f"what the suggested layout takes: walking{wishes}")
    ]
    if known:
        bound = best.cost if found.status == "proven" else found.bound
        gap = 0.0 if found.status == "proven" else found.gap
        rows += [
            ("Bound", f"{text.whole(bound)} m a year", "a proven limit: no layout on these spots costs less"),
            (
                "Gap",
                text.percent(gap),
                "how far the bound lies below the cost: the most that is left to save",
            ),
        ]
    spots = text.plural(found.spots, "spot")
    return Proof(
        bound_words(found),
        tuple(rows),
        f"Searched {spots}, seed {found.seed}. A spot is a place and a facing at which a station may stand; "
        "the proof is about these spots, not about every place there is.",
    )
