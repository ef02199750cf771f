"""A plain assignment problem as matrices, what can be wrong with one, and what ``assign`` gives back."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt

from footwork.arrange.core.arrays import Bools, Floats, Ints, Longs
from footwork.arrange.core.pairwise import Tables, assemble, floor_single
from footwork.arrange.core.results import Bounded
from footwork.model.errors import NoLayoutError, UsageError

WHOLE_LIMIT = 2.0**40
"""Whole numbers beyond this are treated like fractions: their sums are not exact in double precision."""


@dataclass(frozen=True)
class Assignment(Bounded):
    """The best assignment found, and how good it is.

    ``places[i]`` is the place of thing i, counted from 0.  ``bound``: no assignment costs less; 0 when there
    was no time for one.  ``cost`` and ``bound`` are in units of flow times distance, ``seconds`` is how long
    it took.
    """

    places: tuple[int, ...]
    cost: float
    bound: float
    seconds: float
    seed: int

    def to_dict(self) -> dict[str, object]:
        """Plain values, ready for JSON."""
        return {
            "places": list(self.places),
            "cost": self.cost,
            "bound": self.bound,
            "gap": self.gap,
            "status": self.status,
            "seconds": self.seconds,
            "seed": self.seed,
        }


@dataclass(frozen=True)
class Problem:
    """n things to assign to m >= n places, one a place.

    flow, distance   (n, n) and (m, m), diagonals moved to ``linear``
    linear           (n, m) cost of each thing at each place
    allowed          (n, m) which places each thing may take
    """

    flow: Floats
    distance: Floats
    linear: Floats
    allowed: Bools

    @property
    def things(self) -> int:
        return len(self.flow)

    @property
    def places(self) -> int:
        return len(self.distance)

    @cached_property
    def two(self) -> bool:
        """Whether the two directions have to be told apart (neither flow nor distance is symmetric)."""
        return not (_symmetric(self.flow) or _symmetric(self.distance))

    def cost(self, places: npt.ArrayLike) -> float:
        """Linear costs, and flow times distance in both directions; infinite on a place not allowed."""
        at = np.asarray(places)
        each = np.arange(self.things)
        if not self.allowed[each, at].all():
            return math.inf
        walked = float((self.flow * self.distance[np.ix_(at, at)]).sum())
        return walked + float(self.linear[each, at].sum())

    @cached_property
    def grain(self) -> float:
        """Every cost is a multiple of this: 0 when it is not known to be, as with fractions."""
        flow, distance = self.flow, self.distance
        if _symmetric(flow) or _symmetric(distance):
            # A pair counts there and back: flows of a pair add up where distances are alike, and so on.
            flow = flow + flow.T if _symmetric(distance) else flow
            distance = distance if _symmetric(distance) else distance + distance.T
        f, d, own = (_divisor(each) for each in (flow, distance, self.linear))
        return 0.0 if f is None or d is None or own is None else float(math.gcd(f * d, own))

    def names(self) -> tuple[str, ...]:
        return tuple(f"thing {i}" for i in range(self.things))

    def first(self) -> Ints:
        """Where each thing's spots begin, as in ``Tables``: a spot is a thing at one of its places."""
        return np.concatenate(([0], np.cumsum(self.allowed.sum(axis=1)))).astype(np.int32)

    def tables(self) -> Tables:
        """The same as a pair-table problem."""
        at = [np.flatnonzero(row).astype(np.int32) for row in self.allowed]
        first = self.first()
        pair = np.zeros((first[-1], first[-1]), np.float32)
        for i in range(self.things):
            for j in range(i):
                there, back = self.distance[np.ix_(at[i], at[j])], self.distance[np.ix_(at[j], at[i])].T
                price = self.flow[i, j] * there + self.flow[j, i] * back
                price[at[i][:, None] == at[j]] = np.inf
                rows, columns = slice(first[i], first[i + 1]), slice(first[j], first[j + 1])
                pair[rows, columns] = floor_single(price)
                pair[columns, rows] = pair[rows, columns].T
        return assemble(self.names(), first, self.linear[self.allowed], pair)

    def place_of_spot(self) -> Ints:
        """Place of each spot, shape (spots,)."""
        return np.nonzero(self.allowed)[1].astype(np.int32)


def _symmetric(matrix: Floats) -> bool:
    return bool((matrix == matrix.T).all())


def _divisor(matrix: Floats) -> int | None:
    """Greatest common divisor of the entries, or None when they are not whole (or too great to be exact)."""
    if (matrix != np.floor(matrix)).any() or float(np.abs(matrix).max(initial=0.0)) > WHOLE_LIMIT:
        return None
    whole: Longs = matrix.astype(np.int64).ravel()
    return int(np.gcd.reduce(whole))


def problem_of(
    flow: npt.ArrayLike,
    distance: npt.ArrayLike,
    linear: npt.ArrayLike | None,
    fixed: Mapping[int, int] | None,
    forbidden: npt.ArrayLike | None,
    wrong: list[str],
) -> Problem:
    """The problem that these matrices are; see ``assign``.

    Raises UsageError with ``wrong`` and all that is wrong here besides.
    """
    f, d = _square("flow", flow, wrong), _square("distance", distance, wrong)
    if f is None or d is None:
        raise UsageError(*wrong)
    n, m = len(f), len(d)
    if n == 0:
        wrong.append("flow must have at least one thing, not shape (0, 0)")
    if n > m:
        wrong.append(f"there must be a place for each thing: flow has {n} things, distance {m} places")
    shape = f"(things, places) = ({n}, {m})"
    own = np.zeros((n, m))
    if linear is not None:
        given = _numbers("linear", linear, wrong)
        if given is not None and given.shape != (n, m):
            wrong.append(f"linear must have shape {shape}, not {given.shape}")
        elif given is not None:
            own = given
    allowed = np.ones((n, m), np.bool_)
    if forbidden is not None:
        barred = np.asarray(forbidden)
        if barred.dtype != np.bool_ or barred.shape != (n, m):
            kind = f"{barred.dtype} {barred.shape}"
            wrong.append(f"forbidden must be true or false in shape {shape}, not {kind}")
        else:
            allowed &= ~barred
    _fix(fixed or {}, allowed, wrong)
    if wrong:
        raise UsageError(*wrong)
    own = own + np.outer(np.diag(f), np.diag(d))
    np.fill_diagonal(f, 0.0)
    np.fill_diagonal(d, 0.0)
    return Problem(f, d, own, allowed)


def _numbers(name: str, values: npt.ArrayLike, wrong: list[str]) -> Floats | None:
    """A matrix of finite numbers that are 0 or more, as a copy of its own; None when it is not one."""
    try:
        matrix = np.array(values, np.float64)
    except (TypeError, ValueError):
        wrong.append(f"{name} must be a matrix of numbers")
        return None
    if matrix.ndim != 2:
        wrong.append(f"{name} must be a matrix, not of shape {matrix.shape}")
        return None
    for bad, what in ((~np.isfinite(matrix), "finite"), (matrix < 0, "0 or more")):
        if bad.any():
            i, j = (int(k[0]) for k in np.nonzero(bad))
            more = f", and {int(bad.sum()) - 1} more" if bad.sum() > 1 else ""
            wrong.append(f"{name}[{i}, {j}] must be {what}, not {matrix[i, j]:g}{more}")
            return None
    return matrix


def _square(name: str, values: npt.ArrayLike, wrong: list[str]) -> Floats | None:
    matrix = _numbers(name, values, wrong)
    if matrix is not None and matrix.shape[0] != matrix.shape[1]:
        wrong.append(f"{name} must be square, not of shape {matrix.shape}")
        return None
    return matrix


def _fix(fixed: Mapping[int, int], allowed: Bools, wrong: list[str]) -> None:
    """Leave fixed things their place alone, and others without it."""
    n, m = allowed.shape
    holder: dict[int, int] = {}
    for thing, place in fixed.items():
        if not (0 <= thing < n and 0 <= place < m):
            there = f"things are 0 to {n - 1}, places 0 to {m - 1}"
            wrong.append(f"fixed: thing {thing} at place {place}: {there}")
        elif place in holder:
            wrong.append(f"fixed: things {holder[place]} and {thing} cannot both have place {place}")
        elif not allowed[thing, place]:
            wrong.append(f"fixed: thing {thing} is forbidden at place {place}")
        else:
            holder[place] = thing
    for place, thing in holder.items():
        allowed[thing] = False
        allowed[:, place] = False
        allowed[thing, place] = True


def some_assignment(allowed: Bools) -> Ints:
    """Any assignment on allowed places, shape (things,), by augmenting paths.

    Raises NoLayoutError naming things that have fewer places than they are (Hall's condition).
    """
    holder = np.full(allowed.shape[1], -1, np.int32)
    for thing in range(len(allowed)):
        came_from: dict[int, int] = {}
        queue = [thing]
        free = -1
        for seeker in queue:
            for place in np.flatnonzero(allowed[seeker]).tolist():
                if place in came_from:
                    continue
                came_from[place] = seeker
                if holder[place] < 0:
                    free = place
                    break
                queue.append(int(holder[place]))
            if free >= 0:
                break
        if free < 0:
            raise NoLayoutError(_short_of_places(sorted(queue), sorted(came_from)))
        while free >= 0:
            seeker = came_from[free]
            held = np.flatnonzero(holder == seeker)
            holder[free] = seeker
            free = int(held[0]) if len(held) else -1
    found = np.empty(len(allowed), np.int32)
    taken = np.flatnonzero(holder >= 0)
    found[holder[taken]] = taken
    return found


def _short_of_places(things: list[int], places: list[int]) -> str:
    who = ", ".join(map(str, things))
    if not places:
        return f"thing {who} has no place left: forbid or fix less"
    where = ", ".join(map(str, places))
    return f"things {who} have only places {where} left, too few for all of them: forbid or fix less"
