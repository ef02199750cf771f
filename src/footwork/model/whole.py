"""Files that come out whole or not at all, and nothing beside them, whenever somebody interrupts."""

from __future__ import annotations

import contextlib
import os
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from footwork.compiled.signals import undisturbed

PATIENCE = 5.0
"""Seconds: a file is written in milliseconds."""


@contextlib.contextmanager
def alone_in(folder: Path) -> Iterator[None]:
    """Other processes that mean to write into a folder in this way wait, so that none overlooks another.

    Where the system has no such locks, or the folder takes none, nobody waits; nor longer than ``PATIENCE``.
    """
    try:
        import fcntl

        handle = os.open(folder, os.O_RDONLY)
    except (ImportError, OSError):
        yield
        return
    try:
        end = time.monotonic() + PATIENCE
        while time.monotonic() < end:
            try:
                fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
                break
            except BlockingIOError:
                time.sleep(0.01)
            except OSError:
                break
        yield
    finally:
        os.close(handle)


def put_whole(path: Path, data: bytes) -> None:
    """Put ``data`` in the place of a file at once; a link stays a link, and permissions stay.

    Raises OSError when that cannot be done; whatever was at ``path`` is then as it was, and nothing is left
    beside it.
    """
    goal = Path(os.path.realpath(path))
    with undisturbed():
        handle, temporary = tempfile.mkstemp(prefix=f".{goal.name[:100]}.", dir=goal.parent)
        try:
            with open(handle, "wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            _copy_rights(goal, temporary)
            os.replace(temporary, goal)
        except BaseException:
            with contextlib.suppress(OSError):
                os.unlink(temporary)
            raise


def _copy_rights(goal: Path, temporary: str) -> None:
    """The permissions and the owner of what is replaced; of a new file the usual ones."""
    if goal.exists():
        status = goal.stat()
        os.chmod(temporary, status.st_mode & 0o7777)
        if hasattr(os, "chown"):
            with contextlib.suppress(OSError):
                os.chown(temporary, status.st_uid, status.st_gid)
    else:
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(temporary, 0o666 & ~mask)
