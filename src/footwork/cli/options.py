"""Arguments and options that commands share, each written once."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from footwork.cli.shell_names import names_in

_Command = TypeVar("_Command", bound=Callable[..., Any])


def above_nothing(ctx: click.Context, param: click.Parameter, value: str | None) -> float | None:
    """A finite number above 0, as the callback of an option."""
    if value is None:
        return None
    try:
        number = float(value)
    except ValueError:
        number = math.nan
    if not (math.isfinite(number) and number > 0):
        raise click.BadParameter(f"{value!r} is not a number above 0", ctx, param)
    return number


def names(ctx: click.Context, param: click.Parameter, value: str | None) -> tuple[str, ...]:
    """Names with commas between them, each once, as the callback of an option."""
    if value is None:
        return ()
    found = tuple(name.strip() for name in value.split(","))
    if not all(found):
        raise click.BadParameter(f"{value!r} has an empty name; write NAME,NAME", ctx, param)
    return tuple(dict.fromkeys(found))


file_argument = click.argument("file", metavar="FILE", type=click.Path(path_type=Path))

layout_option = click.option(
    "--layout",
    metavar="NAME",
    shell_complete=names_in("layouts"),
    help="The layout, by name; without it, the first of the file.",
)

json_option = click.option(
    "--json", "as_json", is_flag=True, help="Print JSON; all lengths in metres, infinite ones null."
)

plan_option = click.option("--plan", is_flag=True, help="Also draw a small plan in the terminal.")

quiet_option = click.option("--quiet", is_flag=True, help="No progress on stderr.")


def save_options(command: _Command) -> _Command:
    """--save and --replace; see :func:`footwork.cli.saving.check_new_layout`."""
    replace = click.option("--replace", is_flag=True, help="Let --save write over a layout of that name.")
    save = click.option(
        "--save", metavar="NAME", help="Write the layout into FILE under this name, keeping its comments."
    )
    return save(replace(command))


moves_option = click.option(
    "--moves", type=click.IntRange(min=0), metavar="K", help="Move at most K stations."
)
anywhere_option = click.option(
    "--anywhere",
    is_flag=True,
    help="Then slide and turn the best layout off the spots, and bound every position.",
)
strict_option = click.option("--strict", is_flag=True, help="Treat should-checks as must-checks.")


def search_options(command: _Command) -> _Command:
    """How long and how finely to search; all of it goes to ``arrange`` unchanged, but for the pitch."""
    for option in reversed(_SEARCH):
        command = option(command)
    return command


seed_option = click.option(
    "--seed",
    type=click.IntRange(0, 2**32 - 1),
    default=1,
    show_default=True,
    metavar="N",
    help="Where chance begins.",
)
_SEARCH = (
    click.option("--seconds", callback=above_nothing, metavar="S", help="How long to search.  [default: 30]"),
    click.option(
        "--iterations",
        type=click.IntRange(min=1),
        metavar="N",
        help="Search so many steps instead: same seed, same answer.",
    ),
    click.option(
        "--pitch",
        metavar="LENGTH",
        help="Distance between the spots tried; in the file's units, or with its own.  "
        "[default: 0.25 m, less in a small room, more where time or memory allow no less]",
    ),
    click.option(
        "--facings",
        type=click.Choice(["4", "8"]),
        callback=lambda ctx, param, value: int(value),
        default="4",
        show_default=True,
        help="How many ways round a station is tried.",
    ),
    seed_option,
    click.option(
        "--processes",
        type=click.IntRange(min=1),
        metavar="N",
        help="Processes to use.  [default: one a core]",
    ),
)


def read_pitch(text: str | None, units: str) -> float | None:
    """The pitch in metres, None where none is given; UsageError when it is no length or no sensible one."""
    from footwork.model.errors import UsageError
    from footwork.moves import read_length

    if text is None:
        return None
    try:
        pitch = read_length(text, units)
    except ValueError as fault:
        raise UsageError(f"--pitch: {fault}") from None
    if not 0.02 <= pitch <= 10.0:
        raise UsageError(f"--pitch: {text} is {pitch:g} m; give one between 0.02 m and 10 m")
    return pitch
