"""footwork new: write a small scenario to start from."""

from __future__ import annotations

from pathlib import Path

import click

from footwork.cli import output
from footwork.model.errors import UsageError


@click.command("new", short_help="Write a small scenario to start from.")
@click.argument("file", metavar="FILE", type=click.Path(path_type=Path))
@click.option("--kind", default="metalwork", show_default=True, metavar="KIND", help="What is made there.")
@click.option("--room", metavar="WxD", help="The room, east to west by south to north, as in 9x6.5 (metres).")
def command(file: Path, kind: str, room: str | None) -> None:
    """Write a small commented scenario to start from.

    It is valid as it stands: `footwork suggest FILE` arranges it. A file that exists is never written over.
    The schema that editors complete it by is put beside it, unless there is one: see `footwork schema`.
    """
    from footwork.moves import read_size

    try:
        size = None if room is None else read_size(room, "m")
    except ValueError as fault:
        raise UsageError(f"--room: {fault}") from None
    if file.exists():
        raise _taken(file)
    from footwork.model.json_schema import FILE
    from footwork.model.starter import PITCHES, starter, usual_pitch

    text = f"#:schema ./{FILE}\n{starter(kind, size)}"
    try:
        with file.open("x", encoding="utf-8") as out:
            out.write(text)
    except FileExistsError:
        raise _taken(file) from None
    beside = " and the schema beside it, for editors" if _write_schema(file.parent / FILE) else ""
    pitch = usual_pitch(kind, size)
    coarser = "" if pitch == PITCHES[0] else f" --pitch {pitch:g}"
    output.line(
        f"wrote {file}{beside}; next: put in your room and stations, "
        f"then: footwork suggest {file} --save first{coarser}"
    )


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
