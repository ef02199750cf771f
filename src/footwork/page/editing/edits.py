"""What the page may make, change and delete, by its names."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from footwork.model.errors import UsageError
from footwork.model.lines import without_table
from footwork.model.scenario import Layout, Point, Scenario
from footwork.page.editing import asked
from footwork.page.editing.asked import Message
from footwork.page.editing.building import Changed, fixture, opening, walls, without_part
from footwork.page.editing.document import raw, reread, with_keys
from footwork.page.editing.free_floor import placed
from footwork.page.editing.things import station, vehicle, with_places, without_thing
from footwork.page.editing.work import job, without_job

EDITS: Mapping[str, Callable[[Scenario, Message], Changed]] = {
    "walls": walls,
    "opening": opening,
    "fixture": fixture,
    "delete part": without_part,
    "station": station,
    "vehicle": vehicle,
    "delete thing": without_thing,
    "job": job,
    "delete job": without_job,
}


@dataclass(frozen=True)
class Edited:
    """What there is after an edit and where it stands; what was done, and what to know about it."""

    words: str
    scenario: Scenario
    layout: Layout
    notes: tuple[str, ...] = ()


def edit(scenario: Scenario, layout: Layout, message: Message) -> Edited:
    """Do what the page asks for, on the text of the file.

    What is new and has no place stands where it was clicked, else where floor is free.  Raises UsageError,
    in one line, where the reader would refuse the result, and for what cannot be done.
    """
    does = EDITS.get(asked.word(message, "edit"))
    if does is None:
        raise UsageError("the page asked for something that the program does not know")
    text = scenario.text
    changed = does(scenario.with_(text=text.replace("\r\n", "\n")), message)
    # With what is new in no layout yet the reader would find them incomplete: read without them first.
    bare = _without_layouts(changed.text)
    new = reread(bare, scenario)
    known = {changed.names.get(name, name): place for name, place in layout.placements.items()}
    places = placed(new, known, _clicked(message))
    found = {name: place for name, place in places.items() if name not in known}
    whole = with_places(scenario.with_(text=changed.text), found) if found else changed.text
    whole = whole.replace("\n", "\r\n") if "\r\n" in text else whole
    return Edited(changed.words, reread(whole, scenario), Layout(layout.name, places), changed.notes)


def _without_layouts(text: str) -> str:
    """The text without any layout; as it is where it is no TOML, which the reader then says."""
    try:
        bare = without_table(text, ("layouts",)) if "layouts" in raw(text) else text
        return with_keys(bare, (), {"layouts": None}) if "layouts" in raw(bare) else bare
    except (ValueError, RecursionError):
        return text


def _clicked(message: Message) -> Point | None:
    at = asked.entries(message, "at")
    if len(at) != 2 or not all(isinstance(v, float | int) and abs(v) < 1000 for v in at):
        return None
    return (float(at[0]), float(at[1]))
