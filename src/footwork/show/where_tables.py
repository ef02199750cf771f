"""Where else one thing could stand, as tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Console

from footwork.model.scenario import Scenario
from footwork.model.units import format_length
from footwork.show import text
from footwork.show.places import facing_words, place_words, point_words
from footwork.show.text import figures, words
from footwork.show.walked import walked

if TYPE_CHECKING:
    from footwork.elsewhere.answer import Elsewhere
    from footwork.elsewhere.results import Where


def where(result: Elsewhere, console: Console, scenario: Scenario) -> None:
    """The best spots with what the whole year would cost, and what keeps the thing from the rest."""
    found, told = result.found, walked(scenario)
    text.heading(console, f"{found.scenario}, layout {found.layout}: where else {found.thing} could stand")
    here = place_words(found.here, scenario.units)
    text.line(console, f"now {here}; the layout costs {told.a_year(found.cost)}")
    text.line(console)
    if not result.best:
        text.line(console, f"There is no spot for {found.thing} on this floor while all else stays.")
    rows = [
        (
            str(number),
            point_words(spot.placement.at, scenario.units),
            facing_words(spot.placement.facing).removeprefix("facing "),
            told.whole(spot.cost),
            told.signed(found.change(spot)),
        )
        for number, spot in enumerate(result.best, start=1)
    ]
    cost = figures(f"{told.unit} a year in all")
    text.grid(console, [figures(""), words("middle at"), words("facing"), cost, figures("change")], rows)
    text.line(console)
    text.line(console, squares_words(found, scenario, len(result.best)))
    if result.reasons:
        text.line(console)
        blocked = [(f"{r.squares:,}", r.what, "; ".join(r.words[:1])) for r in result.reasons]
        text.grid(console, [figures("squares"), words("not for"), words("for example")], blocked)
    text.caution(console)


def squares_words(found: Where, scenario: Scenario, told: int) -> str:
    """How much of the floor it may stand on, in squares."""
    pitch = format_length(found.pitch, scenario.units)
    possible, refused = len(found.spots), len(found.refusals)
    more = f", of which the best {told} are told" if 0 < told < possible else ""
    return (
        f"Of {text.plural(possible + refused, 'square')} of floor, {pitch} wide, it may stand on {possible:,}"
        f"{more}; on each in the way round that costs least."
    )
