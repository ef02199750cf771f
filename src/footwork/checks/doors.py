"""Floor of the building that no footprint may cover: door swings, floor to keep clear, electrical panels."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from footwork.checks.case import Case
from footwork.checks.ground import Body, Clash, Fault, Ground, Placed, overlap_fault
from footwork.checks.result import CheckResult
from footwork.checks.rule import YOUR_FILE, Rule, published
from footwork.floor.overlap import blocked_shifts
from footwork.floor.shapes import FloatArray, front_axes
from footwork.floor.walls import outside_of
from footwork.model.scenario import TOLERANCE, KeepClear

# --- door-swing: a door opens fully.

DOOR_SWING = Rule("door-swing", "the floor that a door sweeps is free", "must", YOUR_FILE, 0.0)


def door_swing_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for door in ground.swings:
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

KEEP_CLEAR = Rule("keep-clear", "no footprint covers floor that the file keeps clear", "must", YOUR_FILE, 0.0)


def keep_clear_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for area in ground.clear:
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
    "floor 0.762 m wide, or the panel's width, and 0.914 m deep is free before an electrical panel",
    "must",
    published("NEC 110.26(A), working space about electrical equipment (from a secondary text)"),
    0.914,
)
PANEL_WIDTH = 0.762
"""Metres: 30 in; the space is as wide as this or as the panel, whichever is more, and need not be centred."""


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


def panel_stretches(
    ground: Ground, panel: KeepClear, others: tuple[Placed, ...]
) -> tuple[tuple[float, float], ...]:
    """Where along its slide the space before a panel is free of the building and of ``others``.

    Shifts in metres, as closed intervals; empty when there is none.  A single shift is an interval of
    no length.
    """
    body, along, slide = panel_floor(ground, panel)
    blocked: list[tuple[float, float]] = []
    walls = [*ground.segments, ground.around_all]
    # The panel itself may be drawn as a fixture, inside its own space.
    fixtures = [f for f in ground.fixtures if f.name != panel.name]
    for other in (*walls, *fixtures, *(p.body for p in others)):
        blocked += blocked_shifts(body.pieces, other.pieces, along)
    if slide <= TOLERANCE:
        return () if any(low < 0.0 < high for low, high in blocked) else ((0.0, 0.0),)
    free = list(
        outside_of(slide, [(max(0.0, lo), min(slide, hi)) for lo, hi in blocked if hi > 0 and lo < slide])
    )
    ends = [s for s in (0.0, slide) if not any(lo < s < hi for lo, hi in blocked)]
    return tuple(free + [(s, s) for s in ends])


def _panels(ground: Ground) -> tuple[KeepClear, ...]:
    return tuple(k for k in ground.room.keep_clear if k.kind == "electrical panel")


def panel_space_alone(ground: Ground, placed: Placed) -> Iterator[Fault]:
    for panel in _panels(ground):
        if panel_stretches(ground, panel, ()) and not panel_stretches(ground, panel, (placed,)):
            yield _panel_fault(ground, panel, placed)


def panel_space_pair(ground: Ground, a: Placed, b: Placed) -> Iterator[Fault]:
    """Two things that leave no room before a panel together, though each alone does."""
    for panel in _panels(ground):
        if not panel_stretches(ground, panel, ()):
            continue
        alone = all(panel_stretches(ground, panel, (p,)) for p in (a, b))
        if alone and not panel_stretches(ground, panel, (a, b)):
            yield _panel_fault(ground, panel, a)
            yield _panel_fault(ground, panel, b)


def panel_space_building(ground: Ground) -> Iterator[Fault]:
    """Panels that the building itself leaves no room before."""
    figure = ground.under(PANEL_SPACE).figure or 0.0
    for panel in _panels(ground):
        if not panel_stretches(ground, panel, ()):
            yield Fault(panel.name, "the building", figure, 0.0)


def _panel_fault(ground: Ground, panel: KeepClear, placed: Placed) -> Fault:
    figure = ground.under(PANEL_SPACE).figure or 0.0
    body, _, _ = panel_floor(ground, panel)
    _, v = front_axes(panel.facing)
    back = body.pieces[0] @ np.array(v)
    near = float(back.max()) - (0.0 if panel.size[1] >= figure / 2 else panel.size[1])
    x, y, _ = placed.body.flat
    free = min(figure, max(0.0, near - float((x * v[0] + y * v[1]).max())))
    clash = Clash(placed.name, placed.body.pieces, body.pieces)
    return Fault(panel.name, placed.name, figure, free, (clash,))


def panel_space(case: Case) -> Iterator[CheckResult]:
    say = case.say
    faults = dict(case.gather(panel_space_alone, panel_space_pair))
    for fault in panel_space_building(case.ground):
        faults[fault.subject] = [fault]
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
