"""Serving the page: on 127.0.0.1 alone, to the one browser that knows the token in the address."""

from __future__ import annotations

import asyncio
import json
import secrets
import socket
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from importlib.resources import files
from threading import Thread
from typing import Any

import uvicorn
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route, WebSocketRoute
from starlette.websockets import WebSocket, WebSocketDisconnect

from footwork.model.errors import FootworkError, UsageError
from footwork.model.scenario import Layout, Scenario
from footwork.page import drawing, messages
from footwork.page.aside.asides import Asides
from footwork.page.beside import Beside
from footwork.page.desk import Desk
from footwork.page.editing import telling as making
from footwork.page.editing.edits import edit
from footwork.page.editing.free_floor import placed
from footwork.page.guard import Guard
from footwork.page.keeping import telling as keeping
from footwork.page.keeping.opening import Opened
from footwork.page.keeping.shelf import Shelf
from footwork.page.reckoning import Subject, Wanted
from footwork.page.saving import propose

HOST = "127.0.0.1"
KINDS = {"html": "text/html", "css": "text/css", "js": "text/javascript"}
PAGE_FILES = (
    "page.html", "page.css", "main.js", "talk.js", "put.js", "plan.js", "panel.js", "make.js", "jobs.js",
    "recover.js", "spots.js", "better.js",
)  # fmt: skip
LONGEST = 100_000
"""Characters of a message from the page."""
SWITCH = 0.001
"""Seconds after which the thread that places names lets the hand be answered."""
MOVES_NAMES = frozenset(("drop", "give up", "turn", "nudge", "measure", "undo", "redo", "vehicle", "job"))
"""What is followed by placing the names anew."""
WATCHED = 0.5
"""Seconds between two looks at whether the file was changed elsewhere."""


@dataclass(frozen=True)
class Address:
    """Where the page is served."""

    port: int
    token: str

    @property
    def origin(self) -> str:
        return f"http://{HOST}:{self.port}"

    @property
    def url(self) -> str:
        return f"{self.origin}/{self.token}/"


class Host:
    """One desk and the page that shows it; a page opened anew takes over from the one before."""

    def __init__(self, found: Opened, close: Callable[[], None]) -> None:
        self.shelf = Shelf(found)
        self.found = found
        self._close = close
        self._watching: asyncio.Task[None] | None = None
        self._there: Opened | None = None
        self._screen: tuple[float, float] | None = None
        if found.scenario is not None and found.layout is not None:
            self._lay_out(found.scenario, found.layout)
        self._beside: Beside | None = None
        self._asides = Asides(self._from_thread)
        self._asked: tuple[object, ...] | None = None
        self._queue: asyncio.Queue[str | None] | None = None
        self._loop: asyncio.AbstractEventLoop | None = None
        self._naming: asyncio.Task[None] | None = None
        self._last: dict[str, str] = {}

    def _lay_out(self, scenario: Scenario, layout: Layout) -> None:
        self.desk = Desk(scenario, layout)
        self._draw()

    def _draw(self) -> None:
        self.made = drawing.drawing(self.desk.scenario, self.desk.layout, self._screen)
        self._drawn = self.desk.scenario

    @property
    def broken(self) -> bool:
        """Whether the file has faults and nothing of it is on the desk."""
        return not hasattr(self, "desk")

    async def talk(self, page: WebSocket) -> None:
        """Hear one page, and tell it, until it goes."""
        await page.accept()
        self._screen = _screen(page.query_params.get("wide"), page.query_params.get("tall"))
        self._loop = asyncio.get_running_loop()
        if self._queue is not None:
            self._queue.put_nowait(json.dumps({"say": "elsewhere"}))
            self._queue.put_nowait(None)
        queue: asyncio.Queue[str | None] = asyncio.Queue()
        self._queue = queue
        sender = asyncio.create_task(_send_all(page, queue))
        if self._watching is None:
            self._watching = asyncio.create_task(self._watch())
        self._begin()
        try:
            while True:
                await self._hear(await page.receive_text())
        except WebSocketDisconnect:
            pass
        finally:
            if self._queue is queue:
                self._queue = None
                if not self.broken:
                    self.desk.give_up()
            sender.cancel()

    def end(self) -> None:
        """Nothing more is reckoned."""
        if self._beside is not None:
            self._beside.dismiss()
        self._asides.end()
        if self._beside is not None:
            self._beside.end()
        self.shelf.end()

    def _begin(self) -> None:
        if self.broken:
            self._tell(keeping.faults(self.found))
            return
        self._asides.begin()
        self._show_plan({"propose": propose(self.desk), "catalogue": making.catalogue()})
        if self._there is not None:
            self._tell(keeping.changed(self._there))
        self._tell(keeping.left(self.shelf))

    def _show_plan(self, also: dict[str, Any]) -> None:
        """All that the page shows, from the start."""
        self._draw()
        self._tell(messages.plan(self.desk, self.made) | making.parts(self.desk.scenario) | also)
        self._tell(messages.placed(self.desk, self.made))
        opened = placed(self.desk.scenario, {**self.desk.layout.placements, **self.desk.opened.placements})
        subject = Subject(self.made, Layout(self.desk.opened.name, opened))
        if self._beside is None:
            self._beside = Beside(subject, self._from_thread)
        else:
            self._beside.turn_to(subject)
        self._asked = None
        self._ask()
        self._name()

    async def _watch(self) -> None:
        """Look at the file now and then: a broken one may have been mended, another be changed elsewhere."""
        while True:
            await asyncio.sleep(WATCHED)
            found = await asyncio.to_thread(self.shelf.changed)
            if found is None:
                continue
            if not self.broken:
                self._there = found
                self._tell(keeping.changed(found))
                continue
            self.found = found
            self.shelf.keeper.text = found.text
            if found.scenario is not None and found.layout is not None:
                self._lay_out(found.scenario, found.layout)
            self._begin()

    async def _hear(self, words: str) -> None:
        heard: object = None
        try:
            message = json.loads(words) if len(words) <= LONGEST else None
            if not isinstance(message, dict):
                raise UsageError("the page sent something that is no message")
            heard = message.get("n")
            await self._do(message)
        except (FootworkError, ValueError, RecursionError) as fault:  # the last of one nested too deeply
            lines = fault.lines if isinstance(fault, FootworkError) else ("the page sent no message",)
            self._tell(messages.told("; ".join(lines)))
        if self.broken:
            return
        if self.desk.scenario is not self._drawn:
            if self.desk.scenario.with_(layouts=self._drawn.layouts) == self._drawn:
                self._drawn = self.desk.scenario  # saved: nothing looks otherwise or costs more
            else:
                self._show_plan({})
        self._ask()  # first: while the answer is made, figures are reckoned
        self._tell(messages.placed(self.desk, self.made, heard))
        self._asides.follow(self.desk, self.made)
        self.shelf.note(self.desk)

    async def _do(self, message: dict[str, Any]) -> None:
        does = str(message.get("do"))
        if does == "close":
            self._close()
        elif self.broken:
            raise UsageError(f"{self.shelf.path.name} has faults: mend them first")
        elif does == "screen":
            self._screen = _screen(message.get("wide"), message.get("tall"))
            self._show_plan({})
        elif does == "save":
            await self._save(message)
        elif does == "walls":
            self._tell(making.walls(self.desk.scenario, message))
        elif does == "at wall":
            self._tell(making.at_wall(self.desk.scenario, message))
        elif does == "edit":
            done = edit(self.desk.scenario, self.desk.layout, message)
            self.desk.change(done.words, done.scenario, done.layout)
            self._tell(making.done(done))
        elif does in keeping.DOES:
            self._tell(keeping.DOES[does](self.shelf, self.desk, self._there))
            self._there = None if does == "take up" else self._there
        elif does in self._asides.does:
            self._asides.does[does](self.desk, self.made, message)
        else:
            self._asides.before(self.desk, does)
            messages.obey(self.desk, message)
            if does in MOVES_NAMES:
                self._name()

    async def _save(self, message: dict[str, Any]) -> None:
        name, agreed = message.get("name"), message.get("agreed")
        if not isinstance(name, str) or not isinstance(agreed, list):
            raise UsageError("the page sent no name to save under")
        self.desk.drop()
        given = frozenset(str(word) for word in agreed)
        save = self.shelf.keeper.save
        ask = await asyncio.to_thread(save, self.desk, self.desk.layout, name.strip(), given)
        if ask is not None:
            self._tell({"say": "ask", "kind": ask.kind, "text": ask.line, "name": name, "agreed": agreed})
            return
        self._there = None
        self._tell(keeping.unchanged())
        self._tell(messages.told(f"saved as layout {name.strip()!r}", fault=False))

    # figures, from the process that reckons

    def _ask(self) -> None:
        """Have reckoned what the desk shows, unless it is in hand already."""
        desk = self.desk
        now = (desk.revision, desk.job, desk.out if desk.job else None)
        if self._beside is not None and now != self._asked:
            self._asked = now
            self._beside.ask(Wanted(desk.layout, desk.revision, desk.job, desk.out))

    def _from_thread(self, words: str) -> None:
        if self._loop is not None:
            with suppress(RuntimeError):  # the loop has ended
                self._loop.call_soon_threadsafe(self._put, words)

    # names, beside it

    def _name(self) -> None:
        if self._naming is None or self._naming.done():
            self._naming = asyncio.create_task(self._place_names())

    async def _place_names(self) -> None:
        """Place the names for where things stand, again if that has changed meanwhile."""
        while True:
            desk, made = self.desk, self.made
            revision, layout, out = desk.revision, desk.layout, desk.out
            svg = await asyncio.to_thread(drawing.names, made, layout, out)
            if self.made is made and (desk.revision, desk.out) == (revision, out):
                self._tell(messages.names(made, layout, svg))
                return
            if desk.hand is not None:
                return  # in the hand: they are placed when it lets go

    def _tell(self, message: dict[str, Any]) -> None:
        self._put(json.dumps(message))

    def _put(self, words: str) -> None:
        if self._queue is not None:
            self._queue.put_nowait(words)


def _screen(wide: object, tall: object) -> tuple[float, float] | None:
    """Pixels that the plan has on the page; None where it does not say."""
    try:
        size = (float(str(wide)), float(str(tall)))
    except ValueError:
        return None
    return size if all(0.0 < pixels < 1e5 for pixels in size) else None


async def _send_all(page: WebSocket, queue: asyncio.Queue[str | None]) -> None:
    with suppress(WebSocketDisconnect, RuntimeError):
        while (words := await queue.get()) is not None:
            await page.send_text(words)
        await page.close()


def app(host: Host, address: Address) -> Any:
    """The application: the page's files and its one conversation, behind the guard."""

    async def send_file(request: Request) -> Response:
        name = request.path_params.get("name") or "page.html"
        if name not in PAGE_FILES:
            return Response("there is no such page\n", 404, media_type="text/plain")
        content = files("footwork.page").joinpath("files", name).read_bytes()
        return Response(content, media_type=KINDS[name.rpartition(".")[2]])

    inner = Starlette(
        routes=[
            WebSocketRoute("/talk", host.talk),
            Route("/", send_file, methods=["GET"]),
            Route("/{name}", send_file, methods=["GET"]),
        ]
    )
    return Guard(inner, address.origin, address.token)


def serve(found: Opened, port: int, say: Callable[[str], None], show: Callable[[str], None]) -> None:
    """Serve the page until it is closed or Ctrl-C; ``port`` 0 takes any that is free.

    ``say`` is given the address, and then, in a thread of its own, ``show``.  Raises UsageError where the
    port cannot be had.
    """
    listening = listen(port)
    address = Address(listening.getsockname()[1], secrets.token_urlsafe(24))
    sys.setswitchinterval(SWITCH)

    def close() -> None:
        server.should_exit = True

    host = Host(found, close)
    settings = uvicorn.Config(
        app(host, address),
        log_level="critical",
        access_log=False,
        lifespan="off",
        server_header=False,
        ws_max_size=LONGEST * 4,
        timeout_graceful_shutdown=1,
    )
    server = uvicorn.Server(settings)
    say(address.url)
    Thread(target=show, args=(address.url,), daemon=True).start()
    try:
        with suppress(KeyboardInterrupt):
            server.run(sockets=[listening])
    finally:
        host.end()
        listening.close()


def listen(port: int) -> socket.socket:
    """A socket that listens on this machine alone; ``port`` 0 takes any that is free.

    Raises UsageError where the port cannot be had.
    """
    # asyncio lets small messages go at once only where a socket says that it is TCP; else they wait 40 ms.
    listening = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    try:
        if sys.platform != "win32":
            listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((HOST, port))
        listening.listen(64)
    except OSError as fault:
        listening.close()
        reason = (fault.strerror or str(fault)).lower()
        raise UsageError(
            f"--port {port}: it cannot be had: {reason}; give another, or none to take any that is free"
        ) from None
    return listening
