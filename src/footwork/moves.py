"""What-if moves: one line of text each, read into small frozen objects.

Reading looks at the text alone; whether the names in it exist is seen when a move is applied
(``footwork.applying``).  Lengths are metres once read; a bare number is in the file's units.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import cast

from footwork.model.errors import UsageError
from footwork.model.names import hint, nearest
from footwork.model.scenario import Placing, Point
from footwork.model.units import FACINGS, finite, parse_facing, parse_length, parse_times

PLACINGS: tuple[Placing, ...] = ("wall", "island", "any")


@dataclass(frozen=True, slots=True)
class MoveTo:
    """Put ``name`` with its centre at ``at``; ``facing`` None keeps the way it faces."""

    name: str
    at: Point
    facing: float | None = None


@dataclass(frozen=True, slots=True)
class MoveBy:
    """Shift ``name`` by ``by``, x east and y north."""

    name: str
    by: Point


@dataclass(frozen=True, slots=True)
class Turn:
    """Turn ``name`` clockwise by ``degrees``, or so that it faces ``facing``."""

    name: str
    degrees: float = 0.0
    facing: float | None = None


@dataclass(frozen=True, slots=True)
class Swap:
    """Let two things take each other's place and facing."""

    first: str
    second: str


@dataclass(frozen=True, slots=True)
class Remove:
    """Take a station or vehicle away, and out of the routes that visit it."""

    name: str


@dataclass(frozen=True, slots=True)
class Add:
    """A new station: its own ``size`` (along the front, front to back), or ``like`` one of the catalogue."""

    name: str
    at: Point
    size: tuple[float, float] | None = None
    like: str | None = None
    placing: Placing | None = None
    facing: float | None = None


@dataclass(frozen=True, slots=True)
class Resize:
    """Make the room ``size`` (east to west, south to north)."""

    size: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Times:
    """Do ``job`` as often as ``times`` says, which is ``per_year`` times a year."""

    job: str
    times: str
    per_year: float


@dataclass(frozen=True, slots=True)
class Inside:
    """A vehicle that no job asks for is in for this ``share`` of the time."""

    vehicle: str
    share: float


Move = MoveTo | MoveBy | Turn | Swap | Remove | Add | Resize | Times | Inside


@dataclass(frozen=True, slots=True)
class Form:
    """How a move is written: ``text`` for people, ``pattern`` for what follows the verb."""

    text: str
    meaning: str
    example: str
    pattern: re.Pattern[str]
    build: Callable[[re.Match[str], str], Move]

    @property
    def verb(self) -> str:
        return self.text.split()[0]


def parse(text: str, units: str = "m") -> Move:
    """Read one move.  Bare lengths are in ``units``.

    Raises UsageError, one line that names the nearest form, when the text is not a move.
    """
    line = tidy(text)
    if not line:
        raise UsageError(f"an empty move; for example: {FORMS[0].example}")
    verb, _, rest = line.partition(" ")
    forms = [form for form in FORMS if form.verb == verb.lower()]
    if not forms:
        raise UsageError(f"cannot read {line!r}: no move begins with {verb!r}; {_nearest_verb(verb)}")
    for form in forms:
        found = form.pattern.fullmatch(rest)
        if found:
            try:
                return form.build(found, units)
            except ValueError as fault:
                raise UsageError(f"cannot read {line!r}: {fault}") from None
    words = set(rest.lower().split())
    nearest = max(forms, key=lambda form: len(words & set(form.text.lower().split())))
    raise UsageError(f"cannot read {line!r}; the form is: {nearest.text}, for example: {nearest.example}")


_WORDS = re.compile(r"""(?<!\S)(?:"[^"]*"|'[^']*')(?!\S)|\S+""")


def tidy(text: str) -> str:
    """The line with one blank between its words; words in quotes keep theirs, as names may hold several."""
    return " ".join(re.sub(r"\s", " ", word) for word in _WORDS.findall(text))


def unknown(kind: str, word: str, names: Iterable[str], many: str = "") -> UsageError:
    """The error for a name that is not there: the nearest one, or the list of them when none is near."""
    return UsageError(f"no {kind} {word!r}; {hint(word, sorted(names), many or f'{kind}s')}")


def read_way(text: str) -> float:
    """A facing: north, east, south, west (or its first letter), or a bearing in degrees.

    Raises ValueError with what would mend it.
    """
    word = text.strip().lower()
    full = next((facing for facing in FACINGS if word == facing[0]), word)
    number = _number(full)
    if number is None and full not in FACINGS and (close := nearest(full, FACINGS)):
        raise ValueError(f"{text!r} is not a facing; did you mean {close!r}?")
    return parse_facing(full if number is None else number)


def read_length(text: str, units: str) -> float:
    """A length of either sign in metres, a bare number in ``units``; raises ValueError."""
    body = text.strip().removeprefix("+").replace("\N{MINUS SIGN}", "-")
    try:
        value: float | str = float(body)
    except ValueError:
        value = body
    return parse_length(value, units)


def read_size(text: str, units: str) -> tuple[float, float]:
    """Two lengths above nothing with an x between them, as in 1.2x0.8; raises ValueError."""
    parts = re.split(r"\s*[x×]\s*", text.strip(), flags=re.IGNORECASE)
    if len(parts) != 2:
        raise ValueError(f"{text!r} is no size; write two lengths with an x between them, as in 1.2x0.8")
    first, second = (read_length(part, units) for part in parts)
    if first <= 0 or second <= 0:
        raise ValueError(f"the size {text!r} must be above nothing both ways")
    return first, second


def _number(text: str) -> float | None:
    """A number of degrees, or None when the text is something else."""
    try:
        return finite(float(text.removesuffix("°").removesuffix("degrees").removesuffix("deg")))
    except ValueError:
        return None


def _nearest_verb(verb: str) -> str:
    close = nearest(verb, {form.verb for form in FORMS})
    if close:
        form = next(form for form in FORMS if form.verb == close)
        return f"the nearest form is: {form.text}"
    return "the moves are " + ", ".join(dict.fromkeys(form.verb for form in FORMS))


def _point(text: str, units: str) -> Point:
    parts = text.split(",")
    if len(parts) != 2:
        raise ValueError(f"{text!r} is no place; write X,Y, as in 5.2,6.2")
    return read_length(parts[0], units), read_length(parts[1], units)


def _name(found: re.Match[str], key: str = "name") -> str:
    text = str(found[key])
    return text[1:-1] if text[0] in "\"'" else text


def _way(found: re.Match[str]) -> float | None:
    return None if found["facing"] is None else read_way(found["facing"])


def _move_to(found: re.Match[str], units: str) -> Move:
    return MoveTo(_name(found), _point(found["at"], units), _way(found))


def _move_by(found: re.Match[str], units: str) -> Move:
    return MoveBy(_name(found), _point(found["by"], units))


def _push(found: re.Match[str], units: str) -> Move:
    far, (x, y) = read_length(found["far"], units), _COMPASS[found["way"].lower()]
    return MoveBy(_name(found), (far * x, far * y))


def _turn(found: re.Match[str], units: str) -> Move:
    text = found["how"].strip()
    degrees = _number(text)
    if degrees is None:
        return Turn(_name(found), facing=read_way(text))
    return Turn(_name(found), degrees=degrees % 360.0)


def _add(found: re.Match[str], units: str) -> Move:
    words = found["what"].split()
    placing = cast(Placing, words.pop().lower()) if words and words[-1].lower() in PLACINGS else None
    like = None if found["like"] is None else _name(found, "like")
    size = read_size(" ".join(words), units) if words else None
    if size is None and like is None:
        raise ValueError(
            'a new station needs a size, as in 0.6x0.5, or the catalogue, as in like "pillar drill"'
        )
    return Add(_name(found), _point(found["at"], units), size, like, placing, _way(found))


def _times(found: re.Match[str], units: str) -> Move:
    times = " ".join(found["times"].strip("\"'").split())
    return Times(_name(found), times, parse_times(times))


def _pattern(text: str) -> re.Pattern[str]:
    """A regular expression in which ``#key`` is a name (quoted when it has blanks) and a blank any blanks."""

    def a_name(found: re.Match[str]) -> str:
        return rf"""(?P<{found[1]}>"[^"]+"|'[^']+'|[^\s"']+)"""

    return re.compile(re.sub(r"#(\w+)", a_name, text).replace(" ", r"\s+"), re.IGNORECASE)


_COMPASS = {"north": (0.0, 1.0), "east": (1.0, 0.0), "south": (0.0, -1.0), "west": (-1.0, 0.0)}
_FACING = "(?: facing (?P<facing>.+))?"

FORMS: tuple[Form, ...] = (
    Form(
        "move NAME to X,Y [facing WAY]",
        "put the middle of a station or vehicle there",
        "move drill to 5.2,6.2 facing south",
        _pattern(f"#name to (?P<at>.+?){_FACING}"),
        _move_to,
    ),
    Form(
        "move NAME by X,Y",
        "shift it, X to the east and Y to the north",
        "move drill by 0.5,0",
        _pattern("#name by (?P<by>.+)"),
        _move_by,
    ),
    Form(
        "move NAME LENGTH north|east|south|west",
        "push it so far that way, as the messages of the checks tell",
        "move drill 0.25 m north",
        _pattern("#name (?P<far>.+?) (?P<way>north|east|south|west)"),
        _push,
    ),
    Form(
        "turn NAME DEGREES|WAY",
        "turn it clockwise by so much, or to face that way",
        "turn bench 90",
        _pattern("#name (?:to )?(?:face |facing )?(?P<how>.+)"),
        _turn,
    ),
    Form(
        "swap NAME NAME",
        "let two take each other's place; against a wall they meet it with their backs",
        "swap lathe mill",
        _pattern("#first (?:and |with )?#second"),
        lambda found, units: Swap(_name(found, "first"), _name(found, "second")),
    ),
    Form(
        "remove NAME",
        "take it away, and out of the routes that visit it",
        "remove roller",
        _pattern("#name"),
        lambda found, units: Remove(_name(found)),
    ),
    Form(
        "add NAME WIDTHxDEPTH [wall|island] at X,Y [facing WAY]",
        "a new station of that size",
        "add press 0.6x0.5 wall at 4,6.7 facing south",
        _pattern(f"#name(?: like #like)?(?P<what>.*?) at (?P<at>.+?){_FACING}"),
        _add,
    ),
    Form(
        'add NAME like "STATION" [WIDTHxDEPTH] [wall|island] at X,Y [facing WAY]',
        "a new station from the catalogue",
        'add press like "arbor press" at 4,6.7 facing south',
        _pattern(f"#name like #like(?P<what>.*?) at (?P<at>.+?){_FACING}"),
        _add,
    ),
    Form(
        "room WIDTHxDEPTH",
        "another size of room: doors and windows keep their distance along the wall",
        "room 11x7",
        _pattern("(?:to )?(?P<size>.+)"),
        lambda found, units: Resize(read_size(found["size"], units)),
    ),
    Form(
        'times JOB "N per day|week|month|year"',
        "do a job so often",
        'times gate_frame "5 per week"',
        _pattern("#name (?P<times>.+)"),
        _times,
    ),
    Form(
        "take VEHICLE out",
        "it is out unless a job has it in",
        "take van out",
        _pattern("#name out"),
        lambda found, units: Inside(_name(found), 0.0),
    ),
    Form(
        "bring VEHICLE in",
        "it is in unless a job has it out",
        "bring van in",
        _pattern("#name in"),
        lambda found, units: Inside(_name(found), 1.0),
    ),
)
"""Every form of move, in the order help shows them."""
