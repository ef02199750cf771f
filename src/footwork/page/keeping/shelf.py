"""The file that is open, seen from the desk: what is kept of it, what was left behind, who else writes it."""

from __future__ import annotations

import os
import time
from pathlib import Path

from footwork.model.errors import ScenarioError, UsageError
from footwork.model.scenario import Layout
from footwork.page.desk import Desk
from footwork.page.editing.document import read
from footwork.page.editing.free_floor import placed
from footwork.page.keeping.journal import Journal, Kept, forget, now
from footwork.page.keeping.opening import Opened, opened
from footwork.page.saving import Keeper

Stamp = tuple[int, int, int] | None


class Shelf:
    """One file, the journal of what is not saved in it, and the keeper that saves."""

    def __init__(self, found: Opened) -> None:
        self.path = found.path
        self.journal = Journal(found.path)
        self.keeper = Keeper(found.text)
        self.left = self.journal.left_behind()
        self.elsewhere = self.journal.elsewhere()
        self._stamp = _stamp(found.path)
        self._noted: tuple[object, ...] | None = None

    def note(self, desk: Desk) -> None:
        """Keep what is on the desk if it is not saved; while something is in the hand, how it was before."""
        layout = desk.layout if desk.hand is None else desk.hand.start
        unsaved = desk.otherwise(layout)
        state = (desk.scenario.text, layout, unsaved, self.keeper.text)
        if state == self._noted:
            return
        self._noted = state
        if not unsaved:
            self.journal.keep(None)
            return
        places = {n: (p.x, p.y, p.facing) for n, p in layout.placements.items()}
        base = desk.written.text if desk.written.text or self.keeper.text is not None else None
        self.journal.keep(Kept(base, desk.scenario.text, layout.name, places, now()))

    def end(self) -> None:
        """Let go of the file; what is not saved stays kept."""
        self.journal.end()

    # what another program does to the file

    def changed(self) -> Opened | None:
        """The file as it is now, if it was changed otherwise than from here since the last time of asking."""
        stamp = _stamp(self.path)
        if stamp == self._stamp:
            return None
        self._stamp = stamp
        try:
            found = opened(self.path)
        except UsageError:  # somebody is writing it: next time
            self._stamp = None
            return None
        return None if found.text == self.keeper.text else found

    def take_up(self, desk: Desk, found: Opened) -> None:
        """The file as it is now onto the desk, as one move; what was there can be had back."""
        if found.scenario is None or found.layout is None:
            raise UsageError(f"{self.path.name} has faults now: mend them first")
        known = {each.name: each for each in found.scenario.layouts}
        layout = known.get(desk.layout.name, found.layout)
        onto = found.scenario
        desk.change(f"take up {self.path.name} as changed elsewhere", found.scenario, layout, onto)
        self.keeper.text = found.text
        desk.saved = desk.layout

    # what was left behind

    def offer(self) -> str:
        """What was left behind last, in words; empty where nothing is."""
        if not self.left:
            return ""
        kept = self.left[0][1]
        when = time.strftime("%Y-%m-%d %H:%M", time.localtime(kept.when))
        told = f"Moves of {when} were not saved in {self.path.name}."
        if kept.base != self.keeper.text:
            told += " The file has been changed since."
        return f"{told} Take them up?"

    def recover(self, desk: Desk) -> None:
        """Take up what was left behind last, as one move.

        Where the file was changed since, and more was made than moves, saving asks before it writes.
        """
        if not self.left:
            return
        file, kept = self.left[0]
        moved_only = kept.base is not None and kept.text == kept.base
        scenario, onto = desk.scenario, desk.written
        if not moved_only:
            try:
                scenario, onto = read(kept.text, self.path), read(kept.base or "", self.path)
            except ScenarioError as fault:
                raise UsageError(f"what was kept cannot be read: {fault.lines[0]}") from None
        known = {**desk.layout.placements, **kept.placements}
        layout = Layout(kept.layout or desk.layout.name, placed(scenario, known))
        desk.change("take up what was not saved", scenario, layout, onto)
        self.note(desk)
        if self.journal.settle():
            del self.left[0]
            forget(file)

    def throw_away(self) -> None:
        """Forget what was left behind last."""
        if self.left:
            forget(self.left.pop(0)[0])


def _stamp(path: Path) -> Stamp:
    """What tells that a file was written; None where there is none."""
    try:
        status = os.stat(path)
    except OSError:
        return None
    return (status.st_mtime_ns, status.st_size, status.st_ino)
