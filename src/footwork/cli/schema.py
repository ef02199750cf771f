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
    from footwork.model.errors import UsageError
    from footwork.model.json_schema import json_schema

    text = json.dumps(json_schema(), ensure_ascii=False, indent=1)
    if out is None:
        output.line(text)
        return
    try:
        out.write_text(f"{text}\n", encoding="utf-8")
    except OSError as fault:
        raise UsageError(f"{out}: cannot be written: {fault.strerror or fault}") from None
    output.line(f"wrote {out}")
