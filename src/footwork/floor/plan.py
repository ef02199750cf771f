"""One layout of one scenario as geometry, computed when first asked for and kept.

Metres, in the room's frame.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from footwork.floor import shapes
from footwork.floor.headroom import overhead
from footwork.floor.scene import Obstacle, Scene
from footwork.floor.shapes import FloatArray, Pieces, StandingPlace, Strip, convex_pieces
from footwork.floor.variants import comes_and_goes, fixed_place
from footwork.floor.walls import WallSegment, wall_segments
from footwork.model.errors import UsageError
from footwork.model.scenario import (
    TOLERANCE,
    Layout,
    Placement,
    Room,
    Scenario,
    Side,
    Station,
    Vehicle,
    Visit,
)

WALLS = "walls"
"""Name of the obstacle that all walls and yard edges make together."""


@dataclass(frozen=True)
class Plan:
    """A layout of a scenario with its geometry.

    Raises UsageError, naming them, when the layout leaves out stations or vehicles.
    """

    scenario: Scenario
    layout: Layout
    _scenes: dict[frozenset[str], Scene] = field(default_factory=dict, repr=False, compare=False)
    _places: dict[tuple[str, Side | None], tuple[StandingPlace, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )
    _visits: dict[tuple[tuple[str, ...], Side | None], tuple[StandingPlace, ...]] = field(
        default_factory=dict, repr=False, compare=False
    )
    _known: Mapping[str, tuple[Placement, Obstacle]] = field(default_factory=dict, repr=False, compare=False)
    """Obstacles of another layout, and where they stood."""

    def after(self, layout: Layout) -> Plan:
        """The plan of another layout of the scenario; what has not moved is not worked out again."""
        known = {name: (self.placements[name], obstacle) for name, obstacle in self._obstacles.items()}
        plan = Plan(self.scenario, layout, _known=known)
        moved = {name for name, (place, _) in known.items() if plan.placements[name] != place}
        plan._places.update({key: places for key, places in self._places.items() if key[0] not in moved})
        plan.__dict__["building"] = self.building
        return plan

    def __post_init__(self) -> None:
        missing = [t.name for t in self.scenario.things if t.name not in self.placements]
        if missing:
            raise UsageError(
                f"layout {self.layout.name!r} has no place for {', '.join(missing)}; give each an `at`"
            )

    @property
    def room(self) -> Room:
        return self.scenario.room

    @cached_property
    def placements(self) -> Mapping[str, Placement]:
        """Where everything stands; fixed stations where the file fixes them."""
        fixed = {s.name: s.fixed for s in self.scenario.stations if s.fixed is not None}
        return {**self.layout.placements, **fixed}

    @cached_property
    def things(self) -> Mapping[str, Station | Vehicle]:
        return {t.name: t for t in self.scenario.things}

    @cached_property
    def walls(self) -> tuple[WallSegment, ...]:
        return wall_segments(self.room)

    def footprint(self, name: str) -> FloatArray:
        """The footprint of a station or vehicle, (n, 2)."""
        return shapes.footprint(self.things[name], self.placements[name])

    def pieces(self, name: str) -> Pieces:
        """The same as convex pieces."""
        return shapes.pieces(self.things[name], self.placements[name])

    def strips(self, name: str) -> tuple[Strip, ...]:
        """Standing strips of a station; the working space of a vehicle."""
        thing = self.things[name]
        if isinstance(thing, Vehicle):
            return shapes.around(thing, self.placements[name])
        return shapes.strips(thing, self.placements[name])

    def places(self, name: str, side: Side | None = None) -> tuple[StandingPlace, ...]:
        """Standing places of a station, vehicle or door, at one side or at all that it is worked from."""
        key = (name, side)
        if key not in self._places:
            width = self.scenario.walker.width
            thing = self.things.get(name)
            if thing is None:
                self._places[key] = (fixed_place(self.scenario, name),)
            else:
                self._places[key] = shapes.standing_places(
                    thing, self.placements[name], width, None if side is None else (side,)
                )
        return self._places[key]

    def visit_places(self, visit: Visit) -> tuple[StandingPlace, ...]:
        """Every place at which a visit may happen."""
        key = (visit.members, visit.side)
        if key not in self._visits:
            self._visits[key] = tuple(p for m in visit.members for p in self.places(m, visit.side))
        return self._visits[key]

    @cached_property
    def building(self) -> tuple[Obstacle, ...]:
        """Walls, and fixtures that take floor, as obstacles."""
        walls = Obstacle.from_walls(WALLS, [(w.start, w.end) for w in self.walls])
        fixtures = [
            Obstacle.from_ring(f.name, f.outline, convex_pieces(f.outline))
            for f in self.room.fixtures
            if f.takes_floor
        ]
        return (walls, *fixtures)

    @cached_property
    def _obstacles(self) -> Mapping[str, Obstacle]:
        found = {}
        for name, place in ((name, self.placements[name]) for name in self.things):
            stood, obstacle = self._known.get(name, (None, None))
            if obstacle is None or stood != place:
                obstacle = Obstacle.from_ring(name, self.footprint(name), self.pieces(name))
            found[name] = obstacle
        return found

    def scene(self, present: frozenset[str] = frozenset()) -> Scene:
        """The floor with everything on it, of what comes and goes that which is ``present``.

        People walk below what hangs overhead.
        """
        if present not in self._scenes:
            things = [t for t in self.scenario.things if not comes_and_goes(t) or t.name in present]
            names = [t.name for t in things if not overhead(t)]
            self._scenes[present] = Scene((*self.building, *(self._obstacles[n] for n in names)))
        return self._scenes[present]

    def piece_names(self, scene: Scene) -> tuple[str, ...]:
        """A name for each piece of ``scene``, walls by their own names ("south wall", "wall 3")."""
        names: list[str] = []
        for obstacle in scene.obstacles:
            if obstacle.name == WALLS:
                names += [wall_words(w.name) for w in self.walls if math.dist(w.start, w.end) > TOLERANCE]
            else:
                names += [obstacle.name] * len(obstacle.pieces)
        return tuple(names)


def wall_words(name: str) -> str:
    """What to call a wall or yard edge in a sentence."""
    if name.startswith("yard "):
        return f"edge of {name}"
    return f"wall {name}" if name.isdigit() else f"{name} wall"
