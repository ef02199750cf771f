"""A family of workshops for the benchmarks: hub and flat flow, few and many islands, tight and roomy.

    python tests/benchmarks/rooms.py [NAME ...] [--toml] [--search SECONDS]

Each is a scenario file made by a seeded generator, so that nothing is tuned to one room.  Prints how many
spots each has, how much of the flow meets at its hub and how much floor is free; ``--toml`` prints the files
themselves, ``--search`` looks for a layout of each to show that there is one.

A *hub* flow comes back to the bench after most machines; a *flat* one goes on from machine to machine.  The
rooms for growth are sheds of one depth, longer with the number of stations, in bays of fifteen with a bench
each; all but the stores need a socket of their bay, as 120 stations that may all stand anywhere would
want more spots than a table takes.
"""

from __future__ import annotations

import argparse
import math
import random
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import shapely

import footwork
from footwork.arrange.spots.enumerate import find_spots
from footwork.floor import shapes
from footwork.model.errors import FootworkError
from footwork.model.read import loads
from footwork.model.scenario import Placement, Scenario

BAY = 15
"""Stations that share a bench in the rooms for growth."""
BAY_LENGTH, BAY_DEPTH = 10.0, 8.0
BOTH_SIDES = 'stand = ["front", "back"]'


@dataclass(frozen=True)
class Kind:
    """A usual station: when in a job it is used, its size along the front and front to back in metres."""

    name: str
    stage: str
    size: tuple[float, float]
    placing: str
    keys: tuple[str, ...] = ()


def _kinds() -> tuple[Kind, ...]:
    tall, low = "height = 1.8", "height = 0.9"
    bars = ("height = 1.2", "work_height = 0.95")
    return (
        Kind("bench", "hub", (1.8, 0.8), "wall", (low,)),
        Kind("rack", "store", (2.4, 0.5), "wall", (tall,)),
        Kind("saw", "cut", (0.6, 0.7), "wall", ("stock = { left = 0.9, right = 0.6, width = 0.25 }", *bars)),
        Kind("drill", "shape", (0.5, 0.7), "wall", (tall,)),
        Kind("assembly", "join", (1.5, 0.9), "island", (BOTH_SIDES, low)),
        Kind("tools", "supply", (0.7, 0.5), "wall", ("castors = true", "height = 1.0")),
        Kind("paint", "finish", (0.9, 0.5), "wall", (tall, 'minds = ["sparks", "flammable"]')),
        Kind("lathe", "shape", (1.2, 0.6), "wall", ("height = 1.3", "weight = 300")),
        Kind("grinder", "shape", (0.5, 0.45), "wall", ("height = 1.2", 'gives = ["sparks", "dust"]')),
        Kind("weld", "join", (1.4, 0.9), "island", (BOTH_SIDES, low, 'gives = ["sparks", "fumes"]')),
        Kind("offcuts", "store", (0.8, 0.5), "wall", ("height = 1.2",)),
        Kind("fasteners", "supply", (0.9, 0.4), "wall", (tall,)),
        Kind("bandsaw", "cut", (0.7, 0.6), "wall", (tall, 'gives = ["dust"]')),
        Kind("drying", "finish", (1.0, 0.6), "wall", (tall, 'minds = ["dust"]')),
        Kind("press", "shape", (0.7, 0.6), "wall", (tall,)),
        Kind("sander", "shape", (0.6, 0.6), "wall", ("height = 1.1", 'gives = ["dust"]')),
        Kind("sheets", "store", (1.8, 0.4), "wall", (tall,)),
        Kind("mill", "shape", (1.0, 0.8), "wall", (tall, "weight = 400")),
        Kind("glue", "join", (1.2, 0.8), "island", (BOTH_SIDES, low)),
        Kind("shelves", "supply", (1.2, 0.45), "wall", (tall,)),
        Kind("wash", "finish", (0.9, 0.6), "wall", (low,)),
        Kind("bender", "shape", (0.5, 0.5), "wall", ("stock = { left = 0.6, right = 0.6 }", *bars)),
        Kind("shear", "cut", (0.5, 0.6), "wall", (tall,)),
        Kind("solder", "join", (1.2, 0.7), "wall", (low,)),
        Kind("packing", "finish", (1.4, 0.8), "island", (BOTH_SIDES, low)),
        Kind("router", "shape", (0.8, 0.6), "wall", (low,)),
        Kind("abrasives", "supply", (0.6, 0.4), "wall", (tall,)),
        Kind("folder", "shape", (1.3, 0.6), "wall", (low,)),
        Kind("bins", "store", (1.0, 0.4), "wall", ("height = 1.4",)),
        Kind("desk", "supply", (1.2, 0.7), "wall", ("height = 0.75",)),
    )


KINDS = _kinds()
ALWAYS = 9
"""The first so many kinds are in every room."""
PRODUCTS = (
    "bracket", "stool", "gate", "lamp", "crate", "trolley", "sign", "hinge", "shelf", "frame",
    "toolbox", "railing", "tray", "handle", "planter", "easel", "trestle", "cabinet", "grate", "hook",
)  # fmt: skip


@dataclass(frozen=True)
class Spec:
    """What the generator is asked for; ``outline`` in metres, a rectangle or not."""

    name: str
    flow: str
    stations: int
    islands: int
    outline: tuple[tuple[float, float], ...]
    seed: int
    along: bool = True
    loose: int = 0
    """Stations that may stand anywhere, facing any way."""
    alike: bool = False
    """Two benches, alike."""
    van: bool = False
    bays: int = 1


def _box(width: float, depth: float) -> tuple[tuple[float, float], ...]:
    return ((0.0, 0.0), (width, 0.0), (width, depth), (0.0, depth))


def _ell(width: float, depth: float, cut_x: float, cut_y: float) -> tuple[tuple[float, float], ...]:
    """A rectangle less its north-east corner of ``cut_x`` by ``cut_y``."""
    x, y = width - cut_x, depth - cut_y
    return ((0.0, 0.0), (width, 0.0), (width, y), (x, y), (x, depth), (0.0, depth))


def _growing(stations: int) -> Spec:
    bays = max(1, stations // BAY)
    room = _box(BAY_LENGTH * bays, BAY_DEPTH)
    return Spec(f"grow-{stations}", "hub", stations, 2 * bays, room, 40 + stations, bays=bays)


FAMILY = (
    Spec("hub-few", "hub", 14, 2, _box(9.0, 6.5), 1, along=False),
    Spec("hub-many", "hub", 14, 5, _box(9.8, 7.2), 2),
    Spec("hub-tight", "hub", 14, 2, _box(6.6, 4.8), 3),
    Spec("hub-ell", "hub", 14, 2, _ell(9.5, 8.0, 4.5, 3.5), 4),
    Spec("hub-van", "hub", 14, 1, _box(10.0, 7.5), 5, van=True),
    Spec("hub-alike", "hub", 15, 2, _box(9.5, 7.0), 6, alike=True),
    Spec("flat-few", "flat", 14, 2, _box(9.0, 6.5), 7, along=False),
    Spec("flat-many", "flat", 14, 5, _box(9.8, 7.2), 8),
    Spec("flat-tight", "flat", 14, 2, _box(6.6, 4.8), 9),
    Spec("flat-ell", "flat", 14, 2, _ell(9.5, 8.0, 4.5, 3.5), 10),
    Spec("flat-van", "flat", 14, 1, _box(10.0, 7.5), 11, van=True),
    Spec("flat-loose", "flat", 14, 2, _box(8.5, 6.5), 12, loose=2),
)
LARGER = (
    Spec("hub-20", "hub", 20, 3, _box(10.5, 7.5), 20),
    Spec("flat-20", "flat", 20, 3, _box(10.5, 7.5), 21),
    Spec("hub-30", "hub", 30, 4, _box(13.0, 9.0), 30),
    Spec("flat-30", "flat", 30, 4, _box(13.0, 9.0), 31),
)
GROWTH = tuple(_growing(n) for n in (15, 30, 60, 120))


def _drawn(number: int) -> Spec:
    """A room drawn by its number alone: none of them was looked at while the search was tuned."""
    rng = random.Random(7_000 + number)
    stations = rng.randint(8, 24)
    # Floor for so many: tight ones leave little more than the aisles, roomy ones half as much again.
    area = stations * rng.uniform(2.6, 4.6)
    width = round(math.sqrt(area * rng.uniform(1.0, 2.0)), 1)
    depth = round(area / width, 1)
    ell = rng.random() < 0.25
    outline = _ell(round(1.2 * width, 1), round(1.2 * depth, 1), round(0.5 * width, 1), round(0.4 * depth, 1))
    return Spec(
        name=f"unseen-{number:02}",
        flow=rng.choice(("hub", "flat")),
        stations=max(stations, ALWAYS),
        islands=rng.randint(0, max(1, stations // 5)),
        outline=outline if ell else _box(width, depth),
        seed=8_000 + number,
        along=rng.random() < 0.5,
        loose=rng.choice((0, 0, 0, 1, 2)),
        alike=rng.random() < 0.2,
    )


UNSEEN = tuple(_drawn(number) for number in range(1, 31))
ROOMS = {spec.name: spec for spec in (*FAMILY, *LARGER, *GROWTH, *UNSEEN)}


@dataclass(frozen=True)
class Member:
    """A station of a room: its kind, its own name and the bay it belongs to."""

    kind: Kind
    name: str
    bay: int


def members(spec: Spec, rng: random.Random) -> list[Member]:
    """The room's stations: the bench, the first kinds, the rest drawn, islands as many as asked for."""
    found: list[Member] = []
    for bay in range(spec.bays):
        count = spec.stations // spec.bays - spec.alike
        always, others = list(KINDS[:ALWAYS]), list(KINDS[ALWAYS:])
        rng.shuffle(others)
        chosen = always + others[: count - len(always)]
        chosen = _with_islands(chosen, spec.islands // spec.bays, rng)
        suffix = f"_{chr(ord('a') + bay)}" if spec.bays > 1 else ""
        found += [Member(_measured(kind, rng), kind.name + suffix, bay) for kind in chosen]
    loose = [k for k, m in enumerate(found) if m.kind.stage == "shape"][: spec.loose]
    for k in loose:
        found[k] = replace(found[k], kind=replace(found[k].kind, placing="any"))
    return found


def _with_islands(kinds: Sequence[Kind], wanted: int, rng: random.Random) -> list[Kind]:
    """The same kinds with so many islands: the largest of those drawn, the others against walls."""
    floor = [k for k in kinds if k.placing == "island"]
    worked = ("shape", "join", "cut")
    more = [k for k in kinds if k.placing == "wall" and k.stage in worked and k.name != "saw"]
    rng.shuffle(more)
    islands = {k.name for k in (floor + more)[:wanted]}
    made = []
    for kind in kinds:
        if kind.name in islands and kind.placing != "island":
            kind = replace(kind, placing="island", keys=(*kind.keys, BOTH_SIDES))
        elif kind.name not in islands and kind.placing == "island":
            keys = tuple(key for key in kind.keys if key != BOTH_SIDES)
            kind = replace(kind, placing="wall", keys=keys)
        made.append(kind)
    return made


def _measured(kind: Kind, rng: random.Random) -> Kind:
    """The kind as somebody owns it: up to a tenth of a metre larger or smaller."""
    width, depth = (round(side + rng.choice((-0.1, -0.05, 0.0, 0.05, 0.1)), 2) for side in kind.size)
    return replace(kind, size=(width, max(depth, 0.35)))


class Deck:
    """Deals the stations of a stage, shuffled anew when each has been used."""

    def __init__(self, names: Sequence[str], rng: random.Random) -> None:
        self._names, self._rng = list(names), rng
        self._left: list[str] = []

    def deal(self) -> str | None:
        if not self._left:
            self._left = list(self._names)
            self._rng.shuffle(self._left)
        return self._left.pop() if self._left else None


def _repeat(times: int, *route: str | None) -> str:
    """TOML of a repeated part of a route; empty when a station is missing or alone."""
    stops = [stop for k, stop in enumerate(route) if stop is not None and (k == 0 or stop != route[k - 1])]
    if len(stops) < len(route):
        return ""
    inner = ", ".join(f'"{stop}"' for stop in stops)
    return f"{{ repeat = {times}, route = [{inner}] }}" if times > 1 else inner


def hub_route(decks: dict[str, Deck], rng: random.Random) -> list[str]:
    """Back to the bench after most machines."""
    join, supply = decks["join"].deal(), decks["supply"].deal()
    return [
        _repeat(1, decks["store"].deal(), decks["cut"].deal(), "BENCH"),
        _repeat(rng.randint(1, 3), decks["shape"].deal(), "BENCH"),
        _repeat(rng.randint(1, 2), decks["shape"].deal(), decks["shape"].deal(), "BENCH"),
        _repeat(rng.randint(1, 2), *rng.choice(((supply, join, "BENCH"), (join, supply), (join, "BENCH")))),
        _repeat(1, decks["finish"].deal(), rng.choice((join, supply, "BENCH"))),
        _repeat(1, "door:door"),
    ]


def flat_route(decks: dict[str, Deck], rng: random.Random) -> list[str]:
    """On from machine to machine; the bench is one place among others."""
    store, cut = decks["store"].deal(), decks["cut"].deal()
    first, second, third = (decks["shape"].deal() for _ in range(3))
    join, supply = decks["join"].deal(), decks["supply"].deal()
    return [
        _repeat(rng.randint(1, 3), store, cut),
        _repeat(rng.randint(1, 3), first, second),
        _repeat(1, third),
        _repeat(1, rng.choice(("BENCH", cut))),
        _repeat(rng.randint(1, 2), join, supply),
        _repeat(1, rng.choice((first, join))),
        _repeat(rng.randint(1, 2), decks["finish"].deal(), rng.choice((join, "BENCH"))),
        _repeat(1, "door:door"),
    ]


def jobs(spec: Spec, found: Sequence[Member], rng: random.Random) -> Iterator[str]:
    """Jobs until every station is in one; in a shed of bays one job in four borrows from the next bay."""
    route = hub_route if spec.flow == "hub" else flat_route
    number = 0
    for bay in range(spec.bays):
        own = [m for m in found if m.bay == bay]
        bench = next(m.name for m in own if m.kind.stage == "hub")
        decks = {
            stage: Deck([m.name for m in own if m.kind.stage == stage], rng)
            for stage in ("store", "cut", "shape", "join", "supply", "finish")
        }
        unused = {m.name for m in own}
        while unused or number % 6:
            taken = dict(decks)
            if spec.bays > 1 and number % 4 == 3:
                other = (bay + 1) % spec.bays
                names = [m.name for m in found if m.bay == other and m.kind.stage == "join"]
                taken["join"] = Deck(names, rng)
            line = ", ".join(part for part in route(taken, rng) if part).replace("BENCH", bench)
            unused -= {m.name for m in own if f'"{m.name}"' in line}
            product = PRODUCTS[number % len(PRODUCTS)] + ("" if number < len(PRODUCTS) else f"_{number}")
            times = rng.choice((1, 1, 2, 2, 3, 4, 5))
            number += 1
            yield f'[jobs.{product}]\ntimes = "{times} per week"\nroute = [{line}]\n'
    if spec.van:
        stores = [m.name for m in found if m.kind.stage in ("supply", "finish")][:2]
        inner = ", ".join(f'"{name}", "van:back"' for name in stores)
        yield f'[jobs.load_van]\ntimes = "3 per week"\nroute = [{{ repeat = 2, route = [{inner}] }}]\n'
        yield (
            '[jobs.fit_van]\ntimes = "1 per week"\n'
            'route = ["tools", { repeat = 3, route = ["drill", "van:left"] }, "bench", "van:back"]\n'
        )


def _station(spec: Spec, member: Member) -> str:
    kind = member.kind
    lines = [f"[stations.{member.name}]", f"size = [{kind.size[0]}, {kind.size[1]}]"]
    lines.append(f'placing = "{kind.placing}"')
    lines += kind.keys
    if spec.along and kind.name in ("bench", "rack", "assembly"):
        lines.append("along = true")
    if spec.alike and kind.name == "bench":
        lines.append("count = 2")
    if spec.bays > 1 and kind.stage != "store":
        lines.append(f"within = {{ power_{chr(ord('a') + member.bay)} = 5.0 }}")
    return "\n".join(lines) + "\n"


def _building(spec: Spec) -> Iterator[str]:
    corners = ", ".join(f"[{x}, {y}]" for x, y in spec.outline)
    yield f"[room]\noutline = [{corners}]\n"
    width = spec.outline[1][0]
    van = 2.8 if spec.van else 0.0
    yield (
        f'[[room.doors]]\nname = "door"\nwall = 1\nfrom = {round(width - 1.6, 2)}\nwidth = 0.9\n'
        'swing = "out"\n'
    )
    if spec.van:
        yield f'[[room.doors]]\nname = "roller"\nwall = 1\nfrom = 0.4\nwidth = {van}\nvehicle = true\n'
    if spec.bays > 1:
        depth = spec.outline[2][1]
        for bay in range(spec.bays):
            x = round((bay + 0.5) * width / spec.bays, 2)
            for y in (0.0, depth):
                name = f"power_{chr(ord('a') + bay)}-{1 + (y > 0)}"
                yield f'[[room.fixtures]]\nname = "{name}"\nat = [{x}, {y}]\n'


def text(spec: Spec) -> str:
    """The scenario file."""
    rng = random.Random(spec.seed)
    found = members(spec, rng)
    parts = [f'name = "{spec.name}"\nunits = "m"\n', *_building(spec)]
    parts += [_station(spec, member) for member in found]
    if spec.van:
        parts.append(
            '[vehicles.van]\nsize = [1.8, 4.6]\nheight = 2.0\ndoor = "roller"\n'
            "around = { back = 0.6, left = 0.75 }\ninside = 0.2\n"
        )
    parts += jobs(spec, found, rng)
    return "\n".join(parts)


def room(name: str) -> Scenario:
    """A room of the family by its name."""
    return loads(text(ROOMS[name]))


def hub_share(scenario: Scenario) -> tuple[str, float]:
    """The station that most legs of a year begin or end at, and its share of all legs."""
    ends: Counter[str] = Counter()
    total = 0.0
    for job in scenario.jobs:
        for one, two in zip(job.route, job.route[1:], strict=False):
            if one.name != two.name:
                total += job.times_per_year
                ends.update(dict.fromkeys({one.name, two.name}, job.times_per_year))
    name, most = ends.most_common(1)[0]
    return name, most / total


def pairs(scenario: Scenario) -> int:
    """Pairs of stations that somebody walks between."""
    legs = (leg for job in scenario.jobs for leg in zip(job.route, job.route[1:], strict=False))
    return len({frozenset((one.name, two.name)) for one, two in legs if one.name != two.name})


def free_share(scenario: Scenario) -> float:
    """Share of the room's floor left by footprints and standing strips, if no strip overlapped another."""
    area = shapely.Polygon(scenario.room.outline).area
    origin = Placement(0.0, 0.0, 180.0)
    taken = 0.0
    for station in scenario.stations:
        rings = [shapes.footprint(station, origin), *(s.polygon for s in shapes.strips(station, origin))]
        taken += sum(shapely.Polygon(ring).area for ring in rings)
    return float(1.0 - taken / area)


def spots(scenario: Scenario, pitch: float) -> int:
    return sum(len(s.placements) for s in find_spots(scenario, pitch, 4, None))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("names", nargs="*", default=list(ROOMS), metavar="NAME")
    parser.add_argument("--toml", action="store_true", help="print the files")
    parser.add_argument("--search", type=float, metavar="SECONDS", help="look for a layout of each")
    parser.add_argument("--pitch", type=float, default=0.5, help="for --search")
    options = parser.parse_args()
    if options.toml:
        for name in options.names:
            print(text(ROOMS[name]))
        return
    head = ("stations", "pairs", "spots 0.5", "0.25", "hub", "share", "free")
    print(f"{'room':<12}{'{:>9}{:>7}{:>11}{:>7}{:>12}{:>7}{:>6}'.format(*head)}")
    for name in options.names:
        scenario = room(name)
        hub, share = hub_share(scenario)
        large = "-" if len(scenario.stations) > 30 else spots(scenario, 0.25)
        line = (
            f"{name:<12}{len(scenario.stations):>9}{pairs(scenario):>7}{spots(scenario, 0.5):>11}{large:>7}"
            f"{hub:>12}{share:>7.0%}{free_share(scenario):>6.0%}"
        )
        if options.search:
            began = time.perf_counter()
            try:
                found = footwork.suggest(scenario, seconds=options.search, pitch=options.pitch)
                line += f"   best {found.best.cost:,.0f} m, bound {found.bound:,.0f}, gap {found.gap:.1%}"
            except FootworkError as fault:
                line += f"   {fault}"
            line += f", {time.perf_counter() - began:.0f} s"
        print(line, flush=True)


if __name__ == "__main__":
    main()
