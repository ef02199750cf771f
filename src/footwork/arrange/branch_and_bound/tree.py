"""The bound: what no choice of spots can cost less than, by branch and bound on the pair table.

Best bound first; split on where the hub of the flow stands, if it has one, then on that of the heaviest
stations whose children have the least left to do (``branch_and_bound/strong_branching.py``); TRW-S with
packing multipliers in every node (``relaxation/trws.py``).  A large node takes neighbouring spots as one
(``relaxation/aggregation.py``).  A node down to one spot a station is a layout, and its true cost decides.
The tree is grown for a cutoff below the incumbent first, then anew for higher ones
(``branch_and_bound/cutoffs.py``).  The bound is the least over open nodes and nodes in work, or the last
cutoff that was reached, so it is valid whenever the work is stopped.
"""

from __future__ import annotations

import math
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from footwork.arrange.branch_and_bound.cutoffs import Cutoffs
from footwork.arrange.branch_and_bound.frontier import Handed, Node, OpenNodes, Parent
from footwork.arrange.branch_and_bound.node import (
    QUICK_PASSES,
    NodeRules,
    PassRules,
    Worked,
    opened,
    work,
)
from footwork.arrange.branch_and_bound.strong_branching import BranchingRules, split
from footwork.arrange.core.arrays import Floats, Ints, Longs
from footwork.arrange.core.packing import Packing
from footwork.arrange.core.pairwise import Restriction, Tables, bytes_of_open_nodes
from footwork.arrange.core.visit_variables import NO_VISITS, Visits
from footwork.arrange.relaxation.aggregation import aggregated_packing, where_many
from footwork.arrange.relaxation.model import Problem, labels_begin, message_count
from footwork.arrange.relaxation.packing_multipliers import PackingPoints
from footwork.arrange.relaxation.scaling import UNIT, Scaled, alike_weights, scaled, weights
from footwork.arrange.tightening.compulsory import Tightening

ROOT_PASSES = 100
NODE_PASSES = 12
RLT_PASSES = 30
"""Passes of a node in which RLT-1 multipliers move."""
PASS_BUDGET = 1_500_000_000
"""Pairs of spots that one node may go through, so that a node takes seconds at most."""
FINE_SPOTS = 600
"""Spots up to which a node has no aggregates."""
FEW_AGGREGATES = 80
"""Aggregates of a station up to which its spots take their place."""
TIGHTENED_PAIRS = 1800
"""Pairs of labels walked between up to which a node's walks are tightened."""
TIGHTENED_ROUNDS = 2
HUB = 0.45
"""Part of the flow from which on a station is a hub, where nodes are split first."""
TRIED_FROM = 0.01
"""What is left to the cutoff, in parts of it, from which on stations are tried before one is split."""
PACKING_STEP, RLT_STEP = 0.1, 0.6
"""Step sizes of the packing and the RLT-1 multipliers (``relaxation/rlt_multipliers.py``), as parts of the
gap; the latter is shared by all stations, which step at once.  Where the flow has a hub RLT-1 multipliers
stay 0: once it is known where the hub stands, packing multipliers do all that they would."""
FORGOTTEN = 0.9
"""What is left of the longest time of a node after each that takes less."""


@dataclass(frozen=True)
class Extras:
    """What a tree may know of a problem beyond its tables.

    visits      visits that are variables of their own (``core/visit_variables.py``)
    tightening  makes what small nodes are tightened with (``tightening/tighten.py``) from the problem in
                integers
    group       (spots,) numbers: spots of one thing with the same number make an aggregate
                (``relaxation/aggregation.py``), unless moves are limited
    staged      whether lower costs are proven first (``branch_and_bound/cutoffs.py``); otherwise no open
                node is ever dropped but for the incumbent
    """

    visits: Visits = NO_VISITS
    tightening: Callable[[Scaled], Tightening] | None = None
    group: Ints | None = None
    staged: bool = True


class Tree:
    """Branch and bound on one pairwise problem.

    tables       the problem
    incumbent    metres a year of a layout already known; must be finite
    true_cost    gives the true cost of a choice (spots by thing), infinite when it may not be used;
                 called from worker threads one at a time
    positions    (spots, 2) where each spot stands, to group them
    packing      what spots share
    restriction  how many things may leave their spot in the base layout; None: all
    """

    def __init__(
        self,
        tables: Tables,
        incumbent: float,
        true_cost: Callable[[Ints], float],
        positions: Floats,
        packing: Packing | None = None,
        restriction: Restriction | None = None,
        extras: Extras | None = None,
    ) -> None:
        extras = extras or Extras()
        self._tables = tables
        self._true_cost = true_cost
        packing, group = packing or Packing.none(tables.size), extras.group
        if restriction is not None:
            packing = packing.with_moved(restriction.base, restriction.moves)
            group = None  # whether an aggregate has moved is not known
        if group is not None:
            group = where_many(group, tables.first, FEW_AGGREGATES)
        weight = weights(tables)
        self._hub = bool(weight.max(initial=0.0) > HUB * max(0.5 * float(weight.sum()), 1e-300))
        weight += alike_weights(tables.things, extras.visits)
        things = np.argsort(weight, kind="stable").astype(np.int32)
        self._scaled: Scaled = scaled(tables, incumbent, things, extras.visits, group)
        self._moves = None if restriction is None else restriction.moves
        self._base = None if restriction is None else self._scaled.numbers(restriction.base)
        self._set_rules(packing, positions[self._scaled.order], extras.tightening)
        self.incumbent = incumbent
        self.best: Ints | None = None
        self.nodes = 0
        self.node_seconds = 0.0
        """What a node takes, about: the longest of late, forgotten little by little."""
        self.full = False
        """Whether the work stopped because open nodes may take no more memory."""
        self._most_bytes = bytes_of_open_nodes(tables.size)
        self._lock = threading.Condition()
        self._open = OpenNodes()
        self._busy: dict[int, int] = {}
        self._seen: set[bytes] = set()
        self._cutoffs = Cutoffs(extras.staged)
        self._root = Node(0, self._whole(), self._scaled.aggregation.coarsest)
        self._open.push(self._root)

    def _set_rules(
        self, packing: Packing, positions: Floats, tightening: Callable[[Scaled], Tightening] | None
    ) -> None:
        """How nodes are worked and split."""
        scaled = self._scaled
        order, members = scaled.order[scaled.aggregation.spots], scaled.aggregation.members
        packing = aggregated_packing(packing.reordered(order), members)
        points = PackingPoints(packing.start, packing.points, packing.capacity)
        self._passes: dict[int, PassRules] = {}
        self._rules = NodeRules(
            root=scaled.problem,
            packing=points,
            quick=self._pass_rules(QUICK_PASSES),
            tightening=None if tightening is None else tightening(scaled),
            rounds=TIGHTENED_ROUNDS,
        )
        self._branching = BranchingRules(positions, points, self._hub)

    def _pass_rules(self, passes: int) -> PassRules:
        """Rules for so many passes: one object for all nodes, as a new one takes long to lay out."""
        if passes not in self._passes:
            moves, step = not self._hub, RLT_STEP / len(self._scaled.things)
            self._passes[passes] = PassRules(passes, PACKING_STEP, moves and RLT_STEP > 0.0, step)
        return self._passes[passes]

    @property
    def bound(self) -> float:
        """Metres a year that no choice undercuts (the incumbent's when the tree is done)."""
        with self._lock:
            return self._bound()

    @property
    def done(self) -> bool:
        with self._lock:
            return self._reached() and self._cutoffs.artificial >= self._scaled.cutoff(self.incumbent)

    def improve(self, incumbent: float, choice: Ints | None = None) -> None:
        """Tell the tree of a better layout found elsewhere."""
        with self._lock:
            if incumbent < self.incumbent:
                self.incumbent, self.best = incumbent, choice

    def relaxed_cost(self, choice: Ints) -> float:
        """Metres a year that the bound itself counts for a whole choice (spots by thing): never more than
        its true cost, as the bound knows of no third thing in the way of a walk."""
        spots = self._scaled.numbers(choice)
        rules = replace(self._rules, tightening=None)
        found = self._worked(Node(0, self._whole(), spots), spots, UNIT, rules, NODE_PASSES)[0]
        return self._scaled.metres(int(found.result.bound))

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
        self._cutoffs.start_clock(seconds)
        try:
            self._run(stop, workers, nodes)
        finally:
            self._cutoffs.stop_clock()

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

    def _whole(self) -> Parent:
        """All of the problem, nothing worked yet."""
        problem = self._scaled.problem
        size = int(problem.first[-1])
        labels = labels_begin(problem.variables, problem.first)
        own = Handed(
            first=problem.first,
            active=np.ones(labels[-1], np.bool_),
            steps=np.zeros(message_count(problem.edges, labels), np.int16),
            rlt=np.zeros(size, np.int32),
        )
        multipliers = np.zeros(len(self._rules.packing.capacity), np.int64)
        return Parent.make(problem, 0, np.arange(size, dtype=np.int32), own, multipliers)

    def _bound(self) -> float:
        least = min(self._least_bound(), self._cutoff())
        if least >= self._scaled.cutoff(self.incumbent):
            return self.incumbent
        return min(self.incumbent, self._scaled.metres(max(least, self._cutoffs.proved)))

    def _least_bound(self) -> int:
        """The least bound of what is open or in work, ``UNIT`` when nothing is."""
        return min([*self._busy.values(), self._open.least if self._open else UNIT])

    def _cutoff(self) -> int:
        """Cost from which on nothing is looked at: an artificial one, or the incumbent's."""
        return int(min(self._cutoffs.artificial, self._scaled.cutoff(self.incumbent)))

    def _reached(self) -> bool:
        """Whether nothing is left below the cutoff."""
        return not self._open and not self._busy

    def _take(self, stop: Callable[[], bool], nodes: int | None) -> tuple[int, Node] | None:
        """The open node of least bound, or None when the work is over."""
        with self._lock:
            while not (stop() or self.full or (nodes is not None and self.nodes >= nodes)):
                self._set_cutoff()
                if self._open:
                    count, node = self._open.pop()
                    if node.bound >= self._cutoff():
                        self._open.clear()
                        continue
                    self._busy[count] = node.bound
                    self.nodes += 1
                    self._cutoffs.nodes += 1
                    return count, node
                if not self._busy:
                    break
                self._lock.wait(0.05)
            self._lock.notify_all()
            return None

    def _set_cutoff(self) -> None:
        """Start anew from the root when the cutoff is reached, or was too far for a start."""
        incumbent = self._scaled.cutoff(self.incumbent)
        if self._open and self._cutoffs.too_far() and self._least_bound() < incumbent:
            self._cutoffs.lower(self._least_bound(), incumbent)
        elif self._reached() and self._cutoffs.artificial < incumbent:
            self._cutoffs.rise(incumbent)
        else:
            return
        self._open.clear()
        self._busy.clear()  # what is in work is of no use any more
        self._open.push(self._root)

    def _work(self, stop: Callable[[], bool], nodes: int | None) -> None:
        while (taken := self._take(stop, nodes)) is not None:
            count, node = taken
            children: list[Node] | None = None
            began = time.monotonic()
            try:
                children = self._children(node)
            finally:
                with self._lock:
                    self.node_seconds = max(FORGOTTEN * self.node_seconds, time.monotonic() - began)
                    if self._busy.pop(count, None) is not None:
                        # Interrupted, the node stays open.
                        for child in [node] if children is None else children:
                            if child.bound < self._cutoff():
                                self._open.push(child)
                        self.full = self.full or self._open.bytes > self._most_bytes
                    self._lock.notify_all()

    def _children(self, node: Node) -> list[Node]:
        scaled, parent, pick = self._scaled, node.parent, node.pick
        spots = parent.spots[pick]
        sizes, fine = self._apart(parent.problem, spots)
        if sizes is not None:
            spots, again = scaled.aggregation.taken_apart(spots, sizes)
            pick = pick[again]
        if len(spots) == len(scaled.things):
            self._leaf(parent.problem.origin[spots])
            return []
        cutoff = self._cutoff()
        passes = ROOT_PASSES if node.bound == 0 else NODE_PASSES if self._hub else RLT_PASSES
        passes = max(NODE_PASSES // 2, min(passes, PASS_BUDGET // len(spots) ** 2))
        most = TIGHTENED_PAIRS if fine else -1
        found, multipliers = self._worked(
            Node(node.bound, parent, pick), spots, cutoff, self._rules, passes, most
        )
        problem, result = found.problem, found.result
        if len(result.decoded):
            self._leaf(problem.origin[result.decoded])
        if result.bound >= cutoff:
            return []
        bound = max(int(result.bound), node.bound)
        if bound >= self._cutoff():  # the decoded layout was better still
            return []
        whole = problem is scaled.problem
        own_bytes = 0 if whole else problem.pairs.costs.nbytes + problem.blocks.metres.nbytes
        worked = Parent.make(problem, own_bytes, result.spots, result.handed, multipliers, self._open.level)
        return self._split(worked, found, bound)

    def _worked(
        self, node: Node, spots: Ints, cutoff: int, rules: NodeRules, passes: int, most: int = -1
    ) -> tuple[Worked, Longs]:
        """``work`` on ``spots``, which the node's take in its parent's place; returns the packing multipliers
        too."""
        parent = node.parent
        multipliers = parent.multipliers.array.copy()
        start = opened(parent.problem, spots, node.pick, parent.handed(), multipliers, rules.packing)
        rule, incumbent = self._pass_rules(passes), self._scaled.cutoff(self.incumbent)
        found = work(parent.problem, start, multipliers, rules, rule, most, cutoff, incumbent)
        return found, multipliers

    def _apart(self, problem: Problem, spots: Ints) -> tuple[Longs | None, bool]:
        """How many spots are to take the place of each of a node's spots and aggregates, None where all stay,
        and whether no aggregate is left then."""
        aggregation = self._scaled.aggregation
        if aggregation.none or problem is not self._scaled.problem:
            return None, True
        sizes = aggregation.sizes[spots]
        total = int(sizes.sum())
        if total == len(spots):
            return None, True
        if total > FINE_SPOTS:
            station = np.searchsorted(problem.first, spots, side="right")
            sizes = np.where(np.bincount(station)[station] <= FEW_AGGREGATES, sizes, 1)
        apart = int(sizes.sum())
        return (sizes if apart > len(spots) else None), apart == total

    def _split(self, parent: Parent, worked: Worked, bound: int) -> list[Node]:
        """Children of a worked node: groups of one station's spots, each with its own bound.

        One that is to be taken apart, or is a layout, is its own child.
        """
        spots = parent.spots
        if self._apart(parent.problem, spots)[0] is not None or len(spots) == len(parent.first) - 1:
            return [Node(bound, parent, np.arange(len(spots), dtype=np.int32))]
        cutoff = self._cutoff()
        strong = cutoff - bound > TRIED_FROM * cutoff
        found = split(worked.ended, worked.result, self._branching, bound, cutoff, strong)
        begin, pick = found.begin, found.pick
        children = []
        for number, own in enumerate(found.bound.tolist()):
            allowed = self._within_moves(parent, pick[begin[number] : begin[number + 1]])
            if allowed is not None:
                children.append(Node(own, parent, allowed))
        return children

    def _within_moves(self, parent: Parent, pick: Ints) -> Ints | None:
        """Places that still respect the number of moves; None when too many have moved."""
        if self._base is None or self._moves is None:
            return pick
        spots = parent.problem.origin[parent.spots[pick]]
        first = np.searchsorted(pick, parent.first)
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
            if choice.tobytes() in self._seen or self._tables.cost(choice) >= self.incumbent:
                return
            if self._too_many_moved(spots):
                return
            cost = self._true_cost(choice)
            # Only now: an interrupt while the cost was measured must not lose the layout.
            self._seen.add(choice.tobytes())
            if cost < self.incumbent:
                self.incumbent, self.best = cost, choice

    def _too_many_moved(self, spots: Ints) -> bool:
        if self._base is None or self._moves is None:
            return False
        return int((spots != self._base).sum()) > self._moves
