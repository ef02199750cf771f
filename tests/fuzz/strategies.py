"""What is thrown at the program: scenario files, command lines, rows of moves and of messages, whole and
spoilt."""

from __future__ import annotations

import copy
import json
import random
import re
import tomllib
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from .toml import Raw, text_of

SCENARIOS = Path(__file__).parents[2] / "scenarios"
EXAMPLES = {p.stem: tomllib.loads(p.read_text("utf-8")) for p in sorted(SCENARIOS.glob("*.toml"))}
SMALL = ("frame-nook", "gate-shed", "cabinet-garage")

NUMBERS: tuple[Any, ...] = (
    Raw("nan"),
    Raw("-nan"),
    Raw("inf"),
    Raw("-inf"),
    Raw("1e308"),
    Raw("-1e308"),
    Raw("5e-324"),
    Raw("-0.0"),
    Raw("1" + "0" * 400),
    Raw("-" + "9" * 4299),
    Raw("9" * 5000),
    2**63,
    -(2**63),
    2**31,
    0,
    -1,
    1,
    2,
    0.5,
    1e-9,
    3.7,
    999.9,
    1001,
    360,
    1e-4,
    0.0001000001,
    True,
    False,
)
STRINGS = (
    "",
    " ",
    "a\x00b",
    "\x1b[31mred\x1b[0m",
    "\x1b]0;title\x07",
    "line\nbreak",
    "\u202egnp.exe",
    "\u200f",
    "\u2066x",
    "\U0001f468\u200d\U0001f469\u200d\U0001f467",
    "❤️",
    "e\u0301" * 20,
    "\ud800",
    "\udfff",
    "\x85",
    "\x7f",
    "\u2028",
    "../../etc/passwd",
    "/dev/zero",
    "C:\\temp\\x",
    "~",
    "=1+1",
    "@SUM(A1)",
    "+cmd|' /C calc'!A0",
    "-2+3",
    "{{7*7}}",
    "<script>alert(1)</script>",
    "%n%s%d",
    "$(id)",
    "`id`",
    "'; drop table",
    "a" * 61,
    "b" * 5000,
    "door",
    "window",
    "door:x",
    "bench:left",
    ":",
    "1e400 m",
    "7 ft",
    "1/0 in",
    "0.0001 mm",
    "999999999999 per day",
    "twice a day",
    "south",
    "wall",
    "2400 mm",
    "\ufeff",
    "\u00a0",
    "ßtraße",
    "作業台",
    "-1",
    "0x10",
    "1_000",
)
DEEP = Raw("[" * 400 + "]" * 400)
REPEATS: tuple[Any, ...] = (
    [{"repeat": 10**9, "route": ["bench", {"repeat": 10**9, "route": ["bench", "drill"]}]}],
    [{"repeat": 700, "route": ["bench", "drill", "saw"]}],
    [{"repeat": Raw("1" + "0" * 400), "route": ["bench"]}],
    [{"repeat": 2, "route": []}],
)
SHAPES: tuple[Any, ...] = (
    [],
    {},
    [[]],
    [{}],
    [1, 2],
    [1, 2, 3],
    [[0, 0], [1, 1]],
    [[0, 0], [1, 1], [0, 1], [1, 0]],
    {"at": [1, 1]},
    {"at": [1, 1], "facing": 45},
    {"size": [1, 1]},
    Raw("1979-05-27"),
    Raw("07:32:00"),
    DEEP,
    *REPEATS,
    [[i, 0] for i in range(201)],
    [[0, 0], [4, 0], [4, 1e-4], [0, 4]],
    {"x": {"x": {"x": 1}}},
)


def odd(rng: random.Random) -> Any:
    """Any odd value."""
    return rng.choice(rng.choice((NUMBERS, STRINGS, SHAPES)))


def spots(tree: Any) -> list[tuple[Any, Any]]:
    """Every place of a tree: what holds it, and its key or index there."""
    found = []
    for key in list(tree) if isinstance(tree, dict) else range(len(tree)):
        found.append((tree, key))
        if isinstance(tree[key], (dict, list)):
            found += spots(tree[key])
    return found


def _drop(holder: Any, key: Any, rng: random.Random) -> None:
    del holder[key]


def _double(holder: Any, key: Any, rng: random.Random) -> None:
    if isinstance(holder, list):
        holder.insert(key, copy.deepcopy(holder[key]))
    else:
        holder[f"{key}-2"] = copy.deepcopy(holder[key])


def _swap(holder: Any, key: Any, rng: random.Random) -> None:
    other = rng.choice(list(holder) if isinstance(holder, dict) else range(len(holder)))
    holder[key], holder[other] = holder[other], holder[key]


def _retype(holder: Any, key: Any, rng: random.Random) -> None:
    value = holder[key]
    holder[key] = rng.choice(([value], {"value": value}, str(value), odd(rng)))


def _put_odd(holder: Any, key: Any, rng: random.Random) -> None:
    holder[key] = odd(rng)


def _nudge(holder: Any, key: Any, rng: random.Random) -> None:
    if isinstance(holder[key], (int, float)) and not isinstance(holder[key], bool):
        factor = rng.choice((-1, 0, 0.5, 1.01, 2, 10, 1000))
        holder[key] = rng.choice((holder[key] * factor, holder[key] + 0.1))


def _rename(holder: Any, key: Any, rng: random.Random) -> None:
    if isinstance(holder, dict):
        holder[rng.choice((*STRINGS, f"{key}x", key[:-1], key.upper()))] = holder.pop(key)


CHANGES = (_drop, _double, _swap, _retype, _put_odd, _nudge, _nudge, _rename)


def spoilt(tree: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """A copy of the tree with one to four changes."""
    tree = copy.deepcopy(tree)
    for _ in range(rng.choice((1, 1, 2, 4))):
        places = spots(tree)
        if places:
            holder, key = rng.choice(places)
            rng.choice(CHANGES)(holder, key, rng)
    return tree


SIDES = ("front", "back", "left", "right")
KEYS: dict[str, Any] = {
    "placing": ("wall", "island", "any"),
    "stand": ([], ["front"], ["front", "back"], list(SIDES)),
    "strip": (0.3, 0.75, 2),
    "along": (True, False),
    "service": ({"back": 0.3}, {"left": 1}),
    "stock": ({"left": 2, "right": 2}, {"front": 0.5, "width": 0.1}),
    "height": (0.9, 2.5),
    "work_height": (0.9, 0.1),
    "castors": (True,),
    "gives": (["sparks"], ["dust", "heat"]),
    "minds": (["sparks"], ["flammable"]),
    "outdoors": (True,),
    "holds": (["oxygen"], ["fuel gas"]),
    "from_floor": (1.4, 2.1),
    "reach": (0.4,),
    "shield": (True,),
    "needs": (["socket"], ["tap"]),
    "lead": (0.1, 5),
    "count": (2, 3),
    "use": ("evenly", 2),
    "weight": (0, 300),
    "ignition_height": (0, 0.5),
    "work": ("fine",),
    "parked": ({"at": [1, 1], "facing": "east"},),
    "fixed": ({"at": [1, 1], "facing": 10},),
    "like": ("pillar drill", "workbench", "cold saw"),
    "within": ({"door-1": 3}, {"socket": 2}),
}


def scenario(rng: random.Random) -> dict[str, Any]:
    """A small scenario of any features, right or wrong by chance."""
    names = ["bench", "drill", "saw", rng.choice(("rack", "rack", rng.choice(STRINGS)))][: rng.randint(1, 4)]
    wide, deep = rng.choice((0.5, 2, 4.5, 7, 30)), rng.choice((0.3, 3, 5, 8))
    room: dict[str, Any] = {"size": [wide, deep]}
    if rng.random() < 0.2:
        room = {
            "outline": [
                [0, 0],
                [wide, 0],
                [wide, deep / 2],
                [wide / 2, deep / 2],
                [wide / 2, deep],
                [0, deep],
            ]
        }
    wall = "south" if "size" in room else 1
    room["doors"] = [
        {
            "wall": wall,
            "from": rng.choice((0, 0.5)),
            "width": rng.choice((0.9, 1.9)),
            "swing": rng.choice(("in", "none")),
            "vehicle": rng.random() < 0.3,
            "exit": rng.random() < 0.4,
        }
    ]
    if rng.random() < 0.3:
        room["fixtures"] = [
            {
                "at": [_at(rng, wide), _at(rng, deep)],
                "size": [0.3, 0.2],
                "kind": rng.choice(("heater", "panel", "socket", "extinguisher")),
            }
        ]
    if rng.random() < 0.2:
        room["yards"] = [{"outline": [[0, 0], [wide, 0], [wide, -4], [0, -4]]}]
    stations = {}
    for name in names:
        stations[name] = {"size": [rng.choice((0.2, 0.6, 1.5)), rng.choice((0.1, 0.6))]}
        for key in rng.sample(sorted(KEYS), rng.choice((0, 0, 1, 3))):
            stations[name][key] = rng.choice(KEYS[key])
    tree: dict[str, Any] = {"room": room, "stations": stations}
    if rng.random() < 0.2:
        tree["walker"] = {"profile": "wheelchair", "setting_off": rng.choice((0, 2.0))}
    if room["doors"][0]["vehicle"]:
        tree["vehicles"] = {"van": {"size": [1.8, rng.choice((0.5, 4))], "inside": rng.choice((0, 0.5, 1))}}
    stops = [*names, "door:door-1", *tree.get("vehicles", ())]
    tree["jobs"] = {
        f"job{i}": {
            "times": rng.choice(("3 per week", 0, 1e7, 0.001)),
            "route": [rng.choice(stops) for _ in range(rng.randint(1, 6))],
        }
        for i in range(rng.randint(0, 3))
    }
    things = {n: t.get("count", 1) for n, t in stations.items()} | dict.fromkeys(tree.get("vehicles", ()), 1)
    tree["layouts"] = {
        "now": {
            each: {
                "at": [_at(rng, wide), _at(rng, deep)],
                "facing": rng.choice(("north", "south", 33.3, -90)),
            }
            for name, count in things.items()
            for each in ([name] if count == 1 else [f"{name}-{i + 1}" for i in range(count)])
            if "fixed" not in stations.get(name, {})
        }
    }
    return tree


def _at(rng: random.Random, side: float) -> float:
    return round(rng.uniform(-0.1, 1.1) * side, rng.choice((0, 2, 6)))


def _any_text(rng: random.Random) -> str:
    tree = scenario(rng)
    return text_of(spoilt(tree, rng) if rng.random() < 0.3 else tree)


def _mutated(rng: random.Random, names: tuple[str, ...]) -> str:
    text = text_of(spoilt(EXAMPLES[rng.choice(names)], rng))
    if rng.random() < 0.1:  # a file that an editor has not finished writing
        text = text[: rng.randrange(len(text))]
    return text


CHANCE = st.integers(0, 2**48).map(random.Random)
"""Where chance begins; what follows is drawn from it, so that a case is told by its file."""

scenario_texts = CHANCE.map(_any_text)


def mutated_texts(names: tuple[str, ...] = tuple(EXAMPLES)) -> st.SearchStrategy[str]:
    """Files of ``scenarios/`` with a few changes."""
    return CHANCE.map(lambda rng: _mutated(rng, names))


OPTIONS: dict[str, tuple[str, ...]] = {
    "score": ("--layout", "--json"),
    "check": ("--layout", "--json", "--rules", "--strict"),
    "walk": ("--job", "--layout", "--json"),
    "compare": ("--json", "--layout"),
    "draw": ("--out", "--layout", "--job", "--walking", "--standing", "--scale", "--paper", "--compare"),
    "mark": ("--out", "--layout", "--paper", "--json"),
    "new": ("--kind", "--room", "--units"),
    "stations": ("--json",),
    "schema": ("--out",),
    "reference": (),
    "whatif": ("--layout", "--json", "--plan", "--save", "--to", "--all", "--replace"),
    "tally": ("--sheet", "--rows", "--weeks", "--pause", "--json", "--to"),
    "suggest": (
        "--seed",
        "--moves",
        "--pitch",
        "--facings",
        "--keep",
        "--base",
        "--json",
        "--quiet",
        "--plan",
    ),
    "report": ("--out", "--layout", "--study"),
    "where": ("--layout", "--pitch", "--top", "--picture", "--json"),
    "fit": ("--layout", "--moves", "--top", "--out", "--json", "--strict", "--seconds"),
    "sizes": ("--width", "--depth", "--step", "--out", "--json", "--strict"),
    "weekend": ("--layout", "--most", "--moves", "--out", "--json", "--save"),
    "robust": ("--percent", "--search", "--out", "--json", "--save"),
    "nonsense": ("--json", "--help"),
    "--version": (),
}
SEARCHES = ("suggest", "fit", "sizes", "weekend", "robust")
NEEDED = {"where": ("bench", "drill", "vise"), "fit": ("pillar drill", "0.4x0.3", "bench")}
"""What a command is hardly of use without."""
SELDOM = 0.25
"""Part of the command lines that may be of commands that search, each of which takes a second or more."""
GOOD = (
    "1:6",
    "4.5:5",
    "study.json",
    "report.html",
    "rooms.csv",
    "0.4x0.3",
    "now",
    "today",
    "work",
    "A4",
    "1:25",
    "4x5",
    "plan.svg",
    "list.txt",
    "bench",
    "woodwork",
    "0.5",
    "1",
    "2",
)


def _command_line(rng: random.Random) -> tuple[str, ...]:
    """The words of a command; FILE stands for a scenario file, which may be a good one."""
    slow = rng.random() < SELDOM
    command = rng.choice(SEARCHES if slow else sorted(OPTIONS.keys() - set(SEARCHES)))
    words = [command]
    if rng.random() < 0.9:
        words.append("FILE" if rng.random() < 0.9 else _word(rng))
    if command in NEEDED and rng.random() < 0.9:
        words.append(rng.choice(NEEDED[command]))
    if command in SEARCHES:
        words += ["--iterations", "3", "--processes", "1", "--pitch", "1 m"]
    elif command == "where":
        words += ["--pitch", "1 m"]
    for option in rng.sample(OPTIONS[command], rng.randint(0, min(3, len(OPTIONS[command])))):
        words.append(option if rng.random() < 0.9 else option[:-1])
        if rng.random() < 0.75:
            words.append(_word(rng))
    if rng.random() < 0.3:
        words.append(_word(rng))
    if command == "whatif":
        words += [_move(rng) for _ in range(rng.randint(0, 3))]
    return tuple(words)


def _word(rng: random.Random) -> str:
    if rng.random() < 0.15:
        return str(rng.choice(STRINGS)).replace("/", "") + rng.choice(
            (".svg", ".dxf", ".pdf", ".txt", ".toml")
        )
    return str(rng.choice(rng.choice((GOOD, GOOD, STRINGS, NUMBERS))))


command_lines = CHANCE.map(_command_line)

THINGS = ("bench", "drill", "saw", "van", "rack", "table", "mitre", "lathe", "vise", "nothing")
WAYS = ("north", "s", "south", "45", "1e308", "nan", "-0.0", "1" + "0" * 400, "\u202e", "up")
LENGTHS = (
    "1",
    "0.5",
    "-2",
    "2400 mm",
    "7 ft 6 in",
    "nan",
    "inf",
    "1e308",
    "1" + "0" * 400,
    "5e-324",
    "-0.0",
    "",
    "x",
)
FORMS = (
    "move {t} to {n},{n}",
    "move {t} to {n},{n} facing {w}",
    "move {t} by {n},{n}",
    "move {t} {n} {w}",
    "turn {t} {w}",
    "turn {t} {n}",
    "swap {t} {t}",
    "remove {t}",
    "add {o} {n}x{n} at {n},{n}",
    "add {o} 0.5x0.5 wall at {n},{n} facing {w}",
    'add {o} like "{o}" at 1,1',
    "room {n}x{n}",
    "room {n}",
    'times {t} "{n} per week"',
    "times {t} {o}",
    "take {t} out",
    "bring {t} in",
    "{o}",
    "{o} {o}",
)


def _move(rng: random.Random, things: tuple[str, ...] = THINGS) -> str:
    near = (f"{rng.uniform(0, 9):.2f}", f"{rng.uniform(0, 9):.1f}")
    known = {"t": things, "n": (*LENGTHS, *near, *near), "w": WAYS, "o": (*STRINGS, "new", "pillar drill")}
    return re.sub(r"\{(\w)\}", lambda found: rng.choice(known[found[1]]), rng.choice(FORMS))


def rows_of_moves(things: tuple[str, ...]) -> st.SearchStrategy[list[str]]:
    """Some moves, one after the other, of a scenario with these things."""
    return CHANCE.map(lambda rng: [_move(rng, things) for _ in range(rng.randint(1, 8))])


SHEETS = (
    "time,place,job\n2026-03-02 09:00,bench,{o}\n2026-03-02 09:05,{t},{o}\n10:00,{t},\n",
    "order,place\n1,{t}\n{n},{t}\n3,{o}\n",
    "time;job;{t};{o}\n2026-01-01 00:00;;x;\n;;1;2\n",
    "{o}\n{o},{o}\n",
    "place,order,place\n{t},{n},{t}\n{t},2\n",
)
"""Sheets of visits, as ``tally`` reads them."""


def sheets(things: tuple[str, ...]) -> st.SearchStrategy[str]:
    """CSV files of visits, of a scenario with these things."""
    return CHANCE.map(lambda rng: _filled(rng.choice(SHEETS), things, rng))


PROMPTED = (
    "undo",
    "redo",
    "score",
    "plan",
    "save {o}",
    "save new",
    "save new --replace",
    "save {o} all",
    "save b to {o}.toml",
    "draw {o}.svg",
    "draw plan.dxf",
    "help",
    "{o}",
    "# {o}",
    "undo {n}",
    "quit",
)
"""What the prompt takes beside moves."""


def rows_of_lines(things: tuple[str, ...]) -> st.SearchStrategy[list[str]]:
    """What somebody types at the prompt."""

    def line(rng: random.Random) -> str:
        typed = _filled(rng.choice(PROMPTED), things, rng) if rng.random() < 0.4 else _move(rng, things)
        return "".join(" " if c in "\r\n" or "\ud800" <= c <= "\udfff" else c for c in typed)

    return CHANCE.map(lambda rng: [line(rng) for _ in range(rng.randint(1, 10))])


ROUTES = (
    ["{t}", "{t}"],
    ["{t}", {"repeat": 3, "route": ["{t}"]}, "door:{o}"],
    [{"repeat": 10**9, "route": ["{t}"]}],
    [],
    ["{o}"],
    [7, None],
    {"repeat": 2},
    [[]],
)
FIELDS: dict[str, tuple[Any, ...]] = {
    "names": (["{t}"], ["{t}", "{t}"], ["nothing"], [], "{t}", [7]),
    "name": ("{t}", "{t}", "{o}", "new", None, 7),
    "new_name": ("{t}", "{o}", "new"),
    "edit": ("{e}",),
    "dx": ("{f}",),
    "dy": ("{f}",),
    "degrees": ("{f}", 90),
    "bearing": ("{f}",),
    "column": ("{f}", 3),
    "row": (2, "{f}"),
    "index": (0, 1, "{f}"),
    "free": (True, False),
    "far": (True, None),
    "out": (True, False),
    "on": (True, False),
    "way": ("north", "east", "up"),
    "side": ("front", "left", "back", "{o}"),
    "text": ("{n}", "1.20", "3 ft 11 in"),
    "wide": ("{f}", 900),
    "tall": ("{f}", 700),
    "agreed": ([], ["{o}"], "x", [7]),
    "walls": (["6", "4", "6", "4"], ["{n}"] * 4, [], "6"),
    "wall": ("north", 1, "{o}", "{f}"),
    "part": ("door", "window", "fixture", "{o}"),
    "kind": ("socket", "heater", "{o}", ""),
    "facing": ("north", "45", "{n}"),
    "from": ("{n}",),
    "width": ("{n}",),
    "height": ("{n}",),
    "depth": ("{n}",),
    "at": ([1, 1], ["{f}", 2], "{o}"),
    "units": ("m", "ft", "{o}"),
    "times": ("2 per week", "{o}", "{n}"),
    "route": ROUTES,
    "like": ("pillar drill", "{o}"),
    "stand": (["front"], ["{o}"], 3),
    "strip": ("{n}",),
    "swing": ("in", "none", "{o}"),
    "sill": ("{n}",),
    "vehicle": (True, "{o}"),
    "exit": (True,),
    "inside": ("0.5", "{n}"),
    "along": (True, "{o}"),
    "door": ("gate", "{o}"),
    "moves": (1, "{f}"),
    "keep": (["{t}"],),
    "seconds": (1, "{f}"),
}
EDITED = (
    "walls",
    "opening",
    "fixture",
    "delete part",
    "station",
    "vehicle",
    "delete thing",
    "job",
    "delete job",
    "{o}",
)
DONE = (
    "choose",
    "drag",
    "drag",
    "turn towards",
    "drop",
    "give up",
    "turn",
    "nudge",
    "measure",
    "vehicle",
    "job",
    "undo",
    "undo",
    "redo",
    "screen",
    "save",
    "walls",
    "at wall",
    *["edit"] * 8,
    "take up",
    "recover",
    "throw away",
    "spots",
    "spot",
    "stand",
    "pin",
    "stop search",
    "forget search",
    "search",
    "close",
    "{o}",
)
FIGURES = (0.3, -1.5, 1e6, -1e6, 1e-9, 0, 3, 1e308, "1", None, True, 10**30)
USES: dict[str, tuple[str, ...]] = {
    "drag": ("names", "dx", "dy", "free"),
    "turn": ("names", "degrees"),
    "nudge": ("names", "way", "far"),
    "turn towards": ("name", "bearing"),
    "measure": ("name", "side", "text"),
    "choose": ("names",),
    "save": ("name", "agreed"),
    "screen": ("wide", "tall"),
    "vehicle": ("name", "out"),
    "job": ("name",),
    "pin": ("name",),
    "spot": ("column", "row"),
    "spots": ("on",),
    "at wall": ("wall", "from", "width"),
    "walls": ("walls", "units"),
}


def _filled(pattern: Any, things: tuple[str, ...], rng: random.Random) -> Any:
    """A pattern with what is between braces put in."""
    if isinstance(pattern, dict):
        return {key: _filled(value, things, rng) for key, value in pattern.items()}
    if isinstance(pattern, (list, tuple)):
        return [_filled(value, things, rng) for value in pattern]
    if pattern == "{f}":
        return rng.choice(FIGURES)
    if not isinstance(pattern, str):
        return pattern
    known = {"t": things, "o": STRINGS, "n": LENGTHS, "e": EDITED}
    return re.sub(r"\{([tone])\}", lambda found: str(rng.choice(known[found[1]])), pattern)


def _message(rng: random.Random, things: tuple[str, ...]) -> str:
    """One message of the page, as it comes over the line."""
    does = _filled(rng.choice(DONE), things, rng)
    keys = (
        USES.get(does, rng.sample(sorted(FIELDS), 6)) if rng.random() < 0.8 else rng.sample(sorted(FIELDS), 9)
    )
    keys = (*keys, "edit", *rng.sample(sorted(FIELDS), 4)) if does == "edit" else tuple(keys)
    message = {"do": does, "n": rng.randint(0, 99)} | {
        k: _filled(rng.choice(FIELDS[k]), things, rng) for k in keys
    }
    words = json.dumps(message)
    if rng.random() < 0.03:
        return rng.choice((words[: rng.randrange(len(words))], "[]", "7", "{}", "nul", "[" * 2000, '"' * 9))
    return words


def rows_of_messages(things: tuple[str, ...]) -> st.SearchStrategy[list[str]]:
    """What a page sends, one after the other."""
    return CHANCE.map(lambda rng: [_message(rng, things) for _ in range(rng.randint(1, 12))])
