"""The reference of the commands, made from their own help: ``python -m footwork.cli.reference``."""

from __future__ import annotations

import click

from footwork.cli import main, output

HEAD = """# The command `footwork`

Made from the commands' own help by `python -m footwork.cli.reference > src/footwork/cli/README.md`; a test
fails when the two differ.
"""


def reference() -> str:
    """The whole page, in Markdown."""
    top = click.Context(main, info_name="footwork", terminal_width=100, **main.context_settings)
    parts = [HEAD, _block(main.get_help(top))]
    for name in main.list_commands(top):
        command = main.get_command(top, name)
        assert command is not None
        context = click.Context(command, info_name=name, parent=top, terminal_width=100)
        parts += [f"## footwork {name}\n", _block(command.get_help(context))]
    return "\n".join(parts)


def _block(text: str) -> str:
    lines = (line.rstrip() for line in text.splitlines())
    return "\n".join(["```text", *lines, "```", ""])


if __name__ == "__main__":
    output.line(reference().rstrip("\n"))
