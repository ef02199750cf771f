"""footwork fit: where a new machine can go."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option, layout_option, names
from footwork.cli.shell_names import catalogue_names
from footwork.cli.studying import chart_option, check_picture, study_of, study_options

if TYPE_CHECKING:
    from footwork.model.scenario import Scenario
    from footwork.study.fit import Machine


@click.command("fit", short_help="Where a new machine can go, and what each place costs.")
@file_argument
@click.argument("machine", shell_complete=catalogue_names)
@click.option("--size", metavar="WxD", help="Along its front by front to back, in the file's units.")
@click.option("--as", "name", metavar="NAME", help="What to call it.  [default: MACHINE]")
@click.option(
    "--placing", type=click.Choice(["wall", "island", "any"]), help="Where it stands.  [default: as usual]"
)
@click.option(
    "--route",
    callback=names,
    metavar="A,B,C",
    help="A job that visits it: the stops in order, MACHINE among them.",
)
@click.option("--times", metavar="TEXT", help='How often that is done, such as "3 per week".')
@click.option(
    "--moves",
    type=click.IntRange(min=0),
    default=0,
    show_default=True,
    metavar="K",
    help="Move at most K others for it.",
)
@layout_option
@click.option(
    "--show", type=click.IntRange(1, 99), default=8, show_default=True, metavar="N", help="Places to tell."
)
@chart_option
@study_options
@json_option
def command(
    file: Path,
    machine: str,
    size: str | None,
    name: str | None,
    placing: Any,
    route: tuple[str, ...],
    times: str | None,
    moves: int,
    layout: str | None,
    show: int,
    out: Path | None,
    as_json: bool,
    **asked: Any,
) -> int:
    """Find every place where MACHINE can go, and tell what each costs a year and which checks it turns.

    MACHINE is one of the catalogue (`footwork stations`), or with --size anything. Without --moves all else
    stays where it is. With --moves K the room is searched part by part for the best layout in which the
    machine stands there and at most K others have moved.

    Where it fits nowhere, it is said how few others would have to move, or which things cannot all be there
    together, however they are placed. Leaves with 1 then.
    """
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.study.fit import fit

    scenario = load(file)
    new = _machine(scenario, machine, size, name, placing, route, times)
    check_picture(out)
    if not moves and asked["afresh"]:
        raise UsageError("--afresh does nothing without --moves K: nothing is kept")
    with study_of(scenario, **asked) as study:
        found = fit(
            scenario,
            new,
            layout,
            moves=moves,
            show=show,
            **study,
        )
    if out is not None:
        from footwork.show.charts import write_chart
        from footwork.show.fit_tables import draw_fit

        write_chart(out, f"{scenario.name}: where {new.name} fits", lambda axes: draw_fit(found, axes))
    if as_json:
        output.data(found.to_dict())
    else:
        from footwork.show.fit_tables import fit as show_places

        show_places(found, output.console())
    if out is not None:
        output.note(f"wrote {out}")
    return 0 if found.places else 1


def _machine(
    scenario: Scenario,
    word: str,
    size: str | None,
    name: str | None,
    placing: Any,
    route: tuple[str, ...],
    times: str | None,
) -> Machine:
    from footwork.model.errors import UsageError
    from footwork.moves import read_size
    from footwork.study.fit import Machine

    if times is not None and not route:
        raise UsageError("--times does nothing without --route A,B,C")
    called = word if name is None else name
    stops = tuple(called if stop == word else stop for stop in route)
    try:
        sides = None if size is None else read_size(size, scenario.units)
    except ValueError as fault:
        raise UsageError(f"--size: {fault}") from None
    like = word if size is None else None
    return Machine(called, sides, like, placing, stops, "1 per week" if times is None else times)
