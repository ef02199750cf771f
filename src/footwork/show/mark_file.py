"""The marking-out list in a file: CSV, or PDF with a plan."""

from __future__ import annotations

from pathlib import Path

from footwork.model.errors import UsageError
from footwork.show.files import check_goal, write_whole
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
    check_goal(path)
    data = as_csv(found).encode("utf-8") if kind == ".csv" else _pdf(found)
    write_whole(path, lambda file: file.write(data))


def _pdf(found: MarkList) -> bytes:
    from footwork.show.mark_pdf import as_pdf  # here: it takes a while to load

    return as_pdf(found)
