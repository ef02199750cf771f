"""Things that may change places without anything changing.

Of alike things nothing tells one from the other: they have the same spots, what one of them clashes with and
costs on a spot so does the other, and it is worked out once.  Which of them stands on which of their spots
makes no difference (``symmetry_breaking.py``).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from footwork.arrange.spots.layers import Thing
from footwork.model.scenario import Scenario, Station


def alike(scenario: Scenario, things: Sequence[Thing]) -> tuple[tuple[int, ...], ...]:
    """Groups of things, by number, of which the file says the same of each and names none alone."""
    by_group: dict[str, list[int]] = {}
    named = _named_alone(scenario)
    for number, thing in enumerate(things):
        if isinstance(thing, Station) and thing.use == "nearest" and thing.name not in named:
            by_group.setdefault(thing.group, []).append(number)
    return tuple(
        tuple(group)
        for group in by_group.values()
        if len(group) > 1 and len({_but_for_the_name(things[i]) for i in group}) == 1
    )


def _but_for_the_name(thing: Thing) -> Thing:
    return replace(thing, name="")


def _named_alone(scenario: Scenario) -> set[str]:
    """Names of things that the file says something of, and not of all of their group."""
    named = {v.members[0] for job in scenario.jobs for v in job.route if len(v.members) == 1}
    named |= {word for job in scenario.jobs for carry in job.carry for word in (carry.start, carry.end)}
    named |= {word for job in scenario.jobs for word in job.outside}
    named |= {name for job in scenario.jobs for name, _ in job.minutes}
    for wish in scenario.prefer:
        named |= {wish.station, wish.near or "", wish.apart_from or ""}
    return named | {name for spot in scenario.spots for name in spot.takes}
