"""What a check asks: its id, its figure, and where the figure comes from."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from footwork.model.catalogue import CATALOGUE
from footwork.model.scenario import CheckSetting, Severity, Station

YOUR_FILE = "your file"
COMMON_PRACTICE = "common practice"


def published(clause: str) -> str:
    """The source of a figure that has been published: name the clause."""
    return f"published: {clause}"


@dataclass(frozen=True, slots=True)
class Rule:
    """One requirement.

    ``what`` says it in one sentence, with ``{figure}`` where the figure belongs, and metres as
    ``{0.75}``.  ``figure`` is in ``unit``, None for a plain yes or no.  ``source`` is *published: clause*,
    *common practice* or *your file*: the file itself asks for it, by a key that has no usual value.
    ``price`` is what failing it costs at most, in metres of walking a year, where it is a `should`;
    ``accepted`` is why a file asks nothing.
    """

    id: str
    what: str
    severity: Severity
    source: str
    figure: float | None = None
    unit: str = "m"
    price: float = 0.0
    accepted: str = ""

    def under(self, settings: Mapping[str, CheckSetting]) -> Rule:
        """The rule as a file's ``[checks]`` changes it; the source is then the file.

        Where the file sets the severity alone, the figure keeps its source beside that.
        """
        setting = settings.get(self.id)
        if setting is None:
            return self
        price = self.price if setting.price is None else setting.price
        own = replace(self, price=price, accepted=setting.accepted)
        if setting.figure is None and setting.severity is None:
            return own
        return replace(
            own,
            figure=self.figure if setting.figure is None else setting.figure,
            severity=setting.severity or self.severity,
            source=YOUR_FILE if setting.figure is not None else with_severity(self.source),
        )

    def cost(self, required: float | None, actual: float | None) -> float:
        """Metres a year that failing counts: half the price for failing at all, the rest by what is missing.

        What is missing is a part of ``required``, no more than all of it; all of it where that says nothing.
        A must that is failed has no price: nobody can have it.
        """
        if self.severity == "must" or self.accepted:
            return 0.0
        missing = 1.0
        if required and actual is not None and math.isfinite(actual):
            missing = min(1.0, abs(required - actual) / required)
        return self.price * (0.5 + 0.5 * missing)

    def sentence(self, say: Callable[[float], str]) -> str:
        """``what`` with the figure and other lengths in it, as ``say`` spells them."""
        what = self.what if self.figure is None else self.what.replace("{figure}", say(self.figure))
        return re.sub(r"\{([\d.]+)\}", lambda found: say(float(found[1])), what)

    def to_dict(self) -> dict[str, str | float | None]:
        """Plain values, for JSON; lengths in metres, the price in metres of walking a year."""
        return {
            "id": self.id,
            "severity": self.severity,
            "what": self.sentence(lambda metres: f"{metres:g} m"),
            "figure": self.figure,
            "unit": self.unit,
            "source": self.source,
            "price": self.price if self.severity == "should" else None,
            "accepted": self.accepted,
        }


def with_severity(source: str) -> str:
    """The source of a figure that stands, where the file has set the severity beside it."""
    return source if source == YOUR_FILE else f"{YOUR_FILE} for the severity; {source}"


def key_source(station: Station, key: str) -> str:
    """Where a key of a station has its value from: the file, the catalogue, or what is usual."""
    if key in station.given:
        return YOUR_FILE
    usual = CATALOGUE.get(station.like or "")
    return usual.values[key].source if usual is not None and key in usual.values else COMMON_PRACTICE
