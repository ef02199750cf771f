"""What a person would measure in a shed with a tape, on footprints alone: plain shapely, none of the checks.

A measure takes a ``Shed`` and says in words what is wrong, or None when all is well.  Metres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass

import shapely
from shapely import LineString, Point, Polygon
from shapely.affinity import rotate, translate

from footwork.model.scenario import Door, Fixture, Placement, Scenario, Station, Vehicle, Window

Measure = Callable[["Shed"], str | None]

SLACK = 0.002
"""Metres by which a measure may be missed: nobody reads a tape closer."""
HAND = 0.1
"""Metres above a sill that nobody minds."""
OVERHEAD = 2.0
"""Metres above the floor where things that hang are in nobody's way."""


@dataclass(frozen=True)
class Shed:
    """A scenario with everything in its place."""

    scenario: Scenario
    placements: Mapping[str, Placement]

    @property
    def room(self) -> Polygon:
        return Polygon(self.scenario.room.outline)

    def thing(self, name: str) -> Station | Vehicle:
        return self.scenario.thing(name)

    def place(self, name: str) -> Placement:
        fixed = getattr(self.thing(name), "fixed", None)
        return self.placements[name] if fixed is None else fixed

    def floor(self, name: str) -> Polygon:
        """The footprint of a thing, or of a fixture."""
        for fixture in self.scenario.room.fixtures:
            if fixture.name == name:
                return Point(fixture.at) if max(fixture.size) == 0 else Polygon(fixture.outline)
        return self.put(self.thing(name), self.place(name))

    def put(self, thing: Station | Vehicle, place: Placement) -> Polygon:
        return translate(rotate(Polygon(thing.outline), 180 - place.facing, (0, 0)), place.x, place.y)

    def before(self, name: str, side: str, deep: float, inset: float = 0.0) -> Polygon:
        """The floor ``deep`` metres out from a side of a thing, less ``inset`` at both ends."""
        thing, place = self.thing(name), self.place(name)
        x0, y0, x1, y1 = Polygon(thing.outline).bounds
        reach = getattr(thing, "reach", 0.0)
        box = {
            "front": (x0 + inset, y0 - reach - deep, x1 - inset, y0 - reach),
            "back": (x0 + inset, y1, x1 - inset, y1 + deep),
            "left": (x0 - deep, y0 + inset, x0, y1 - inset),
            "right": (x1, y0 + inset, x1 + deep, y1 - inset),
        }[side]
        return translate(rotate(shapely.box(*box), 180 - place.facing, (0, 0)), place.x, place.y)

    def opening(self, name: str) -> Door | Window:
        room = self.scenario.room
        return next(o for o in (*room.doors, *room.windows) if o.name == name)

    def inside(self, name: str, deep: float) -> Polygon:
        """The floor inside a door or window, as wide as it is."""
        o = self.opening(name)
        (sx, sy), (ex, ey), (ix, iy) = o.start, o.end, o.inward
        return Polygon(
            [(sx, sy), (ex, ey), (ex + deep * ix, ey + deep * iy), (sx + deep * ix, sy + deep * iy)]
        )

    def fixture(self, name: str) -> Fixture:
        return next(f for f in self.scenario.room.fixtures if f.name == name)

    def stations(self) -> Iterable[Station]:
        return self.scenario.stations

    def standing(self, out: Iterable[str] = ()) -> dict[str, Polygon]:
        """Footprints of all that stands in the way, vehicles in, fixtures too; what is parked, parked."""
        found = {}
        for thing in self.scenario.things:
            if thing.name in out or getattr(thing, "from_floor", 0.0) >= OVERHEAD:
                continue
            parked = getattr(thing, "parked", None)
            found[thing.name] = self.floor(thing.name) if parked is None else self.put(thing, parked)
        for fixture in self.scenario.room.fixtures:
            if max(fixture.size) > 0:
                found[fixture.name] = Polygon(fixture.outline)
        return found

    def walkable(self, wide: float, door: str, out: Iterable[str] = ()) -> Polygon:
        """Where the middle of a person ``wide`` metres can get to from a door."""
        radius = wide / 2 - SLACK
        free = self.room.buffer(-radius)
        for body in self.standing(out).values():
            free = free.difference(body.buffer(radius))
        inner = self.inside(door, wide)
        parts = [p for p in shapely.get_parts(free) if p.intersects(inner)]
        return shapely.union_all(parts)


def low(thing: Station, height: float) -> bool:
    return thing.height is not None and thing.height <= height + SLACK


def share(one: Station | Vehicle, two: Station | Vehicle) -> bool:
    """Whether one hangs above the other."""

    def above(a: Station | Vehicle, b: Station | Vehicle) -> bool:
        hangs = getattr(a, "from_floor", 0.0)
        return hangs > 0 and b.height is not None and b.height <= hangs + SLACK

    return above(one, two) or above(two, one)


# --- of every shed


def nothing_in_anything(shed: Shed) -> str | None:
    """Two things in one place; what hangs above something, or is parked while a vehicle is in, may share."""
    things = list(shed.scenario.things)
    for number, one in enumerate(things):
        mine = shed.floor(one.name)
        if (
            mine.difference(shed.room.buffer(SLACK)).area > 0
            and isinstance(one, Station)
            and not one.outdoors
        ):
            return f"{one.name} is in the wall"
        for fixture in shed.scenario.room.fixtures:
            if max(fixture.size) > 0 and sunk(mine, Polygon(fixture.outline)):
                return f"{one.name} is in {fixture.name}"
        for two in things[:number]:
            apart = getattr(one, "parked", None) or getattr(two, "parked", None)
            if not apart and not share(one, two) and sunk(mine, shed.floor(two.name)):
                return f"{one.name} is in {two.name}"
    return None


def sunk(a: Polygon, b: Polygon) -> bool:
    return bool(a.buffer(-SLACK).intersects(b.buffer(-SLACK)))


def backs_on_solid_wall(shed: Shed) -> str | None:
    """What stands at a wall has wall behind it: no door that is used, no step away from it."""
    for station in shed.stations():
        if station.placing != "wall":
            continue
        edge = shed.before(station.name, "back", 0.001)
        if any(Point(p).distance(shed.room.exterior) > 0.1 + SLACK for p in edge.exterior.coords):
            return f"{station.name} has no wall behind it"
        behind = shed.before(station.name, "back", 0.12, inset=0.02)
        for door in shed.scenario.room.doors:
            line = LineString([door.start, door.end])
            if door.used and behind.intersection(line).length > 0.02:
                return f"{station.name} has its back to {door.name}"
    return None


def one_can_stand_at_everything(shed: Shed) -> str | None:
    """Half a metre before each side that is worked at, while vehicles that share the time are in or not."""
    for station in shed.stations():
        for side in station.stand:
            place = shed.before(station.name, side, 0.5, inset=0.05)
            if place.difference(shed.room.buffer(SLACK)).area > 0:
                return f"a wall at the {side} of {station.name}"
            for other in shed.stations():
                parked = other.parked is not None or station.parked is not None
                above = other.from_floor >= OVERHEAD or share(station, other)
                if (
                    other.name != station.name
                    and not parked
                    and not above
                    and sunk(place, shed.floor(other.name))
                ):
                    return f"{other.name} at the {side} of {station.name}"
    return None


def doors_open(shed: Shed) -> str | None:
    """Leaves that swing in swing freely, and one can step through every door for people."""
    for door in shed.scenario.room.doors:
        if not door.used:
            continue
        reach = Point(door.start if door.hinge == "start" else door.end).buffer(door.width)
        swept = reach.intersection(shed.inside(door.name, door.width))
        for station in shed.stations():
            if station.from_floor >= OVERHEAD:
                continue
            body = shed.floor(station.name)
            if door.swing == "in" and sunk(body, swept):
                return f"{station.name} in the swing of {door.name}"
            if not door.vehicle and sunk(body, shed.inside(door.name, 0.8)):
                return f"{station.name} before {door.name}"
    return None


# --- of one thing or two


def nothing_before(opening: str, deep: float, but_castors: bool = False) -> Measure:
    """Nothing on the floor before a door, ``deep`` metres in."""

    def measure(shed: Shed) -> str | None:
        space = shed.inside(opening, deep)
        for station in shed.stations():
            if station.from_floor >= OVERHEAD or (but_castors and station.castors):
                continue
            if sunk(shed.floor(station.name), space):
                return f"{station.name} stands before {opening}"
        return None

    return measure


def near(one: str, two: str, metres: float) -> Measure:
    """At most so far from each other, edge to edge."""

    def measure(shed: Shed) -> str | None:
        gap = shed.floor(one).distance(shed.floor(two))
        return f"{gap:.2f} m from {one} to {two}" if gap > metres + SLACK else None

    return measure


def near_door(one: str, door: str, metres: float) -> Measure:
    """At most so far from a door."""

    def measure(shed: Shed) -> str | None:
        gap = shed.floor(one).distance(shed.inside(door, 0.01))
        return f"{gap:.2f} m from {one} to {door}" if gap > metres + SLACK else None

    return measure


def apart(one: str, two: str, metres: float) -> Measure:
    """At least so far from each other, edge to edge."""

    def measure(shed: Shed) -> str | None:
        gap = shed.floor(one).distance(shed.floor(two))
        return f"{gap:.2f} m from {one} to {two}" if gap < metres - SLACK else None

    return measure


def supply_near(kind: str, metres: float, *names: str) -> Measure:
    """A socket or tap within the length of a lead."""

    def measure(shed: Shed) -> str | None:
        points = [Point(f.at) for f in shed.scenario.room.fixtures if f.kind == kind]
        for name in names:
            gap = min(shed.floor(name).distance(p) for p in points)
            if gap > metres + SLACK:
                return f"{gap:.2f} m from {name} to a {kind}"
        return None

    return measure


def under_window(one: str, window: str, part: float = 0.4) -> Measure:
    """At the window's wall, and ``part`` of the shorter of the two before the window."""

    def measure(shed: Shed) -> str | None:
        body, glass = shed.floor(one), shed.inside(window, 0.12)
        o = shed.opening(window)
        length = math.dist(o.start, o.end)
        shared = body.intersection(glass)
        along = (
            0.0
            if shared.is_empty
            else max(shared.bounds[2] - shared.bounds[0], shared.bounds[3] - shared.bounds[1])
        )
        size = shed.thing(one).size[0]
        return None if along >= part * min(length, size) - SLACK else f"{one} is not under {window}"

    return measure


def light(window: str, hidden: float = 0.15) -> Measure:
    """Of a window no more than ``hidden`` metres of its length behind what is a hand taller than its sill."""

    def measure(shed: Shed) -> str | None:
        o = shed.opening(window)
        assert isinstance(o, Window)
        assert o.sill is not None
        floor, line = shed.inside(window, 0.4), LineString([o.start, o.end])
        for station in shed.stations():
            body = shed.floor(station.name)
            if low(station, o.sill + HAND) or not sunk(body, floor):
                continue
            shadow = body.intersection(floor)
            ends = [line.project(Point(p)) for p in shadow.exterior.coords]
            if max(ends) - min(ends) > hidden:
                return f"{station.name} before {window}"
        return None

    return measure


def grabbed(name: str, door: str, wide: float = 0.6, out: Iterable[str] = ()) -> Measure:
    """An extinguisher: nothing before it, and one can walk to it from a door with everything in."""

    def measure(shed: Shed) -> str | None:
        hangs = Point(shed.fixture(name).at)
        front = hangs.buffer(0.75).intersection(shed.room)
        for other, body in shed.standing(out).items():
            if body.buffer(-SLACK).distance(hangs) < 0.28 and other != name:
                return f"{other} over {name}"
        return None if shed.walkable(wide, door, out).intersects(front) else f"no way to {name} from {door}"

    return measure


def reached(door: str, wide: float, *names: str, out: Iterable[str] = ()) -> Measure:
    """One can walk from a door, ``wide`` metres, to where each of these is worked at."""

    def measure(shed: Shed) -> str | None:
        for name in names:
            thing = shed.thing(name)
            gone = (*out, *([name] if getattr(thing, "parked", None) else ()))
            ways = shed.walkable(wide, door, gone)
            if not any(ways.intersects(shed.before(name, side, wide / 2 + 0.25)) for side in thing.stand):
                return f"no way {wide:g} m wide from {door} to {name}"
        return None

    return measure


def driver_gets_out(vehicle: str, door: str | None = None, wide: float = 0.5) -> Measure:
    """0.55 m beside the driver's door, and a way from there to the house, sideways if need be."""

    def measure(shed: Shed) -> str | None:
        car = shed.scenario.vehicle(vehicle)
        side = "right" if car.driver == "left" else "left"  # a thing's left is that of who looks at its front
        beside = shed.before(vehicle, side, 0.55)
        nose = shed.before(vehicle, "front", 0.01)
        seat = beside.intersection(nose.buffer(car.size[1] * 0.5, cap_style="flat", join_style="mitre"))
        seat = seat.difference(nose.buffer(car.size[1] * 0.25, join_style="mitre"))
        if seat.difference(shed.room).area > 0.001:
            return f"the driver of {vehicle} has a wall beside the door"
        for name, body in shed.standing((vehicle,)).items():
            rolls = getattr(next((t for t in shed.scenario.things if t.name == name), None), "castors", False)
            if not rolls and sunk(body, seat):
                return f"{name} beside the driver's door of {vehicle}"
        if door is not None and not shed.walkable(wide, door).intersects(beside):
            return f"the driver of {vehicle} cannot get to {door}"
        return None

    return measure


def room_round(vehicle: str, metres: float = 0.15) -> Measure:
    """A hand's breadth round a vehicle: to walls, the shut door, and what does not roll or hang above it."""

    def measure(shed: Shed) -> str | None:
        body, car = shed.floor(vehicle), shed.scenario.vehicle(vehicle)
        if body.distance(shed.room.exterior) < metres - SLACK:
            return f"{vehicle} is {body.distance(shed.room.exterior):.2f} m from a wall or the door"
        for station in shed.stations():
            gap = body.distance(shed.floor(station.name))
            if not station.castors and not share(station, car) and gap < metres - SLACK:
                return f"{station.name} is {gap:.2f} m from {vehicle}"
        return None

    return measure


def drives_straight_in(vehicle: str, spare: float = 0.2) -> Measure:
    """From its door to where it stands nothing that does not roll, and ``spare`` beside it."""

    def measure(shed: Shed) -> str | None:
        body, door = shed.floor(vehicle), shed.opening(shed.scenario.vehicle(vehicle).door)
        beside = [shed.before(vehicle, side, spare) for side in ("left", "right")]
        wide = shapely.union_all([body, *beside])
        lane = shapely.union_all([wide, translate(wide, *(-9 * i for i in door.inward))]).convex_hull
        lane = lane.intersection(shed.room)
        for station in shed.stations():
            hangs = station.from_floor > 0 and share(station, shed.scenario.vehicle(vehicle))
            if not station.castors and not hangs and sunk(lane, shed.floor(station.name)):
                return f"{station.name} in the way of {vehicle}"
        return None

    return measure


def along_the_room(one: str) -> Measure:
    """Its front looks along the longer side of the room, so that is how boards go through it."""

    def measure(shed: Shed) -> str | None:
        x0, y0, x1, y1 = shed.room.bounds
        east_west = round(shed.place(one).facing) % 180 == 90
        return None if east_west == (x1 - x0 > y1 - y0) else f"{one} feeds across the room"

    return measure


def long_stock(one: str, side: str, metres: float) -> Measure:
    """So much room for boards at a side, clear of walls but for doors and windows, and of what is higher."""

    def measure(shed: Shed) -> str | None:
        station = shed.scenario.station(one)
        assert station.stock is not None
        half = (station.size[0 if side in ("front", "back") else 1] - (station.stock.width or 0.3)) / 2
        board = shed.before(one, side, metres, inset=max(half, 0.0))
        room = shed.scenario.room
        open_to = [Polygon(room.outline)]
        for o in (*room.doors, *room.windows):
            open_to.append(LineString([o.start, o.end]).buffer(4.0, cap_style="flat"))
        if board.difference(shapely.union_all(open_to).buffer(SLACK)).area > 0:
            return f"a wall at the {side} of {one}"
        for other in shed.stations():
            clear = station.work_height is not None and low(other, station.work_height)
            above = station.work_height is not None and other.from_floor >= station.work_height
            if other.name == one or clear or above or other.parked is not None:
                continue
            if sunk(board, shed.floor(other.name)):
                return f"{other.name} at the {side} of {one}"
        return None

    return measure


def screened(giver: str, minder: str, far: float = 10.6) -> Measure:
    """The straight line between two things meets a screen or a wall, or they are far apart."""

    def measure(shed: Shed) -> str | None:
        one, two = shed.floor(giver), shed.floor(minder)
        sight = LineString([one.centroid, two.centroid])
        screens = [shed.floor(s.name) for s in shed.stations() if s.shield]
        if (
            any(sight.intersects(s) for s in screens)
            or one.distance(two) >= far
            or not shed.room.covers(sight)
        ):
            return None
        return f"{minder} is in sight of {giver}"

    return measure


def turning_circle(wide: float, *names: str) -> Measure:
    """A wheelchair turns at each of these: a free circle ``wide`` metres across, close to its front."""

    def measure(shed: Shed) -> str | None:
        free = shed.room.buffer(-(wide / 2 - SLACK))
        for body in shed.standing().values():
            free = free.difference(body.buffer(wide / 2 - SLACK))
        for name in names:
            if not free.intersects(shed.before(name, "front", 1.2)):
                return f"no turning circle at {name}"
        return None

    return measure


def before_panel(name: str) -> Measure:
    """Somebody can work at the panel: 0.9 m deep and 0.7 m wide before it."""

    def measure(shed: Shed) -> str | None:
        fixture = shed.fixture(name)
        angle = math.radians(fixture.facing)
        out = (math.sin(angle), math.cos(angle))
        face = (fixture.at[0] + out[0] * fixture.size[1] / 2, fixture.at[1] + out[1] * fixture.size[1] / 2)
        end = (face[0] + 0.9 * out[0], face[1] + 0.9 * out[1])
        space = LineString([face, end]).buffer(fixture.size[0] / 2, cap_style="flat")
        for station in shed.stations():
            if sunk(space, shed.floor(station.name)) and station.from_floor < OVERHEAD:
                return f"{station.name} before {name}"
        return None

    return measure


def clear_beside(name: str, metres: float, *sides: str) -> Measure:
    """Nothing on the floor so far out from the sides of a thing."""

    def measure(shed: Shed) -> str | None:
        for side in sides:
            space = shed.before(name, side, metres)
            for other, body in shed.standing((name,)).items():
                if sunk(space, body):
                    return f"{other} at the {side} of {name}"
        return None

    return measure


def parked_free(name: str) -> Measure:
    """Where a thing is parked nothing else stands."""

    def measure(shed: Shed) -> str | None:
        station = shed.scenario.station(name)
        assert station.parked is not None
        body = shed.put(station, station.parked)
        for other in shed.scenario.things:
            if other.name != name and not share(station, other) and sunk(body, shed.floor(other.name)):
                return f"{other.name} where {name} is parked"
        return None

    return measure


def not_in_the_middle(*names: str, metres: float = 0.3) -> Measure:
    """By a wall, or by something that stands at one: not alone in the middle of the floor."""

    def measure(shed: Shed) -> str | None:
        for name in names:
            body = shed.floor(name)
            held = [shed.floor(s.name) for s in shed.stations() if s.name != name]
            held += [Polygon(f.outline) for f in shed.scenario.room.fixtures if max(f.size) > 0]
            if min([body.distance(shed.room.exterior), *(body.distance(h) for h in held)]) > metres:
                return f"{name} stands alone in the middle"
        return None

    return measure
