"""The arguments of ``suggest``, and what can be wrong with them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from footwork.model.errors import UsageError
from footwork.model.names import hint
from footwork.model.scenario import Layout, Scenario

USUAL_PITCH = 0.25
"""Metres between spots where nobody says."""
ALIKE = 1e-3
"""Relative difference in cost within which the tidier layout is preferred."""


@dataclass(frozen=True, slots=True)
class Options:
    """See ``suggest``; ``coarsen``: take a greater pitch where this one gives more spots than fit."""

    seconds: float
    iterations: int | None
    pitch: float
    facings: int
    seed: int
    keep: tuple[str, ...]
    moves: int | None
    alternatives: int
    strict: bool
    processes: int
    anywhere: bool = False
    coarsen: bool = False


def checked(scenario: Scenario, options: Options) -> Options:
    """``options`` with groups among ``keep`` spelled out; raises UsageError with all that is wrong."""
    wrong: list[str] = []
    if not (options.seconds > 0 and math.isfinite(options.seconds)):
        wrong.append(f"seconds must be greater than 0, not {options.seconds:g}")
    if options.iterations is not None and options.iterations < 1:
        wrong.append(f"iterations must be at least 1, not {options.iterations}")
    if not (options.pitch > 0 and math.isfinite(options.pitch)):
        wrong.append(f"pitch must be greater than 0 m, not {options.pitch:g}")
    if options.facings not in (4, 8):
        wrong.append(f"facings must be 4 or 8, not {options.facings}")
    if options.seed < 0:
        wrong.append(f"seed must be 0 or more, not {options.seed}")
    if options.alternatives < 0:
        wrong.append(f"alternatives must be 0 or more, not {options.alternatives}")
    if options.processes < 1:
        wrong.append(f"processes must be at least 1, not {options.processes}")
    things = len(scenario.things)
    if options.moves is not None and not 0 <= options.moves <= things:
        wrong.append(
            f"moves must be from 0 to {things}, the number of stations and vehicles, not {options.moves}"
        )
    keep: list[str] = []
    names = [t.name for t in scenario.things]
    for word in options.keep:
        members = scenario.group(word) or ((word,) if word in names else ())
        if not members:
            wrong.append(f"no station {word!r} to keep; {hint(word, names, 'stations')}")
        keep += members
    if wrong:
        raise UsageError(*wrong)
    return replace(options, keep=tuple(keep))


def base_layout(scenario: Scenario, base: Layout | str | None, needed: bool) -> Layout | None:
    """The layout meant by ``base``: itself, one of the file's by name, or the file's first, if any.

    Raises UsageError when there is none of that name, or none at all where one is ``needed``.
    """
    if isinstance(base, Layout):
        return base
    if base is None:
        if needed and not scenario.layouts:
            raise UsageError("keep and moves need a layout to start from: add one to the file")
        return scenario.layouts[0] if scenario.layouts else None
    for layout in scenario.layouts:
        if layout.name == base:
            return layout
    names = [layout.name for layout in scenario.layouts]
    raise UsageError(f"no layout {base!r}; {hint(base, names, 'layouts')}")
