"""What stands between the network and the page: host, origin, size, and what a browser may do with an answer.

A page on 127.0.0.1 can be reached by every other page the user has open. So each request must
name this very host (a name that was made to point here does not), whatever changes something
must come from our own pages, and bodies are cut off at their limit while they arrive.
"""

from __future__ import annotations

import asyncio
import re
import time
from collections.abc import Awaitable, Callable, MutableMapping
from typing import Any

from jawright.doors.web.token import Gate

BODY_BYTES = 60_000_000
"""Largest body that is taken [bytes]: a part file."""

FORM_BYTES = 200_000
"""Largest body of anything else [bytes]."""

ALL_BYTES = 4 * BODY_BYTES
"""Bytes of all bodies that are in memory at once; one more is refused."""

UPLOAD = re.compile(r"/jobs|/jobs/[a-z0-9-]{1,80}/incoming")
"""Where a part file is taken."""

BODY_SECONDS = 120.0
"""Time in which a body has to arrive [s]."""

POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; connect-src 'self'; "
    "font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = (
    (b"content-security-policy", POLICY.encode()),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),  # with none at all a form sends the origin "null"
    (b"x-frame-options", b"DENY"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
)
SAFE = ("GET", "HEAD")

Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Message, Receive, Send], Awaitable[None]]


class Guard:
    """Refuse what does not come from our own pages, before anything of ours sees it.

    Parameters
    ----------
    app : what is guarded.
    hosts : values of the Host header that name this server: "127.0.0.1:8731", "localhost:8731".
    gate : asks for the token when the server is open to a network.
    """

    def __init__(self, app: App, *, hosts: frozenset[str], gate: Gate | None = None) -> None:
        self.app = app
        self._hosts = hosts
        self._gate = gate
        self._arriving = _Arriving()

    async def __call__(self, scope: Message, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            if scope["type"] == "lifespan":
                await self.app(scope, receive, send)
            return
        refusal = self._refusal(scope)
        if refusal is not None:
            await _answer(send, *refusal)
            return
        if self._gate is not None and not self._gate.is_open(scope["headers"]):
            query = scope.get("query_string", b"").decode("latin-1")
            status, more, text = await self._gate.answer(scope["path"], query)
            await _answer(send, status, text, more)
            return
        limit = BODY_BYTES if UPLOAD.fullmatch(scope["path"]) else FORM_BYTES
        exchange = _Exchange(receive, send, limit, self._arriving)
        try:
            await exchange.run(self.app, scope)
        finally:
            self._arriving.bytes -= exchange.taken

    def _refusal(self, scope: Message) -> tuple[int, str] | None:
        headers = scope["headers"]
        hosts = [v.decode("latin-1").lower() for k, v in headers if k == b"host"]
        if len(hosts) != 1 or hosts[0] not in self._hosts:
            return 421, "this server answers to its own address only"
        path = scope["path"]
        if ".." in path or "\\" in path or "\0" in path or "//" in path:
            return 404, "there is nothing here"
        if scope["method"] in SAFE:
            return None
        if scope["method"] != "POST":
            return 405, "only GET and POST are known here"
        origins = [v.decode("latin-1").lower() for k, v in headers if k == b"origin"]
        site = [v.decode("latin-1").lower() for k, v in headers if k == b"sec-fetch-site"]
        if len(origins) != 1 or origins[0] not in {f"http://{h}" for h in self._hosts}:
            return 403, "changes are taken from this server's own pages only"
        if site and site[0] != "same-origin":
            return 403, "changes are taken from this server's own pages only"
        return None


class _Arriving:
    """Bytes of all bodies that are in memory now."""

    def __init__(self) -> None:
        self.bytes = 0


class _Exchange:
    """One request and its answer: the body counted as it arrives, our headers put on the answer."""

    def __init__(self, receive: Receive, send: Send, limit: int, arriving: _Arriving) -> None:
        self._receive, self._send, self._limit = receive, send, limit
        self._arriving = arriving
        self.taken = 0
        self._crowded = False
        self._began = time.monotonic()
        self._started = self._whole = self._late = False

    async def run(self, app: App, scope: Message) -> None:
        try:
            await app(scope, self._counted, self._guarded)
        except Exception:
            if not self._over:
                raise
        if self._late and not self._started:
            await _answer(self._send, 408, f"the body did not arrive within {BODY_SECONDS:g} s")
        elif self._crowded and not self._started:
            await _answer(self._send, 503, "too many files arrive at once: send this one again later")
        elif self._over and not self._started:
            await _answer(self._send, 413, f"the body is larger than {self._limit / 1e6:g} MB")

    @property
    def _over(self) -> bool:
        return self._late or self._crowded or self.taken > self._limit

    async def _counted(self) -> Message:
        if self._over:
            return {"type": "http.disconnect"}
        if self._whole:  # what comes now is only that the reader leaves
            return await self._receive()
        left = BODY_SECONDS - (time.monotonic() - self._began)
        try:
            message = await asyncio.wait_for(self._receive(), max(left, 0.0))
        except TimeoutError:
            self._late = True
            return {"type": "http.disconnect"}
        self._whole = not message.get("more_body", False)
        if message["type"] == "http.request":
            came = len(message.get("body", b""))
            self.taken += came
            self._arriving.bytes += came
            self._crowded = self._arriving.bytes > ALL_BYTES
            if self._over:  # to what is behind us the sender has left
                return {"type": "http.disconnect"}
        return message

    async def _guarded(self, message: Message) -> None:
        if self._over and not self._started:
            return  # what is said about a sender that left is not sent
        if message["type"] == "http.response.start":
            self._started = True
            own = {k.lower() for k, _ in message.get("headers", ())}
            rest = (h for h in HEADERS if h[0] not in own)
            message = {**message, "headers": [*message.get("headers", ()), *rest]}
        await self._send(message)


async def _answer(send: Send, status: int, text: str, more: list[tuple[bytes, bytes]] | None = None) -> None:
    body = (text + "\n").encode()
    headers = [
        *(more if more is not None else [(b"content-type", b"text/plain; charset=utf-8")]),
        (b"content-length", str(len(body)).encode()),
        (b"connection", b"close"),
        *HEADERS,
    ]
    await send({"type": "http.response.start", "status": status, "headers": headers})
    await send({"type": "http.response.body", "body": body})
