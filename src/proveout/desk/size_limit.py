"""Refuses what is too large to be sent before it is read: by the length that it states, and by counting."""

from __future__ import annotations

from starlette.datastructures import Headers
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

MB = 1024 * 1024
SENT_MOST_BYTES = 1024 * MB
REVISION_MOST_BYTES = 256 * MB
FORM_MOST_BYTES = 16 * MB
DOOR_MOST_BYTES = 64 * 1024
AT_THE_DOOR = ("/sign-in", "/sign-out", "/floor/events", "/floor-people")
TOO_LARGE = 413


class _TooLargeError(Exception):
    """More was sent than may be."""


def most_bytes(path: str) -> int:
    """How much may be sent to an address: little before anybody is signed in, much only where designs are taken in."""
    if path in AT_THE_DOOR:
        return DOOR_MOST_BYTES
    if path == "/designs":
        return SENT_MOST_BYTES
    return REVISION_MOST_BYTES if path.endswith("/revision") else FORM_MOST_BYTES


class SizeLimit:
    """Reads no more of a request than most_bytes says.   limit_bytes: for every address, where it is not None."""

    def __init__(self, app: ASGIApp, *, limit_bytes: int | None = None) -> None:
        self.app = app
        self.limit_bytes = limit_bytes

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        most = most_bytes(scope["path"]) if self.limit_bytes is None else self.limit_bytes
        stated = Headers(scope=scope).get("content-length", "")
        if stated.isdigit() and int(stated) > most:
            await _refused(most)(scope, receive, send)
            return
        read_bytes, has_begun = 0, False

        async def counted() -> Message:
            nonlocal read_bytes
            message = await receive()
            read_bytes += len(message.get("body", b""))
            if read_bytes > most:
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
                await _refused(most)(scope, receive, send)


def _refused(most: int) -> PlainTextResponse:
    limit = f"{most // MB} MB" if most >= MB else f"{most // 1024} kB"
    said = f"This is more than the desk takes here at once ({limit}). Nothing was kept. Give fewer files at a time.\n"
    return PlainTextResponse(said, TOO_LARGE)
