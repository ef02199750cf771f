"""What a check says."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from footwork.model.scenario import Severity


@dataclass(frozen=True, slots=True)
class Held:
    """Something that holds a walker back: ``what`` of the subject, "" for all of it, and by what.

    ``lead`` says what is missing.  The same ``by`` in several results is one finding.
    """

    lead: str
    what: str
    by: str


@dataclass(frozen=True, slots=True)
class CheckResult:
    """The outcome of one check on one subject.

    ``required`` and ``actual`` are in ``unit``; None where the check is a plain yes or no.
    ``source`` says *published: clause*, *common practice* or *your file*.  ``message`` is one
    sentence that says what to do when the check fails, and what holds when it passes.  ``price`` is what
    failing counts, in metres of walking a year; ``accepted`` is why the file accepts that it fails, and
    ``ok`` is then True.  ``held`` is what holds a walker back, where the check is about walking.
    """

    id: str
    subject: str
    severity: Severity
    ok: bool
    required: float | None
    actual: float | None
    unit: str
    source: str
    message: str
    price: float = 0.0
    accepted: str = ""
    held: tuple[Held, ...] = ()

    def to_dict(self) -> dict[str, object]:
        """Plain values, for JSON."""
        values = {name: getattr(self, name) for name in self.__slots__}
        return {**values, "held": [{"what": held.what, "by": held.by} for held in self.held]}


_Pinch = tuple[str, str, str]


def merged(results: Iterable[CheckResult]) -> tuple[CheckResult, ...]:
    """Results with those that are held back by one and the same thing joined, at the place of the first.

    A joined one names all subjects, and says what holds them back once.
    """
    results = tuple(results)
    groups: dict[_Pinch, dict[str, CheckResult]] = {}
    for result in results:
        for key in _pinches(result):
            groups.setdefault(key, {})[result.subject] = result
    told: set[_Pinch] = set()
    found = []
    for result in results:
        keys = _pinches(result)
        if all(len(groups[key]) == 1 for key in keys):
            found.append(result)
            continue
        found += [_joined(key, list(groups[key].values())) for key in keys if key not in told]
        told.update(keys)
    return tuple(found)


def same_pinch(result: CheckResult, joined: CheckResult) -> bool:
    """Whether one of the results that ``merged`` gave is, or holds, a result."""
    if not result.held:
        return result == joined
    here, there = ({held.by for held in each.held} for each in (result, joined))
    return (result.id, result.severity) == (joined.id, joined.severity) and not here.isdisjoint(there)


def _pinches(result: CheckResult) -> list[_Pinch]:
    if result.ok:
        return []
    return list(dict.fromkeys((result.id, result.severity, held.by) for held in result.held))


def _joined(key: _Pinch, results: list[CheckResult]) -> CheckResult:
    """Results that one pinch holds back, as one; the figures are those of the worst."""
    worst = min(results, key=lambda result: math.inf if result.actual is None else result.actual)
    lead = next(held.lead for held in worst.held if held.by == key[2])
    held = tuple(Held(lead, h.what, h.by) for result in results for h in result.held if h.by == key[2])
    subject = listed([result.subject for result in results], most=MANY)
    price = sum(result.price for result in results)
    return replace(worst, subject=subject, message=held_words(subject, held), price=price, held=held)


def held_words(subject: str, held: Sequence[Held]) -> str:
    """``cut: no way 0.60 m wide from bench to saw, nor from saw to rack: the gap between ...``."""
    by: dict[tuple[str, str], list[str]] = {}
    for each in held:
        by.setdefault((each.lead, each.by), []).append(each.what)
    told: list[str] = []
    before = ""
    for (lead, why), whats in by.items():
        what = listed(list(dict.fromkeys(filter(None, whats))), ", nor ", FEW)
        begin = "nor" if lead == before else lead
        told.append(": ".join((" ".join(filter(None, (begin, what))), why)))
        before = lead
    return f"{subject}: {'; '.join(told)}"


MANY, FEW = 12, 3
"""Subjects, and ways that are held, that are named; the rest is counted."""


def listed(words: Sequence[str], last: str = " and ", most: int = 99) -> str:
    """``a``, ``a and b``, ``a, b and c``; of more than ``most`` the rest is counted."""
    if len(words) > most:
        words = [*words[: most - 1], f"{len(words) - most + 1} more"]
    return last.join(filter(None, (", ".join(words[:-1]), *words[-1:])))
