"""footwork schema: the JSON Schema of the scenario file."""

from __future__ import annotations

import json
from pathlib import Path

import click

from footwork.cli import output


@click.command("schema", short_help="Print the JSON Schema of the scenario file, for editors.")
@click.option("--out", metavar="FILE", type=click.Path(path_type=Path), help="Write it to FILE instead.")
def command(out: Path | None) -> None:
    """Print the JSON Schema of the scenario file, for editors that complete keys and underline slips.

    `footwork new` writes it beside the new file as footwork.schema.json; the file's first line points there:
    "#:schema ./footwork.schema.json". Write it anew after an update of footwork.
    """
    from footwork.model.json_schema import json_schema
    from footwork.show.files import check_goal, write_whole

    text = json.dumps(json_schema(), ensure_ascii=False, indent=1)
    if out is None:
        output.line(text)
        return
    check_goal(out)
    write_whole(out, lambda file: file.write(f"{text}\n".encode()))
    output.line(f"wrote {out}")
