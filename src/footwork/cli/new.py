"""footwork new: write a small scenario to start from."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import click

from footwork.cli import output
from footwork.model.errors import UsageError


@click.command("new", short_help="Write a small scenario to start from.")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--kind", default="metalwork", show_default=True, metavar="KIND", help="What is made there.")
@click.option(
    "--room",
    metavar="WxD",
    help="The room, east to west by south to north: 9x6.5 (metres), 900x650cm, 30x21ft.",
)
def command(file: Path, kind: str, room: str | None) -> None:
    """Write a small commented scenario to start from.

    KIND is metalwork, woodwork, vehicle or mixed. The file is valid as it stands: `footwork suggest FILE`
    arranges it. What the room has no floor for is left out and named, here and in the file. With a room in
    feet or inches the file is in feet. A file that exists is never written over. The schema that editors
    complete it by is put beside it, unless there is one: see `footwork schema`.
    """
    size, units = (None, "m") if room is None else _room(room)
    if file.exists():
        raise _taken(file)
    from footwork.model.json_schema import FILE
    from footwork.model.starter import left_out, starter

    text = f"#:schema ./{FILE}\n{starter(kind, size, units)}"
    try:
        with file.open("x", encoding="utf-8") as out:
            out.write(text)
    except FileExistsError:
        raise _taken(file) from None
    beside = " and the schema beside it, for editors" if _write_schema(file.parent / FILE) else ""
    output.line(f"wrote {file}{beside}")
    for rest in _told(left_out(kind, size)):
        output.line(rest)
    command = f"footwork suggest {shlex.quote(str(file))} --save first"
    output.line(f"next: put in your room and stations, then: {command}")


def _room(text: str) -> tuple[tuple[float, float], str]:
    """The room in metres, and the units for a file about it.  UsageError where the text is no size.

    A unit behind the second length alone serves both, as in 30x21ft.
    """
    from footwork.moves import read_size

    both = re.fullmatch(r"\s*([\d.]+)\s*[x×]\s*[\d.]+\s*(\D+)", text, re.IGNORECASE)
    whole = text if both is None else re.sub(r"(?i)\s*[x×]", f"{both[2]}x", text, count=1)
    try:
        size = read_size(whole, "m")
    except ValueError as fault:
        raise UsageError(f"--room: {fault}") from None
    return size, "ft" if re.search(r"ft|foot|feet|in|['\"′″’]", text, re.IGNORECASE) else "m"


def _told(left_out: tuple[str, ...]) -> Iterator[str]:
    """What the screen says of what was left out, the car in a line of its own."""
    from footwork.model.starter_text import NO_CAR

    if NO_CAR in left_out:
        yield f"left out: {NO_CAR}"
    names = [name for name in left_out if name != NO_CAR]
    if names:
        yield f"left out, because the floor is taken: {', '.join(names)}"


def _write_schema(file: Path) -> bool:
    """Put the JSON Schema into a new file; whether there was none and it could be written."""
    import json

    from footwork.model.json_schema import json_schema

    try:
        with file.open("x", encoding="utf-8") as out:
            out.write(json.dumps(json_schema(), ensure_ascii=False, indent=1) + "\n")
    except OSError:
        return False
    return True


def _taken(file: Path) -> UsageError:
    return UsageError(f"{file}: there is such a file already; choose another name")
