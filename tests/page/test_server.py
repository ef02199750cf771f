"""Who is let in, what they get, and the conversation: through the application, without a network."""

from __future__ import annotations

import asyncio
import socket
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient
from starlette.websockets import WebSocketDisconnect

from footwork.page.keeping.opening import opened
from footwork.page.server import HOST, PAGE_FILES, Address, Host, app, listen
from footwork.scoring import score

SHED = Path(__file__).parents[2] / "scenarios" / "frame-nook.toml"
ADDRESS = Address(8123, "the-token")
ORIGIN = {"origin": ADDRESS.origin}
WS = ADDRESS.origin.replace("http", "ws", 1)


@pytest.fixture
def host(tmp_path: Path) -> Iterator[Host]:
    path = tmp_path / "nook.toml"
    path.write_text(SHED.read_text(encoding="utf-8"), encoding="utf-8")
    found = Host(opened(path), lambda: closed.append(True))
    yield found
    found.end()
    closed.clear()


closed: list[bool] = []


@pytest.fixture
def client(host: Host) -> Iterator[TestClient]:
    with TestClient(app(host, ADDRESS), base_url=ADDRESS.origin) as found:
        yield found


def test_the_page_and_its_files_are_served(client: TestClient) -> None:
    page = client.get("/the-token/")
    assert (page.status_code, page.headers["content-type"]) == (200, "text/html; charset=utf-8")
    for name in PAGE_FILES:
        found = client.get(f"/the-token/{name}")
        assert found.status_code == 200
        assert found.headers["x-content-type-options"] == "nosniff"


def test_nothing_inline_may_run(client: TestClient) -> None:
    policy = dict(
        part.strip().split(" ", 1)
        for part in client.get("/the-token/").headers["content-security-policy"].split(";")
    )
    assert policy["default-src"] == "'none'"
    assert policy["script-src"] == policy["style-src"] == "'self'"
    assert policy["frame-ancestors"] == policy["base-uri"] == policy["form-action"] == "'none'"
    assert "unsafe" not in str(policy)


@pytest.mark.parametrize(
    ("path", "headers"),
    [
        ("/", {}),
        ("/wrong/", {}),
        ("/the-token", {}),
        ("/the-tokenx/", {}),
        ("/the-token/../server.py", {}),
        ("/the-token/nothing.js", {}),
        ("/the-token/", {"host": "evil.example:8123"}),
        ("/the-token/", {"host": "localhost:8123"}),
        ("/the-token/", {"origin": "http://evil.example"}),
        ("/the-token/", {"origin": "null"}),
        ("/the-token/", {"sec-fetch-site": "cross-site"}),
        ("/the-token/", {"sec-fetch-site": "same-site"}),
    ],
)
def test_others_get_nothing(client: TestClient, path: str, headers: dict[str, str]) -> None:
    found = client.get(path, headers=headers)
    assert (found.status_code, found.text) == (404, "there is no such page\n")
    assert "content-security-policy" in found.headers


@pytest.mark.parametrize("method", ["post", "put", "delete"])
def test_the_page_takes_no_uploads(client: TestClient, method: str) -> None:
    assert getattr(client, method)("/the-token/").status_code == 405


@pytest.mark.parametrize(
    ("path", "headers"),
    [
        ("/the-token/talk", {}),
        ("/wrong/talk", ORIGIN),
        ("/the-token/talk", {"origin": "http://evil.example"}),
        ("/the-token/talk", {**ORIGIN, "host": "evil.example:8123"}),
        ("/the-token/talk", {**ORIGIN, "sec-fetch-site": "cross-site"}),
    ],
)
def test_nobody_else_can_talk(client: TestClient, path: str, headers: dict[str, str]) -> None:
    with pytest.raises(WebSocketDisconnect), client.websocket_connect(f"{WS}{path}", headers=headers):
        pass


class Talk:
    """One conversation, as the page has it."""

    def __init__(self, socket: Any) -> None:
        self.socket = socket
        self.number = 0

    def tell(self, **message: object) -> None:
        self.number += 1
        self.socket.send_json({**message, "n": self.number})

    def until(self, say: str, **wanted: object) -> Any:
        while True:
            message = self.socket.receive_json()
            if message["say"] == say and all(message.get(k) == v for k, v in wanted.items()):
                return message


@pytest.fixture
def talk(client: TestClient) -> Iterator[Talk]:
    with client.websocket_connect(f"{WS}/the-token/talk", headers=ORIGIN) as socket:
        yield Talk(socket)


def test_a_conversation(talk: Talk, host: Host) -> None:
    plan = talk.until("plan")
    name = next(thing["name"] for thing in plan["things"] if not thing["fixed"])
    talk.tell(do="choose", names=[name])
    talk.tell(do="drag", names=[name], dx=-0.2, dy=-0.2, free=True)
    talk.tell(do="drop")
    placed = talk.until("placed", heard=3)
    assert placed["undo"] == f"move {name}"
    told = talk.until("figures", revision=placed["revision"], words=True)
    assert told["metres_per_year"] == score(host.desk.scenario, host.desk.layout).metres_per_year
    talk.tell(do="undo")
    talk.until("placed", heard=4)
    assert not host.desk.unsaved


@pytest.mark.parametrize(
    "words",
    ["", "{", "[]", "7", '"do"', '{"do": "fly"}', pytest.param("x" * 200_000, id="long"), '{"do": "save"}'],
)
def test_what_is_no_message_is_told_in_one_line(talk: Talk, words: str) -> None:
    talk.until("names")
    talk.socket.send_text(words)
    told = talk.until("told")
    assert told["fault"]
    assert "\n" not in told["text"]
    talk.tell(do="choose", names=[])
    talk.until("placed", heard=1)


@pytest.mark.parametrize(
    "message",
    [
        {"do": "edit"},
        {"do": "edit", "edit": 3},
        {"do": "edit", "edit": "walls"},
        {"do": "edit", "edit": "walls", "walls": 7},
        {"do": "edit", "edit": "walls", "walls": [7, None]},
        {"do": "edit", "edit": "walls", "walls": [{"length": [], "way": {}}]},
        {"do": "edit", "edit": "walls", "walls": [{"length": "5", "way": "up"}] * 3},
        {"do": "edit", "edit": "opening", "part": "walls"},
        {"do": "edit", "edit": "opening", "part": "doors", "index": 10**9, "width": "1"},
        {"do": "edit", "edit": "opening", "part": "doors", "index": -1, "width": "1"},
        {"do": "edit", "edit": "fixture", "east": "1e999", "north": "nan"},
        {"do": "edit", "edit": "fixture", "east": "1", "north": "1", "kind": "]]"},
        {"do": "edit", "edit": "station", "new": True, "name": "a\nb", "wide": "1", "deep": "1"},
        {"do": "edit", "edit": "station", "new": True, "name": '"]\n[x]', "wide": "1", "deep": "1"},
        {
            "do": "edit",
            "edit": "station",
            "new": True,
            "name": "x",
            "wide": "1",
            "deep": "1",
            "stand": "front",
        },
        {"do": "edit", "edit": "vehicle", "new": True, "name": "x", "wide": "1", "deep": "1", "inside": "x"},
        {"do": "edit", "edit": "job", "name": "x", "times": "1", "route": [{"repeat": True, "route": ["x"]}]},
        {
            "do": "edit",
            "edit": "job",
            "name": "x",
            "times": "1",
            "route": [{"repeat": 10**12, "route": ["x"]}],
        },
        {"do": "edit", "edit": "delete part", "part": "doors", "index": "0"},
        {"do": "edit", "edit": "delete thing", "name": {}},
        {"do": "at wall", "at": ["a", "b"]},
        {"do": "take up"},
        {"do": "save", "name": "", "agreed": []},
    ],
    ids=str,
)
def test_an_edit_that_cannot_be_is_one_line_and_nothing_happens(
    talk: Talk, host: Host, message: dict[str, object]
) -> None:
    talk.until("names")
    talk.tell(**message)
    told = talk.until("told")
    assert told["fault"]
    assert "\n" not in told["text"]
    talk.until("placed", heard=1)
    assert (host.desk.past, host.desk.unsaved) == ([], False)


def test_saving(talk: Talk, host: Host) -> None:
    layout = host.desk.layout.name
    talk.tell(do="save", name=layout, agreed=[])
    asked = talk.until("ask")
    assert asked["kind"] == "over"
    talk.tell(do="save", name=layout, agreed=["over"])
    assert talk.until("told") == {"say": "told", "text": f"saved as layout {layout!r}", "fault": False}


def test_a_page_opened_anew_takes_over(client: TestClient, talk: Talk) -> None:
    talk.until("plan")
    with client.websocket_connect(f"{WS}/the-token/talk", headers=ORIGIN) as second:
        talk.until("elsewhere")
        other = Talk(second)
        other.until("plan")
        other.tell(do="choose", names=[])
        other.until("placed", heard=1)


def test_the_pages_own_close_ends_it(talk: Talk) -> None:
    talk.tell(do="close")
    talk.until("placed", heard=1)
    assert closed == [True]


def test_small_messages_wait_for_no_acknowledgement() -> None:
    """Where a connection gathers small messages, figures come 40 ms late."""
    found: list[int] = []

    async def answer(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        found.append(writer.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
        writer.close()

    async def serve_one() -> None:
        listening = listen(0)
        async with await asyncio.start_server(answer, sock=listening):
            reader, writer = await asyncio.open_connection(HOST, listening.getsockname()[1])
            await reader.read()
            writer.close()

    asyncio.run(serve_one())
    assert found
    assert all(found)
