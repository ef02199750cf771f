"""What a check asks: its id, its figure, and where the figure comes from."""

from __future__ import annotations

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

    ``what`` says it in one sentence, with ``{figure}`` where the figure belongs.  ``figure`` is in ``unit``,
    None for a plain yes or no.  ``source`` is *published: clause*, *common practice* or *your file*: the file
    itself asks for it, by a key that has no usual value.
    """

    id: str
    what: str
    severity: Severity
    source: str
    figure: float | None = None
    unit: str = "m"

    def under(self, settings: Mapping[str, CheckSetting]) -> Rule:
        """The rule as a file's ``[checks]`` changes it; the source is then the file.

        Where the file sets the severity alone, the figure keeps its source beside that.
        """
        setting = settings.get(self.id)
        if setting is None or (setting.figure is None and setting.severity is None):
            return self
        return replace(
            self,
            figure=self.figure if setting.figure is None else setting.figure,
            severity=setting.severity or self.severity,
            source=YOUR_FILE if setting.figure is not None else with_severity(self.source),
        )

    def sentence(self, say: Callable[[float], str]) -> str:
        """``what`` with the figure in it, as ``say`` spells lengths."""
        return self.what if self.figure is None else self.what.replace("{figure}", say(self.figure))

    def to_dict(self) -> dict[str, str | float | None]:
        """Plain values, for JSON; lengths in metres."""
        return {
            "id": self.id,
            "severity": self.severity,
            "what": self.sentence(lambda metres: f"{metres:g} m"),
            "figure": self.figure,
            "unit": self.unit,
            "source": self.source,
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
