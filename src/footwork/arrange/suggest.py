"""``suggest``: a better layout, and how good it is."""

from __future__ import annotations

import math
import os
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from footwork.arrange.anywhere import ON_SPOTS, Leaving, off_the_spots
from footwork.arrange.bound import Tree
from footwork.arrange.cover import floor_cover
from footwork.arrange.nowhere import every_station_has_one, kept_stand_together, why_none
from footwork.arrange.options import Options, base_layout, checked
from footwork.arrange.pairs import DETOUR_PAIRS, PairTable
from footwork.arrange.ready import make_ready
from footwork.arrange.search import WAVE, Pool, Restriction, Search
from footwork.arrange.spots import SpotList, find_spots
from footwork.arrange.standing import ENTRIES, StandingPlaces
from footwork.arrange.stop import After, Any, Stop, Switch
from footwork.arrange.suggestion import Progress, Saving, Suggestion
from footwork.arrange.tables import MEMORY_LIMIT_SPOTS, Floats, Ints, Tables
from footwork.arrange.tidy import ALIKE, shown_first
from footwork.arrange.truth import Judge
from footwork.arrange.ways import make_ways
from footwork.floor.plan import Plan
from footwork.model.errors import NoLayoutError, UsageError
from footwork.model.scenario import Layout, Scenario
from footwork.scoring import Score, score, sound

Observer = Callable[[Progress], None]

PAIRS_PER_SECOND = 350_000
"""Ways round that one core searches for the pair table, about."""
PAIRS_TRIED_PER_SECOND = 1_500_000
"""Pairs of spots that one core tries for a clash and a straight way, about."""
ENTRIES_PER_SECOND = 250_000
"""Entries of visits' blocks that a second of the whole time can make use of, about."""
SEARCH_TURN, BOUND_TURN = 0.4, 0.2
"""Parts of the time left that search and bound get in turn."""
SMALL = 300
"""Spots below which the bound may well finish at once, and gets its turn after one wave."""
WAVE_STEPS = 12000
"""Moves on the true cost that a start tries."""
FIRST_SHARE = 1 / 16
"""Share of its usual moves that a start of the first wave makes; twice as much from wave to wave, up to 1."""
ALL_BUT_RESULT = 0.95
"""Part of the time that search and bound may take; the rest is for scoring what is shown."""
LEAST_SEARCH = 0.15
"""Part of the time that search and bound get at least, even past the end."""
LOOK = 0.5
"""Seconds that are given to the first layout at least."""
MANY = 10**9
"""Tries where the clock ends them."""
TOLD = 20
"""Failed checks of whole layouts that are worked out in words, to say why there is none."""
FIRST_TRIES = 300
"""Layouts that a start completes, at most, to find a sound one, when iterations limit the work."""
BOUND_NODES = 300
"""Nodes of the tree when iterations, not seconds, limit the work."""


def suggest(
    scenario: Scenario,
    base: Layout | str | None = None,
    *,
    seconds: float = 30.0,
    iterations: int | None = None,
    pitch: float = 0.25,
    facings: int = 4,
    seed: int = 1,
    keep: Sequence[str] = (),
    moves: int | None = None,
    alternatives: int = 0,
    strict: bool = False,
    processes: int | None = None,
    anywhere: bool = False,
    progress: Observer | None = None,
) -> Suggestion:
    """Suggest a layout of ``scenario`` that costs less walking, with a bound on what any could cost.

    base          a layout, or the name of one in the file; by default the file's first, if it has one
    seconds       time for all of it, compiling on first use left out; ``iterations`` (moves tried on the
                  true cost) instead makes the answer depend on ``seed`` alone
    pitch         metres between spots along walls and over the floor; ``facings`` 4 or 8 a turn
    keep          stations that stay where the base has them; ``moves`` the most that may leave it
    alternatives  further layouts that differ from all before by three stations or more
    strict        should-checks count as must-checks
    processes     threads, by default one a core
    anywhere      refine the best layout off the spots, and bound every position (``Suggestion.anywhere``)
    progress      called with a ``Progress`` now and then; only watches

    Never returns a layout that fails a must-check or costs more than a base that passes them.  Ctrl-C
    (KeyboardInterrupt) ends it with the best so far, and goes through when there is none yet.
    Raises UsageError for a bad argument and NoLayoutError, naming the station and what refuses it, when
    no layout was found.
    """
    options = checked(
        scenario,
        Options(
            seconds,
            iterations,
            pitch,
            facings,
            seed,
            tuple(keep),
            moves,
            alternatives,
            strict,
            (os.cpu_count() or 1) if processes is None else processes,
            anywhere,
        ),
    )
    start = base_layout(scenario, base, needed=bool(keep) or moves is not None)
    if progress is not None:
        progress(Progress(0.0, math.inf, None, "getting ready"))
    make_ready(_practise)
    on_spots = replace(options, seconds=options.seconds * (ON_SPOTS if anywhere else 1.0))
    run = _Run(scenario, start, on_spots, progress)
    try:
        run.prepare()
        run.search()
        run.tell("search" if anywhere else "done")
    except KeyboardInterrupt:
        run.switch.throw()
        if run.pool is None or run.pool.choice is None:
            raise
    found = run.result()
    return off_the_spots(found, run.leaving(options)) if anywhere and not run.switch() else found


def _practise(scenario: Scenario, before_tree: Callable[[], object]) -> None:
    """All of the work once, on something small, so that everything compiled is loaded."""
    options = Options(1.0, 8, 1.0, 4, 1, (), None, 0, False, 1)

    def observe(progress: Progress) -> None:
        if progress.phase == "bound":
            before_tree()

    run = _Run(scenario, None, options, observe)
    run.prepare()
    run.search()


class _Run:
    """One call of ``suggest``: what it works on, step by step."""

    def __init__(
        self, scenario: Scenario, base: Layout | None, options: Options, progress: Observer | None
    ) -> None:
        self.scenario, self.base, self.options, self.progress = scenario, base, options, progress
        self.began = time.monotonic()
        self.switch = Switch()
        self.pool: Pool | None = None
        self.tree: Tree | None = None
        self.notes: list[str] = []
        self.lists: tuple[SpotList, ...] = ()
        self.refused: Counter[str] = Counter()
        """Failed must-checks of whole layouts, in words, and how often each refused one."""
        self.told = math.inf
        """Best cost that was told."""

    # -- what the search works on

    def prepare(self) -> None:
        """Spots, pair table, judge and the pool with the base in it."""
        options = self.options
        if self.base is not None:
            self.base = Layout(self.base.name, Plan(self.scenario, self.base).placements)
        self.tell("spots")
        self.lists = find_spots(
            self.scenario, options.pitch, options.facings, self.base, options.keep, options.strict
        )
        every_station_has_one(self.lists)
        kept_stand_together(self.scenario, self.lists, options.strict)
        size = sum(len(spots.placements) for spots in self.lists)
        if size > MEMORY_LIMIT_SPOTS:
            raise UsageError(
                f"pitch {options.pitch:g} m gives {size} spots, more than the {MEMORY_LIMIT_SPOTS} that fit: "
                f"{self._greater_pitch()}"
            )
        self.tell("pair table")
        any_layout = Layout("spots", {s.thing.name: s.placements[0] for s in self.lists})
        building = Plan(self.scenario, any_layout).building
        self.table = PairTable(self.scenario, self.lists, options.strict, building)
        self.standing = standing = StandingPlaces(self.table, self._entries())
        self.tables: Tables = self.table.build(options.processes, self._detours())
        self.visits = standing.visits(self.tables, self._detours() // 4, options.processes)
        self.places: Floats = self.table.stamps.at
        self.judge = Judge(self.table)
        self.pool = Pool(self._passes)
        self.base_spots = self._base_spots()
        self.base_choice = self.base_spots if (self.base_spots >= 0).all() else None
        if self.base_choice is not None:
            self.pool.add(self._true(self.base_choice), self.base_choice)

    def _greater_pitch(self) -> str:
        """What to do where there are too many spots: a pitch that works, tried out."""
        options = self.options
        for factor in (1.2, 1.6, 2.0, 3.0, 4.0):
            pitch = math.ceil(20 * factor * options.pitch - 1e-9) / 20
            lists = find_spots(
                self.scenario, pitch, options.facings, self.base, options.keep, options.strict
            )
            size = sum(len(spots.placements) for spots in lists)
            if size <= MEMORY_LIMIT_SPOTS:
                return f"a pitch of {pitch:g} m gives {size}; or keep some stations"
        return "keep some stations, or name spots in the file"

    def _detours(self) -> int:
        """Pairs of spots for which the table searches ways round: a fifth of the time's worth.

        What the table takes without them comes off twice, so that a short run is left time to search.
        """
        if self.options.iterations is not None:
            return DETOUR_PAIRS
        pairs = 0.5 * sum(len(spots.placements) for spots in self.lists) ** 2
        core_seconds = self.options.seconds * self.options.processes - 2.0 * pairs / PAIRS_TRIED_PER_SECOND
        return int(0.2 * max(0.0, core_seconds) * PAIRS_PER_SECOND)

    def _entries(self) -> int:
        """Entries that visits may take as variables of the bound: as many as the time is long enough for."""
        if self.options.iterations is not None:
            return ENTRIES
        return int(min(ENTRIES, ENTRIES_PER_SECOND * self.options.seconds))

    def _base_spots(self) -> Ints:
        """The base's spot of each thing, -1 where it has none that the room allows."""
        found = np.full(len(self.lists), -1, np.int32)
        for k, spots in enumerate(self.lists):
            here = None if self.base is None else self.base.placements[spots.thing.name]
            if here in spots.placements:
                found[k] = self.tables.first[k] + spots.placements.index(here)
        return found

    def layout(self, choice: Ints, name: str = "suggestion") -> Layout:
        """The layout of a choice of spots."""
        spots = (int(s) - int(f) for s, f in zip(choice, self.tables.first, strict=False))
        return Layout(name, {s.thing.name: s.placements[k] for s, k in zip(self.lists, spots, strict=True)})

    def _passes(self, choice: Ints) -> bool:
        """Whether the whole check of a layout agrees with the tables that it may be offered."""
        if int((choice != self.base_spots).sum()) > self.most_moves:
            return False
        layout, strict = self.layout(choice), self.options.strict
        if sound(self.scenario, layout, strict):
            return True
        if self.refused.total() < TOLD and self.pool is not None and math.isinf(self.pool.best):
            failed = (c for c in score(self.scenario, layout).checks if not c.ok)
            self.refused.update(f"{c.id}: {c.message}" for c in failed if strict or c.severity == "must")
        return False

    @property
    def most_moves(self) -> int:
        """How many things may leave the base."""
        return len(self.lists) if self.options.moves is None else self.options.moves

    def _true(self, choice: Ints) -> float:
        return math.inf if self.tables.clashes(choice) else self.judge(choice)

    # -- the work

    def search(self) -> None:
        """Waves of starts, the bound, and waves again with what the bound found."""
        assert self.pool is not None
        options = self.options
        restriction = Restriction(self.base_spots, self.most_moves)
        search = Search(
            self.tables,
            self.places,
            self.judge,
            restriction,
            self.pool,
            options.seed,
            options.processes,
            self._news if options.iterations is None else None,
        )
        if options.iterations is not None:
            self._by_iterations(search, options.iterations)
        else:
            self._by_clock(search)
        self._found_any(search)

    def _by_iterations(self, search: Search, iterations: int) -> None:
        """Two waves and so many nodes of the tree: nothing depends on the clock."""
        if self.base_choice is None:
            search.first(self.switch, FIRST_TRIES)
        for number in range(2):
            search.wave(max(1, iterations // (2 * WAVE)), self.switch, self._seeds(number))
            self.tell("search")
        self._found_any(search)
        self._grow(search.restriction)
        assert self.tree is not None
        self.tree.run(self.switch, 1, BOUND_NODES)

    def _by_clock(self, search: Search) -> None:
        """Search and bound in turn until the time is up or the proof is done."""
        assert self.pool is not None
        seconds = self.options.seconds
        # Where the tables have taken all of the time, there is still to be a layout, and a better one.
        whole = Any(After(max(LEAST_SEARCH * seconds, ALL_BUT_RESULT * seconds - self.elapsed)), self.switch)
        if math.isinf(self.pool.best):
            look = max(LOOK, SEARCH_TURN * (seconds - self.elapsed))
            search.first(Any(After(look), self.switch), MANY)
            self.tell("search")
        number, share = 0, FIRST_SHARE
        while not whole() and (self.tree is None or not self.tree.done):
            left = max(0.0, seconds - self.elapsed)
            turn = Any(After(max(0.5 * LEAST_SEARCH * seconds, left * SEARCH_TURN)), whole)
            while number == 0 or not turn():
                search.wave(int(share * WAVE_STEPS), turn, self._seeds(number), share)
                number, share = number + 1, min(1.0, 2.0 * share)
                self.tell("search")
                if self.tables.size < SMALL:
                    break
            if math.isinf(self.pool.best):
                search.first(turn, MANY)
            elif not whole():
                if self.tree is None:
                    self._grow(search.restriction)
                self._prove(Any(After(left * BOUND_TURN), whole))

    def _seeds(self, number: int) -> list[Ints]:
        """What a wave starts from: the base, then anew and from the best so far in turn."""
        assert self.pool is not None
        if number == 0:
            return [] if self.base_choice is None else [self.base_choice]
        return [choice for _, choice in self.pool.ranked()[:2]] if number % 2 else []

    def _news(self) -> None:
        """Tell as soon as a better layout is found."""
        assert self.pool is not None
        if self.pool.best < self.told:
            self.tell("search")

    def _grow(self, restriction: Restriction) -> None:
        """Plant the tree, with the best layout's cost as its upper bound."""
        assert self.pool is not None
        limited = restriction.moves < len(self.lists)
        self.tell("bound")
        self.tree = Tree(
            self.tables,
            self.pool.best,
            self._leaf,
            self.places,
            floor_cover(self.lists),
            restriction.base if limited else None,
            restriction.moves if limited else None,
            self.visits,
            lambda scaled: make_ways(self.standing, self.visits, scaled),
        )

    def _leaf(self, choice: Ints) -> float:
        """True cost of a whole choice in the tree; infinite when a check forbids the layout."""
        assert self.pool is not None
        cost = self.judge(choice)
        if cost < self.pool.best:
            self.pool.add(cost, choice)
            if self.pool.best > cost:
                return math.inf
        elif cost < self.pool.best * (1 + ALIKE):
            self.pool.add(cost, choice)
        return cost

    def _prove(self, whole: Stop) -> None:
        """Work the tree, its root at least, until it is done or time is up, telling how it stands."""
        assert self.tree is not None
        assert self.pool is not None
        self.tree.improve(self.pool.best, self.pool.choice)
        last = time.monotonic()

        def stop() -> bool:
            nonlocal last
            if time.monotonic() - last > 0.5:
                last = time.monotonic()
                self.tell("bound")
            return self.tree is not None and self.tree.nodes > 0 and whole()

        self.tree.run(stop, self.options.processes)

    def _found_any(self, search: Search) -> None:
        """Raises NoLayoutError, naming the station that finds no spot, when nothing was found."""
        assert self.pool is not None
        if math.isinf(self.pool.best):
            raise NoLayoutError(
                why_none(
                    self.scenario, self.lists, self.tables, search.failures, self.refused, self.options.strict
                )
            )

    @property
    def elapsed(self) -> float:
        """Seconds since the call."""
        return time.monotonic() - self.began

    def tell(self, phase: str) -> None:
        if self.progress is not None:
            best = math.inf if self.pool is None else self.pool.best
            self.told = best
            bound = None if self.tree is None else self.tree.bound
            self.progress(Progress(self.elapsed, best, bound, phase))

    # -- the result

    def result(self) -> Suggestion:
        """Score the best choices in full and put the tidiest of the cheapest first."""
        assert self.pool is not None
        ranked = self.pool.ranked()
        near = [choice for cost, choice in ranked[:12] if cost <= ranked[0][0] * (1 + ALIKE)]
        good: list[tuple[Score, Ints]] = []
        for choice in near:
            result = score(self.scenario, self.layout(choice))
            if _offered(result, self.options.strict):
                good.append((result, choice))
            if good and self.options.iterations is None and self.elapsed > self.options.seconds:
                break
        first = shown_first(self.scenario, [s for s, _ in good])[0]
        choice = next(c for s, c in good if s is first)
        layouts = [first, *self._alternatives(choice, ranked)]
        base_score = None if self.base is None else score(self.scenario, self.base)
        if base_score is not None and not base_score.ok:
            failed = [f"{c.id} {c.subject}" for c in base_score.checks if not c.ok and c.severity == "must"]
            self.notes.append(f"layout {base_score.layout} itself fails {', '.join(failed) or 'a job'}")
        bound = 0.0 if self.tree is None else max(0.0, min(self.tree.bound, first.cost))
        return Suggestion(
            self.scenario.name,
            None if self.base is None else self.base.name,
            base_score,
            tuple(layouts),
            bound,
            self.tables.size,
            time.monotonic() - self.began,
            self.options.seed,
            self._savings(choice),
            tuple(self.notes),
        )

    def leaving(self, options: Options) -> Leaving:
        """What ``--anywhere`` goes on with: the best layouts and what they were found under."""
        assert self.pool is not None
        ranked = self.pool.ranked()
        apart = [ranked[0]]
        for cost, choice in ranked[1:]:
            if all(self._differ(choice, other) >= 3 for _, other in apart):
                apart.append((cost, choice))
        starts = [(cost, self.layout(choice)) for cost, choice in apart[1:3]]
        return Leaving(
            self.scenario,
            self.base,
            self.lists,
            starts,
            options,
            self.began,
            lambda result: _offered(result, options.strict),
            self.progress,
        )

    def _alternatives(self, choice: Ints, ranked: list[tuple[float, Ints]]) -> list[Score]:
        taken = [choice]
        found: list[Score] = []
        for _, other in ranked:
            if len(found) == self.options.alternatives:
                break
            if all(self._differ(other, t) >= 3 for t in taken):
                result = score(self.scenario, self.layout(other, f"alternative {len(found) + 1}"))
                if _offered(result, self.options.strict):
                    found.append(result)
                    taken.append(other)
        return found

    @staticmethod
    def _differ(one: Ints, other: Ints) -> int:
        return int((one != other).sum())

    def _savings(self, choice: Ints) -> tuple[Saving, ...]:
        """What each station's move saves, the best first, each on top of those before it.

        A step on the way that could not be walked saves nothing; the next one that can counts for both.
        """
        if self.base_choice is None or self.options.moves is None:
            # A whole rearrangement passes through layouts nobody could walk: its single steps mean nothing.
            return ()
        now = self.base_choice.copy()
        cost = self.judge(now)
        left = [i for i in range(len(now)) if now[i] != choice[i]]
        found: list[Saving] = []
        while left:
            trials = []
            for i in left:
                after = now.copy()
                after[i] = choice[i]
                trials.append((self.judge(after), i))
            new, i = min(trials)
            saves = cost - new if math.isfinite(cost) and math.isfinite(new) else 0.0
            found.append(Saving(self.lists[i].thing.name, saves))
            now[i] = choice[i]
            cost = new if math.isfinite(new) else cost
            left.remove(i)
        return tuple(found)


def _offered(result: Score, strict: bool) -> bool:
    return result.ok and not (strict and any(not c.ok for c in result.checks))
