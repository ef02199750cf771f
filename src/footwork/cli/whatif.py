"""footwork whatif: try moves, given as arguments, at a prompt, or on standard input."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from footwork.cli import output
from footwork.cli.options import file_argument, json_option, layout_option, plan_option, save_options
from footwork.cli.saving import Wish, check_goal, check_new_layout, keep_then_show, save_state

if TYPE_CHECKING:
    from collections.abc import Sequence

    from footwork.model.errors import FootworkError
    from footwork.whatif import Change, Session


@click.command("whatif", short_help="Try moves and see what each does.")
@file_argument
@click.argument("moves", metavar="[MOVE ...]", nargs=-1)
@layout_option
@plan_option
@save_options
@click.option(
    "--all", "everything", is_flag=True, help="Let --save write all that moves changed, for every layout."
)
@click.option(
    "--to",
    metavar="NEW",
    type=click.Path(path_type=Path),
    help="Let --save write a new file with all that moves changed; FILE stays as it is.",
)
@json_option
def command(
    file: Path,
    moves: tuple[str, ...],
    layout: str | None,
    plan: bool,
    save: str | None,
    replace: bool,
    everything: bool,
    to: Path | None,
    as_json: bool,
) -> int:
    """Try moves and see what each does to the walking, by job, and to the checks.

    Each MOVE is one argument, in quotes. They are applied one after the other; at one that cannot be, nothing
    is saved. Lengths are in the file's units or with their own.

    \b
      "move drill to 5.2,6.2 facing south"   "move drill by 0.5,0"
      "move drill 0.25 m north"              "turn bench 90"
      "swap lathe mill"   "remove roller"    "room 11x7"
      "add press 0.6x0.5 wall at 4,6.7 facing south"
      'add press like "arbor press" at 4,6.7 facing south'
      'times gate_frame "5 per week"'        "take van out"   "bring van in"

    --save writes where things stand, and nothing else. When moves changed what all layouts of the file share,
    its stations, jobs, times or room, it lists what would change, saves nothing, and leaves with 2, unless
    --all or --to says what is to become of that.

    Without MOVE: a prompt, with history, completion, undo, redo, plan, save NAME, draw FILE, help and quit;
    or, when standard input is no terminal, one move a line from there. With --plan, the plan comes after the
    last MOVE, and at the prompt after each.

    Leaves with 1 when the layout that the moves lead to fails a must-check.
    """
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.model.spelling import held_layout
    from footwork.scoring import find_layout
    from footwork.whatif import Session

    if plan and as_json:
        raise UsageError("--plan and --json exclude each other; give one")
    scenario = load(file)
    check_new_layout(scenario, save, replace)
    check_goal(save, everything, to)
    wish = None if save is None else Wish(save, replace, everything, to)
    if as_json and not moves and sys.stdin.isatty():
        raise UsageError("--json needs the moves: as arguments, or one a line on standard input")
    start = find_layout(scenario, layout)
    # what is saved is as the file can hold it: the figures are to be of that
    session = Session(scenario, start if wish is None else held_layout(start, scenario))
    if not moves and not as_json:
        _talk(session, plan, wish)
        return 0
    lines = as_moves(moves) or [line for line in sys.stdin.read().splitlines() if line.strip()]
    changes, fault = _apply(session, lines)
    if fault is not None and as_json:
        raise fault

    def show(saved: bool) -> None:
        if as_json:
            output.data(_to_dict(session, changes))
        else:
            _show(session, changes, plan and fault is None, unsaved=not saved)

    keep_then_show(lambda: _keep(session, wish, fault), show)
    return 0 if session.state.score.ok else 1


def as_moves(arguments: Sequence[str]) -> list[str]:
    """One move for each argument; where the quotes were forgotten, one move of all of them."""
    if len(arguments) > 1 and " " not in arguments[0].strip():
        return [" ".join(f'"{word}"' if " " in word else word for word in arguments)]
    return list(arguments)


def _talk(session: Session, plan: bool, wish: Wish | None) -> None:
    """The prompt, and at its end what --save asks for, even where nobody reads any more what is printed."""
    from footwork.cli.prompt import talk

    closed: BrokenPipeError | None = None
    try:
        talk(session, plan)
    except BrokenPipeError as found:
        closed = found

    def leave(saved: bool) -> None:
        if closed is not None:
            raise closed

    keep_then_show(lambda: _keep(session, wish), leave)


def _apply(session: Session, moves: Sequence[str]) -> tuple[list[Change], FootworkError | None]:
    """What each move did, up to the first that cannot be, and why it cannot."""
    from footwork.model.errors import FootworkError

    changes = []
    for text in moves:
        try:
            changes.append(session.do(text))
        except FootworkError as fault:
            return changes, fault
    return changes, None


def _keep(session: Session, wish: Wish | None, fault: FootworkError | None = None) -> list[str]:
    if fault is not None:
        raise fault
    return [] if wish is None else save_state(session.state, wish)


def _show(session: Session, changes: Sequence[Change], plan: bool, unsaved: bool) -> None:
    from footwork.show import tables

    for change in changes:
        tables.change(change, output.console(), session.scenario)
    if plan:
        from footwork.cli.prompt import show_plan

        show_plan(session, unsaved)


def _to_dict(session: Session, changes: Sequence[Change]) -> dict[str, object]:
    from footwork.scoring import placements_dict

    state = session.state
    score = state.score.to_dict()
    return {
        "scenario": state.score.scenario,
        "layout": state.layout.name,
        "moves": [change.to_dict() for change in changes],
        "placements": placements_dict(state.layout.placements),
        **{key: score[key] for key in ("cost", "ok", "walk")},
    }
