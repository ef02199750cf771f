"""The open nodes of the bound's tree, best bound first, and how much memory they hold.

A node's messages may be anything: its first sweep collects every edge.  So they are kept in coarse steps
(``model.in_steps``) and, once there are many nodes, compressed, in about a fifth of the memory.
"""

from __future__ import annotations

import heapq
import zlib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from footwork.arrange.core.arrays import Bools, Ints, Longs, Shorts
from footwork.arrange.relaxation.model import Problem

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
        return Packed(zlib.compress(array.tobytes(), level) if level else array, array.dtype)

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


@dataclass(frozen=True, slots=True)
class Worked:
    """What a worked node hands to its children; ``spots`` are numbers in ``problem``.

    ``lifted`` are the bytes of ``problem`` where it is not the whole one, ``size`` those of all else.
    """

    problem: Problem
    lifted: int
    spots: Ints
    first: Ints
    alive: Bools
    steps: Packed
    conditional: Packed
    rents: Packed
    size: int

    @staticmethod
    def make(
        problem: Problem,
        lifted: int,
        spots: Ints,
        first: Ints,
        alive: Bools,
        steps: Shorts,
        conditional: Ints,
        rents: Longs,
        level: int = QUICKLY,
    ) -> Worked:
        """``steps`` are the messages as ``model.in_steps`` gives them, ``conditional`` rents as
        ``rlt_multipliers.packed`` does; ``level`` is the one to compress at, 0 not at all."""
        packed, own, paid = (Packed.make(array, level) for array in (steps, conditional, rents))
        size = NODE_BYTES + spots.nbytes + first.nbytes + alive.nbytes + packed.size + own.size + paid.size
        return Worked(problem, lifted, spots, first, alive, packed, own, paid, size)


@dataclass(frozen=True, slots=True)
class Node:
    """Part of the problem still to be worked: ``pick`` are places in the parent's living spots."""

    key: int
    parent: Worked
    pick: Ints


class OpenNodes:
    """A queue of nodes by ``key``; of equal ones the older first."""

    def __init__(self) -> None:
        self.bytes = 0
        self._heap: list[tuple[int, int, Node]] = []
        self._count = 0
        self._held: dict[int, int] = {}

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
        """The least key; there must be a node."""
        return self._heap[0][0]

    def push(self, node: Node) -> None:
        self._count += 1
        self.bytes += NODE_BYTES + node.pick.nbytes
        self._hold(node.parent, node.parent.size)
        self._hold(node.parent.problem, node.parent.lifted)
        heapq.heappush(self._heap, (node.key, self._count, node))

    def pop(self) -> tuple[int, Node]:
        """(a number of its own, the node of the least key)."""
        _, count, node = heapq.heappop(self._heap)
        self.bytes -= NODE_BYTES + node.pick.nbytes
        self._drop(node.parent, node.parent.size)
        self._drop(node.parent.problem, node.parent.lifted)
        return count, node

    def clear(self) -> None:
        self._heap.clear()
        self._held.clear()
        self.bytes = 0

    def _hold(self, thing: object, size: int) -> None:
        """Count a thing that several nodes share once."""
        held = self._held.get(id(thing), 0)
        self._held[id(thing)] = held + 1
        if held == 0:
            self.bytes += size

    def _drop(self, thing: object, size: int) -> None:
        self._held[id(thing)] -= 1
        if self._held[id(thing)] == 0:
            del self._held[id(thing)]
            self.bytes -= size
