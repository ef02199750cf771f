"""Each study of the small rooms, searched once for all tests that look at what it found."""

from __future__ import annotations

import pytest

from footwork.study.cases import Engine
from footwork.study.fit import Fit, Machine, fit
from footwork.study.robust import Robust, robust
from footwork.study.seasons import Seasons, seasons
from footwork.study.sizes import Sizes, sizes
from footwork.study.weekend import Weekend, weekend
from study.rooms import QUICK, TURN_QUICK, WANTED, nook, turn


@pytest.fixture(scope="session")
def some_sizes() -> Sizes:
    """``WANTED``, in some of which nothing fits."""
    return sizes(nook(), WANTED, effort=QUICK, engine=Engine(1))


@pytest.fixture(scope="session")
def some_moves() -> Weekend:
    return weekend(nook(), most=2, effort=QUICK, engine=Engine(1))


@pytest.fixture(scope="session")
def guesses() -> Robust:
    return robust(nook(), effort=QUICK, engine=Engine(1))


@pytest.fixture(scope="session")
def bins() -> Fit:
    """Every place where a bin fits."""
    return fit(nook(), Machine("bin", (0.3, 0.3)), effort=QUICK, show=99)


@pytest.fixture(scope="session")
def turns() -> Seasons:
    return seasons(turn(), most=1, effort=TURN_QUICK, engine=Engine(1))
