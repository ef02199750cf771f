"""The bound: what no choice of spots can cost less than, by branch and bound on the pair table.

Best bound first, on where the hub of the flow stands, then on the station that raises the bound most
(``branching.py``); message passing with floor rents in every node (``passing.py``).  A large node takes
neighbouring spots as one (``patches.py``).  A node down to one spot a station is a layout, and its true cost
decides.  The tree is grown for an aim below the best layout first, then anew for higher ones (``aims.py``).
The bound is the least over open nodes and nodes in work, or the last aim that was reached, so it is valid
whenever the work is stopped.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable

import numpy as np

from footwork.arrange.aims import Aims
from footwork.arrange.living import Problem
from footwork.arrange.open_nodes import Node, OpenNodes, Worked
from footwork.arrange.patches import where_many
from footwork.arrange.settled import Ways
from footwork.arrange.tables import Floats, Ints, Longs, Tables
from footwork.arrange.tree import UNIT, Cover, Scaled, hub_last, scaled
from footwork.arrange.visits import NO_VISITS, Visits

ROOT_PASSES = 100
NODE_PASSES = 12
PASS_BUDGET = 1_500_000_000
"""Pairs of spots that one node may go through, so that a node takes seconds at most."""
FINE_SPOTS = 600
"""Spots up to which a node has no patches."""
FEW_PATCHES = 80
"""Patches of a station up to which its spots take their place."""
LIFT_PAIRS = 1800
"""Pairs of labels walked between up to which a node's walks are lifted."""
LIFT_ROUNDS = 2
PACE = 0.1
"""Step of the rents, as a part of the gap."""
MEMORY_LIMIT = 1_500_000_000
"""Bytes kept by open nodes beyond which the work stops."""


class Tree:
    """Branch and bound on one pair-table problem.

    tables  the problem
    upper   metres a year of a layout already known; must be finite
    true    gives the true cost of a choice (spots by thing), infinite when it may not be used;
            called from worker threads one at a time
    places  (spots, 2) where each spot stands, to group them
    cover   what spots share (floor rents), see ``Cover``
    base    spot of each thing in the base layout and ``moves`` how many things may leave theirs
    visits  visits that are variables of their own (``visits.py``)
    lifting makes what small nodes are lifted with (``lifting.py``) from the problem in integers
    group   (spots,) numbers: spots of one thing with the same number make a patch (``patches.py``), unless
            moves are limited
    staged  whether lower prices are proven first (``aims.py``); otherwise no open node is ever dropped but
            for the best layout
    """

    def __init__(
        self,
        tables: Tables,
        upper: float,
        true: Callable[[Ints], float],
        places: Floats,
        cover: Cover | None = None,
        base: Ints | None = None,
        moves: int | None = None,
        visits: Visits = NO_VISITS,
        lifting: Callable[[Scaled], Ways] | None = None,
        group: Ints | None = None,
        staged: bool = True,
    ) -> None:
        self._tables = tables
        self._true = true
        cover = cover or Cover.none(tables.size)
        if base is not None and moves is not None:
            cover, group = cover.with_moved(base, moves), None  # whether a patch has moved is not known
        if group is not None:
            group = where_many(group, tables.first, FEW_PATCHES)
        self._scaled: Scaled = scaled(tables, upper, hub_last(tables), visits, group)
        self._ways = None if lifting is None else lifting(self._scaled)
        patches = self._scaled.patches
        self._cover = cover.reordered(self._scaled.order[patches.spots]).folded(patches.folds)
        self._places = places[self._scaled.order]
        self._moves = moves
        self._base: Ints | None = None if base is None else self._scaled.numbers(base)
        self.upper = upper
        self.best: Ints | None = None
        self.nodes = 0
        self.full = False
        self._lock = threading.Condition()
        self._open = OpenNodes()
        self._busy: dict[int, int] = {}
        self._seen: set[bytes] = set()
        self._aims = Aims(staged)
        self._root = Node(0, self._whole(), patches.coarsest)
        self._open.push(self._root)

    @property
    def bound(self) -> float:
        """Metres a year that no choice undercuts (``upper`` when the tree is done)."""
        with self._lock:
            return self._bound()

    @property
    def done(self) -> bool:
        with self._lock:
            return self._reached() and self._aims.price >= self._scaled.limit(self.upper)

    def improve(self, upper: float, choice: Ints | None = None) -> None:
        """Tell the tree of a better layout found elsewhere."""
        with self._lock:
            if upper < self.upper:
                self.upper, self.best = upper, choice

    def priced(self, choice: Ints) -> float:
        """Metres a year that the bound itself counts for a whole choice (spots by thing): never more than
        its true cost, as the bound knows of no third thing in the way of a walk."""
        from footwork.arrange.node import inherited, work

        whole, cover, spots = self._whole(), self._cover, self._scaled.numbers(choice)
        problem, shared = whole.problem, (cover.start, cover.points, cover.capacity)
        alive, messages = inherited(problem, whole.first, whole.alive, whole.messages, spots)
        _, found = work(
            problem, problem, spots, alive, messages, whole.rents, shared, UNIT, NODE_PASSES, PACE, None, 0, 0
        )
        return self._scaled.metres(int(found[0]))

    def run(
        self,
        stop: Callable[[], bool],
        workers: int = 1,
        nodes: int | None = None,
        seconds: float = math.inf,
    ) -> None:
        """Work until done, ``stop()``, or so many nodes in all.

        ``seconds`` are what this run and later ones may count on; without them one worker is repeatable.
        """
        self._aims.start_clock(seconds)
        try:
            self._run(stop, workers, nodes)
        finally:
            self._aims.stop_clock()

    def _run(self, stop: Callable[[], bool], workers: int, nodes: int | None) -> None:
        if workers == 1:
            self._work(stop, nodes)
            return
        failures: list[BaseException] = []

        def one() -> None:
            try:
                self._work(stop, nodes)
            except BaseException as fault:
                failures.append(fault)
                with self._lock:
                    self.full = True
                    self._lock.notify_all()

        threads = [threading.Thread(target=one, daemon=True) for _ in range(workers)]
        for thread in threads:
            thread.start()
        try:
            for thread in threads:
                thread.join()
        except KeyboardInterrupt:
            self.full = True  # the workers leave after the node they are at
            raise
        if failures:
            raise failures[0]

    def _whole(self) -> Worked:
        """All of the problem, nothing worked yet."""
        from footwork.arrange.living import labels_begin, messages_begin

        problem = self._scaled.problem
        size = int(problem.first[-1])
        labels = labels_begin(problem, problem.first)
        rents = np.zeros(len(self._cover.capacity), np.int64)
        return Worked.make(
            problem,
            0,
            np.arange(size, dtype=np.int32),
            problem.first,
            np.ones(labels[-1], np.bool_),
            np.zeros(messages_begin(problem, labels)[1], np.int32),
            rents,
        )

    def _bound(self) -> float:
        least = min(self._least_key(), self._limit())
        if least >= self._scaled.limit(self.upper):
            return self.upper
        return min(self.upper, self._scaled.metres(max(least, self._aims.proved)))

    def _least_key(self) -> int:
        """The least bound of what is open or in work, ``UNIT`` when nothing is."""
        return min([*self._busy.values(), self._open.least if self._open else UNIT])

    def _limit(self) -> int:
        """Price from which on nothing is looked at: the aim's, or the best layout's."""
        return int(min(self._aims.price, self._scaled.limit(self.upper)))

    def _reached(self) -> bool:
        """Whether nothing is left below the aim."""
        return not self._open and not self._busy

    def _take(self, stop: Callable[[], bool], nodes: int | None) -> tuple[int, Node] | None:
        """The open node of least bound, or None when the work is over."""
        with self._lock:
            while not (stop() or self.full or (nodes is not None and self.nodes >= nodes)):
                self._set_aim()
                if self._open:
                    count, node = self._open.pop()
                    if node.key >= self._limit():
                        self._open.clear()
                        continue
                    self._busy[count] = node.key
                    self.nodes += 1
                    self._aims.nodes += 1
                    return count, node
                if not self._busy:
                    break
                self._lock.wait(0.05)
            self._lock.notify_all()
            return None

    def _set_aim(self) -> None:
        """Start anew from the root when the aim is reached, or was too far for a start."""
        limit = self._scaled.limit(self.upper)
        if self._open and self._aims.too_far():
            self._aims.lower(self._least_key(), limit)
        elif self._reached() and self._aims.price < limit:
            self._aims.raise_aim(limit)
        else:
            return
        self._open.clear()
        self._busy.clear()  # what is in work is of no use any more
        self._open.push(self._root)

    def _work(self, stop: Callable[[], bool], nodes: int | None) -> None:
        while (taken := self._take(stop, nodes)) is not None:
            count, node = taken
            children: list[Node] | None = None
            try:
                children = self._children(node)
            finally:
                with self._lock:
                    if self._busy.pop(count, None) is not None:
                        # Interrupted, the node stays open.
                        for child in [node] if children is None else children:
                            if child.key < self._limit():
                                self._open.push(child)
                        self.full = self.full or self._open.bytes > MEMORY_LIMIT
                    self._lock.notify_all()

    def _children(self, node: Node) -> list[Node]:
        from footwork.arrange.node import inherited, work

        scaled, cover, parent = self._scaled, self._cover, node.parent
        problem = parent.problem
        spots = parent.spots[node.pick]
        spots, again = scaled.patches.taken_apart(spots, self._sizes(problem, spots))
        pick = node.pick[again]
        if len(spots) == len(scaled.things):
            self._leaf(problem.origin[spots])
            return []
        rents = parent.rents
        limit = self._limit()
        passes = ROOT_PASSES if node.key == 0 else NODE_PASSES
        passes = max(NODE_PASSES // 2, min(passes, PASS_BUDGET // len(spots) ** 2))
        alive, messages = inherited(problem, parent.first, parent.alive, parent.messages, pick)
        shared = (cover.start, cover.points, cover.capacity)
        fine = problem is not scaled.problem or len(spots) == scaled.patches.sizes(spots).sum()
        problem, found = work(
            scaled.problem, problem, spots, alive, messages, rents, shared, limit, passes, PACE,
            self._ways, LIFT_PAIRS if fine else -1, LIFT_ROUNDS,
        )  # fmt: skip
        bound, spots, first, alive, messages, marginal, decoded, paid = found
        # About what the choice read off it costs: of a node that reaches the aim, the aim at least.
        about = limit if bound >= limit else bound + int(paid.sum())
        if len(decoded) and about < scaled.limit(self.upper):
            self._leaf(problem.origin[decoded])
        if bound >= limit:
            return []
        key = max(int(bound), node.key)
        if key >= self._limit():  # the decoded layout was better still
            return []
        lifted = 0 if problem is scaled.problem else problem.pair.nbytes + problem.store.nbytes
        level = self._open.level
        worked = Worked.make(problem, lifted, spots, first, alive, messages, rents, level)
        return self._split(worked, key, marginal, paid)

    def _sizes(self, problem: Problem, spots: Ints) -> Longs:
        """How many spots are to take the place of each of a node's spots and patches."""
        patches = self._scaled.patches
        if patches.none or problem is not self._scaled.problem:
            return np.ones(len(spots), np.int64)
        sizes = patches.sizes(spots)
        if sizes.sum() <= FINE_SPOTS:
            return sizes
        station = np.searchsorted(problem.first, spots, side="right")
        return np.where(np.bincount(station)[station] <= FEW_PATCHES, sizes, 1)

    def _split(self, worked: Worked, key: int, marginal: Longs, paid: Longs) -> list[Node]:
        """Children of a worked node: groups of one station's spots, each with its own bound.

        One that is to be taken apart, or is a layout, is its own child.
        """
        from footwork.arrange.branching import choose

        first, spots = worked.first, worked.spots
        apart = self._sizes(worked.problem, spots).max() > 1
        if apart or len(spots) == len(first) - 1:
            return [Node(key, worked, np.arange(len(spots), dtype=np.int32))]
        where = worked.problem.origin[spots]
        limit = self._limit()
        station, group = choose(self._places, where, first, marginal, paid, key, limit)
        low, high = int(first[station]), int(first[station + 1])
        children = []
        for number in range(int(group.max()) + 1):
            own = low + np.nonzero(group == number)[0].astype(np.int32)
            pick = np.concatenate((np.arange(low), own, np.arange(high, len(spots)))).astype(np.int32)
            allowed = self._within_moves(worked, pick)
            if allowed is not None:
                children.append(Node(max(key, int(marginal[own].min())), worked, allowed))
        return children

    def _within_moves(self, worked: Worked, pick: Ints) -> Ints | None:
        """Places that still respect the number of moves; None when too many have moved."""
        if self._base is None or self._moves is None:
            return pick
        spots = worked.problem.origin[worked.spots[pick]]
        first = np.searchsorted(pick, worked.first)
        at_base = np.isin(spots, self._base)
        staying = np.array([at_base[first[i] : first[i + 1]].any() for i in range(len(first) - 1)])
        moved = int((~staying).sum())
        if moved > self._moves:
            return None
        if moved < self._moves:
            return pick
        owner = np.repeat(np.arange(len(staying)), np.diff(first))
        allowed: Ints = pick[at_base | ~staying[owner]]
        return allowed

    def _leaf(self, spots: Ints) -> None:
        """Try a whole choice at its true cost."""
        choice = np.empty(len(spots), np.int32)
        choice[self._scaled.things] = self._scaled.order[spots]
        with self._lock:
            if choice.tobytes() in self._seen or self._tables.cost(choice) >= self.upper:
                return
            if self._too_many_moved(spots):
                return
            cost = self._true(choice)
            # Only now: an interrupt while the cost was measured must not lose the layout.
            self._seen.add(choice.tobytes())
            if cost < self.upper:
                self.upper, self.best = cost, choice

    def _too_many_moved(self, spots: Ints) -> bool:
        if self._base is None or self._moves is None:
            return False
        return int((spots != self._base).sum()) > self._moves
