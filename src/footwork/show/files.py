"""Files that come out whole or not at all, and pictures that do nothing but show."""

from __future__ import annotations

import os
from collections.abc import Callable
from io import BytesIO
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from footwork.model.errors import UsageError
from footwork.model.whole import put_whole

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SVG_POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'"
"""What a browser that shows an svg may do: no script runs, and nothing is fetched."""
_POLICY = (
    '<metadata>\n  <h:head xmlns:h="http://www.w3.org/1999/xhtml">'
    f'<h:meta http-equiv="Content-Security-Policy" content="{SVG_POLICY}"/></h:head>'
)
"""Where a browser heeds it; with a prefix, so that a page which the picture is put into does not."""


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


def save_figure(figure: Figure, file: BinaryIO, kind: str, dpi: float, metadata: dict[str, Any]) -> None:
    """Write a drawing as svg, png or pdf.

    An svg names no document type, which readers of XML would fetch, and says that nothing in it may run.
    """
    filled = BytesIO()
    figure.savefig(filled, format=kind, dpi=dpi, metadata=metadata)
    made = filled.getvalue()
    if kind == "svg":
        start, _, rest = made.partition(b"<!DOCTYPE")
        made = (start + rest.partition(b">\n")[2]).replace(b"<metadata>", _POLICY.encode(), 1)
    file.write(made)
