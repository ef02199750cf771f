"""Who may talk to the page's program: a browser that was given the address, from the page itself.

Another page in the same browser does not know the token, cannot send its own Origin away, and, should its
name be made to point here, sends its own Host.
"""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

SAME = (b"same-origin", b"none")
"""What a browser says of a request that the person or the page itself made."""


def content_policy(origin: str) -> str:
    """What the page may do: run its own files, talk to its own program, nothing else."""
    talk = origin.replace("http://", "ws://", 1)
    return (
        f"default-src 'none'; script-src 'self'; style-src 'self'; connect-src 'self' {talk}; "
        "img-src 'self' data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
    )


class Guard:
    """Lets through to ``inner`` what has the token in its path, the own Host, and no foreign Origin."""

    def __init__(self, inner: App, origin: str, token: str) -> None:
        self._inner, self._origin, self._token = inner, origin, token
        self._host = origin.removeprefix("http://").encode()
        policy = content_policy(origin)
        self._headers = [
            (b"content-security-policy", policy.encode()),
            (b"x-content-type-options", b"nosniff"),
            (b"referrer-policy", b"no-referrer"),
            (b"cache-control", b"no-store"),
            (b"cross-origin-opener-policy", b"same-origin"),
            (b"cross-origin-resource-policy", b"same-origin"),
        ]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request or conversation."""
        if scope["type"] == "lifespan":
            await self._inner(scope, receive, send)
            return
        rest = self._rest(scope)
        if rest is None:
            await self._refuse(scope, send)
            return

        async def with_headers(message: MutableMapping[str, Any]) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message.get("headers", ()), *self._headers]
            await send(message)

        await self._inner({**scope, "path": rest, "raw_path": rest.encode()}, receive, with_headers)

    def _rest(self, scope: Scope) -> str | None:
        """The path after the token; None for whoever may not come in."""
        headers: dict[bytes, list[bytes]] = {}
        for key, value in scope["headers"]:
            headers.setdefault(key.lower(), []).append(value)
        if headers.get(b"host") != [self._host]:
            return None
        origins = headers.get(b"origin", [])
        if any(origin != self._origin.encode() for origin in origins):
            return None
        talks = scope["type"] == "websocket"
        if talks and not origins:
            return None
        token, slash, rest = scope["path"].removeprefix("/").partition("/")
        if not slash or not secrets.compare_digest(token.encode(), self._token.encode()):
            return None
        if any(site not in SAME for site in headers.get(b"sec-fetch-site", [])):
            return None
        return f"/{rest}"

    async def _refuse(self, scope: Scope, send: Send) -> None:
        if scope["type"] == "websocket":
            await send({"type": "websocket.close", "code": 1008})
            return
        start = {"type": "http.response.start", "status": 404, "headers": [(b"content-type", b"text/plain")]}
        await send({**start, "headers": [*start["headers"], *self._headers]})  # type: ignore[misc]
        await send({"type": "http.response.body", "body": b"there is no such page\n"})
