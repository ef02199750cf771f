"""Results of studies show themselves in a notebook: as tables, and their charts with ``look``."""

from __future__ import annotations

import footwork  # noqa: F401
from footwork.show.notebook import html, look
from footwork.study.cases import Engine
from footwork.study.fit import Machine, fit
from footwork.study.robust import robust
from footwork.study.sizes import sizes
from footwork.study.weekend import weekend
from study.rooms import QUICK, nook


def test_studies_show_themselves() -> None:
    scenario, engine = nook(), Engine(1)
    for result, said in (
        (sizes(scenario, [(3.0, 2.6), (3.5, 2.6)], effort=QUICK, engine=engine), "least up to this size"),
        (weekend(scenario, most=1, effort=QUICK, engine=engine), "of all"),
        (robust(scenario, effort=QUICK, engine=engine), "greatest regret"),
        (fit(scenario, Machine("bin", (0.3, 0.3)), effort=QUICK), "bin fits in"),
    ):
        told = html(result)
        assert told is not None
        assert said in told
        assert look(result).svg.count("<svg") == 1  # type: ignore[arg-type]
