"""The open nodes of the bound's tree, best bound first, and how much memory they hold.

A node's messages may be anything: its first sweep collects every edge.  So they are kept in coarse steps
(``model.in_steps``) and, once there are many nodes, compressed, in about a fifth of the memory.
"""

from __future__ import annotations

import heapq
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import numpy.typing as npt

from footwork.arrange.core.arrays import Bools, Ints, Longs, Shorts
from footwork.arrange.relaxation.model import Problem
from footwork.compiled.functions import entry
from footwork.compiled.records import record

QUICKLY = 1
"""Level of compression: higher ones take longer than a node's work and gain little."""
ROOMY = 300_000_000
"""Bytes of open nodes up to which they are not compressed, which is a twelfth of the work."""
NODE_BYTES = 600
"""What a node and its parts take as objects, about."""


@dataclass(frozen=True, slots=True)
class Packed:
    """An array, or its bytes compressed."""

    kept: npt.NDArray[Any] | bytes
    dtype: np.dtype[Any]

    @staticmethod
    def make(array: npt.NDArray[Any], level: int) -> Packed:
        """A copy: an array of compiled code keeps all of its record."""
        return Packed(zlib.compress(array.tobytes(), level) if level else array.copy(), array.dtype)

    @property
    def array(self) -> npt.NDArray[Any]:
        if isinstance(self.kept, bytes):
            # Of bytes, which cannot be written in, numpy and Numba make another kind of array.
            return np.frombuffer(bytearray(zlib.decompress(self.kept)), self.dtype)
        return self.kept

    @property
    def size(self) -> int:
        """Bytes."""
        return len(self.kept) if isinstance(self.kept, bytes) else self.kept.nbytes


@record
class Handed(NamedTuple):
    """What a worked node hands to its children.

    first (stations + 1,)  where each station's spots begin
    active (labels,)       which of its labels are active
    steps                  its messages, as ``model.in_steps`` gives them
    rlt                    its RLT-1 multipliers, as ``rlt_multipliers.packed`` gives them
    """

    first: Ints
    active: Bools
    steps: Shorts
    rlt: Ints


@entry
def handed(first: Ints, active: Bools, steps: Shorts, rlt: Ints) -> Handed:
    """One that compiled code makes: Python takes a hundred times as long to lay it out."""
    return Handed(first, active, steps, rlt)


@dataclass(frozen=True, slots=True, eq=False)
class Parent:
    """A worked node, as its children need it; ``spots`` are numbers in ``problem``.

    ``multipliers`` are those of packing points.  ``own_bytes`` are those of ``problem`` where it is not the
    whole one, ``size`` those of all else.
    """

    problem: Problem
    own_bytes: int
    spots: Ints
    first: Ints
    active: Bools
    steps: Packed
    rlt: Packed
    multipliers: Packed
    size: int

    @staticmethod
    def make(
        problem: Problem, own_bytes: int, spots: Ints, own: Handed, multipliers: Longs, level: int = QUICKLY
    ) -> Parent:
        """``level`` is the one to compress at, 0 not at all."""
        spots, first, active = spots.copy(), own.first.copy(), own.active.copy()
        steps, rlt, paid = (Packed.make(array, level) for array in (own.steps, own.rlt, multipliers))
        size = NODE_BYTES + spots.nbytes + first.nbytes + active.nbytes + steps.size + rlt.size + paid.size
        return Parent(problem, own_bytes, spots, first, active, steps, rlt, paid, size)

    def handed(self) -> Handed:
        return handed(self.first, self.active, self.steps.array, self.rlt.array)


@dataclass(frozen=True, slots=True, eq=False)
class Node:
    """Part of the problem still to be worked, whose ``bound`` is known: ``pick`` are places in the parent's
    spots."""

    bound: int
    parent: Parent
    pick: Ints


class OpenNodes:
    """A queue of nodes by bound; of equal ones the older first."""

    def __init__(self) -> None:
        self.bytes = 0
        self._heap: list[tuple[int, int, Node]] = []
        self._count = 0
        self._held: dict[object, int] = {}

    def __len__(self) -> int:
        return len(self._heap)

    def __iter__(self) -> Iterator[Node]:
        return (node for _, _, node in self._heap)

    @property
    def level(self) -> int:
        """What to compress further nodes at."""
        return 0 if self.bytes < ROOMY else QUICKLY

    @property
    def least(self) -> int:
        """The least bound; there must be a node."""
        return self._heap[0][0]

    def push(self, node: Node) -> None:
        self._count += 1
        self.bytes += NODE_BYTES + node.pick.nbytes
        self._hold(node.parent, node.parent.size)
        self._hold(node.parent.problem, node.parent.own_bytes)
        heapq.heappush(self._heap, (node.bound, self._count, node))

    def pop(self) -> tuple[int, Node]:
        """(a number of its own, the node of the least bound)."""
        _, count, node = heapq.heappop(self._heap)
        self.bytes -= NODE_BYTES + node.pick.nbytes
        self._drop(node.parent, node.parent.size)
        self._drop(node.parent.problem, node.parent.own_bytes)
        return count, node

    def clear(self) -> None:
        self._heap.clear()
        self._held.clear()
        self.bytes = 0

    def _hold(self, thing: object, size: int) -> None:
        """Count a thing that several nodes share once."""
        held = self._held.get(thing, 0)
        self._held[thing] = held + 1
        if held == 0:
            self.bytes += size

    def _drop(self, thing: object, size: int) -> None:
        self._held[thing] -= 1
        if self._held[thing] == 0:
            del self._held[thing]
            self.bytes -= size
