"""Finished cases of studies in a file, one JSON object a line.

A line is added when a case is finished and on the disk before the next is waited for, so whatever ends a
study, nothing finished is lost.  A line that was cut off in the middle is passed over.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

from footwork.model.errors import UsageError
from footwork.model.scenario import Scenario

SHOWN = ("show", "page", "cli")
"""Rooms that have no part in what a case gives."""


class Journal:
    """What cases gave, by digest.  Without a path nothing is kept."""

    def __init__(self, path: Path | None) -> None:
        """Raises UsageError where the file cannot be read, or is something else."""
        self.path = path
        self._known: dict[str, Any] = {}
        self._torn = False
        if path is None:
            return
        try:
            text = path.read_text(encoding="utf-8", errors="replace") if path.exists() else ""
            path.parent.mkdir(parents=True, exist_ok=True)
        except OSError as fault:
            raise UsageError(f"{path}: {fault.strerror or fault}; name another file for the cases") from None
        for line in _whole_lines(text, path):
            self._known[line["case"]] = line["gave"]
        self._torn = bool(text) and not text.endswith("\n")

    def __contains__(self, digest: str) -> bool:
        return digest in self._known

    def clear(self) -> None:
        """Forget all of it, in the file too."""
        self._known.clear()
        if self.path is not None:
            self.path.unlink(missing_ok=True)

    def get(self, digest: str) -> Any:
        """What a case gave; None for one that is not here."""
        return self._known.get(digest)

    def add(self, digest: str, name: str, gave: Any, seconds: float) -> Any:
        """Keep what a case gave; gives it back as the file will, so that both ways it is the same.

        ``name`` and ``seconds`` are for people who read the file.
        """
        line = json.dumps({"case": digest, "name": name, "seconds": round(seconds, 3), "gave": gave})
        self._known[digest] = json.loads(line)["gave"]
        if self.path is not None:
            try:
                with self.path.open("a", encoding="utf-8") as file:
                    file.write("\n" * self._torn + line + "\n")
                    file.flush()
                    os.fsync(file.fileno())
            except OSError as fault:
                raise UsageError(
                    f"{self.path}: {fault.strerror or fault}; finished cases cannot be kept there"
                ) from None
            self._torn = False
        return self._known[digest]


def _whole_lines(text: str, path: Path) -> Iterator[dict[str, Any]]:
    lines = text.split("\n")
    for number, line in enumerate(lines, start=1):
        try:
            found = json.loads(line) if line.strip() else None
        except json.JSONDecodeError:
            found = None
            if number == 1 and len(lines) > 1:
                raise UsageError(f"{path}: this is no file of finished cases; name another") from None
        if isinstance(found, dict) and {"case", "gave"} <= found.keys():
            yield found
        elif found is not None:
            raise UsageError(f"{path}: line {number} is no finished case; name another file")


def usual_path(scenario: Scenario) -> Path | None:
    """Where the cases of a scenario's studies are kept if nobody says: a file of its own in the user's cache.

    None for a scenario that was read from no file.
    """
    if scenario.path is None:
        return None
    cache = os.environ.get("XDG_CACHE_HOME") or str(Path.home() / ".cache")
    whole = hashlib.sha256(os.path.realpath(scenario.path).encode("utf-8", "surrogateescape")).hexdigest()
    return Path(cache) / "footwork" / "studies" / f"{scenario.path.stem}-{whole[:12]}.jsonl"


def digest_of(*parts: object) -> str:
    """The same for the same work with the same code, in any process on any machine.

    Scenarios count by what they say, not by where their file lies or how it is commented.
    """
    told = hashlib.sha256(program().encode())
    for part in parts:
        said = repr(part.with_(path=None)) if isinstance(part, Scenario) else repr(part)
        told.update(said.encode("utf-8", "surrogateescape") + b"\0")
    return told.hexdigest()[:32]


@lru_cache(maxsize=1)
def program() -> str:
    """A digest of the code that figures come from: those of another version are not mixed in."""
    root = Path(__file__).parent.parent
    told = hashlib.sha256()
    for path in sorted(root.rglob("*.py")):
        if path.relative_to(root).parts[0] not in SHOWN:
            told.update(path.read_bytes())
    return told.hexdigest()
