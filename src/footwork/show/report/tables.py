"""The tables of the page, and figures of layouts in words."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence

from footwork.checks.result import CheckResult, merged
from footwork.checks.rule import Rule
from footwork.checks.run import rules
from footwork.model.scenario import Layout, Scenario
from footwork.model.units import format_length
from footwork.scoring import JobScore, Score
from footwork.show import text
from footwork.show.costs import cost_parts
from footwork.show.places import facing_words, place_words, point_words
from footwork.show.report.moving import Step
from footwork.show.report.table import Cell, Row, Table, figure, heads, row, words
from footwork.show.squeezed import squeezed_each_words, squeezed_words
from footwork.show.walked import Walked, seasonal, walked, walked_in

_PAIR = (("before",), ("after",), ("change",), ("change %",))


def figures(scenario: Scenario, scores: Sequence[Score]) -> Table:
    """What is walked in all: how far, hours, steps, and what else the layout costs."""
    told = walked(scenario)

    def far(figure: Callable[[Score], float]) -> list[float]:
        return [figure(score) * told.per_metre for score in scores]

    lines = [
        (f"{told.word} walked", far(lambda s: s.metres_per_year), ",.0f"),
        ("hours", [s.hours_per_year for s in scores], ",.1f"),
        ("steps", [s.steps_per_year for s in scores], ",.0f"),
    ]
    lines += [(f"{told.word} in {name}", far(_in_season(name)), ",.0f") for name in scores[0].seasons]
    if any(s.squeezed for s in scores):
        lines.insert(1, ("of which squeezed", far(lambda s: s.squeezed_per_year), ",.0f"))
    lines += [(f"{name}, {told.word}", far(part), ",.0f") for name, part in cost_parts(scores)]
    rows = [
        row(words(name), *(figure(_shown(v, form), v) for v in values), *_change(values, form))
        for name, values, form in lines
    ]
    names = [(s.layout,) for s in scores]
    return Table(
        "figures",
        "Walking in all",
        heads("a year", *(_PAIR if len(scores) == 2 else names)),
        tuple(rows),
    )


def _in_season(name: str) -> Callable[[Score], float]:
    return lambda score: score.metres_by_season[name]


def jobs(scenario: Scenario, scores: Sequence[Score]) -> Table:
    """Each job: how far a year and each time, before and after, and how often it is done."""
    told = walked(scenario)
    unit, per = told.unit, told.per_metre
    paired = len(scores) == 2
    rows = []
    for k, job in enumerate(scores[-1].jobs):
        same = [score.job(job.name) for score in scores]
        year, each = [j.metres_per_year * per for j in same], [j.metres_each for j in same]
        squeezed = [
            f"{'before: ' if j is not job else ''}{squeezed_each_words(j, told)}" for j in same if j.blocked
        ]
        cells = [words(job.name, "; ".join((*squeezed, *filter(None, [seasonal(job).removeprefix(", ")]))))]
        cells += [figure(_shown(v, ",.0f"), v) for v in year] + _change(year, ",.0f")
        cells += [figure(told.each(v), v) for v in each]
        cells.append(figure(f"{job.times_per_year:,.4g}", job.times_per_year))
        rows.append(Row(tuple(cells), k))
    year = [s.metres_per_year * per for s in scores]
    total = [words("in all"), *(figure(_shown(v, ",.0f"), v) for v in year), *_change(year, ",.0f")]
    blank = words("")
    total += [blank] * (len(scores) + 1)
    columns: tuple[str | tuple[str], ...] = (
        "job", (f"{unit} a year",), (f"{unit} each time",), ("times a year",),
    )  # fmt: skip
    if paired:
        columns = (
            "job", (f"{unit} a year before",), (f"{unit} a year after",), ("change",), ("change %",),
            (f"{unit} each time before",), (f"{unit} each time after",), ("times a year",),
        )  # fmt: skip
    return Table(
        "jobs", "The jobs and how far each makes you walk", heads(*columns), tuple(rows), Row(tuple(total))
    )


def _shown(value: float, form: str) -> str:
    return format(value + 0.0, form) if math.isfinite(value) else "no way"


def _change(values: Sequence[float], form: str) -> list[Cell]:
    """The change and its share of what was; nothing where there is one value alone."""
    if len(values) < 2:
        return []
    before, after = values
    change = 0.0 if before == after else after - before
    share = change / before if math.isfinite(before) and before > 0 else 0.0
    told = f"{share:+.1%}".replace("%", " %") if math.isfinite(share) and abs(share) >= 0.0005 else ""
    return [figure(_minus(text.signed(change, f"+{form}")), change), figure(_minus(told), share)]


def _minus(words_: str) -> str:
    """A true minus sign, as wide as a plus."""
    return words_.replace("-", "\u2212", 1)


def states_words(job: JobScore, told: Walked) -> str:
    """How far a job is with each choice of vehicles that are in, where that differs."""
    if len({told.each(state.metres_each) for state in job.states}) < 2:
        return ""
    return "; ".join(
        f"{text.listed(s.vehicles_in) + ' in' if s.vehicles_in else 'no vehicle in'} "
        f"{text.percent(s.share)} of the time, {told.once(s.metres_each)}"
        for s in job.states
    )


def walked_words(score: Score, told: Walked) -> str:
    """How far and how many hours a year in one line."""
    said = f"{told.total(score.metres_per_year)} walked a year, {text.tenths(score.hours_per_year)} hours"
    squeezed = squeezed_words(score, told)
    return f"{said}, {squeezed}" if squeezed else said


def origin_words(scenario: Scenario) -> str:
    """Where places are measured from."""
    return "the room's south-west corner" if scenario.room.size else "the point 0, 0 of the room's outline"


def plan_words(scenario: Scenario, layout: Layout) -> str:
    """The plan for those who cannot see it: the room, and where everything stands."""
    ring = scenario.room.outline
    across, deep = (max(p[k] for p in ring) - min(p[k] for p in ring) for k in (0, 1))
    size = f"{format_length(across, scenario.units)} by {format_length(deep, scenario.units)}"
    stands = [
        f"{thing.name} {place_words(layout.placements[thing.name], scenario.units)}"
        for thing in scenario.things
        if thing.name in layout.placements
    ]
    shape = "room of" if scenario.room.size else "room at its widest"
    return f"A {shape} {size}. Centres, measured from {origin_words(scenario)}: {'; '.join(stands)}."


# Checks


_Key = tuple[str, str]


def checks_lead(scores: Sequence[Score]) -> str:
    """How many checks fail, in a sentence."""
    return " ".join(f"Layout {score.layout}: {_failed_words(score.checks)}." for score in scores)


def _failed_words(results: Sequence[CheckResult]) -> str:
    results = merged(results)
    counts = {s: sum(not c.ok and c.severity == s for c in results) for s in ("must", "should")}
    told = [f"{text.plural(n, f'{s}-check')} {'fails' if n == 1 else 'fail'}" for s, n in counts.items() if n]
    said = f"{text.listed(told)} of {len(results):,}" if told else f"all {len(results):,} checks hold"
    accepted = sum(bool(c.accepted) for c in results)
    return f"{said}, {accepted} accepted as the file says" if accepted else said


def checks(scenario: Scenario, scores: Sequence[Score]) -> Table:
    """Failed checks first, one a row, with what to do; then those that hold, one row a check."""
    found = [_by_key(score.checks) for score in scores]
    failed: dict[_Key, None] = {}
    for results in reversed(found):  # what fails afterwards comes first
        failed.update(dict.fromkeys(k for k, c in results.items() if not c.ok))
    order = sorted(failed, key=lambda k: _rank(k, found))
    known = {rule.id: rule for rule in rules(scenario.checks)}
    asks = {id_: _asks(rule, scenario.units) for id_, rule in known.items()}
    rows = [_failed_row(keys, found, asks) for keys in _by_pinch(order, found)]
    rows += [_accepted_row(key, found, asks) for key in _accepted(found) if key not in failed]
    held = {id_ for each in found for (id_, _), check in each.items() if _holds(check)}
    rows += [_held_row(id_, asks[id_], found) for id_ in known if id_ in held]
    now = [("before",), ("after",)] if len(scores) == 2 else [("outcome",)]
    columns = heads("check", "about", *(c[0] for c in now), "what to do", "source")
    return Table("checks", "Checks, failed ones first", columns, tuple(rows))


def _by_key(results: Sequence[CheckResult]) -> dict[_Key, CheckResult]:
    """One result for each check and subject: a failed one where there are several."""
    found: dict[_Key, CheckResult] = {}
    for result in results:
        key = (result.id, result.subject)
        if key not in found or (found[key].ok and not result.ok):
            found[key] = result
    return found


def _holds(check: CheckResult) -> bool:
    """Whether a check holds without being accepted."""
    return check.ok and not check.accepted


def _accepted(found: Sequence[Mapping[_Key, CheckResult]]) -> list[_Key]:
    """The checks that the file accepts in some layout; those of the last layout first."""
    return list(dict.fromkeys(k for each in reversed(found) for k, c in each.items() if c.accepted))


def _rank(key: _Key, found: Sequence[Mapping[_Key, CheckResult]]) -> tuple[bool, bool]:
    now = found[-1].get(key)
    return (now is None or now.ok, not any(f[key].severity == "must" for f in found if key in f))


def _told(key: _Key, found: Sequence[Mapping[_Key, CheckResult]]) -> CheckResult:
    """The outcome whose words are told: that of the last layout which fails."""
    return next(each[key] for each in reversed(found) if key in each and not each[key].ok)


def _by_pinch(order: Sequence[_Key], found: Sequence[Mapping[_Key, CheckResult]]) -> list[list[_Key]]:
    """Failed checks in order, those together that one and the same thing holds back in the same layouts."""
    groups: dict[object, list[_Key]] = {}
    for key in order:
        by = tuple(held.by for held in _told(key, found).held)
        outcomes = tuple(key in each and each[key].ok for each in found)
        groups.setdefault((key[0], by, outcomes) if by else key, []).append(key)
    return list(groups.values())


def _failed_row(
    keys: Sequence[_Key], found: Sequence[Mapping[_Key, CheckResult]], asks: Mapping[str, str]
) -> Row:
    """One row for checks that fail alike, by one pinch."""
    key = keys[0]
    results = [each.get(key) for each in found]
    told = merged([_told(each, found) for each in keys])
    message = "; ".join(result.message for result in told)
    now = results[-1]
    what = message if now is not None and not now.ok else f"Mended. Before: {message}"
    cells = [_outcome(r, rank) for r, rank in zip(results, (0, 1), strict=False)]
    about = text.listed([subject for _, subject in keys])
    return row(words(key[0]), words(about, asks.get(key[0], "")), *cells, words(what), words(told[0].source))


def _accepted_row(key: _Key, found: Sequence[Mapping[_Key, CheckResult]], asks: Mapping[str, str]) -> Row:
    """A check that fails and that the file accepts, in its words."""
    results = [each.get(key) for each in found]
    told = next(each[key] for each in reversed(found) if key in each and each[key].accepted)
    cells = [_outcome(r, rank) for r, rank in zip(results, (0, 1), strict=False)]
    return row(words(key[0]), words(key[1], asks[key[0]]), *cells, words(told.message), words(told.source))


def _outcome(result: CheckResult | None, rank: int) -> Cell:
    if result is None:
        return Cell("not made", 3.0)
    if result.accepted:
        return Cell("accepted", 1.5, "", "holds")
    if result.ok:
        return Cell("holds", 2.0, "", "holds")
    must = result.severity == "must"
    return Cell(
        "fails (must)" if must else "fails (should)", 0.0 if must else 1.0, "", "fails" if must else "warns"
    )


def _asks(rule: Rule, units: str) -> str:
    """What a check asks, its figure in the file's units."""

    def say(value: float) -> str:
        if rule.unit != "m":
            return f"{value:g} {rule.unit}"
        return f"{value:.3f}".rstrip("0").rstrip(".") + " m" if units == "m" else format_length(value, units)

    return rule.sentence(say)


def _held_row(id_: str, asks: str, found: Sequence[Mapping[_Key, CheckResult]]) -> Row:
    counts = [[c for (other, _), c in each.items() if other == id_] for each in found]
    held = [sum(_holds(c) for c in each) for each in counts]
    cells = [
        Cell(f"{n} of {len(each)} hold" if len(each) != 1 else "holds" if n else "fails", 2.0, "", "holds")
        for n, each in zip(held, counts, strict=True)
    ]
    source = next(c.source for each in reversed(counts) for c in each)
    return row(words(id_), words(asks), *cells, words(""), words(source))


# What moves


def moving(order: Sequence[Step], units: str, saves: Mapping[str, float]) -> Table:
    """What moves, in order: from where, to where, how it then faces, how far."""
    told = walked_in(units)
    rows = []
    for k, step in enumerate(order, start=1):
        faces = facing_words(step.after.facing).removeprefix("facing ")
        was = facing_words(step.before.facing).removeprefix("facing ")
        cells = [
            Cell(f"{k} {step.name}", float(k), small=_aside_words(step.aside)),
            words(point_words(step.before.at, units)),
            words(point_words(step.after.at, units)),
            words(f"{was}, then {faces}" if step.turned else faces),
            figure(format_length(step.metres, units) if step.metres > 1e-4 else "turns", step.metres),
        ]
        if saves:
            value = saves.get(step.name)
            cells.append(figure(told.whole(value) if value is not None else "", value or 0.0))
        rows.append(Row(tuple(cells)))
    columns: tuple[str | tuple[str], ...] = ("move", "centre now", "centre then", "faces", ("how far",))
    if saves:
        columns = (*columns, (f"saves {told.unit} a year",))
    return Table("moving", "What to move", heads(*columns), tuple(rows))


def _aside_words(names: Sequence[str]) -> str:
    return f"first set {text.listed(names)} aside: in the way" if names else ""


def order_words(order: Sequence[Step], by_savings: bool, scenario: Scenario) -> tuple[str, ...]:
    """How the order came about."""
    if by_savings:
        first = "In the order of what each move saves, after those before it."
    else:
        first = (
            "In the order of marking out, wall by wall, except that a move waits until its new place is free."
        )
    out = "Vehicles are out meanwhile. " if scenario.vehicles else ""
    lines = [first, f"{out}Centres are measured from {origin_words(scenario)}."]
    if any(step.aside for step in order):
        lines.append("Where things stand in each other's places, the table says what to set aside first.")
    return tuple(lines)
