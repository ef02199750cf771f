"""The bound: what no choice of spots can cost less than, by branch and bound on the pair table.

Best bound first; split on where the hub of the flow stands, if it has one, then on that of the heaviest
stations whose children have the least left to do (``branch_and_bound/strong_branching.py``); message
passing with floor rents in every node (``relaxation/trws.py``).  A large node takes neighbouring spots as
one (``relaxation/aggregation.py``).  A node down to one spot a station is a layout, and its true cost
decides.  The tree is grown for an aim below the best layout first, then anew for higher ones
(``branch_and_bound/cutoffs.py``).  The bound is the least over open nodes and nodes in work, or the last
aim that was reached, so it is valid whenever the work is stopped.
"""

from __future__ import annotations

import math
import threading
from collections.abc import Callable

import numpy as np

from footwork.arrange.branch_and_bound.cutoffs import Aims
from footwork.arrange.branch_and_bound.frontier import Node, OpenNodes, Worked
from footwork.arrange.branch_and_bound.node import End, Found, opened, work
from footwork.arrange.branch_and_bound.strong_branching import split
from footwork.arrange.core.arrays import Floats, Ints, Longs
from footwork.arrange.core.packing import Packing
from footwork.arrange.core.pairwise import Tables
from footwork.arrange.core.visit_variables import NO_VISITS, Visits
from footwork.arrange.relaxation.aggregation import folded, where_many
from footwork.arrange.relaxation.model import Problem, labels_begin, messages_begin
from footwork.arrange.relaxation.scaling import UNIT, Scaled, scaled, weights
from footwork.arrange.tightening.compulsory import Ways

ROOT_PASSES = 100
NODE_PASSES = 12
STAR_PASSES = 30
"""Passes of a node in which conditional rents move."""
PASS_BUDGET = 1_500_000_000
"""Pairs of spots that one node may go through, so that a node takes seconds at most."""
FINE_SPOTS = 600
"""Spots up to which a node has no patches."""
FEW_PATCHES = 80
"""Patches of a station up to which its spots take their place."""
LIFT_PAIRS = 1800
"""Pairs of labels walked between up to which a node's walks are lifted."""
LIFT_ROUNDS = 2
HUB = 0.45
"""Part of the flow from which on a station is a hub, where nodes are split first."""
WORTH = 0.01
"""What is left to the limit, in parts of it, from which on stations are tried before one is split."""
PACE, STAR_PACE = 0.1, 0.6
"""Steps of the rents and of conditional rents (``relaxation/rlt_multipliers.py``), as parts of the gap; the
latter are shared by all stations, which step at once.  Where the flow has a hub these rents stay 0: once it
is known where the hub stands, rents do all that they would."""
MEMORY_LIMIT = 1_500_000_000
"""Bytes kept by open nodes beyond which the work stops."""


class Tree:
    """Branch and bound on one pair-table problem.

    tables  the problem
    upper   metres a year of a layout already known; must be finite
    true    gives the true cost of a choice (spots by thing), infinite when it may not be used;
            called from worker threads one at a time
    places  (spots, 2) where each spot stands, to group them
    cover   what spots share (floor rents), see ``Packing``
    base    spot of each thing in the base layout and ``moves`` how many things may leave theirs
    visits  visits that are variables of their own (``core/visit_variables.py``)
    lifting makes what small nodes are lifted with (``tightening/tighten.py``) from the problem in integers
    group   (spots,) numbers: spots of one thing with the same number make a patch
            (``relaxation/aggregation.py``), unless moves are limited
    staged  whether lower prices are proven first (``branch_and_bound/cutoffs.py``); otherwise no open node
            is ever dropped but for the best layout
    """

    def __init__(
        self,
        tables: Tables,
        upper: float,
        true: Callable[[Ints], float],
        places: Floats,
        cover: Packing | None = None,
        base: Ints | None = None,
        moves: int | None = None,
        visits: Visits = NO_VISITS,
        lifting: Callable[[Scaled], Ways] | None = None,
        group: Ints | None = None,
        staged: bool = True,
    ) -> None:
        self._tables = tables
        self._true = true
        cover = cover or Packing.none(tables.size)
        if base is not None and moves is not None:
            cover, group = cover.with_moved(base, moves), None  # whether a patch has moved is not known
        if group is not None:
            group = where_many(group, tables.first, FEW_PATCHES)
        weight = weights(tables)
        things = np.argsort(weight, kind="stable").astype(np.int32)
        self._hub = weight.max(initial=0.0) > HUB
        self._scaled: Scaled = scaled(tables, upper, things, visits, group)
        self._ways = None if lifting is None else lifting(self._scaled)
        patches = self._scaled.patches
        cover = folded(cover.reordered(self._scaled.order[patches.spots]), patches.folds)
        self._shared = (cover.start, cover.points, cover.capacity)
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
        spots = self._scaled.numbers(choice)
        _, found, _ = self._worked(self._whole(), spots, spots, UNIT, NODE_PASSES, None, -1)
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
        problem = self._scaled.problem
        size = int(problem.first[-1])
        labels = labels_begin(problem, problem.first)
        rents = np.zeros(len(self._shared[2]), np.int64)
        return Worked.make(
            problem,
            0,
            np.arange(size, dtype=np.int32),
            problem.first,
            np.ones(labels[-1], np.bool_),
            np.zeros(messages_begin(problem, labels)[1], np.int16),
            np.zeros(size, np.int32),
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
        if self._open and self._aims.too_far() and self._least_key() < limit:
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
        scaled, parent, pick = self._scaled, node.parent, node.pick
        spots = parent.spots[pick]
        sizes, fine = self._apart(parent.problem, spots)
        if sizes is not None:
            spots, again = scaled.patches.taken_apart(spots, sizes)
            pick = pick[again]
        if len(spots) == len(scaled.things):
            self._leaf(parent.problem.origin[spots])
            return []
        limit = self._limit()
        passes = ROOT_PASSES if node.key == 0 else NODE_PASSES if self._hub else STAR_PASSES
        passes = max(NODE_PASSES // 2, min(passes, PASS_BUDGET // len(spots) ** 2))
        most = LIFT_PAIRS if fine else -1
        end, found, rents = self._worked(parent, spots, pick, limit, passes, self._ways, most)
        problem, (bound, spots, first, alive, steps, own, marginal, decoded, paid) = end[0], found
        if len(decoded):
            self._leaf(problem.origin[decoded])
        if bound >= limit:
            return []
        key = max(int(bound), node.key)
        if key >= self._limit():  # the decoded layout was better still
            return []
        lifted = 0 if problem is scaled.problem else problem.pair.nbytes + problem.store.nbytes
        level = self._open.level
        worked = Worked.make(problem, lifted, spots, first, alive, steps, own, rents, level)
        return self._split(worked, end, key, marginal, paid)

    def _worked(
        self, parent: Worked, spots: Ints, pick: Ints, limit: int, passes: int, ways: Ways | None, most: int
    ) -> tuple[End, Found, Longs]:
        """``work`` on ``spots``, which take the places ``pick`` of the parent's; returns the rents too."""
        problem, shared, rents = parent.problem, self._shared, parent.rents.array.copy()
        steps, own = parent.steps.array, parent.conditional.array
        begun = opened(problem, spots, pick, parent.first, parent.alive, steps, own, rents, shared)
        root, upper = self._scaled.problem, self._scaled.limit(self.upper)
        paces = (PACE, 0.0 if self._hub else STAR_PACE / len(self._scaled.things))
        end, found = work(
            root, problem, begun, rents, shared, limit, upper, passes, paces, ways, most, LIFT_ROUNDS
        )
        return end, found, rents

    def _apart(self, problem: Problem, spots: Ints) -> tuple[Longs | None, bool]:
        """How many spots are to take the place of each of a node's spots and patches, None where all stay,
        and whether no patch is left then."""
        patches = self._scaled.patches
        if patches.none or problem is not self._scaled.problem:
            return None, True
        sizes = patches.sizes[spots]
        total = int(sizes.sum())
        if total == len(spots):
            return None, True
        if total > FINE_SPOTS:
            station = np.searchsorted(problem.first, spots, side="right")
            sizes = np.where(np.bincount(station)[station] <= FEW_PATCHES, sizes, 1)
        apart = int(sizes.sum())
        return (sizes if apart > len(spots) else None), apart == total

    def _split(self, worked: Worked, end: End, key: int, marginal: Longs, paid: Longs) -> list[Node]:
        """Children of a worked node: groups of one station's spots, each with its own bound.

        One that is to be taken apart, or is a layout, is its own child.
        """
        spots = worked.spots
        if self._apart(worked.problem, spots)[0] is not None or len(spots) == len(worked.first) - 1:
            return [Node(key, worked, np.arange(len(spots), dtype=np.int32))]
        limit = self._limit()
        strong = limit - key > WORTH * limit
        bounds, picks, begin = split(
            *end, limit, key, marginal, paid, self._places, self._shared, self._hub, strong
        )
        children = []
        for number, own in enumerate(bounds.tolist()):
            allowed = self._within_moves(worked, picks[begin[number] : begin[number + 1]])
            if allowed is not None:
                children.append(Node(own, worked, allowed))
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
