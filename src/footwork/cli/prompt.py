"""The prompt of ``whatif``: one line, one move; the same words are read from a pipe without a terminal."""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from footwork.cli import output
from footwork.cli.signals import Ended
from footwork.model.errors import FootworkError, UsageError
from footwork.model.names import name_fault
from footwork.moves import FORMS

if TYPE_CHECKING:
    from prompt_toolkit.history import History

    from footwork.cli.saving import Wish
    from footwork.whatif import Change, Session

WORDS = (
    ("undo", "go back before the last move"),
    ("redo", "do again what was undone"),
    ("score", "the figures and checks of where you stand"),
    ("plan", "a small plan of where you stand; a star marks what has moved since you began"),
    (
        "save NAME",
        "write where things stand into the file; `save NAME --replace` over a layout that is there",
    ),
    ("save NAME all", "also write what the moves changed for every layout: stations, jobs, times, the room"),
    ("save NAME to FILE", "write all of it into a new file, and leave this one as it is"),
    ("draw FILE", "draw the plan as .svg, .png or .pdf"),
    ("help", "these lines"),
    ("quit", "leave; what is not saved is gone"),
)
"""What the prompt takes beside moves."""


def talk(session: Session, plan: bool = False) -> None:
    """Read lines and do what they say until ``quit`` or the end.  A bad line costs one line.

    ``plan``: the plan is shown after each move.  Where nobody reads what is printed any more, lines from a
    pipe are still done; BrokenPipeError comes after the last.
    """
    talker = Talker(session, plan)
    typed = sys.stdin.isatty()
    closed: BrokenPipeError | None = None
    for text in _typed(session) if typed else _piped():
        try:
            if not talker.hear(text):
                break
            sys.stdout.flush()
        except FootworkError as fault:
            output.errors(fault.lines)
        except KeyboardInterrupt as stop:
            if isinstance(stop, Ended):
                raise
            output.error("stopped; nothing was changed")
        except BrokenPipeError as found:
            if typed:
                raise
            closed = found  # lines still to come may ask to save
            output.nobody_reads()
        except OSError as fault:
            output.error(f"{fault.filename}: {fault.strerror}")
        except Exception as fault:  # a session of moves is worth more than leaving at once
            if os.environ.get("FOOTWORK_DEBUG"):
                raise
            output.error(f"a fault of the program, not of your move: {type(fault).__name__}: {fault}")
    if closed is not None:
        raise closed


class Talker:
    """Does what one line says to a session."""

    def __init__(self, session: Session, plan: bool = False) -> None:
        self.session = session
        self.plan = plan
        self.saved = [(session.state, session.state.layout.name)]
        self._written: set[Path] = set()
        self._words: dict[str, Callable[[str], None]] = {
            "undo": self._undo,
            "redo": self._redo,
            "score": self._score,
            "plan": self._plan,
            "save": self._save,
            "draw": self._draw,
            "help": self._help,
            "?": self._help,
        }

    def hear(self, text: str) -> bool:
        """Do what the line says; False when it says to leave.  Raises FootworkError when it can't be done."""
        word, _, rest = text.strip().partition(" ")
        if not word or word.startswith("#"):
            return True
        word = word.lower()
        if word in ("quit", "exit", "q") and not rest.strip():
            return False
        if word in self._words:
            self._words[word](rest.strip())
        else:
            self._show(self._move(text))
        return True

    def _move(self, text: str) -> Change:
        from footwork.model.names import nearest

        word = text.split()[0].lower()
        own = [form.split()[0] for form, _ in WORDS]
        verbs = [form.verb for form in FORMS]
        if word not in verbs and nearest(word, [*own, *verbs]) in own:
            raise UsageError(f"cannot read {text.strip()!r}; did you mean {nearest(word, own)!r}?")
        return self.session.do(text)

    def _undo(self, rest: str) -> None:
        _no_more("undo", rest)
        self._show(self.session.undo())

    def _redo(self, rest: str) -> None:
        _no_more("redo", rest)
        self._show(self.session.redo())

    def _score(self, rest: str) -> None:
        from footwork.show import tables

        _no_more("score", rest)
        state = self.session.state
        tables.score(state.score, output.console(), state.scenario)

    def _plan(self, rest: str) -> None:
        _no_more("plan", rest)
        self._show_plan()

    def _save(self, rest: str) -> None:
        from footwork.cli.saving import NotSaved, check_new_file, save_state, told

        wish = read_save(rest)
        if wish.to is not None and wish.to.resolve() not in self._written:
            check_new_file(wish.to)
        try:
            told(save_state(self.session.state, wish))
        except NotSaved as fault:
            told(fault.listed)
            raise
        if wish.to is not None:
            self._written.add(wish.to.resolve())
        self._remember(wish)

    def _remember(self, wish: Wish) -> None:
        """The saved states by name; what was saved before under the name, or for other stations, is gone."""
        state = self.session.state
        self.saved = [
            (old, name)
            for old, name in self.saved
            if name != wish.name and not (wish.everything and old.scenario != state.scenario)
        ]
        self.saved.append((state, wish.name))

    def _draw(self, rest: str) -> None:
        from footwork.model.scenario import Layout
        from footwork.show.draw import draw

        if not rest:
            raise UsageError("draw needs a file, as in: draw plan.svg")
        out = Path(_unquoted(rest))
        state, name = self.session.state, self.saved_as()
        layout = Layout(name or state.layout.name, state.layout.placements)
        draw(state.scenario, layout, out, unsaved=name is None)
        output.line(f"wrote {out}")

    def saved_as(self) -> str | None:
        """The name under which a file has where the session stands; None: it is not saved."""
        state = self.session.state
        for known, name in reversed(self.saved):
            if known is state or (
                known.layout.placements == state.layout.placements and known.scenario == state.scenario
            ):
                return name
        return None

    def _help(self, rest: str) -> None:
        rows = [(form.text, form.meaning) for form in FORMS] + list(WORDS)
        for text, meaning in rows:
            output.line(f"  {text}")
            output.line(f"      {meaning}")

    def _show(self, change: Change) -> None:
        from footwork.show import tables

        tables.change(change, output.console(), self.session.scenario)
        if self.plan:
            self._show_plan()

    def _show_plan(self) -> None:
        show_plan(self.session, unsaved=self.saved_as() is None)


_SAVE = re.compile(
    r"""(?P<name>"[^"]*"|'[^']*'|.+?)(?P<first>\s+--replace)?"""
    r"""(?:\s+(?P<all>(?:--)?all)|\s+(?:--)?to\s+(?P<to>.+?))?(?P<last>\s+--replace)?""",
    re.IGNORECASE,
)


_NO_NAME = r"(--)?all|(--)?to(\s.*)?|--replace"


def read_save(rest: str) -> Wish:
    """What follows ``save``: a name, in quotes where it ends in a word that means something here."""
    from footwork.cli.saving import Wish

    found = _SAVE.fullmatch(rest)
    name = "" if found is None else _unquoted(found["name"])
    if found is None or not name or re.fullmatch(_NO_NAME, rest, re.IGNORECASE):
        raise UsageError("save needs a name, as in: save tried")
    fault = name_fault(name)
    if fault:
        raise UsageError(f"save {name!r}: {fault}")
    quoted = name if " " not in name and name.lower() not in ("all", "to") else f'"{name}"'
    return Wish(
        name,
        replace=bool(found["first"] or found["last"]),
        everything=bool(found["all"]),
        to=None if found["to"] is None else Path(_unquoted(found["to"])),
        mend=f"`save {quoted} all` writes all of it, `save {quoted} to FILE` a new file",
    )


def _unquoted(text: str) -> str:
    return text[1:-1] if len(text) > 1 and text[0] == text[-1] and text[0] in "\"'" else text


def show_plan(session: Session, unsaved: bool = True) -> None:
    """The small plan of where a session stands, with a star at what has moved since it began."""
    from footwork.scoring import find_layout
    from footwork.show.terminal_plan import stands_elsewhere, terminal_plan

    state, began = session.state, find_layout(session.scenario, session.layout)
    moved = stands_elsewhere(began.placements, state.layout.placements)
    terminal_plan(state.scenario, state.layout, output.console(), moved)
    if unsaved:
        output.line(f"Not saved: what moves made of layout {state.layout.name}")
    output.line()


def _no_more(word: str, rest: str) -> None:
    if rest:
        raise UsageError(f"{word} takes nothing after it")


def _piped() -> Iterator[str]:
    yield from sys.stdin


def _typed(session: Session) -> Iterator[str]:
    """Lines from a person, with history kept between sessions and completion."""
    from prompt_toolkit import PromptSession
    from prompt_toolkit.completion import CompleteEvent, Completer, Completion
    from prompt_toolkit.document import Document
    from prompt_toolkit.shortcuts import CompleteStyle

    from footwork.cli.completion import candidates

    class Moves(Completer):
        def get_completions(self, document: Document, complete_event: CompleteEvent) -> Iterable[Completion]:
            word, found = candidates(document.text_before_cursor, session)
            for text in found:
                yield Completion(f"{text} ", start_position=-len(word), display=text)

    reader: PromptSession[str] = PromptSession(
        history=_history(),
        completer=Moves(),
        complete_while_typing=False,
        complete_style=CompleteStyle.READLINE_LIKE,
    )
    output.line(f"{session.state.layout.name} of {session.scenario.name}; help lists the moves, quit leaves")
    while True:
        try:
            yield reader.prompt("> ")
        except Ended:
            raise
        except KeyboardInterrupt:
            continue
        except EOFError:
            return


def _history() -> History:
    """Past lines, in the user's own state directory; in memory alone where that cannot be written."""
    from prompt_toolkit.history import FileHistory, InMemoryHistory

    home = os.environ.get("XDG_STATE_HOME") or str(Path.home() / ".local" / "state")
    place = Path(home) / "footwork" / "whatif-history"
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        with place.open("ab"):
            pass
    except OSError:
        return InMemoryHistory()
    return FileHistory(str(place))
