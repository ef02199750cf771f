"""Names are data: whatever a file may call things, no output takes it for anything but letters.

One shed, whose names hold all that a name may, goes through every command in every format that it writes.
"""

from __future__ import annotations

import csv
import json
import re
import socket
import unicodedata
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from cli.run import Done, footwork
from footwork.checks.memory import Memory
from footwork.model.cells import text_cell, words_of
from footwork.model.read import load
from footwork.page import drawing, messages
from footwork.page.desk import Desk
from footwork.page.figures import failed_checks, walked
from footwork.page.reckoning import Found, Wanted
from footwork.show.files import SVG_POLICY
from footwork.study.tally import tally

FORMULA = "=1+1|'cmd'!A0"
MINUS = "-2+3"
PLUS = "+SUM(A1;B1;C1;D1)"
FAMILY = "\U0001f468\u200d\U0001f469\u200d\U0001f467\u200d\U0001f466 ❤️"
SCRIPT = "</style><script>alert(1)</script>"
IMAGE = "<img src=x onerror=alert(2)>"
MARKS = "e\u0301\u0323\u0308" * 15
ARABIC = "طاولة \u200cاللحام"
CODES = "%%c ^J $x_1^2$ &amp; `id` $(id)"
WIDE = "桌" * 60
GATE, PANE, STOVE, PANEL = "=2*3", "@pane <b>", "+stove&", "-panel'"
TITLE = f'[bold]{{x}}\\ " {IMAGE} {ARABIC} {FAMILY} =1 {"y" * 100}'


def written() -> str:
    """The shed's file."""
    n = {
        key: json.dumps(value, ensure_ascii=False)
        for key, value in globals().items()
        if isinstance(value, str)
    }
    door = json.dumps(f"door:{GATE}", ensure_ascii=False)
    return f"""
name = {n["TITLE"]}
[room]
size = [6.0, 4.0]
doors = [{{ name = {n["GATE"]}, wall = "west", from = 1.0, width = 2.0, vehicle = true, exit = true }}]
windows = [{{ name = {n["PANE"]}, wall = "north", from = 5.0, width = 0.8 }}]
fixtures = [{{ name = {n["STOVE"]}, at = [5.8, 3.8], size = [0.4, 0.4] }}]
keep_clear = [{{ name = {n["PANEL"]}, at = [5.7, 0.3], size = [0.6, 0.6], facing = "west" }}]
[stations]
{n["FORMULA"]} = {{ size = [1.6, 0.6] }}
{n["MINUS"]} = {{ size = [0.6, 0.6], gives = ["sparks"] }}
{n["FAMILY"]} = {{ size = [1.2, 0.6], minds = ["sparks"] }}
{n["MARKS"]} = {{ size = [0.4, 0.4] }}
{n["IMAGE"]} = {{ size = [0.4, 0.4] }}
time = {{ size = [0.3, 0.3] }}
[vehicles.{n["WIDE"]}]
size = [1.0, 1.5]
inside = 0.0
[jobs.{n["PLUS"]}]
times = "1 per week"
times_range = [26, 104]
route = [{n["FORMULA"]}, {n["MINUS"]}, {n["IMAGE"]}, {n["FAMILY"]}, {door}, "time"]
[jobs.{n["CODES"]}]
times = "2 per week"
times_range = [52, 156]
route = [{n["MARKS"]}, {n["WIDE"]}, {n["MINUS"]}]
[[prefer]]
station = {n["MARKS"]}
near = {n["IMAGE"]}
weight = 1
[layouts.{n["MINUS"]}]
{n["FORMULA"]} = {{ at = [2.0, 3.7], facing = "south" }}
{n["MINUS"]} = {{ at = [4.0, 3.7], facing = "south" }}
{n["FAMILY"]} = {{ at = [4.0, 0.3], facing = "north" }}
{n["MARKS"]} = {{ at = [5.8, 1.7], facing = "west" }}
{n["IMAGE"]} = {{ at = [5.8, 2.7], facing = "west" }}
time = {{ at = [2.5, 0.15], facing = "north" }}
{n["WIDE"]} = {{ at = [1.6, 2.0], facing = "east" }}
[layouts.{n["SCRIPT"]}]
{n["FORMULA"]} = {{ at = [2.0, 3.7], facing = "south" }}
{n["MINUS"]} = {{ at = [3.6, 3.7], facing = "south" }}
{n["FAMILY"]} = {{ at = [4.4, 0.3], facing = "north" }}
{n["MARKS"]} = {{ at = [5.8, 1.7], facing = "west" }}
{n["IMAGE"]} = {{ at = [5.8, 2.7], facing = "west" }}
time = {{ at = [2.5, 0.15], facing = "north" }}
{n["WIDE"]} = {{ at = [1.6, 2.0], facing = "east" }}
"""


@pytest.fixture(autouse=True)
def _nothing_is_fetched(monkeypatch: pytest.MonkeyPatch) -> None:
    """No command reads or writes by way of a network, or of another program."""

    def refused(*words: object, **named: object) -> None:
        raise AssertionError(f"a network or a program is asked for: {words}")

    for name in ("connect", "connect_ex", "sendto"):
        monkeypatch.setattr(socket.socket, name, refused)
    monkeypatch.setattr(socket, "getaddrinfo", refused)
    monkeypatch.setattr("os.system", refused)
    monkeypatch.setattr("subprocess.Popen.__init__", refused)


@pytest.fixture(scope="module")
def shed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("names") / "shed.toml"
    path.write_text(written(), encoding="utf-8")
    return path


# What each kind of output may hold


def close(text: str) -> str:
    """Without blanks and without what breaks lines of a table."""
    return "".join(text.split())


def plain(text: str, *names: str) -> None:
    """Lines for a terminal: nothing that it would obey, and every name, wrapped or not."""
    for c in text:
        assert c in "\n\u200c\u200d" or unicodedata.category(c) not in ("Cc", "Cf", "Cs", "Zl", "Zp"), ascii(
            c
        )
    for name in names:
        assert close(name) in close(text), name


def strings(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for key, held in value.items():
            yield key
            yield from strings(held)
    elif isinstance(value, list):
        for held in value:
            yield from strings(held)


def as_json(text: str, *names: str) -> None:
    held = list(strings(json.loads(text)))
    for name in names:
        assert any(name in each for each in held), name


def svg(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert "<!DOCTYPE" not in text
    policies = re.findall(r'<h:meta http-equiv="Content-Security-Policy" content="([^"]*)"/>', text)
    assert policies == [SVG_POLICY]
    harmless(ET.fromstring(text))


def harmless(root: ET.Element) -> None:
    """No element and no attribute of an svg that runs or fetches anything."""
    for element in root.iter():
        assert element.tag.rpartition("}")[2] not in (
            "script",
            "foreignObject",
            "image",
            "a",
            "iframe",
            "img",
        )
        for key, value in element.attrib.items():
            name = key.rpartition("}")[2]
            assert not name.startswith("on"), name
            assert name != "href" or value.startswith("#"), value
            assert "url(" not in value.replace("url(#", ""), value


class _Page(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.tags: list[str] = []
        self.attributes: list[tuple[str, str | None]] = []
        self.policies: list[str] = []
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attributes: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self.attributes += attributes
        told = dict(attributes)
        if told.get("http-equiv") == "Content-Security-Policy":
            self.policies.append(str(told["content"]))

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def html(path: Path, *names: str) -> None:
    page = _Page()
    page.feed(path.read_text(encoding="utf-8"))
    assert page.tags.count("script") == page.tags.count("style") == 1
    assert not {"img", "iframe", "object", "embed", "form", "base"} & set(page.tags)
    assert not [key for key, _ in page.attributes if key.startswith("on")]
    hrefs = [value for key, value in page.attributes if key in ("href", "src", "xlink:href")]
    assert all(value is not None and value.startswith(("#", "data:,")) for value in hrefs), hrefs
    (policy,) = page.policies
    parts = dict(part.strip().split(" ", 1) for part in policy.split(";"))
    assert parts["default-src"] == "'none'"
    assert re.fullmatch(r"'sha256-[\w+/]+='", parts["script-src"])
    for name in names:
        assert close(name) in close("".join(page.words)), name


def dxf(path: Path) -> None:
    doc = ezdxf.readfile(path)
    assert (doc.audit().errors, doc.audit().fixes) == ([], [])
    told = "".join(entity.plain_text() for entity in doc.modelspace().query("TEXT"))
    for name in (FORMULA, MINUS, FAMILY, WIDE):
        assert close(name)[:6] in close(told), name


def pdf(path: Path) -> None:
    raw = path.read_bytes()
    assert raw.startswith(b"%PDF")
    assert not re.search(rb"/(JavaScript|JS|OpenAction|AA|URI|Launch|EmbeddedFile|AcroForm)\b", raw)


def png(path: Path) -> None:
    raw, at, kinds = path.read_bytes(), 8, set()
    assert raw.startswith(b"\x89PNG\r\n\x1a\n")
    while at < len(raw):
        length = int.from_bytes(raw[at : at + 4], "big")
        kinds.add(raw[at + 4 : at + 8])
        at += 12 + length
    assert kinds <= {b"IHDR", b"pHYs", b"tEXt", b"iTXt", b"IDAT", b"IEND"}


def sheet(text: str) -> list[list[str]]:
    """The rows of a CSV file, none of whose cells a spreadsheet works out."""
    rows = list(csv.reader(text.splitlines()))
    for cell in (cell for row in rows for cell in row):
        assert not cell.startswith(("=", "+", "@", "\t", "\r")), cell
        assert not cell.startswith("-") or re.fullmatch(r"-[\d.]+", cell), cell
    assert {len(row) for row in rows} == {len(rows[0])}
    return rows


# Every command


def told(*words: str, names: tuple[str, ...] = (), status: tuple[int, ...] = (0,)) -> Any:
    """A command that prints lines."""

    def run(shed: Path, out: Path) -> None:
        done = footwork(*(word.replace("FILE", str(shed)) for word in words))
        assert done.status in status, done.err
        plain(done.out, *names)
        plain(done.err)

    return pytest.param(run, id=" ".join(words[:1] + tuple(w for w in words if w.startswith("--"))))


def computed(*words: str, names: tuple[str, ...] = (), status: tuple[int, ...] = (0,)) -> Any:
    """A command that prints JSON."""

    def run(shed: Path, out: Path) -> None:
        done = footwork(*(word.replace("FILE", str(shed)) for word in (words[0], "--json", *words[1:])))
        assert done.status in status, done.err
        as_json(done.out, *names)
        plain(done.err)

    return pytest.param(run, id=f"{words[0]} --json")


def drawn(kind: str, check: Callable[[Path], None], *words: str) -> Any:
    """A command that writes a file."""

    def run(shed: Path, out: Path) -> None:
        path = out / f"it.{kind}"
        done = footwork(*(word.replace("FILE", str(shed)).replace("OUT", str(path)) for word in words))
        assert (done.status, done.err.replace(f"wrote {path}\n", "")) in ((0, ""), (1, "")), done.err
        check(path)

    return pytest.param(run, id=f"{words[0]} {kind}")


def marking(path: Path) -> None:
    rows = sheet(path.read_text(encoding="utf-8"))
    names = {words_of(row[2])[0] for row in rows[1:]}
    assert names >= {FORMULA, MINUS, FAMILY, MARKS, IMAGE, WIDE, "time"}


def rooms(path: Path) -> None:
    rows = sheet(path.read_text(encoding="utf-8"))
    assert len(rows) == 3
    assert words_of(rows[1][-1])[0].startswith(f"'{PANE}'")


SEARCH = ("--pitch", "1", "--iterations", "2", "--processes", "1", "--quiet")
THINGS = (FORMULA, MINUS, FAMILY, MARKS, IMAGE, WIDE)
EVERYTHING = [
    told("score", "FILE", names=(TITLE, MINUS, PLUS, CODES)),
    computed("score", "FILE", names=(TITLE, *THINGS, PLUS, CODES)),
    told("check", "FILE", "--rules"),
    computed("check", "FILE"),
    told("walk", "FILE", "--job", PLUS, names=(TITLE, PLUS, FORMULA, IMAGE, FAMILY)),
    computed("walk", "FILE", "--job", PLUS, names=(TITLE, PLUS, FORMULA)),
    told("compare", "FILE", "--", MINUS, SCRIPT, names=(SCRIPT, PLUS)),
    computed("compare", "FILE", "--", MINUS, SCRIPT, names=(MINUS, SCRIPT)),
    told(
        "whatif", "FILE", f'move "{FAMILY}" by 0.1,0', f'swap "{MARKS}" "{IMAGE}"', "--plan", names=(MINUS,)
    ),
    computed("whatif", "FILE", f'move "{FAMILY}" by 0.1,0', names=(FAMILY, FORMULA)),
    told("mark", "FILE", names=THINGS),
    computed("mark", "FILE", names=(TITLE, *THINGS)),
    told("where", "FILE", "--pitch", "2", "--", MINUS, names=(TITLE, MINUS)),
    computed("where", "FILE", "--pitch", "2", FAMILY, names=(TITLE, FAMILY)),
    told("fit", "FILE", "pillar drill", "--pitch", "1", names=(TITLE, MINUS), status=(0, 1)),
    computed("fit", "FILE", "pillar drill", "--pitch", "1", names=(TITLE, MINUS), status=(0, 1)),
    told("robust", "FILE", names=(MINUS, SCRIPT, PLUS)),
    computed("robust", "FILE", names=(MINUS, SCRIPT, PLUS)),
    computed("weekend", "FILE", "--most", "1", *SEARCH, names=(TITLE, MINUS)),
    told("suggest", "FILE", *SEARCH, names=(TITLE, MINUS)),
    computed("suggest", "FILE", *SEARCH, names=(TITLE, *THINGS)),
    drawn("svg", svg, "draw", "FILE", "--out", "OUT", "--job", PLUS),
    drawn("png", png, "draw", "FILE", "--out", "OUT", "--walking", "--standing"),
    drawn("pdf", pdf, "draw", "FILE", "--out", "OUT", "--compare", MINUS, SCRIPT),
    drawn("dxf", dxf, "draw", "FILE", "--out", "OUT", "--job", PLUS),
    drawn("html", lambda p: html(p, TITLE, *THINGS, PLUS, CODES), "report", "FILE", "--out", "OUT"),
    drawn("csv", marking, "mark", "FILE", "--out", "OUT"),
    drawn("pdf", pdf, "mark", "FILE", "--out", "OUT"),
    drawn("csv", rooms, "sizes", "FILE", "--width", "1.5:6", "--step", "4.5", *SEARCH, "--out", "OUT"),
    drawn("svg", svg, "robust", "FILE", "--out", "OUT"),
]


@pytest.mark.parametrize("run", EVERYTHING)
def test_names_are_letters_in(
    run: Callable[[Path, Path], None], shed: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    before = shed.read_bytes()
    run(shed, tmp_path)
    assert shed.read_bytes() == before


def test_a_sheet_to_tick_reads_back(shed: Path, tmp_path: Path) -> None:
    """Of every place, those that a spreadsheet would work out or that are called as a column is."""
    done = footwork("tally", shed, "--sheet", "--rows", "1")
    assert (done.status, done.err) == (0, "")
    head = sheet(done.out)[0]
    assert head[:2] == ["time", "job"]
    assert set(head[2:]) == {text_cell(FORMULA), text_cell(MINUS), FAMILY, MARKS, IMAGE, WIDE, "'time",
                             f"door:{GATE}"}  # fmt: skip
    rows = [head]
    for k in range(2, len(head)):
        rows.append([f"2026-03-{k:02} 09:00", text_cell(PLUS), *[""] * (len(head) - 2)])
        rows[-1][k] = "x"
    path = tmp_path / "ticked.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    found = tally(load(shed), path)
    assert [job.name for job in found.jobs] == [PLUS] or found.unseen == (CODES,)
    walked_to = {place for a, b, _ in found.chart for place in (a, b)}
    assert walked_to <= {*THINGS, "time", f"door:{GATE}"}


def test_walks_without_a_job_are_named_by_their_places_however_long(shed: Path, tmp_path: Path) -> None:
    path = tmp_path / "seen.csv"
    names = [WIDE, MARKS, WIDE, text_cell(FORMULA), "'time", MARKS, WIDE]
    rows = "".join(f"{k},{name}\n" for k, name in enumerate(names))
    path.write_text(f"order,place\n{rows}", encoding="utf-8")
    found = tally(load(shed), path, weeks=1)
    routes = {job.route: job.name for job in found.jobs}
    assert set(routes) == {(WIDE, MARKS), (MARKS, WIDE), (WIDE, FORMULA), (FORMULA, "time"), ("time", MARKS)}
    assert len(set(routes.values())) == 5
    assert {job.name for job in found.scenario.jobs} == {PLUS, CODES, *routes.values()}
    assert all(len(name) <= 60 for name in routes.values())


def test_what_the_page_hears_is_text_and_harmless_drawings(shed: Path) -> None:
    scenario = load(shed)
    layout = scenario.layouts[0]
    desk, made = Desk(scenario, layout), drawing.drawing(scenario, layout)
    messages.obey(desk, {"do": "choose", "names": [FAMILY]})
    messages.obey(desk, {"do": "job", "name": PLUS})
    messages.obey(desk, {"do": "turn", "names": [FAMILY], "degrees": 45})
    at_first, now = walked(scenario, layout), walked(scenario, desk.layout)
    wanted = Wanted(desk.layout, desk.revision, PLUS)
    found = Found(wanted, now, failed_checks(now, Memory(scenario)), True)
    heard = [
        messages.plan(desk, made),
        messages.placed(desk, made, 1),
        messages.figures(found, made, at_first),
        messages.told(f"there is no {IMAGE}"),
    ]
    for message in heard:
        text = json.dumps(message)
        as_json(text)
        for key, value in message.items():
            if key.endswith("svg") and value:
                harmless(ET.fromstring(f'<svg xmlns:xlink="http://www.w3.org/1999/xlink">{value}</svg>'))
    assert {thing["name"] for thing in heard[0]["things"]} == {*THINGS, "time"}
    assert heard[0]["title"] == TITLE


REFUSED = {
    "\x00": "U+0000 NUL",
    "\t": "U+0009 TAB",
    "\x1b": "U+001B ESCAPE",
    "\x9b": "U+009B a control character",
    "\u00ad": "U+00AD SOFT HYPHEN",
    "\u200f": "U+200F RIGHT-TO-LEFT MARK",
    "\u2028": "U+2028 LINE SEPARATOR",
    "\u202e": "U+202E RIGHT-TO-LEFT OVERRIDE",
    "\u2066": "U+2066 LEFT-TO-RIGHT ISOLATE",
    "\ufeff": "U+FEFF ZERO WIDTH NO-BREAK SPACE",
    "\U000e0001": "U+E0001 LANGUAGE TAG",
    "\ue000": "U+E000 which has no name",
}


@pytest.mark.parametrize("letter", REFUSED, ids=REFUSED.values())
def test_what_cannot_be_seen_is_refused_by_its_name(letter: str, tmp_path: Path) -> None:
    """In each place of a file, in moves, as the name of a layout, in a sheet; never printed as it is."""
    name = f'"a\\U{ord(letter):08X}b"'
    text = written()
    spoilt = [
        text.replace("\ntime =", f"\n{name} ="),
        text.replace("[jobs.", f"[jobs.{name}]\ntimes = 1\nroute = []\n[jobs.", 1),
        text.replace("[layouts.", f"[layouts.{name}]\n[layouts.", 1),
        text.replace("name = ", f"name = {name} #", 1),
    ]
    answers: list[Done] = []
    for k, each in enumerate(spoilt):
        path = tmp_path / f"{k}.toml"
        path.write_text(each, encoding="utf-8")
        answers.append(footwork("check", path))
    good = tmp_path / "good.toml"
    good.write_text(text, encoding="utf-8")
    if letter != "\x00":  # no word of a command line can hold that
        answers.append(footwork("whatif", good, f"add a{letter}b 0.1x0.1 at 3,2"))
        answers.append(footwork("suggest", good, "--save", f"a{letter}b"))
    rows = tmp_path / "rows.csv"
    rows.write_text(f"order,place,job\n1,time,a{letter}b\n2,{FAMILY},a{letter}b\n", encoding="utf-8")
    answers.append(footwork("tally", good, rows, "--weeks", "1"))
    for done in answers:
        assert done.status == 2
        plain(done.out + done.err)
        assert f"{REFUSED[letter]} (letter 2)" in done.err or letter in "\t\u2028", done.err
