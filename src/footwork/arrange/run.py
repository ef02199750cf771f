"""The run: search and bound in turn on one instance, until the time is up or the proof is done."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence

from footwork.arrange.branch_and_bound.tree import Extras, Tree
from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.options import ALIKE
from footwork.arrange.core.pairwise import Restriction
from footwork.arrange.core.progress import Report
from footwork.arrange.core.results import gap_between
from footwork.arrange.core.stop import After, Any, Stop, Switch, Telling
from footwork.arrange.early import compiling
from footwork.arrange.instance import Instance
from footwork.arrange.nowhere import none_found, why_none
from footwork.arrange.ready import Ready
from footwork.arrange.screens import Screens
from footwork.arrange.search.at_fault import at_fault
from footwork.arrange.search.exact_completion import MOST_SPOTS, Completion
from footwork.arrange.search.multistart import WAVE, Pool, Search
from footwork.arrange.spots.alike import alike
from footwork.arrange.spots.enumerate import side_by_side, spots_of
from footwork.arrange.spots.packing_points import floor_cover
from footwork.arrange.spots.symmetry_breaking import in_order, ordered
from footwork.arrange.tightening.collect import make_tightening
from footwork.arrange.true_cost.beyond import beyond
from footwork.model.errors import NoLayoutError
from footwork.model.scenario import Layout
from footwork.scoring import score

FIRST_ROUND, LAST_ROUND = 0.15, 0.5
"""Parts of the time left that search and bound share in the first round, and, doubled each time, at most."""
SEARCH_PART, WHERE_FAR = 1 / 3, 0.8
"""Part of a round that is the search's, less from round to round while it finds nothing; the rest is the
bound's, which finds layouts too.  The second is for where the bound is so far off that a proof is out of
reach, and only searching helps."""
FAR = 0.35
"""Gap beyond which that is so."""
LOOKING = 0.4
"""Part of the time left that may be spent on a first layout before anything else."""
SMALL = 300
"""Spots below which the bound may well finish at once, and gets its turn after one wave."""
WAVE_STEPS = 12000
"""Moves on the true cost that a start tries, in a room of the usual size (``multistart.USUAL``)."""
FIRST_SHARE = 1 / 16
"""Share of its usual moves that a start of the first wave makes; twice as much from wave to wave, up to 1."""
ALL_BUT_RESULT = 0.95
"""Part of the time that search and bound may take; the rest is for scoring what is shown."""
LEAST_SEARCH = 0.15
"""Part of the time that search and bound get at least, even past the end."""
LOOK = 0.5
"""Seconds that are given to the first layout at least."""
LEAST_TURN = 1.0
"""Seconds that the search gets at a time, at least, where that is no great part of the whole."""
MANY = 10**9
"""Tries where the clock ends them."""
HINTS = 2
"""Layouts of the tree that a wave starts from."""
IDLE, KEPT = 2, 4
"""Waves in a row that find next to nothing, after which a coarse level is left; layouts that it hands on."""
PLANTED_PER_SECOND = 18_000_000
"""Pairs of spots that one core makes a root node's problem of, about."""
FIRST_NODE = 0.002
"""Seconds that a root node takes for each two things, about, once it has its problem."""
WORTH_PLANTING, ONCE_SETTLED = 6.0, 1.5
"""Times as long as a tree takes to have its root that has to be left for one to be grown; the second once the
search has settled."""
SETTLED, SETTLED_AFTER, PATIENCE = 0.99, 2, 3
"""It has where a turn of it leaves no less than this part of the cost, after so many waves, and so many turns
where it has found nothing at all: it may not have got going."""
COMPLETIONS = 200
"""Whole layouts of a room with few spots that are looked at, at most, when iterations limit the work."""
TOLD = 20
"""Failed checks of whole layouts that are worked out in words, to say why there is none."""
FIRST_TRIES = 300
"""Layouts that a start completes, at most, to find a sound one, when iterations limit the work."""
FIRST_WAVES = 5
"""Further waves of such starts, where whole layouts were found and refused."""
BOUND_NODES = 600
"""Nodes of the tree when iterations, not seconds, limit the work."""


class Run:
    """Search and bound on one instance; the layouts found are in ``pool``, the bound in ``tree``.

    What was found stays valid whenever a KeyboardInterrupt ends the work.
    """

    def __init__(self, instance: Instance, report: Report, found: Sequence[Layout] = ()) -> None:
        """``found`` are layouts found before, on spots of the instance, that the search starts from."""
        self.instance, self.options, self.report = instance, instance.options, report
        self.result_takes: Callable[[], float] = lambda: 0.0
        """Seconds that scoring a layout in full takes, as far as that is known."""
        self.slow = 1.0
        """How many times as long as on an idle core things take, as far as it was seen."""
        self.before_tree: Callable[[], object] = lambda: None
        """Called before the tree is first grown: what it is made of may still have to be compiled."""
        self.switch = Switch()
        self.tree: Tree | None = None
        self.none = False
        """Whether it is proven that there is no layout on these spots."""
        self._alike: tuple[tuple[int, ...], ...] = ()
        """Things, by number, that the tree knows in one order only."""
        self.refused: Counter[str] = Counter()
        """Failed must-checks of whole layouts, in words, and how often each refused one."""
        self.told = math.inf
        """Best cost that was told."""
        self.pool = Pool(self._uncounted)
        self.screens = Screens(instance)
        self.hints: list[tuple[float, Ints]] = []
        """Layouts that the tree has read off since the last wave, the cheapest that are not the best: (cost,
        choice)."""
        self.starts: list[Ints] = []
        """What the first wave begins with: a base that may be offered, or has to be mended to be walked."""
        if instance.base_choice is not None:
            cost = instance.true_cost(instance.base_choice)
            self.pool.add(cost, instance.base_choice)
            if self.pool.choice is not None or math.isinf(cost):
                self.starts.append(instance.base_choice)
        for layout in found:
            choice = spots_of(layout, instance.lists, instance.tables.first)
            self.pool.add(instance.true_cost(choice), choice)
            self.starts.append(choice)

    @property
    def bound(self) -> float:
        """Metres a year that no choice undercuts; 0 before there is a tree."""
        return 0.0 if self.tree is None else self.tree.bound

    def tell(self, phase: str) -> None:
        """Report the best cost and the bound as they stand."""
        self.told = self.pool.best
        self.report.tell(phase, self.told, None if self.tree is None else self.tree.bound)

    def work(self) -> None:
        """Waves of starts, the bound, and waves again with what the bound found.

        Raises NoLayoutError, naming the station that finds no spot, when nothing was found.
        """
        options = self.options
        search = self._search(options.processes)
        if options.iterations is not None:
            self._by_iterations(search, options.iterations)
        else:
            self._by_clock(search)
        self._found_any(search)

    def _search(self, threads: int) -> Search:
        instance, options = self.instance, self.options
        return Search(
            instance.tables,
            instance.at,
            instance.judge,
            Restriction(instance.base_spots, instance.most_moves),
            self.pool,
            options.seed,
            threads,
            self._news if options.iterations is None else None,
        )

    def while_compiling(self, ready: Ready) -> None:
        """Search on one core until the tree's code is ready as well."""
        search, over = self._search(1), Any(lambda: ready.reached("tree"), self.switch)
        if math.isinf(self.pool.best) and not over():
            search.first(over, MANY)
        for _ in self._waves(search, over):
            self.tell(compiling())

    def _waves(self, search: Search, stop: Stop) -> Iterator[None]:
        """Waves of starts, each with twice the moves of the one before up to the usual, until it is over."""
        number, share = 0, FIRST_SHARE
        while not stop():
            search.wave(int(share * WAVE_STEPS * search.size()), stop, self._seeds(number), share)
            number, share = number + 1, min(1.0, 2.0 * share)
            yield

    def look_around(self) -> None:
        """Search, and nothing else, until the time is up or there is little more to find."""
        search, whole = self._search(self.options.processes), self._time_left()
        if math.isinf(self.pool.best):
            search.first(whole, MANY)
        known, idle = self.pool.best, 0
        for _ in self._waves(search, whole):
            idle = 0 if self.pool.best < known * (1.0 - ALIKE) or math.isinf(known) else idle + 1
            known = self.pool.best
            self.tell("search")
            if idle == IDLE:
                break

    def best_layouts(self) -> list[Layout]:
        """The best found, that a finer level starts from."""
        return [self.instance.layout(choice) for _, choice in self.pool.ranked()[:KEPT]]

    def _by_iterations(self, search: Search, iterations: int) -> None:
        """Two waves and so many nodes of the tree: nothing depends on the clock."""
        if not self.starts:
            search.first(self.switch, FIRST_TRIES)
            for _ in range(FIRST_WAVES):
                # Where the checks of the whole layout refuse what can be walked, others may pass them.
                if math.isinf(self.pool.best) and self.refused:
                    search.first(self.switch, FIRST_TRIES)
            self._complete(self.switch, COMPLETIONS)
            if self.none:
                return
        for number in range(2):
            search.wave(max(1, iterations // (2 * WAVE)), self.switch, self._seeds(number))
            self._move_about_screens(self.switch)
            self.tell("search")
        self._found_any(search)
        tree = self._grow(self.pool.best)
        tree.run(self.switch, 1, BOUND_NODES)

    def _complete(self, stop: Stop, tries: int) -> None:
        """Where the search finds none and spots are few: one by one, until it is known if there is one."""
        instance = self.instance
        if math.isfinite(self.pool.best) or instance.tables.size > MOST_SPOTS:
            return
        limit = Restriction(instance.base_spots, instance.most_moves)
        completion, strict = Completion(instance.tables, limit, self.options.seed), self.options.strict
        for _ in range(tries):
            choice = None if stop() else completion.next()
            if choice is None or math.isfinite(self.pool.add(instance.judge(choice), choice)):
                break
            for names in at_fault(instance.scenario, instance.layout(choice), strict):
                chosen = zip(choice.tolist(), instance.lists, strict=True)
                completion.forbid([k for k, spots in chosen if spots.thing.name in names])
        self.none = completion.none

    def _by_clock(self, search: Search) -> None:
        """Search and bound in turn until the time is up or the proof is done."""
        seconds, whole = self.options.seconds, self._time_left()
        if math.isinf(self.pool.best):
            few = self.instance.tables.size <= MOST_SPOTS
            look = LOOK if few else max(LOOK, LOOKING * (seconds - self.report.elapsed))
            search.first(Any(After(look), self.switch), MANY)
            self._complete(whole, MANY)
            self.tell("search")
        if self.none:
            return
        number, idle, share, part, begun = 0, 0, FIRST_SHARE, FIRST_ROUND, self.pool.best
        while not whole() and (self.tree is None or not self.tree.done):
            left = max(0.0, seconds - self.report.elapsed)
            far = self.tree is not None and gap_between(self.pool.best, self.bound) > FAR
            mine = WHERE_FAR if far else SEARCH_PART / (1 + idle)
            # The first tree takes long before it helps: the search gets half as long beforehand.
            plant = 0.0 if number else min(0.5 * self._planting(), SEARCH_PART * left)
            search_for = max(min(0.5 * LEAST_SEARCH * seconds, LEAST_TURN), part * mine * left, plant)
            turn, known = Any(After(search_for), whole), self.pool.best
            while number == 0 or not turn():
                steps = int(share * WAVE_STEPS * search.size())
                search.wave(steps, turn, self._seeds(number), share)
                number, share = number + 1, min(1.0, 2.0 * share)
                self.tell("search")
                if self.instance.tables.size < SMALL:
                    break
            if math.isinf(self.pool.best):
                search.first(turn, MANY)
            self._move_about_screens(Any(After(search_for), whole))
            idle = 0 if self.pool.best < known else idle + 1
            going = self.pool.best < begun or idle >= PATIENCE
            settled = going and number > SETTLED_AFTER and self.pool.best > SETTLED * known
            if math.isfinite(self.pool.best) and not whole() and self._time_for_a_tree(settled):
                tree = self.tree or self._grow(self.pool.best)
                turn = Any(After(part * (1.0 - mine) * left), whole)
                # In later rounds the search takes less than in this one, unless the bound is far off.
                self._prove(tree, turn, (1.0 - (mine if far else 0.5 * mine)) * left)
            part = min(LAST_ROUND, 2.0 * part)

    def _time_for_a_tree(self, settled: bool) -> bool:
        """Whether one is grown already, or has time left to be of use once it is."""
        left, worth = self.options.seconds - self.report.elapsed, ONCE_SETTLED if settled else WORTH_PLANTING
        return self.tree is not None or left > worth * self._planting()

    def _planting(self) -> float:
        """Seconds until a tree has its root, about."""
        things = len(self.instance.lists)
        pairs = 0.5 * things * (things - 1)
        return self.slow * (self.instance.tables.size**2 / PLANTED_PER_SECOND + FIRST_NODE * pairs)

    def _time_left(self) -> Stop:
        """All but what the result takes; where the tables have taken all of it, some all the same."""
        most = max(LEAST_SEARCH * self.options.seconds, self._ends() - self.report.elapsed)
        return Any(After(most), self.switch)

    def _ends(self) -> float:
        """Seconds after which only the result is worked out."""
        seconds = self.options.seconds
        return min(ALL_BUT_RESULT * seconds, seconds - self.result_takes())

    def _seeds(self, number: int) -> list[Ints]:
        """What a wave starts from: the base, then anew and from the best so far in turn, and hints."""
        if number == 0:
            return self.starts
        best = self.pool.ranked()[:2] if number % 2 else []
        hints, self.hints = self.hints, []
        return [choice for _, choice in (*best, *hints)]

    def _news(self) -> None:
        """Tell as soon as a better layout is found."""
        if self.pool.best < self.told:
            self.tell("search")

    def priced(self, choice: Ints) -> float | None:
        """Metres a year that the bound itself counts for a choice; None before there is a tree."""
        return None if self.tree is None else self.tree.relaxed_cost(self._in_order(choice))

    def _in_order(self, choice: Ints) -> Ints:
        """The choice as the tree knows it."""
        return ordered(choice, self.instance.tables, self.instance.lists, self._alike)

    def _uncounted(self, choice: Ints, limit: float) -> float:
        """Metres a year of failed should-checks that the tables do not know; infinite where a must fails.

        Some of them where these are no less than ``limit``, beyond which the choice is of no use.
        """
        instance, strict = self.instance, self.options.strict
        if instance.moved(choice) > instance.most_moves:
            return math.inf
        layout = instance.layout(choice)
        more = beyond(instance.scenario, layout, instance.prices, choice, strict, limit)
        if more:
            self._put_up_screens(choice)
        if math.isfinite(more):
            return more
        if self.refused.total() < TOLD and math.isinf(self.pool.best):
            failed = (c for c in score(instance.scenario, layout).checks if not c.ok)
            self.refused.update(f"{c.id}: {c.message}" for c in failed if strict or c.severity == "must")
        return math.inf

    def _put_up_screens(self, choice: Ints) -> None:
        """Offer the layout with its screens where they keep more of it apart, if it has any."""
        after = self.screens.put_up(choice) if self.screens.any else None
        if after is not None:
            self.pool.add(self.screens.judge(after), after)

    def _move_about_screens(self, stop: Stop) -> None:
        """Move single things of the best layout, its screens put up anew, while that makes a better one."""
        better = self.screens.any
        while better and self.pool.choice is not None and not stop():
            known, better = self.pool.best, False
            for after in self.screens.neighbours(self.pool.choice, known):
                if stop():
                    return
                self.pool.add(self.screens.judge(after), after)
                if self.pool.best < known:
                    better = True
                    break

    def practise(self) -> None:
        """``work``, and a node with so much to gain that its walks are tightened: all there is to compile."""
        self.work()
        self._grow(2.0 * self.pool.best).run(lambda: False, nodes=1)

    def _grow(self, upper: float) -> Tree:
        """Plant the tree; no choice that costs ``upper`` is of use."""
        instance = self.instance
        limited = instance.most_moves < len(instance.lists)
        self.before_tree()
        self.tell("bound")
        self._alike = () if limited else alike(instance.scenario, instance.scenario.things)
        self.tree = Tree(
            in_order(instance.tables, instance.lists, self._alike) if self._alike else instance.tables,
            upper,
            self._leaf,
            instance.at,
            floor_cover(instance.lists),
            Restriction(instance.base_spots, instance.most_moves) if limited else None,
            Extras(
                visits=instance.visits,
                tightening=lambda scaled: make_tightening(instance.visit_walks, instance.visits, scaled),
                group=side_by_side(instance.lists, self.options.pitch),
            ),
        )
        return self.tree

    def _leaf(self, choice: Ints) -> float:
        """True cost of a whole choice in the tree; infinite when a check forbids the layout."""
        cost = self.instance.judge(choice)
        if cost < self.pool.best:
            return self.pool.add(cost, choice)
        if cost < self.pool.best * (1 + ALIKE):
            self.pool.add(cost, choice)
        if math.isfinite(cost):
            self.hints = sorted([*self.hints, (cost, choice)], key=lambda hint: hint[0])[:HINTS]
        return cost

    def _prove(self, tree: Tree, whole: Stop, seconds: float) -> None:
        """Work the tree, its root at least, until it is done or time is up, telling how it stands.

        ``seconds`` are those that it may count on, in later turns too.
        """
        tree.improve(self.pool.best, None if self.pool.choice is None else self._in_order(self.pool.choice))

        def over() -> bool:
            # A node is not left half done: where the time is too short for one, none is begun.
            return whole() or self._ends() - self.report.elapsed < tree.node_seconds

        stop = Telling(lambda: tree.nodes > 0 and over(), lambda: self.tell("bound"))
        tree.run(stop, self.options.processes, seconds=seconds)

    def _found_any(self, search: Search) -> None:
        """Raises NoLayoutError, naming the station that finds no spot, when nothing was found."""
        if math.isinf(self.pool.best):
            instance = self.instance
            raise NoLayoutError(
                none_found(None if self.none else self.report.elapsed)
                + why_none(
                    instance.scenario,
                    instance.lists,
                    instance.tables,
                    search.failures,
                    self.refused,
                    self.options.strict,
                )
            )
