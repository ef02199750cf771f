"""footwork whatif: try moves, given as arguments, at a prompt, or on standard input."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from footwork.cli import output
from footwork.cli.options import (
    check_new_layout,
    file_argument,
    json_option,
    layout_option,
    plan_option,
    save_options,
    save_state,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from footwork.whatif import Change, Session


@click.command("whatif", short_help="Try moves and see what each does.")
@file_argument
@click.argument("moves", metavar="[MOVE ...]", nargs=-1)
@layout_option
@plan_option
@save_options
@json_option
def command(
    file: Path,
    moves: tuple[str, ...],
    layout: str | None,
    plan: bool,
    save: str | None,
    replace: bool,
    as_json: bool,
) -> int:
    """Try moves and see what each does to the walking, by job, and to the checks.

    Each MOVE is one argument, in quotes. They are applied one after the other; at one that cannot be, nothing
    is saved. Lengths are in the file's units or with their own.

    \b
      "move drill to 5.2,6.2 facing south"   "move drill by 0.5,0"
      "turn bench 90"                        "swap lathe mill"
      "remove roller"                        "room 11x7"
      "add press 0.6x0.5 wall at 4,6.7 facing south"
      'add press like "arbor press" at 4,6.7 facing south'
      'times gate_frame "5 per week"'        "take van out"   "bring van in"

    Without MOVE: a prompt, with history, completion, undo, redo, plan, save NAME, draw FILE, help and quit;
    or, when standard input is no terminal, one move a line from there. With --plan, the plan comes after the
    last MOVE, and at the prompt after each.

    Leaves with 1 when the layout that the moves lead to fails a must-check.
    """
    from footwork.model.errors import UsageError
    from footwork.model.read import load
    from footwork.whatif import Session

    if plan and as_json:
        raise UsageError("--plan and --json exclude each other; give one")
    scenario = load(file)
    check_new_layout(scenario, save, replace)
    session = Session(scenario, layout)
    if moves:
        changes = _apply(session, as_moves(moves), as_json)
    elif as_json:
        if sys.stdin.isatty():
            raise UsageError("--json needs the moves: as arguments, or one a line on standard input")
        changes = _apply(session, [line for line in sys.stdin.read().splitlines() if line.strip()], as_json)
    else:
        from footwork.cli.prompt import talk

        talk(session, plan)
        if save is not None:
            save_state(session.state, save)
        return 0
    if plan:
        from footwork.cli.prompt import show_plan

        show_plan(session)
    if as_json:
        output.data(_to_dict(session, changes))
    if save is not None:
        save_state(session.state, save)
    return 0 if session.state.score.ok else 1


def as_moves(arguments: Sequence[str]) -> list[str]:
    """One move for each argument; where the quotes were forgotten, one move of all of them."""
    if len(arguments) > 1 and " " not in arguments[0].strip():
        return [" ".join(f'"{word}"' if " " in word else word for word in arguments)]
    return list(arguments)


def _apply(session: Session, moves: Sequence[str], as_json: bool) -> list[Change]:
    changes = []
    for text in moves:
        change = session.do(text)
        changes.append(change)
        if not as_json:
            from footwork.show import tables

            tables.change(change, output.console(), session.scenario)
    return changes


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
