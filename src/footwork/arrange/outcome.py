"""What a run has found as a ``Suggestion``: the tidiest of the cheapest layouts first, others after it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

from footwork.arrange.core.arrays import Ints
from footwork.arrange.core.options import ALIKE, USUAL_PITCH, Options
from footwork.arrange.core.progress import Report
from footwork.arrange.core.results import Saving, Suggestion, savings
from footwork.arrange.core.stop import NEVER, After, Any, Stop
from footwork.arrange.every_position.stage import Leaving
from footwork.arrange.instance import Instance
from footwork.arrange.pair_table.prices import counted
from footwork.arrange.run import Run
from footwork.arrange.tidy import Rank, Tidier
from footwork.arrange.unavoidable import unavoidable
from footwork.checks.ground import Ground
from footwork.model.moved import has_moved
from footwork.model.units import format_length, walking_unit
from footwork.scoring import Score, cost_as_it_is, score

Ranked = list[tuple[float, Ints]]
"""Costs and choices, cheapest first."""

SAME_COST = 1e-9
"""Part of a cost by which two ways of adding it up may differ: the base itself must not seem dearer."""
APART = 3
"""Things by which layouts shown beside each other differ, at least."""
SCORED = 12
"""Layouts of about the least cost of which the tidiest is looked for, at most."""
TIDYING = 0.975
"""Part of the time after which no tidier layout is looked for any more."""


def outcome(run: Run, ranked: Ranked, base: Score | None) -> Suggestion:
    """The tidiest of the cheapest in ``ranked`` first, scored in full; ``base`` is what the base costs.

    Once the run's switch is thrown the cheapest itself is first, and nothing more is looked for.
    """
    instance, report, switch = run.instance, run.report, run.switch
    scenario, options = instance.scenario, instance.options
    choice = _tidiest(instance, ranked, base, Any(switch, _time_is_up(run)))
    first = score(scenario, instance.layout(choice))
    layouts = (first, *(() if switch() else _alternatives(instance, choice, ranked)))
    bound, priced = max(0.0, min(run.bound, first.cost)), run.priced(choice)
    finished = run.tree is not None and run.tree.done and bound >= first.cost * (1.0 - 2.0 * ALIKE)
    tie = _of_tie(first, ranked[0][0], scenario.units)
    unseen = None if priced is None else min(max(0.0, first.cost - priced), first.cost - bound)
    return Suggestion(
        scenario=scenario.name,
        base=None if base is None else base.layout,
        base_score=base,
        layouts=layouts,
        bound=bound,
        spots=instance.tables.size,
        seconds=report.elapsed,
        seed=options.seed,
        moved=_savings(instance, choice),
        notes=(
            *_of_pitch(options, scenario.units),
            *_of_base(base, options.strict),
            *(() if finished else tie),
        ),
        unseen=unseen,
        finished=finished,
        unavoidable=() if switch() else unavoidable(instance, choice),
        uncounted=_uncounted(instance, first),
    )


def _uncounted(instance: Instance, first: Score) -> tuple[str, ...]:
    """Checks that hang on whole layouts and that the best one pays for: the bound knows nothing of them."""
    known = counted(Ground(instance.scenario))
    return tuple(dict.fromkeys(c.id for c in first.checks if c.price and c.id not in known))


def _time_is_up(run: Run) -> Stop:
    """Once what is left is needed to score what is shown."""
    seconds = run.options.seconds
    if run.options.iterations is not None:
        return NEVER
    return After(min(TIDYING * seconds, seconds - run.result_takes()) - run.report.elapsed)


def _tidiest(instance: Instance, ranked: Ranked, base: Score | None, stop: Stop) -> Ints:
    """Of layouts that cost about the same the one to show: never dearer than a base that may be offered."""
    least, choice = ranked[0]
    limit = least * (1 + ALIKE)
    if base is not None and offered(base, instance.options.strict):
        limit = min(limit, max(least, base.cost) * (1 + SAME_COST))
    tidier = Tidier(instance, limit)
    best: Rank | None = None
    for cost, other in ranked[:SCORED]:
        if stop() or cost > limit:
            break
        rank = tidier.rank(other)
        if rank is not None and (best is None or rank < best):
            best, choice = rank, other
    return choice if best is None else tidier.tidied(choice, best, stop)


def offered(result: Score, strict: bool) -> bool:
    """Whether a scored layout may be suggested."""
    return result.ok and not (strict and any(not c.ok for c in result.checks))


def leaving(instance: Instance, ranked: Ranked, seconds: float, report: Report) -> Leaving:
    """What ``--anywhere`` goes on with, ``seconds`` in all: the best layouts, what they were found under."""
    options = replace(instance.options, seconds=seconds)
    apart = [ranked[0]]
    for cost, choice in ranked[1:]:
        if all(_differ(choice, other) >= APART for _, other in apart):
            apart.append((cost, choice))
    return Leaving(
        scenario=instance.scenario,
        base=instance.base,
        lists=instance.lists,
        starts=[(cost, instance.layout(choice)) for cost, choice in apart[1:3]],
        options=options,
        report=report,
        offered=lambda result: offered(result, options.strict),
    )


def _of_pitch(options: Options, units: str) -> tuple[str, ...]:
    if not options.coarsen or options.pitch <= USUAL_PITCH:
        return ()
    say = partial(format_length, units=units)
    many = f"at {say(USUAL_PITCH)} there are more than time or memory allow"
    return (f"spots lie {say(options.pitch)} apart: {many}",)


def _of_base(base: Score | None, strict: bool) -> tuple[str, ...]:
    if base is None or offered(base, strict):
        return ()
    failed = [f"{c.id} {c.subject}" for c in base.checks if not c.ok and (strict or c.severity == "must")]
    return (f"layout {base.layout} itself fails {', '.join(failed) or 'a job'}",)


def _of_tie(first: Score, least: float, units: str) -> tuple[str, ...]:
    more = first.cost - least
    if more < 0.5:
        return ()
    unit, per_metre = walking_unit(units)
    return (
        f"another layout costs {more * per_metre:,.0f} {unit} a year less, under {ALIKE:.1%} of it; the one "
        "shown fails fewer should-checks or is tidier".replace("0.1%", "0.1 %"),
    )


def _alternatives(instance: Instance, choice: Ints, ranked: Ranked) -> list[Score]:
    taken = [choice]
    found: list[Score] = []
    for _, other in ranked:
        if len(found) == instance.options.alternatives:
            break
        if all(_differ(other, t) >= APART for t in taken):
            result = score(instance.scenario, instance.layout(other, f"alternative {len(found) + 1}"))
            if offered(result, instance.options.strict):
                found.append(result)
                taken.append(other)
    return found


def _differ(one: Ints, other: Ints) -> int:
    return int((one != other).sum())


def _savings(instance: Instance, choice: Ints) -> tuple[Saving, ...]:
    base = instance.base_choice
    if base is None or instance.options.moves is None:
        # A whole rearrangement passes through layouts nobody could walk: its single steps mean nothing.
        return ()

    walked = math.isfinite(instance.judge(base))

    def cost_after(made: Sequence[int]) -> float:
        after = base.copy()
        after[list(made)] = choice[list(made)]
        # A base that cannot be walked is left step by step: each is told against what is squeezed before it.
        return instance.judge(after) if walked else cost_as_it_is(instance.scenario, instance.layout(after))

    before, after = (instance.layout(each).placements for each in (base, choice))
    names = [spots.thing.name for spots in instance.lists]
    elsewhere = [i for i, name in enumerate(names) if has_moved(before[name], after[name])]
    saved = savings(elsewhere, cost_after)
    return tuple(Saving(names[i], saves) for i, saves in saved)
