"""The command ``footwork``: one file a command, read when it is first named."""

from __future__ import annotations

from footwork.cli.group import Footwork

COMMANDS = (
    "new",
    "stations",
    "check",
    "score",
    "walk",
    "suggest",
    "where",
    "whatif",
    "sizes",
    "fit",
    "weekend",
    "robust",
    "seasons",
    "tally",
    "compare",
    "draw",
    "open",
    "report",
    "mark",
    "schema",
)
"""In the order of the work: each is the module of that name, and the command of that name in it."""

main = Footwork(
    name="footwork",
    commands_in="footwork.cli",
    order=COMMANDS,
    help="""Arrange a home workshop so that the work done in it takes less walking.

    FILE is a scenario: the room, what stands in it, the jobs you do. `footwork new shed.toml` writes one to
    start from.

    Exit status: 0 done; 1 the layout fails a must-check, or none was found; 2 wrong usage or a bad file;
    130 stopped by Ctrl-C (143 by SIGTERM) before there was a result; 70 a fault of the program
    (FOOTWORK_DEBUG=1 shows where).
    """,
)
