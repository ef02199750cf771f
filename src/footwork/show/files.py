"""Files that come out whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

from footwork.model.errors import UsageError


def check_goal(path: Path) -> None:
    """Refuse, before any work is done, a file that cannot be written: UsageError says why."""
    if path.is_dir():
        raise UsageError(f"{path}: is a folder; name a file in it")
    if not path.parent.is_dir():
        raise UsageError(f"{path}: there is no folder {path.parent}; make it, or choose another")
    if not os.access(path.parent, os.W_OK | os.X_OK):
        raise UsageError(f"{path}: the folder {path.parent} cannot be written to; choose another")


def write_whole(path: Path, write: Callable[[BinaryIO], object]) -> None:
    """Let ``write`` fill a file beside the goal, then put it in the goal's place; a link stays a link, and a
    file that is private stays so.

    Raises UsageError when that cannot be done; whatever was at ``path`` is then as it was, and nothing is
    left beside it.
    """
    goal = path.resolve()
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{goal.stem}-", suffix=goal.suffix, dir=goal.parent)
        with os.fdopen(handle, "wb") as file:
            write(file)
        os.chmod(temporary, goal.stat().st_mode & 0o7777 if goal.exists() else _usual_mode())
        os.replace(temporary, goal)
        temporary = None
    except OSError as fault:
        raise UsageError(f"{path}: cannot be written: {fault.strerror or fault}") from None
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)


def _usual_mode() -> int:
    """The permissions that a new file gets; a temporary file is private."""
    mask = os.umask(0)
    os.umask(mask)
    return 0o666 & ~mask
