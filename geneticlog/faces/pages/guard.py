"""What every request passes before anything looks at it: host, origin, size; and the headers of every answer.

A page elsewhere cannot write (Origin and Sec-Fetch-Site are checked on whatever is not a mere look), a name that was
pointed at this machine is refused (Host), and a body is bounded before it is read. Sources: Fetch Metadata and Content
Security Policy Level 3, W3C; DNS rebinding is why Host is checked even on the loopback address [from memory].
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Collection, MutableMapping
from typing import Any
from urllib.parse import urlsplit

Scope = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[MutableMapping[str, Any]]]
Send = Callable[[MutableMapping[str, Any]], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

LOOKS = {"GET", "HEAD"}
MOST_BYTES = 64_000  # of a form or a fish
MOST_UPLOAD_BYTES = 25_000_000  # of a photo or a lab's file
SECONDS, UPLOAD_SECONDS = 20, 120  # in which a body has to be here
UPLOADS = ("/photo", "/returns/look")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob: data:; connect-src 'self';"
    " font-src 'self'; worker-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'; frame-src 'self'"
)
HEADERS = [
    (b"x-content-type-options", b"nosniff"),
    # "no-referrer" would make a browser send our own forms with Origin: null
    (b"referrer-policy", b"same-origin"),
    (b"cross-origin-opener-policy", b"same-origin"),
    (b"cross-origin-resource-policy", b"same-origin"),
    (b"permissions-policy", b"camera=(self), geolocation=(), microphone=()"),
]


class TooMuch(Exception):
    """A body grew past its bound, or did not come in time."""

    def __init__(self, status: int, text: str) -> None:
        self.status, self.text = status, text


class Guard:
    """Checks each request and dresses each answer.

    hosts
        names and addresses under which these pages are served, with their port: ``127.0.0.1:8765``.
    """

    def __init__(self, app: App, hosts: Collection[str]) -> None:
        self.app = app
        self.hosts = {host.lower() for host in hosts}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = {name.decode("latin-1"): value.decode("latin-1") for name, value in scope["headers"]}
        if fault := self._fault(scope, headers):
            await _answer(send, *fault)
            return
        uploads = scope["path"].startswith(UPLOADS)
        most = MOST_UPLOAD_BYTES if uploads else MOST_BYTES
        too_large = f"This is larger than the {most // 1000:,} kB that are taken here."
        if int(headers.get("content-length", "0")) > most:
            await _answer(send, 413, too_large)
            return
        taken, begun, whole = 0, False, False
        until = asyncio.get_running_loop().time() + (UPLOAD_SECONDS if uploads else SECONDS)

        async def bounded() -> MutableMapping[str, Any]:
            nonlocal taken, whole
            if whole:  # what is waited for now is that the other side goes away
                return await receive()
            try:
                async with asyncio.timeout_at(until):
                    message = await receive()
            except TimeoutError:
                raise TooMuch(408, "This took too long to come; try again.") from None
            taken += len(message.get("body", b""))
            whole = not message.get("more_body", False)
            if taken > most:
                raise TooMuch(413, too_large)
            return message

        async def dressed(message: MutableMapping[str, Any]) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                own = {name.lower() for name, _ in message.get("headers", [])}
                more = (
                    []
                    if b"content-security-policy" in own
                    else [(b"content-security-policy", POLICY.encode())]
                )
                more += [] if b"cache-control" in own else [(b"cache-control", b"no-store")]
                message = {**message, "headers": [*message.get("headers", []), *HEADERS, *more]}
            await send(message)

        try:
            await self.app(scope, bounded, dressed)
        except TooMuch as more:
            if not begun:
                await _answer(send, more.status, more.text)

    def _fault(self, scope: Scope, headers: dict[str, str]) -> tuple[int, str] | None:
        host = headers.get("host", "").lower()
        if host not in self.hosts:
            return 421, "These pages are not served under that name."
        if scope["method"] in LOOKS:
            return None
        if scope["method"] != "POST":
            return 405, "This is not done here."
        origin = headers.get("origin", "")
        if urlsplit(origin).netloc.lower() != host or origin.partition("://")[0] not in {"http", "https"}:
            return 403, "This was sent by another page."
        if headers.get("sec-fetch-site", "same-origin") not in {"same-origin", "none"}:
            return 403, "This was sent by another page."
        if not headers.get("content-length", "").isdigit():
            return 411, "Say how long this is."
        return None


async def _answer(send: Send, status: int, text: str) -> None:
    body = text.encode()
    kind = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    closing = [
        (b"connection", b"close"),
        (b"cache-control", b"no-store"),
        (b"content-security-policy", POLICY.encode()),
    ]
    await send({"type": "http.response.start", "status": status, "headers": [*kind, *HEADERS, *closing]})
    await send({"type": "http.response.body", "body": body})
