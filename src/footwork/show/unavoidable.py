"""Words for should-checks that a room makes impossible, and for those whose prices no bound counts."""

from __future__ import annotations

from typing import TYPE_CHECKING

from footwork.model.units import format_length
from footwork.show import text

if TYPE_CHECKING:
    from footwork.arrange.core.results import Suggestion, Unavoidable


def unavoidable_words(found: Unavoidable, units: str) -> str:
    """Why a check fails wherever things stand: ``no two spots of weld and paint are 10.668 m apart``."""
    if not found.others or found.figure is None:
        spots = "its only spot" if found.spots == 1 else f"each of its {found.spots:,} spots"
        return f"{found.subject} fails it on {spots}"
    far = _figure(found.figure, units)
    if len(found.others) == 1:
        return f"no two spots of {found.others[0]} and {found.subject} are {far} apart"
    return f"no spot of {found.subject} is {far} from some spot of each of {text.listed(found.others)}"


def unavoidable_lines(result: Suggestion, units: str) -> list[tuple[str, str]]:
    """Each of them: the check's id, and why."""
    return [(found.check, unavoidable_words(found, units)) for found in result.unavoidable]


def uncounted_words(result: Suggestion) -> str:
    """What the bound knows nothing of; "" where it counts all that the layout costs."""
    if not result.uncounted:
        return ""
    many = len(result.uncounted) > 1
    return (
        f"What {text.listed(result.uncounted)} {'cost' if many else 'costs'} is left out of the bound: "
        f"{'they hang' if many else 'it hangs'} on the whole layout."
    )


def _figure(metres: float, units: str) -> str:
    """A check's figure as its message tells it: to the millimetre, as far as it needs."""
    return f"{metres:.3f}".rstrip("0").rstrip(".") + " m" if units == "m" else format_length(metres, units)
