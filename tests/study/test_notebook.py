"""Results of studies show themselves in a notebook: as tables, and their charts with ``look``."""

from __future__ import annotations

import footwork  # noqa: F401
from footwork.show.notebook import html, look
from footwork.study.fit import Fit
from footwork.study.robust import Robust
from footwork.study.seasons import Seasons
from footwork.study.sizes import Sizes
from footwork.study.weekend import Weekend


def test_studies_show_themselves(
    some_sizes: Sizes, some_moves: Weekend, guesses: Robust, bins: Fit, turns: Seasons
) -> None:
    for result, said in (
        (some_sizes, "least up to this size"),
        (some_moves, "of all"),
        (guesses, "greatest regret"),
        (bins, "bin fits in"),
        (turns, "Into winter" if turns.best else "one layout for the year"),
    ):
        told = html(result)
        assert told is not None
        assert said in told
        assert look(result).svg.count("<svg") == 1  # type: ignore[arg-type]
