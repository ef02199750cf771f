"""The marking-out list in a file: CSV, or PDF with a plan."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from footwork.model.errors import UsageError
from footwork.show.mark_out import MarkList
from footwork.show.mark_tables import as_csv


def write_list(found: MarkList, out: str | Path) -> None:
    """Write the list into ``out``, .csv or .pdf by its suffix; whole or not at all.

    Raises UsageError when the suffix is another or the file cannot be written.
    """
    path = Path(out)
    kind = path.suffix.lower()
    if kind not in (".csv", ".pdf"):
        raise UsageError(f"{path}: a marking-out list is written as .csv or .pdf; give the file one of these")
    if path.is_dir():
        raise UsageError(f"{path}: is a folder; name a file in it")
    if not path.parent.is_dir():
        raise UsageError(f"{path}: there is no folder {path.parent}; make it, or choose another")
    _replace(path, as_csv(found).encode("utf-8") if kind == ".csv" else _pdf(found))


def _pdf(found: MarkList) -> bytes:
    from footwork.show.mark_pdf import as_pdf  # here: it takes a while to load

    return as_pdf(found)


def _replace(path: Path, data: bytes) -> None:
    """Write beside the goal, then put in its place; a link stays a link."""
    goal = path.resolve()
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(prefix=f".{goal.stem}-", suffix=goal.suffix, dir=goal.parent)
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        mask = os.umask(0)
        os.umask(mask)
        os.chmod(temporary, 0o666 & ~mask)
        os.replace(temporary, goal)
        temporary = None
    except OSError as fault:
        raise UsageError(f"{path}: cannot be written: {fault.strerror or fault}") from None
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)
