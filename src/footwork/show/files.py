"""Files that come out whole or not at all."""

from __future__ import annotations

import os
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import BinaryIO

from footwork.model.errors import UsageError
from footwork.model.whole import put_whole


def check_goal(path: Path) -> None:
    """Refuse, before any work is done, a file that cannot be written: UsageError says why."""
    if path.is_dir():
        raise UsageError(f"{path}: is a folder; name a file in it")
    if not path.parent.is_dir():
        raise UsageError(f"{path}: there is no folder {path.parent}; make it, or choose another")
    if not os.access(path.parent, os.W_OK | os.X_OK):
        raise UsageError(f"{path}: the folder {path.parent} cannot be written to; choose another")


def write_whole(path: Path, write: Callable[[BinaryIO], object]) -> None:
    """Let ``write`` fill a file, and put it in the place of what was there, which may be a link or private.

    Raises UsageError when that cannot be done; whatever was at ``path`` is then as it was, and nothing is
    left beside it.
    """
    filled = BytesIO()
    try:
        write(filled)
        put_whole(path, filled.getvalue())
    except OSError as fault:
        raise UsageError(f"{path}: cannot be written: {fault.strerror or fault}") from None
