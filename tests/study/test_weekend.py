"""Fewest moves, and the order to make them in."""

from __future__ import annotations

import json
import os
import signal
from dataclasses import replace
from itertools import pairwise, permutations
from pathlib import Path

import pytest

from cli.run import footwork
from footwork.floor import shapes
from footwork.floor.overlap import overlaps
from footwork.model.errors import UsageError
from footwork.model.read import load, loads
from footwork.model.scenario import Layout, Placement, Scenario
from footwork.scoring import cost_if_sound, score
from footwork.study.cases import Engine
from footwork.study.order import Order, kilograms, moving_order
from footwork.study.weekend import Weekend, weekend
from study.rooms import NOOK, QUICK, nook

FLOOR = """\
[room]
size = [6.0, 4.0]
[stations]
big = { size = [1.0, 1.0], weight = 300 }
small = { size = [1.0, 1.0], weight = 20 }
cart = { size = [1.0, 1.0], castors = true }
"""


def layout(**places: tuple[float, float]) -> Layout:
    return Layout("any", {name: Placement(*at, 180.0) for name, at in places.items()})


BEFORE = layout(big=(0.5, 0.5), small=(3.0, 0.5), cart=(5.5, 0.5))


def states(scenario: Scenario, before: Layout, order: Order) -> list[dict[str, Placement]]:
    """Where everything stands after each step; what is out of the room is not there."""
    at = dict(before.placements)
    found = []
    for carry in order.carries:
        assert carry.before == at.get(carry.name)
        if carry.after is None:
            del at[carry.name]
        else:
            at[carry.name] = carry.after
        found.append(dict(at))
    return found


def check_states(scenario: Scenario, before: Layout, after: Layout, order: Order) -> None:
    passed = states(scenario, before, order)
    for there in passed:
        pieces = {name: shapes.pieces(scenario.station(name), place) for name, place in there.items()}
        for one, other in permutations(pieces, 2):
            assert not overlaps(pieces[one], pieces[other]), (one, other, there)
    assert (passed[-1] if passed else before.placements) == dict(after.placements)


@pytest.mark.parametrize(
    ("after", "aside", "carried"),
    [
        # nothing in the way of anything
        (layout(big=(0.5, 3.5), small=(3.0, 3.5), cart=(5.5, 3.5)), [], 3),
        # a chain: the cart leaves first, then small, then big
        (layout(big=(3.0, 0.5), small=(5.5, 0.5), cart=(5.5, 3.5)), [], 3),
        # two exchange their places: the lighter one is set aside
        (layout(big=(3.0, 0.5), small=(0.5, 0.5), cart=(5.5, 0.5)), ["small"], 3),
        # all three in a ring: the cart is 100 kg a square metre, of which a tenth counts, so 10
        (layout(big=(3.0, 0.5), small=(5.5, 0.5), cart=(0.5, 0.5)), ["cart"], 4),
        # slides by less than its own size: it is not in its own way
        (layout(big=(0.7, 0.5), small=(3.0, 0.5), cart=(5.5, 0.5)), [], 1),
    ],
)
def test_least_is_set_aside_and_nothing_is_ever_in_the_way(
    after: Layout, aside: list[str], carried: int
) -> None:
    scenario = loads(FLOOR)
    order = moving_order(scenario, BEFORE, after)
    assert [carry.name for carry in order.aside] == aside
    assert len(order.carries) == carried
    assert order.least
    check_states(scenario, BEFORE, after, order)


def test_what_is_set_aside_goes_the_shortest_way_round() -> None:
    """big and small exchange places 2.5 m apart: 1 m wide, small stands between them or beside."""
    scenario = loads(FLOOR)
    after = layout(big=(3.0, 0.5), small=(0.5, 0.5), cart=(5.5, 0.5))
    carries = moving_order(scenario, BEFORE, after).carries
    there = next(carry.after for carry in carries if carry.kind == "aside")
    assert there is not None
    way = sum(carry.metres for carry in carries if carry.name == "small")
    # from 3.0 to 0.5, by way of a place at least 1 m from both
    assert 2.5 <= way < 2.5 + 1.0
    assert (kilograms(scenario.station("big")), kilograms(scenario.station("cart"))) == (300, 10)


def test_out_of_the_room_where_no_floor_is_free() -> None:
    text = "[room]\nsize = [2.0, 1.0]\n[stations]\none = { size = [1.0, 1.0] }\ntwo = { size = [1.0, 1.0] }\n"
    before, after = layout(one=(0.5, 0.5), two=(1.5, 0.5)), layout(one=(1.5, 0.5), two=(0.5, 0.5))
    order = moving_order(loads(text), before, after)
    assert [carry.after for carry in order.aside] == [None]
    check_states(loads(text), before, after, order)


@pytest.mark.parametrize("seed", range(4))
def test_no_order_sets_less_weight_aside(seed: int) -> None:
    """Brute force: of all orders of four things that move along a wall, the least weight that is in the way
    when its turn comes for another."""
    slots = [(0.5 + 1.2 * k, 0.5) for k in range(4)]
    rank = [list(permutations(range(4)))[k] for k in (9, 10, 17, 18)][seed]
    names = "abcd"
    weights = {"a": 50, "b": 70, "c": 110, "d": 30}
    stations = "".join(f"{n} = {{ size = [1.0, 1.0], weight = {w} }}\n" for n, w in weights.items())
    scenario = loads(f"[room]\nsize = [6.0, 4.0]\n[stations]\n{stations}")
    before = layout(**dict(zip(names, slots, strict=True)))
    after = layout(**{name: slots[k] for name, k in zip(names, rank, strict=True)})

    def lifted(order: tuple[str, ...]) -> int:
        """What is in the way of a thing whose turn it is is set aside then."""
        at, aside = dict(before.placements), set[str]()
        for name in order:
            goal = after.placements[name]
            for other in names:
                if other != name and other not in aside and at[other] == goal:
                    aside.add(other)
            at[name] = goal
        return sum(weights[name] for name in aside if before.placements[name] != after.placements[name])

    least = min(lifted(order) for order in permutations(names))
    order = moving_order(scenario, before, after)
    assert sum(weights[carry.name] for carry in order.aside) == least
    check_states(scenario, before, after, order)


def test_each_number_of_moves_has_a_sound_layout_with_no_more_moved(some_moves: Weekend) -> None:
    assert [each.moves for each in some_moves.curve] == [0, 1, 2]
    before = score(nook(), "today")
    assert some_moves.curve[0].cost == before.cost
    assert some_moves.all_moved is not None
    for each in (*some_moves.curve, some_moves.all_moved):
        assert each.layout is not None
        assert cost_if_sound(nook(), each.layout) == pytest.approx(each.cost)
        assert len(each.moved) <= each.moves
        assert each.order is not None
        check_states(nook(), Layout("today", before.placements), each.layout, each.order)


def test_more_moves_are_never_worse_and_bounds_agree(some_moves: Weekend) -> None:
    assert some_moves.all_moved is not None
    row = [*some_moves.curve, some_moves.all_moved]
    for fewer, more in pairwise(row):
        assert more.cost <= fewer.cost
        assert more.bound <= fewer.bound <= fewer.cost
    assert some_moves.share(row[0]) == 0.0
    assert some_moves.share(row[-1]) == 1.0


def test_enough_are_the_fewest_that_save_most(some_moves: Weekend) -> None:
    much = [each.moves for each in some_moves.curve if some_moves.share(each) >= 0.8]
    most = [each.moves for each in some_moves.curve if each.cost == some_moves.curve[-1].cost]
    assert some_moves.enough is not None
    assert some_moves.enough.moves == min(much or most)


def test_wrong_numbers_are_refused() -> None:
    for most in (0, 4):
        with pytest.raises(UsageError, match="moves must be from 1 to 3"):
            weekend(nook(), most=most)


def test_the_command_tells_the_order_and_saves(tmp_path: Path) -> None:
    path = tmp_path / "nook.toml"
    path.write_text(NOOK)
    short = ("--iterations", 60, "--pitch", 0.5, "--seed", 3, "--processes", 1, "--most", 2)
    words = ("weekend", path, *short, "--journal", tmp_path / "cases.jsonl")
    told = json.loads(footwork(*words, "--json").out)
    assert [each["moves"] for each in told["curve"]] == [0, 1, 2]
    done = footwork(*words, "--moves", 1, "--out", tmp_path / "curve.svg", "--save", "one move")
    assert done.status == 0
    assert "3 of them before" in done.err
    assert "One move, in this order" in done.out
    assert "of what all would" in done.out
    assert (tmp_path / "curve.svg").read_text().count("<svg") == 1
    saved = load(path)
    assert score(saved, "one move").cost == pytest.approx(told["curve"][1]["cost"], rel=1e-4)
    over = footwork(*words, "--moves", 3)
    assert (over.status, over.out) == (2, "")
    assert "give --most 3" in over.err


def test_a_layout_that_fails_needs_some_moves() -> None:
    bad = nook(NOOK.replace("at = [2.75, 1.5]", "at = [0.9, 2.2]"))
    found = weekend(bad, most=1, effort=replace(QUICK, iterations=30), engine=Engine(1))
    assert found.curve[0].layout is None
    assert found.to_dict()["curve"][0]["cost"] is None  # type: ignore[index]


def test_ctrl_c_is_heard_after_the_solver_too() -> None:
    """Left to itself CP-SAT puts nothing back, and the next Ctrl-C ends the program on the spot."""
    after = layout(big=(3.0, 0.5), small=(0.5, 0.5), cart=(5.5, 0.5))
    assert moving_order(loads(FLOOR), BEFORE, after).least
    with pytest.raises(KeyboardInterrupt):
        os.kill(os.getpid(), signal.SIGINT)
