"""Floor of the building that no footprint may cover: door swings, floor to keep clear, electrical panels."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from footwork.checks.case import Case, either
from footwork.checks.ground import Body, Clash, Fault, Ground, Placed, overlap_fault
from footwork.checks.result import CheckResult
from footwork.checks.rule import COMMON_PRACTICE, YOUR_FILE, Rule, published
from footwork.floor.headroom import HEADROOM, hangs_above, overhead
from footwork.floor.overlap import blocked_shifts
from footwork.floor.shapes import FloatArray, front_axes, signed_area
from footwork.model.scenario import TOLERANCE, Door, KeepClear, Point, Vehicle

# --- door-swing: a door opens fully.

DOOR_SWING = Rule(
    "door-swing", "the floor that a door sweeps is free, up to the door's height", "must", COMMON_PRACTICE
)


def door_swing_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for door in ground.swings_against(placed.thing):
        if placed.body.meets(door):
            yield overlap_fault(door.name, placed, door)


def door_swing_building(ground: Ground) -> Iterator[Fault]:
    """Fixtures in a door's swing: a fault of the building that no layout mends."""
    for door in ground.swings:
        for fixture in ground.fixtures:
            if door.meets(fixture):
                yield Fault(door.name, fixture.name, 0.0, door.depth(fixture))


def door_swing(case: Case) -> Iterator[CheckResult]:
    faults = dict(case.gather(door_swing_alone))
    for fault in door_swing_building(case.ground):
        faults[fault.subject] = [*faults.get(fault.subject, []), fault]

    def bad(fault: Fault) -> str:
        what = f"{fault.other} stands {case.say(fault.actual)} in the swing of {fault.subject}"
        if not fault.clashes:
            return f"{what} and cannot move: hinge the door at its other end or let it swing out"
        return f"{what}: {case.mend(fault)}"

    names = [door.name for door in case.ground.swings]
    yield from case.results(names, faults, bad, lambda s: f"{s} opens fully")


# --- keep-clear: floor that the file keeps free.

KEEP_CLEAR = Rule(
    "keep-clear",
    "no footprint covers floor to be kept clear (`keep_clear`), but of what one walks under",
    "must",
    YOUR_FILE,
)


def keep_clear_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for area in () if overhead(placed.thing) else ground.clear:
        if placed.body.meets(area):
            yield overlap_fault(area.name, placed, area)


def keep_clear(case: Case) -> Iterator[CheckResult]:
    def bad(fault: Fault) -> str:
        return f"{fault.other} covers {case.say(fault.actual)} of {fault.subject}: {case.mend(fault)}"

    names = [area.name for area in case.ground.clear]
    yield from case.results(names, case.gather(keep_clear_alone), bad, lambda s: f"{s} is kept clear")


# --- panel-space: room to work before an electrical panel.

PANEL_SPACE = Rule(
    "panel-space",
    "floor {0.762} wide, or as wide as the panel, and {figure} deep is free before an electrical panel, "
    "{1.981} high",
    "must",
    published("NEC 110.26(A), working space about electrical equipment (from a secondary text)"),
    0.914,
)
PANEL_WIDTH = 0.762
"""Metres: 30 in; the space is as wide as this or as the panel, whichever is more, and need not be centred."""
PANEL_HEIGHT = 1.98
"""Metres: 6.5 ft, the height of that space, NEC 110.26(A)(3) (from a secondary text)."""


def panel_floor(ground: Ground, panel: KeepClear) -> tuple[Body, tuple[float, float], float]:
    """The space before a panel at its leftmost, the direction it may slide in, and how far.

    A keep-clear area drawn at least half as deep as the figure is the floor itself, measured from its back;
    a shallower one is the panel, and the floor begins at its front.  Left is the viewer's.
    """
    figure = ground.under(PANEL_SPACE).figure or 0.0
    u, v = (np.array(axis) for axis in front_axes(panel.facing))
    wide, deep = panel.size
    near = deep / 2
    far = near - max(figure, deep) if deep >= figure / 2 else near - deep - figure
    span = max(PANEL_WIDTH, wide)
    left = wide / 2 - span
    corners = [(left, far), (left + span, far), (left + span, near), (left, near)]
    ring: FloatArray = np.array([np.array(panel.at) + a * u + b * v for a, b in corners])
    return Body(panel.name, (ring,)), (float(u[0]), float(u[1])), span - wide


@dataclass(frozen=True, eq=False)
class Space:
    """Floor to keep free somewhere before a panel or door: it slides from ``body`` along ``along`` by up to
    ``slide``.

    ``sweep`` is all floor it can cover, ``blocked`` the shifts at which the building is in its way.  It is
    ``tall``: what hangs as high is not in its way.
    """

    tall: ClassVar[float] = HEADROOM

    body: Body
    along: Point
    slide: float
    sweep: Body
    blocked: tuple[tuple[float, float], ...]

    def fits(self, others: tuple[Placed, ...]) -> bool:
        """Whether at some shift the space is free of the building and of ``others``."""
        blocked = list(self.blocked)
        for other in others:
            if self.holds(other):
                blocked += blocked_shifts(self.body.pieces, other.body.pieces, self.along)
        # The free shifts are a closed set: if there are any, one is at an end or where something ends.
        shifts = [0.0, self.slide, *(high for _, high in blocked if 0.0 < high < self.slide)]
        return any(not any(low < s < high for low, high in blocked) for s in shifts)

    def holds(self, other: Placed) -> bool:
        """Whether a thing stands on floor that the space can cover, or hangs too low over it."""
        return not hangs_above(other.thing, self.tall) and self.sweep.meets(other.body)


@dataclass(frozen=True, eq=False)
class PanelSpace(Space):
    """The space before one panel."""

    tall: ClassVar[float] = PANEL_HEIGHT
    panel: KeepClear


def _space(ground: Ground, body: Body, along: Point, slide: float) -> Space:
    """The space that slides from ``body``: a rectangle whose corners 1 and 2 lead the way."""
    sweep = body.pieces[0] + np.outer([0.0, slide, slide, 0.0], along)
    # The panel itself may be drawn as a fixture, inside its own space.
    hard = [b for b in ground.building() if b.name != body.name]
    blocked = tuple(i for b in hard for i in blocked_shifts(body.pieces, b.pieces, along))
    return Space(body, along, slide, Body(body.name, (sweep,)), blocked)


def panel_spaces(ground: Ground) -> tuple[PanelSpace, ...]:
    """The space before each panel of the building; kept with the ground."""
    if "panels" not in ground.kept:
        ground.kept["panels"] = tuple(_panel_space(ground, panel) for panel in _panels(ground))
    spaces: tuple[PanelSpace, ...] = ground.kept["panels"]
    return spaces


def _panel_space(ground: Ground, panel: KeepClear) -> PanelSpace:
    space = _space(ground, *panel_floor(ground, panel))
    return PanelSpace(space.body, space.along, space.slide, space.sweep, space.blocked, panel)


def _panels(ground: Ground) -> tuple[KeepClear, ...]:
    return tuple(k for k in ground.room.keep_clear if k.kind == "electrical panel")


def panel_space_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for space in panel_spaces(ground):
        if space.fits(()) and not space.fits((placed,)):
            yield _panel_fault(ground, space, placed)


def panel_space_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """Two things that leave no room before a panel together, though each alone does."""
    for space in panel_spaces(ground):
        alone = space.fits((a,)) and space.fits((b,))
        if alone and not space.fits((a, b)):
            yield _panel_fault(ground, space, a)
            yield _panel_fault(ground, space, b)


def panel_space_building(ground: Ground) -> Iterator[Fault]:
    """Panels that the building itself leaves no room before."""
    for space in panel_spaces(ground):
        if not space.fits(()):
            yield Fault(space.panel.name, "the building", ground.under(PANEL_SPACE).figure or 0.0, 0.0)


def _panel_fault(ground: Ground, space: PanelSpace, placed: Placed) -> Fault:
    figure = ground.under(PANEL_SPACE).figure or 0.0
    _, v = (np.array(axis) for axis in front_axes(space.panel.facing))
    deep = space.panel.size[1]
    near = float((space.body.pieces[0] @ v).max()) - (0.0 if deep >= figure / 2 else deep)
    x, y, _ = placed.body.flat
    free = min(figure, max(0.0, near - float((x * v[0] + y * v[1]).max())))
    clash = Clash(placed.name, placed.body.pieces, space.body.pieces)
    return Fault(space.panel.name, placed.name, figure, free, (clash,))


def _panel_faults(case: Case) -> Iterator[Fault]:
    """All that stands before a panel, where no room is left; any number of things may do that together."""
    for space in panel_spaces(case.ground):
        if space.fits(()) and not space.fits(case.placed):
            inside = (p for p in case.placed if space.holds(p))
            yield from (_panel_fault(case.ground, space, p) for p in inside)


def panel_space(case: Case) -> Iterator[CheckResult]:
    say = case.say
    faults: dict[str, list[Fault]] = {}
    for fault in (*panel_space_building(case.ground), *_panel_faults(case)):
        faults.setdefault(fault.subject, []).append(fault)
    figure = case.rule.figure

    def bad(fault: Fault) -> str:
        if not fault.clashes:
            return f"walls or fixtures leave no {say(fault.required)} before {fault.subject}: redraw it"
        return (
            f"{fault.other} is {say(fault.actual)} from {fault.subject}; {say(fault.required)} must stay "
            f"free in front of it: {case.mend(fault)}"
        )

    def good(name: str) -> str:
        return f"{say(figure or 0.0)} is free before {name}"

    names = [p.name for p in _panels(case.ground)]
    yield from case.results(names, faults, bad, good, lambda _: figure, lambda _: figure)


# --- open-leaf: headroom under the open leaf of an overhead door.

OPEN_LEAF = Rule(
    "open-leaf",
    "what stands under the open leaf of an overhead door is lower than it hangs, or hangs above it",
    "must",
    YOUR_FILE,
)


def leaf_floor(door: Door) -> Body | None:
    """The floor under a door's open leaf; None without one."""
    if door.leaf <= 0 or door.height is None:
        return None
    start, end, inward = np.array(door.start), np.array(door.end), np.array(door.inward)
    ring: FloatArray = np.array([start, end, end + door.leaf * inward, start + door.leaf * inward])
    return Body(door.name, (ring if signed_area(ring) > 0 else np.ascontiguousarray(ring[::-1]),))


def leaves(ground: Ground) -> tuple[tuple[Door, Body], ...]:
    """Doors with a leaf that hangs in the room when it is open, each with the floor under it."""
    if "leaves" not in ground.kept:
        found = ((door, leaf_floor(door)) for door in ground.room.doors)
        ground.kept["leaves"] = tuple((door, floor) for door, floor in found if floor is not None)
    known: tuple[tuple[Door, Body], ...] = ground.kept["leaves"]
    return known


def open_leaf_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """A thing too tall under a leaf.  A station without a height is taken as tall; a vehicle without one
    has come in below the leaf."""
    height = placed.thing.height
    if height is None and isinstance(placed.thing, Vehicle):
        return
    for door, floor in leaves(ground):
        hangs = door.height or 0.0
        low = height is not None and height <= hangs + TOLERANCE
        if not (low or hangs_above(placed.thing, hangs)) and placed.body.meets(floor):
            clash = Clash(placed.name, placed.body.pieces, floor.pieces)
            yield Fault(placed.name, door.name, hangs, height or math.inf, (clash,))


def open_leaf(case: Case) -> Iterator[CheckResult]:
    say = case.say
    hung = leaves(case.ground)

    def bad(fault: Fault) -> str:
        hangs = f"the open leaf of {fault.other}, which hangs {say(fault.required)} up"
        if math.isinf(fault.actual):
            return (
                f"{fault.subject} stands under {hangs}, and has no height in the file, so it is taken as "
                f"tall: {either('give its height', case.apart(fault))}"
            )
        return f"{fault.subject} is {say(fault.actual)} high under {hangs}: {case.mend(fault)}"

    below = [
        p.name
        for p in case.placed
        if any(p.body.meets(floor) and not hangs_above(p.thing, door.height or 0.0) for door, floor in hung)
    ]
    least = min((door.height or 0.0 for door, _ in hung), default=0.0)
    yield from case.results(
        below,
        case.gather(open_leaf_alone),
        bad,
        lambda s: f"{s} fits under the open leaf above it",
        lambda _: least,
        lambda s: case.ground.scenario.thing(s).height,
    )


# --- door-way: every door can be walked through.

DOOR_WAY = Rule(
    "door-way",
    "before every door a square of the walker's width is free, somewhere along its opening",
    "should",
    COMMON_PRACTICE,
    price=3000.0,
)


def door_spaces(ground: Ground) -> tuple[Space, ...]:
    """The square before each door, begun at the opening's start; kept with the ground."""
    if "doorways" not in ground.kept:
        ground.kept["doorways"] = tuple(_door_space(ground, door) for door in ground.room.doors if door.used)
    spaces: tuple[Space, ...] = ground.kept["doorways"]
    return spaces


def _door_space(ground: Ground, door: Door) -> Space:
    deep = ground.scenario.walker.width
    wide = min(deep, door.width)
    start, inward = np.array(door.start), np.array(door.inward)
    along = (np.array(door.end) - start) / door.width
    ring: FloatArray = np.array(
        [start, start + wide * along, start + wide * along + deep * inward, start + deep * inward]
    )
    if signed_area(ring) < 0:  # seen from inside the opening begins on the right
        ring = np.array([ring[3], ring[2], ring[1], ring[0]])
    return _space(ground, Body(door.name, (ring,)), (float(along[0]), float(along[1])), door.width - wide)


def door_way_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    """A station that leaves no way through a door; a vehicle goes out by one."""
    if isinstance(placed.thing, Vehicle):
        return
    for space in door_spaces(ground):
        if space.fits(()) and not space.fits((placed,)):
            yield _door_fault(ground, space, placed)


def _door_fault(ground: Ground, space: Space, placed: Placed) -> Fault:
    clash = Clash(placed.name, placed.body.pieces, space.body.pieces)
    return Fault(space.body.name, placed.name, ground.scenario.walker.width, 0.0, (clash,))


def door_way(case: Case) -> Iterator[CheckResult]:
    """Any number of stations may close a door together."""
    say, ground = case.say, case.ground
    stations = tuple(p for p, _ in case.stations)
    faults: dict[str, list[Fault]] = {}
    for space in door_spaces(ground):
        if space.fits(()) and not space.fits(stations):
            inside = (p for p in stations if space.holds(p))
            faults[space.body.name] = [_door_fault(ground, space, p) for p in inside]

    def bad(fault: Fault) -> str:
        return (
            f"{fault.other} stands before the door {fault.subject}, and leaves no way {say(fault.required)} "
            f"wide through it: {case.mend(fault)}"
        )

    width = ground.scenario.walker.width
    names = [s.body.name for s in door_spaces(ground)]
    yield from case.results(
        names, faults, bad, lambda s: f"one can walk through {s}", lambda _: width, lambda _: width
    )
