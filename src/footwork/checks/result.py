"""What a check says."""

from __future__ import annotations

from dataclasses import dataclass

from footwork.model.scenario import Severity


@dataclass(frozen=True, slots=True)
class CheckResult:
    """The outcome of one check on one subject.

    ``required`` and ``actual`` are in ``unit``; None where the check is a plain yes or no.
    ``source`` says *published: clause*, *common practice* or *your file*.  ``message`` is one
    sentence that says what to do when the check fails, and what holds when it passes.
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
