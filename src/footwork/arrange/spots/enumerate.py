"""Spots: every position and facing at which a thing may stand as far as the room alone decides.

Wall stations stand with their back against each wall, every pitch along it and flush with both its
ends; others every pitch over the floor, from flush with one side of the room's box to flush with
the other, in every allowed facing.  What fails a check against the room alone is dropped and counted
by the check that refused it, so that a station without a spot can say why.  Metres, room frame.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.slack import WHOLE
from footwork.arrange.spots.alike import alike
from footwork.arrange.spots.alone import UnaryConsistency
from footwork.arrange.spots.frames import backs_against, door_frame, own_spots
from footwork.arrange.spots.layers import Thing, layers
from footwork.checks.beside import VEHICLE_MARGIN
from footwork.floor import shapes
from footwork.floor.walls import limits
from footwork.model.scenario import TOLERANCE, Layout, Placement, Scenario, Station, Vehicle

BLAMED = 3
"""Checks that a line on spots names."""
SOME = 20
"""Refused positions of a check that are kept to say what they are refused by."""
ON_THE_LINE = 1e-6
"""Parts of a square by which a spot on the line between two may fall short of it for rounding."""
ACROSS = 2
"""Steps of the pitch each way from which spots are aggregated."""


@dataclass(frozen=True)
class SpotList:
    """The spots of one thing.  ``refused`` counts what each check took away, ``turned_down`` has some of it;
    ``tried`` is all."""

    thing: Thing
    placements: tuple[Placement, ...]
    refused: Counter[str] = field(default_factory=Counter)
    tried: int = 0
    turned_down: Mapping[str, tuple[Placement, ...]] = field(default_factory=dict)

    def why(self, by: str = "") -> str:
        """In words, the check that refuses most spots, with figures, and ``by`` what."""
        if not self.tried:
            return "the pitch leaves it no position to try"
        if not self.refused:
            return f"of {self.tried} positions tried, none fails a check by itself"
        (check, count), *others = self.refused.most_common(BLAMED)
        more = "".join(f", {n} {other}" for other, n in others)
        return f"of {self.tried} positions tried, {count} fail {check}{by and f' ({by})'}{more}"


def find_spots(
    scenario: Scenario,
    pitch: float,
    facings: int,
    base: Layout | None,
    held: Iterable[str] = (),
    strict: bool = False,
) -> tuple[SpotList, ...]:
    """Spots of every thing of ``scenario``, stations first, in the file's order.  As ``spots_by_thing``."""
    return tuple(spots_by_thing(scenario, pitch, facings, base, held, strict))


def spots_by_thing(
    scenario: Scenario,
    pitch: float,
    facings: int,
    base: Layout | None,
    held: Iterable[str] = (),
    strict: bool = False,
) -> Iterator[SpotList]:
    """The spots of one thing after the other.

    ``held`` stations and those that the file fixes have one spot.  The base's placements are spots
    too where the room allows them, of alike things for each of them: their spots are the same.
    """
    alone = UnaryConsistency(scenario, strict)
    keep, things = set(held), scenario.things
    group = {k: members for members in alike(scenario, things) for k in members}
    known: dict[int, SpotList] = {}
    for number, thing in enumerate(things):
        here = base.placements.get(thing.name) if base else None
        fixed = thing.fixed if isinstance(thing, Station) else None
        if fixed is not None or (here is not None and thing.name in keep):
            yield SpotList(thing, (fixed or here,), Counter(), 1)  # type: ignore[arg-type]
            continue
        members = group.get(number, (number,))
        if members[0] not in known:
            tried = tried_spots(scenario, thing, pitch, facings)
            kept, names = consistent(thing, tried, alone)
            refused = Counter(name for name in names if name)
            for k in members:
                there = base.placements.get(things[k].name) if base else None
                if there is not None and alone.accepts(thing, there):
                    kept = _with(kept, there)
            some = {} if kept else _some(tried, names)
            known[members[0]] = SpotList(thing, tuple(kept), refused, len(tried), some)
        yield replace(known[members[0]], thing=thing)


def models(scenario: Scenario, lists: Sequence[SpotList]) -> tuple[int, ...]:
    """For each thing the first that is alike and has the same spots, by number: its own where none is.

    What is worked out of that one's spots holds for those of the other.
    """
    found = list(range(len(lists)))
    for group in alike(scenario, [spots.thing for spots in lists]):
        for i in group:
            found[i] = next(k for k in group if lists[k].placements == lists[i].placements)
    return tuple(found)


def tried_spots(scenario: Scenario, thing: Thing, pitch: float, facings: int) -> list[Placement]:
    """Where a thing may be tried at a pitch, before the building has its say; one place where it is fixed."""
    if isinstance(thing, Station) and thing.fixed is not None:
        return [thing.fixed]
    return list(own_spots(scenario, thing)) or _unique(_candidates(scenario, thing, pitch, facings))


def with_spots_of(
    scenario: Scenario, layouts: Sequence[Layout], lists: Sequence[SpotList]
) -> tuple[SpotList, ...]:
    """``lists`` with where things, or those alike with them, stand in ``layouts`` that stood on spots too, if
    at another pitch."""
    names = [spots.thing.name for spots in lists]
    like = {k: group for group in alike(scenario, [spots.thing for spots in lists]) for k in group}
    return tuple(
        replace(spots, placements=tuple(dict.fromkeys((*spots.placements, *here))))
        for k, spots in enumerate(lists)
        for here in [[layout.placements[names[i]] for i in like.get(k, (k,)) for layout in layouts]]
    )


def _candidates(scenario: Scenario, thing: Thing, pitch: float, facings: int) -> Iterator[Placement]:
    if isinstance(thing, Vehicle):
        yield from _drive_positions(scenario, thing, pitch)
        return
    if thing.placing != "island":
        yield from _along_walls(scenario, thing, pitch)
    if thing.placing != "wall":
        yield from _over_floor(scenario, thing, pitch, facings)


def steps(low: float, high: float, pitch: float) -> list[float]:
    """Every ``pitch`` from ``low``, and ``high`` itself; empty when there is no room."""
    if high < low - TOLERANCE:
        return []
    count = int((high - low) / pitch + WHOLE)
    found = [low + k * pitch for k in range(count + 1)]
    if high - found[-1] > TOLERANCE:
        found.append(high)
    return found


def _along_walls(scenario: Scenario, station: Station, pitch: float) -> Iterator[Placement]:
    """Back against each wall, from flush with one end to flush with the other.

    A station that needs room for service behind it stands that far out; `placing` says how far is too far.
    """
    behind = shapes.box(station)[3] + dict(station.service).get("back", 0.0)
    for back in backs_against(scenario.room, station):
        for t in steps(-back.low, back.frame.length - back.high, pitch):
            yield back.frame.placement(t, behind, back.facing)


def _over_floor(scenario: Scenario, station: Station, pitch: float, facings: int) -> Iterator[Placement]:
    """Every pitch over the box around the room (and yards, for a station that may stand outdoors)."""
    x0, y0, x1, y1 = limits(scenario.room, not station.outdoors)
    for facing in different_facings(scenario, station, facings):
        ring = shapes.footprint(station, Placement(0.0, 0.0, facing))
        (lx, ly), (hx, hy) = ring.min(axis=0).tolist(), ring.max(axis=0).tolist()
        for x in steps(x0 - lx, x1 - hx, pitch):
            for y in steps(y0 - ly, y1 - hy, pitch):
                yield Placement(x, y, facing)


def different_facings(scenario: Scenario, station: Station, facings: int) -> list[float]:
    """Facings that differ in anything: a table worked from both long sides is the same turned round."""
    named = any(v.side for job in scenario.jobs for v in job.route if station.name in v.members)
    seen: set[object] = set()
    kept = []
    for k in range(facings):
        facing = 360.0 * k / facings
        at = Placement(0.0, 0.0, facing)
        rings = [
            frozenset((layer, frozenset(_rounded(ring))) for layer, ring in layers(station, at)),
            frozenset(
                (place.side if named else None, *_rounded([place.at])[0])
                for place in shapes.standing_places(station, at, scenario.walker.width)
            ),
        ]
        key = tuple(rings)
        if key not in seen:
            seen.add(key)
            kept.append(facing)
    return kept


def _rounded(points: Iterable[Sequence[float]]) -> list[tuple[float, float]]:
    return [(round(float(p[0]), 6) + 0.0, round(float(p[1]), 6) + 0.0) for p in points]


def _drive_positions(scenario: Scenario, vehicle: Vehicle, pitch: float) -> Iterator[Placement]:
    """Straight in through its door, nose or tail first, at every pitch deep and across the opening.

    The first of them leaves the shut door as much as it must.
    """
    width, length = vehicle.size
    frame = door_frame(scenario, vehicle)
    margin = VEHICLE_MARGIN.under(scenario.checks)
    nearest = length / 2 + (margin.figure or 0.0 if margin.severity == "must" else 0.0)
    for facing in frame.facings:
        for deep in steps(nearest, frame.depth - length / 2, pitch):
            for across in steps(width / 2, frame.length - width / 2, pitch):
                yield frame.placement(across, deep, facing)


def _unique(placements: Iterable[Placement]) -> list[Placement]:
    """In order, those that differ by more than a hair."""
    seen: dict[tuple[float, float, float], Placement] = {}
    for p in placements:
        seen.setdefault((round(p.x, 5), round(p.y, 5), round(p.facing % 360.0, 3)), p)
    return list(seen.values())


def consistent(
    thing: Thing, tried: list[Placement], alone: UnaryConsistency
) -> tuple[list[Placement], list[str]]:
    """Those that no check against the room refuses, and of each the check that does, or ""."""
    by_facing: dict[float, list[int]] = {}
    for number, placement in enumerate(tried):
        by_facing.setdefault(placement.facing, []).append(number)
    names = [""] * len(tried)
    for facing, numbers in by_facing.items():
        at = np.array([tried[k].at for k in numbers])
        for k, name in zip(numbers, alone.refusals(thing, facing, at), strict=True):
            names[k] = name
    return [p for p, name in zip(tried, names, strict=True) if not name], names


def _with(kept: list[Placement], here: Placement) -> list[Placement]:
    """The spots with the base's place: in place of one that a file holds as the same, else after them."""
    same = [p for p in kept if math.dist(p.at, here.at) < TOLERANCE and p.facing == here.facing]
    return [here if p is same[0] else p for p in kept] if same else [*kept, here]


def _some(tried: list[Placement], names: list[str]) -> dict[str, tuple[Placement, ...]]:
    """A few of the positions that each check refuses, spread over them."""
    by: dict[str, list[Placement]] = {}
    for placement, name in zip(tried, names, strict=True):
        by.setdefault(name, []).append(placement)
    return {name: tuple(them[:: max(1, len(them) // SOME)]) for name, them in by.items()}


def side_by_side(lists: Sequence[SpotList], pitch: float) -> Ints:
    """(spots,) numbers: the same for spots of one thing that face one way and stand in one square."""
    found: list[Ints] = []
    begin = 0
    for of in lists:
        at = np.array([(*p.at, p.facing % 360.0) for p in of.placements]).reshape(-1, 3)
        square = np.floor((at[:, :2] - at[:, :2].min(axis=0, initial=0.0)) / (ACROSS * pitch) + ON_THE_LINE)
        _, number = np.unique(np.column_stack((square, at[:, 2].round(3))), axis=0, return_inverse=True)
        found.append((begin + np.ravel(number)).astype(np.int32))
        begin += len(at)
    return np.concatenate(found)


def first_spots(lists: Sequence[SpotList]) -> Ints:
    """Where each thing's spots begin when all are numbered through, and how many there are, (things + 1,)."""
    return np.concatenate(([0], np.cumsum([len(of.placements) for of in lists]))).astype(np.int32)


def placed(name: str, lists: Sequence[SpotList], first: Ints, choice: Ints) -> Layout:
    """The layout of a choice: a spot of each thing, those of thing i numbered from ``first[i]``."""
    spots = (int(spot) - int(begin) for spot, begin in zip(choice, first, strict=False))
    return Layout(name, {s.thing.name: s.placements[k] for s, k in zip(lists, spots, strict=True)})


def spots_of(layout: Layout | None, lists: Sequence[SpotList], first: Ints) -> Ints:
    """The other way round: the spot of each thing, -1 where the layout has it on none of its spots."""
    found = np.full(len(lists), -1, np.int32)
    for k, spots in enumerate(lists):
        here = None if layout is None else layout.placements[spots.thing.name]
        if here in spots.placements:
            found[k] = first[k] + spots.placements.index(here)
    return found
