"""Refuses what is too large to be sent before it is read: by the length that it states, and by counting."""

from __future__ import annotations

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

SENT_MOST_BYTES = 1024 * 1024 * 1024
TOO_LARGE = 413
SAID = "This is more than the desk takes at once (1024 MB). Nothing was kept. Give fewer files at a time.\n"


class _TooLargeError(Exception):
    """More was sent than may be."""


class SizeLimit:
    """Reads no more than limit_bytes of a request."""

    def __init__(self, app: ASGIApp, *, limit_bytes: int = SENT_MOST_BYTES) -> None:
        self.app = app
        self.limit_bytes = limit_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        stated = Headers(scope=scope).get("content-length", "")
        if stated.isdigit() and int(stated) > self.limit_bytes:
            await PlainTextResponse(SAID, TOO_LARGE)(scope, receive, send)
            return
        read_bytes, has_begun = 0, False

        async def counted() -> Message:
            nonlocal read_bytes
            message = await receive()
            read_bytes += len(message.get("body", b""))
            if read_bytes > self.limit_bytes:
                raise _TooLargeError
            return message

        async def told(message: Message) -> None:
            nonlocal has_begun
            has_begun = True
            await send(message)

        try:
            await self.app(scope, counted, told)
        except _TooLargeError:
            if not has_begun:
                await PlainTextResponse(SAID, TOO_LARGE)(scope, receive, send)
