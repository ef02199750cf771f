"""What a check asks: its id, its figure, and where the figure comes from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from footwork.model.scenario import CheckSetting, Severity

YOUR_FILE = "your file"
COMMON_PRACTICE = "common practice"


def published(clause: str) -> str:
    """The source of a figure that has been published: name the clause."""
    return f"published: {clause}"


@dataclass(frozen=True, slots=True)
class Rule:
    """One requirement.

    ``what`` says it in one sentence.  ``figure`` is in ``unit``, None for a plain yes or no.  ``source``
    is *published: clause*, *common practice* or *your file*.
    """

    id: str
    what: str
    severity: Severity
    source: str
    figure: float | None = None
    unit: str = "m"

    def under(self, settings: Mapping[str, CheckSetting]) -> Rule:
        """The rule as a file's ``[checks]`` changes it; the source is then the file."""
        setting = settings.get(self.id)
        if setting is None or (setting.figure is None and setting.severity is None):
            return self
        return replace(
            self,
            figure=self.figure if setting.figure is None else setting.figure,
            severity=setting.severity or self.severity,
            source=YOUR_FILE,
        )

    def to_dict(self) -> dict[str, str | float | None]:
        """Plain values, for JSON; lengths in metres."""
        return {
            "id": self.id,
            "severity": self.severity,
            "what": self.what,
            "figure": self.figure,
            "unit": self.unit,
            "source": self.source,
        }
