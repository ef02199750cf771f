"""Why there is no layout, in one line that names the station, the check and what stands in the way."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from functools import partial

import numpy as np

from footwork import checks
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.pair_table.legs import legs_of
from footwork.arrange.search.construct import Failures
from footwork.arrange.spots.enumerate import SpotList
from footwork.checks.ground import Ground, Placed
from footwork.floor.variants import variants
from footwork.model.errors import NoLayoutError
from footwork.model.scenario import TOLERANCE, Scenario
from footwork.model.units import format_length

SAMPLE = 400
"""Spots, or pairs of spots, that are looked at to say which check keeps things apart."""
BLAMED = 3
"""Checks, or things in the way, that a line names."""


def none_found(seconds: float | None) -> str:
    """How such a line begins: nothing in so many ``seconds``; None where there is nothing to find."""
    said = "exists on these spots" if seconds is None else "was found"
    if seconds is not None and seconds >= 1.0:
        said += f" in {seconds:.0f} s"
    return f"no layout that passes every must-check {said}: "


def why_none(
    scenario: Scenario,
    lists: Sequence[SpotList],
    tables: Tables,
    failures: Failures,
    refused: Counter[str],
    strict: bool,
) -> str:
    """What stands in the way of a layout, in one line, after a search that found nothing.

    ``failures`` is what the search met; ``refused`` what must-checks said of some whole layouts in which
    every job can be walked, and of how many.
    """
    ground = Ground(scenario)
    never = _never_together(tables)
    if never is not None:
        one, two = lists[never[0]], lists[never[1]]
        faults = _sampled_faults(ground, one, two, strict)
        said = _listed(faults) if faults else f"{SAMPLE} leave no way to walk from one to the other"
        return (
            f"{one.thing.name} ({_spots(one)}) and {two.thing.name} ({_spots(two)}) can't both stand; "
            f"of {SAMPLE} ways to place these two, {said}"
        )
    if refused:
        return f"layouts in which every job can be walked fail {refused.most_common(1)[0][0]}"
    if failures.cut_off.any():
        worst = int(np.argmax(failures.cut_off))
        name = lists[worst].thing.name
        return (
            f"of {failures.tried} layouts in which everything has a spot, {failures.cut_off[worst]} "
            f"leave no way {_widths_to(name, scenario)} wide to {name} for a job that needs one; leave "
            "something out, or try a smaller pitch"
        )
    if failures.partial is None:
        return "there was no time to look for one; give it more seconds, or a greater pitch"
    return _no_spot_left(ground, lists, tables, failures, strict)


def _widths_to(name: str, scenario: Scenario) -> str:
    """How wide the ways to a thing have to be, in words: as the loads carried there ask."""
    wide = [
        leg.width
        for job in scenario.jobs
        for variant in variants(scenario, job)
        for leg in legs_of(scenario, job, variant.route)
        if name in (*leg.start.members, *leg.end.members)
    ]
    least, most = min(wide), max(wide)
    say = partial(format_length, units=scenario.units)
    return say(least) if most - least < TOLERANCE else f"{say(least)} to {say(most)}"


def _spots(spots: SpotList) -> str:
    return "1 spot" if len(spots.placements) == 1 else f"{len(spots.placements)} spots"


def _listed(counts: Counter[str], verb: str = "fail") -> str:
    """The most frequent few, as in '120 fail strips-clear, 40 no-overlap'."""
    (name, count), *others = counts.most_common(BLAMED)
    return ", ".join([f"{count} {verb} {name}", *(f"{n} {other}" for other, n in others)])


def _never_together(tables: Tables) -> tuple[int, int] | None:
    """Two things of which every spot clashes with every spot of the other."""
    for i in range(tables.things):
        for j in range(i + 1, tables.things):
            a, b = slice(*tables.first[i : i + 2]), slice(*tables.first[j : j + 2])
            if tables.pair[a, b].min(initial=np.inf) >= tables.clash:
                return i, j
    return None


def _no_spot_left(
    ground: Ground, lists: Sequence[SpotList], tables: Tables, failures: Failures, strict: bool
) -> str:
    """The thing that is left over most often, and what takes its spots in the fullest layout met."""
    state = failures.partial
    assert state is not None
    out = np.flatnonzero(state < 0)
    i = int(out[np.argmax(failures.waited[out])])
    spots, by, checked = lists[i], Counter[str](), Counter[str]()
    count = len(spots.placements)
    step = max(1, count // SAMPLE)
    looked = range(0, count, step)
    for k in looked:
        row = tables.pair[tables.first[i] + k]
        for j in np.flatnonzero(state >= 0).tolist():
            if row[state[j]] >= tables.clash:
                thing, here = lists[j].thing, lists[j].placements[int(state[j] - tables.first[j])]
                pair = Placed(spots.thing, spots.placements[k]), Placed(thing, here)
                fault = next(checks.faults_pair(ground, *pair, strict), None)
                checked[fault[0] if fault else "reachable"] += 1
                by[thing.name] += 1
                break
    others = len(lists) - len(out)
    text = f"{spots.thing.name} finds no spot beside the {others} others that stand"
    if not checked:
        return f"{text}: {spots.why()}"
    looked_at = f", {len(looked)} looked at" if step > 1 else ""
    return (
        f"{text}; of its {_spots(spots)}{looked_at}, {_listed(checked)}; "
        f"in the way: {', '.join(name for name, _ in by.most_common(BLAMED))}"
    )


def _sampled_faults(ground: Ground, one: SpotList, two: SpotList, strict: bool) -> Counter[str]:
    """How often each check is the first to refuse two things, over a fixed sample of their spots."""
    rng = np.random.default_rng(0)
    found: Counter[str] = Counter()
    for _ in range(SAMPLE):
        a, b = (Placed(s.thing, s.placements[int(rng.integers(len(s.placements)))]) for s in (one, two))
        fault = next(checks.faults_pair(ground, a, b, strict), None)
        if fault:
            found[fault[0]] += 1
    return found


def every_station_has_one(scenario: Scenario, lists: Sequence[SpotList], strict: bool) -> None:
    """Raises NoLayoutError, with the check that refuses most and what of the building by, when a station has
    no spot at all."""
    for spots in lists:
        if not spots.placements:
            by = _building_in_the_way(Ground(scenario), spots, strict)
            raise NoLayoutError(f"{spots.thing.name} finds no spot: {spots.why(by)}")


def _building_in_the_way(ground: Ground, spots: SpotList, strict: bool) -> str:
    """What the check that refuses most spots of a thing names, the most frequent few."""
    if not spots.refused:
        return ""
    check = spots.refused.most_common(1)[0][0]
    found: Counter[str] = Counter()
    for at in spots.turned_down.get(check, ()):
        faults = checks.faults_alone(ground, Placed(spots.thing, at), strict)
        mine = (fault for id_, fault in faults if id_ == check)
        names = {f.subject if f.other == spots.thing.name else f.other for f in mine} - {""}
        found.update(sorted(names - {ground.around_all.name} or names))
    return ", ".join(name for name, _ in found.most_common(BLAMED))


def building_is_sound(scenario: Scenario, strict: bool) -> None:
    """Raises NoLayoutError naming what fails a check wherever things stand: parts of the building."""
    fault = next(checks.faults_building(Ground(scenario), strict), None)
    if fault is not None:
        check, parts = fault
        raise NoLayoutError(
            f"no layout can pass {check}: {parts.other} is in the way of {parts.subject}, and no station "
            "that could stand elsewhere; one of the two has to change in the file"
        )


def kept_stand_together(scenario: Scenario, lists: Sequence[SpotList], strict: bool) -> None:
    """Raises NoLayoutError naming kept or fixed stations that clash where they are, and the check."""
    ground = Ground(scenario)
    held = [Placed(s.thing, s.placements[0]) for s in lists if len(s.placements) == 1 and s.tried == 1]
    for k, one in enumerate(held):
        fault = next(checks.faults_alone(ground, one, strict), None)
        if fault:
            about = fault[1].subject if fault[1].other == one.name else fault[1].other
            raise NoLayoutError(f"{one.name} cannot stay where it is: it fails {fault[0]} ({about})")
        for other in held[:k]:
            fault = next(checks.faults_pair(ground, one, other, strict), None)
            if fault:
                raise NoLayoutError(
                    f"{other.name} and {one.name} cannot both stay where they are: they fail {fault[0]}"
                )
