"""The open nodes of the bound's tree, best bound first, and how much memory they hold.

A node's messages may be anything: its first sweep collects every edge.  So they are kept in steps of 2^-14
of the upper bound and, once there are many nodes, compressed, in about a fifth of the memory.
"""

from __future__ import annotations

import heapq
import zlib
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from footwork.arrange.living import Problem
from footwork.arrange.tables import Bools, Ints, Longs

STEP_BITS = 9
QUICKLY = 1
"""Level of compression: higher ones take longer than a node's work and gain little."""
ROOMY = 300_000_000
"""Bytes of open nodes up to which they are not compressed, which is a twelfth of the work."""
NODE_BYTES = 600
"""What a node and its parts take as objects, about."""


def pack(messages: Ints, level: int) -> bytes:
    """Messages in little memory; not quite the same come back."""
    steps = np.clip(messages >> STEP_BITS, -(1 << 15), (1 << 15) - 1).astype(np.int16)
    return zlib.compress(steps.tobytes(), level)


def unpack(packed: bytes) -> Ints:
    steps = np.frombuffer(zlib.decompress(packed), np.int16)
    return steps.astype(np.int32) << STEP_BITS


@dataclass(frozen=True, slots=True)
class Worked:
    """What a worked node hands to its children; ``spots`` are numbers in ``problem``.

    ``lifted`` are the bytes of ``problem`` where it is not the whole one.  ``packed_messages`` and
    ``packed_rents`` are as ``pack`` and ``zlib`` leave them.
    """

    problem: Problem
    lifted: int
    spots: Ints
    first: Ints
    alive: Bools
    packed_messages: bytes
    packed_rents: bytes

    @staticmethod
    def make(
        problem: Problem,
        lifted: int,
        spots: Ints,
        first: Ints,
        alive: Bools,
        messages: Ints,
        rents: Longs,
        level: int = QUICKLY,
    ) -> Worked:
        """``level`` is the one to compress at, 0 not at all."""
        packed_rents = zlib.compress(rents.tobytes(), level)
        return Worked(problem, lifted, spots, first, alive, pack(messages, level), packed_rents)

    @property
    def messages(self) -> Ints:
        """A copy to write in."""
        return unpack(self.packed_messages)

    @property
    def rents(self) -> Longs:
        """A copy to write in."""
        return np.frombuffer(zlib.decompress(self.packed_rents), np.int64).copy()

    @property
    def size(self) -> int:
        """Bytes, without those of ``problem``."""
        arrays = self.spots.nbytes + self.first.nbytes + self.alive.nbytes
        return NODE_BYTES + arrays + len(self.packed_messages) + len(self.packed_rents)


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
