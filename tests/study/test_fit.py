"""Which machine: on the nook of rooms.py, 3.0 x 2.6 m."""

from __future__ import annotations

import json
import math
from itertools import product
from pathlib import Path

import pytest

from cli.run import footwork
from footwork.applying import without
from footwork.arrange.spots.enumerate import find_spots
from footwork.model.errors import UsageError
from footwork.model.read import loads
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import cost_if_sound, score, sound
from footwork.study.cases import Engine
from footwork.study.fit import Fit, Machine, fit
from footwork.study.together import clashing_core, fewest_moved
from study.rooms import NOOK, QUICK, nook

BIN = Machine("bin", (0.3, 0.3))


def test_every_place_is_sound_and_no_other_is(bins: Fit) -> None:
    """Brute force over the spots: each place that the whole layout passes with lies in or beside one told."""
    scenario, base = bins.scenario, nook().layouts[0]
    spots = find_spots(scenario, 0.5, 4, None)[-1].placements
    good = [at for at in spots if sound(scenario, base.moved({"bin": at}))]
    assert bins.count == len(good) > 0
    assert sum(1 + place.near for place in bins.places) == len(good)
    for place in bins.places:
        assert place.at in good
        assert place.layout.placements == {**base.placements, "bin": place.at}
    for at in good:
        assert min(math.dist(at.at, place.at.at) for place in bins.places) < 0.6


def test_each_place_tells_what_it_costs(bins: Fit) -> None:
    costs = [place.cost for place in bins.places]
    assert costs == sorted(costs)
    before = score(nook(), "today").cost
    for place in bins.places:
        assert place.cost == pytest.approx(cost_if_sound(bins.scenario, place.layout) - before)
        assert place.others == ()


def test_a_job_that_visits_it_counts() -> None:
    walked = Machine("bin", (0.3, 0.3), route=("bench", "bin"), times="2 per week")
    found = fit(nook(), walked, effort=QUICK)
    job = found.places[0].change.after.job("bin")
    assert job.times_per_year == 104
    assert found.places[0].cost == pytest.approx(104 * job.metres_each, abs=60)
    with pytest.raises(UsageError, match="did you mean 'bench'"):
        fit(nook(), Machine("bin", (0.3, 0.3), route=("bnech", "bin")), effort=QUICK)
    with pytest.raises(UsageError, match="has to lead to 'bin'"):
        fit(nook(), Machine("bin", (0.3, 0.3), route=("bench", "rack")), effort=QUICK)


def test_others_move_for_it_where_they_may(bins: Fit) -> None:
    found = fit(nook(), BIN, moves=1, effort=QUICK, engine=Engine(1))
    assert found.places[0].cost <= bins.places[0].cost
    assert all(len(place.others) <= 1 for place in found.places)
    assert all(sound(found.scenario, place.layout) for place in found.places)
    assert found.count > bins.count


BLOCKED = """\
[room]
size = [2.7, 2.4]
doors = [{ name = "door", wall = "west", from = 0.3, width = 0.9 }]
[stations]
bench = { size = [1.8, 0.8] }
bin = { size = [0.4, 0.4], stand = [] }
[layouts.today]
bench = { at = [1.8, 1.95], facing = "south" }
bin = { at = [0.2, 2.2], facing = "south" }
"""


def every_pair(scenario: Scenario, names: tuple[str, str]) -> bool:
    """Whether two things can both be there, by trying all pairs of spots on the checks."""
    rest = without(scenario, tuple(t.name for t in scenario.things if t.name not in names))
    lists = {of.thing.name: of.placements for of in find_spots(rest, 0.25, 4, None)}
    return any(
        sound(rest, Layout("pair", dict(zip(names, pair, strict=True))))
        for pair in product(*(lists[name] for name in names))
    )


def test_what_cannot_all_be_there_is_the_least_set_and_brute_force_agrees() -> None:
    scenario = loads(BLOCKED)
    found = fit(scenario, Machine("saw", (1.2, 1.2)), effort=QUICK)
    assert (found.places, found.count, found.instead) == ((), 0, None)
    assert found.core is not None
    assert found.core.things == ("bench", "saw")
    assert found.core.least
    assert found.why == "bench and saw don't fit together"
    assert set(found.core.confirmed) == {"bench", "saw"}
    for name, layout in zip(found.core.confirmed, found.core.layouts, strict=True):
        left = tuple(t.name for t in found.scenario.things if t.name not in layout.placements)
        assert name in left
        assert sound(without(found.scenario, left), layout)
    assert not every_pair(found.scenario, ("bench", "saw"))
    assert every_pair(found.scenario, ("bench", "bin"))
    assert every_pair(found.scenario, ("bin", "saw"))


def test_three_things_of_which_any_two_fit() -> None:
    """Tables of 1.4 x 0.9 with 0.75 m to stand: two go into 2.5 x 2.4 m beside each other, three do not."""
    text = "[room]\nsize = [2.5, 2.4]\n[stations]\n" + "".join(
        f"{name} = {{ size = [1.4, 0.9] }}\n" for name in ("one", "two", "three")
    )
    core = clashing_core(loads(text + "cup = { size = [0.1, 0.1], stand = [] }\n"), pitch=0.5)
    assert core is not None
    assert (core.things, core.least) == (("one", "two", "three"), True)
    assert set(core.confirmed) == {"one", "two", "three"}
    assert clashing_core(nook(), pitch=0.5) is None


def test_the_fewest_others_move_where_it_fits_only_so() -> None:
    text = BLOCKED.replace("size = [2.7, 2.4]", "size = [3.2, 2.4]").replace("[1.8, 1.95]", "[2.0, 1.2]")
    scenario = loads(text)
    found = fit(scenario, Machine("saw", (0.84, 0.84)), effort=QUICK)
    assert found.places == ()
    assert found.instead is not None
    assert found.instead.others == ("bench",)
    assert found.why == "it fits where bench move"
    assert sound(found.scenario, found.instead.layout)
    layout = fewest_moved(found.scenario, found.instead.layout, 0.5)
    assert layout is not None
    assert layout.placements == found.instead.layout.placements  # as it is: nothing has to move


@pytest.mark.parametrize(
    ("machine", "said"),
    [
        (Machine("press", (9.0, 9.0)), "larger than the room"),
        (Machine("bench", (1.0, 1.0)), "there is a 'bench' already"),
        (Machine("mill", like="miling machine"), "milling machine"),
        (Machine("press", (0.3, 0.3), route=("press", "bench"), times="often"), "is not a frequency"),
    ],
)
def test_a_machine_that_cannot_be_is_refused(machine: Machine, said: str) -> None:
    with pytest.raises(UsageError, match=said):
        fit(nook(), machine, effort=QUICK)


def test_a_machine_larger_than_the_room_is_refused_beside_a_yard_too() -> None:
    """As in a file: only what may stand outdoors may be larger than the room."""
    yard = '[room]\nyards = [{ name = "apron", outline = [[-9, 0], [0, 0], [0, 2.6], [-9, 2.6]] }]'
    with pytest.raises(UsageError, match="larger than the room"):
        fit(nook(NOOK.replace("[room]", yard)), Machine("press", (9.0, 2.0)), effort=QUICK)


def test_a_layout_that_fails_by_itself_is_refused() -> None:
    with pytest.raises(UsageError, match="fails a must-check by itself"):
        fit(nook(NOOK.replace("at = [2.75, 1.5]", "at = [0.9, 2.2]")), BIN, effort=QUICK)
    with pytest.raises(UsageError, match="moves must be from 0 to 3"):
        fit(nook(), BIN, moves=9, effort=QUICK)


def test_the_command(tmp_path: Path) -> None:
    path = tmp_path / "nook.toml"
    path.write_text(NOOK)
    words = ("fit", path, "bin", "--size", "0.3x0.3", "--pitch", 0.5)
    told = json.loads(footwork(*words, "--json").out)
    assert told["machine"] == "bin"
    assert told["places"][0]["cost"]["change"] >= 0
    done = footwork(*words, "--out", tmp_path / "fit.svg")
    assert done.status == 0
    assert "bin fits in" in done.out
    assert (tmp_path / "fit.svg").read_text().count("<svg") == 1
    tight = tmp_path / "tight.toml"
    tight.write_text(BLOCKED)
    none = footwork("fit", tight, "saw", "--size", "1.2x1.2", "--pitch", 0.25, "--out", tmp_path / "no.png")
    assert none.status == 1
    assert "Bench and saw don't fit together." in none.out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["pres"], "is not in the catalogue"),
        (["press", "--size", "9x9"], "larger than the room"),
        (["press", "--size", "9"], "is no size"),
        (["press", "--size", "0.3x0.3", "--times", "1 a week"], "--times does nothing"),
        (["press", "--size", "0.3x0.3", "--afresh"], "--afresh does nothing"),
        (["press", "--size", "0.3x0.3", "--out", "x.dxf"], "drawn as .svg, .png or .pdf"),
    ],
)
def test_wrong_usage_leaves_with_2(tmp_path: Path, words: list[str], said: str) -> None:
    path = tmp_path / "nook.toml"
    path.write_text(NOOK)
    done = footwork("fit", path, *words)
    assert (done.status, done.out) == (2, "")
    assert said in done.err
