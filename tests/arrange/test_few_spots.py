"""Rooms with few spots: a layout is found where there is one, and "none" is only said where it is proven."""

from __future__ import annotations

import numpy as np
import pytest

import footwork
from arrange.every_layout import every_score
from arrange.random_shops import Asked, random_shop
from footwork.arrange.core.pairwise import Restriction, assemble
from footwork.arrange.search.at_fault import at_fault
from footwork.arrange.search.exact_completion import Completion
from footwork.arrange.suggest import suggest
from footwork.model.errors import NoLayoutError
from footwork.model.read import loads
from footwork.model.scenario import Layout, Placement

# A bench shuts the only passage, 0.8 m wide between two posts, to a rack behind it wherever it stands.
PASSAGE = """
[room]
size = [4.0, 3.0]
doors = [{ name = "door", wall = "south", from = 0.3, width = 0.9, swing = "out" }]
fixtures = [
    { name = "lower post", at = [2.0, 0.55], size = [0.2, 1.1] },
    { name = "upper post", at = [2.0, 2.45], size = [0.2, 1.1] },
]
[stations]
bench = { size = [1.0, 0.5] }
rack = { size = [0.8, 0.4] }
stool = { size = [0.3, 0.3], stand = [] }
[[spots]]
at = [1.6, 1.5]
facing = "west"
takes = ["bench"]
[[spots]]
at = [3.6, 1.5]
facing = "west"
takes = ["rack"]
[[spots]]
at = [0.3, 2.7]
facing = "south"
takes = ["stool"]
[[spots]]
at = [3.7, 0.3]
facing = "north"
takes = ["stool"]
[jobs.fetch]
times = "1 per week"
route = ["door:door", "rack"]
[jobs.work]
times = "1 per week"
route = ["door:door", "bench"]
"""


def test_who_shuts_a_way_is_named_and_nobody_else() -> None:
    scenario = loads(PASSAGE)
    layout = Layout(
        "here",
        {
            "bench": Placement(1.6, 1.5, 270.0),
            "rack": Placement(3.6, 1.5, 270.0),
            "stool": Placement(0.3, 2.7, 180.0),
        },
    )
    assert at_fault(scenario, layout, strict=False) == (frozenset({"bench", "rack"}),)


def test_none_is_proven_and_said_so() -> None:
    with pytest.raises(NoLayoutError, match=r"^no layout .* exists on these spots: .* no way .* to rack"):
        suggest(loads(PASSAGE), iterations=50, processes=1)


def test_one_more_spot_and_there_is_a_layout() -> None:
    more = PASSAGE + '[[spots]]\nat = [1.0, 2.7]\nfacing = "south"\ntakes = ["bench"]\n'
    found = suggest(loads(more), iterations=50, processes=1)
    assert found.best.ok
    assert found.best.placements["bench"].at == (1.0, 2.7)


def test_every_choice_without_a_clash_comes_once() -> None:
    rng = np.random.default_rng(3)
    for _ in range(20):
        first = np.array([0, 3, 6, 9], np.int32)
        pair = np.zeros((9, 9), np.float32)
        clash = np.triu(rng.random((9, 9)) < 0.45, 1)
        pair[clash | clash.T] = np.inf
        tables = assemble(("a", "b", "c"), first, np.zeros(9), pair)
        completion = Completion(tables, Restriction(np.full(3, -1, np.int32), 3), 1)
        found = set()
        while (choice := completion.next()) is not None:
            found.add(tuple(choice.tolist()))
            completion.forbid(choice.tolist())
        every = [(i, j, k) for i in range(3) for j in range(3, 6) for k in range(6, 9)]
        assert found == {one for one in every if not tables.clashes(one)}
        assert completion.none


@pytest.mark.parametrize("seed", range(12))
def test_small_rooms_are_decided_as_every_layout_decides_them(seed: int) -> None:
    """Few own spots each: what is sound among all layouts is found, and where none is, that is said."""
    asked = Asked(stations=6, spots=2) if seed % 2 else Asked()
    scenario = random_shop(np.random.default_rng(400 + seed), asked)
    sound = [score for score in every_score(scenario) if score.ok]
    if not sound:
        with pytest.raises(NoLayoutError, match=r"exists on these spots|finds no spot"):
            footwork.suggest(scenario, iterations=200, pitch=0.25, processes=1)
        return
    best = footwork.suggest(scenario, iterations=200, pitch=0.25, processes=1).best
    assert best.cost == pytest.approx(min(score.cost for score in sound), rel=1e-6)
