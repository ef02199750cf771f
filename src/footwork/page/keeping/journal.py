"""What is not saved yet, kept in the user's state folder until it is: whatever ends the program, it is there.

One file for each page that is open, named after the scenario's path, written whole or not at all.  Its page
holds a lock beside it; a file that nobody holds was left behind, and is offered at the next open.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import secrets
import tempfile
import threading
import time
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any

from footwork.model.scenario import Placement

FORMAT = 1


@dataclass(frozen=True)
class Kept:
    """What was on the desk: the text of the file as changed, and where everything stood.

    ``base`` is the file's text that this began from, None where there was no file; ``when`` seconds of the
    clock.
    """

    base: str | None
    text: str
    layout: str
    places: Mapping[str, tuple[float, float, float]]
    when: float

    @property
    def placements(self) -> dict[str, Placement]:
        return {name: Placement(*place) for name, place in self.places.items()}


def state_folder() -> Path:
    """Where the user's programs keep what they need again."""
    home = os.environ.get("XDG_STATE_HOME") or os.environ.get("LOCALAPPDATA")
    return Path(home) if home else Path.home() / ".local" / "state"


class Journal:
    """Keeps the newest of what it is given, in a thread of its own; ``fault`` is why it cannot, or empty."""

    def __init__(self, path: Path) -> None:
        self._folder = state_folder() / "footwork" / "unsaved"
        self._stem = hashlib.sha256(os.path.realpath(path).encode("utf-8", "replace")).hexdigest()[:24]
        self._file = self._folder / f"{self._stem}-{secrets.token_hex(6)}.json"
        self._lock: IO[bytes] | None = None
        self.fault = ""
        self._next: list[Kept | None] = []
        self._busy = False
        self._ended = False
        self._changed = threading.Condition()
        try:
            self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            self._lock = _held(_lock_of(self._file))
        except OSError as error:
            self.fault = (error.strerror or str(error)).lower()
        threading.Thread(target=self._run, name="keeping", daemon=True).start()

    def keep(self, kept: Kept | None) -> None:
        """Keep this in place of what was kept before; None: nothing has to be kept."""
        with self._changed:
            self._next = [kept]
            self._changed.notify_all()

    def settle(self, seconds: float = 5.0) -> bool:
        """Wait until what was given last is on the disk; whether it is."""
        with self._changed:
            return self._changed.wait_for(lambda: not self._next and not self._busy, seconds)

    def end(self) -> None:
        """Write what is left to write, and let go: what is kept is for the next open."""
        self.settle()
        with self._changed:
            self._ended = True
            self._changed.notify_all()
        if self._lock is not None:
            self._lock.close()
            if not self._file.exists():
                _gone(_lock_of(self._file))

    def left_behind(self) -> list[tuple[Path, Kept]]:
        """What other pages of this file have kept and nobody holds, the newest first."""
        found = []
        with contextlib.suppress(OSError):
            for lock in self._folder.glob(
                f"{self._stem}-*.lock"
            ):  # of programs that ended with nothing to keep
                if not lock.with_suffix(".json").exists() and _is_free(lock):
                    _gone(lock)
            for file in self._folder.glob(f"{self._stem}-*.json"):
                if file != self._file and _is_free(_lock_of(file)) and (kept := _read(file)) is not None:
                    found.append((file, kept))
        return sorted(found, key=lambda each: -each[1].when)

    def elsewhere(self) -> bool:
        """Whether another page holds this file open."""
        with contextlib.suppress(OSError):
            own = _lock_of(self._file)
            return any(
                lock != own and not _is_free(lock) for lock in self._folder.glob(f"{self._stem}-*.lock")
            )
        return False

    def _run(self) -> None:
        while True:
            with self._changed:
                self._changed.wait_for(lambda: bool(self._next) or self._ended)
                if not self._next:
                    return
                kept = self._next.pop()
                self._busy = True
            try:
                _write(self._file, kept)
                self.fault = ""
            except OSError as error:
                self.fault = (error.strerror or str(error)).lower()
            with self._changed:
                self._busy = False
                self._changed.notify_all()


def forget(file: Path) -> None:
    """Delete what was left behind."""
    _gone(file)
    _gone(_lock_of(file))


def now() -> float:
    """Seconds of the clock."""
    return time.time()


def _lock_of(file: Path) -> Path:
    return file.with_suffix(".lock")


def _gone(file: Path) -> None:
    with contextlib.suppress(OSError):
        file.unlink()


def _write(file: Path, kept: Kept | None) -> None:
    """Put it in the place of the file at once, on the disk before this returns."""
    if kept is None:
        file.unlink(missing_ok=True)
        return
    handle, temporary = tempfile.mkstemp(prefix=f".{file.name}.", dir=file.parent)
    try:
        with open(handle, "w", encoding="utf-8") as out:
            json.dump({"format": FORMAT, **asdict(kept)}, out, ensure_ascii=False)
            out.flush()
            os.fsync(out.fileno())
        os.replace(temporary, file)
    except BaseException:
        _gone(Path(temporary))
        raise
    if hasattr(os, "O_DIRECTORY"):
        folder = os.open(file.parent, os.O_RDONLY | os.O_DIRECTORY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)


def _read(file: Path) -> Kept | None:
    """What a file keeps; None where it is none of ours."""
    try:
        found: dict[str, Any] = json.loads(file.read_text(encoding="utf-8"))
        if found.pop("format") != FORMAT:
            return None
        places = {str(n): (float(x), float(y), float(b)) for n, (x, y, b) in found["places"].items()}
        base = found["base"]
        return Kept(None if base is None else str(base), str(found["text"]), str(found["layout"]), places,
                    float(found["when"]))  # fmt: skip
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def _held(lock: Path) -> IO[bytes]:
    """The lock, held until it is closed or the program ends; OSError where another holds it."""
    file = lock.open("ab")
    try:
        if os.name == "nt":  # pragma: no cover
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)  # type: ignore[attr-defined]
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        file.close()
        raise
    return file


def _is_free(lock: Path) -> bool:
    """Whether nobody holds a lock."""
    try:
        _held(lock).close()
    except OSError:
        return False
    return True
