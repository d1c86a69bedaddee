"""What stands before every page: only known hosts, nothing for another site's pages, nothing loaded from elsewhere."""

from __future__ import annotations

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

READING = ("GET", "HEAD", "OPTIONS")
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data: blob:; connect-src 'self'; "
    "font-src 'self'; frame-src 'self'; object-src 'self'; form-action 'self'; frame-ancestors 'self'; base-uri 'none'"
)
ALWAYS = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}
MISDIRECTED, FORBIDDEN = 421, 403


class Guard:
    """Refuses requests under a strange host name, and what another site's page sends or fetches.

    hosts: names without a port under which the desk answers. A page of another site that points its own name at this
    machine comes under that name and is refused; a form of another site comes with that site's origin.
    """

    def __init__(self, app: ASGIApp, *, hosts: tuple[str, ...]) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it before any page sees it."""
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        host = headers.get("host", "")
        if _without_port(host) not in self.hosts:
            await PlainTextResponse("This desk does not answer under that name.\n", MISDIRECTED)(scope, receive, send)
            return
        if scope["method"] not in READING and not self._is_own(headers, scope["scheme"], host):
            await PlainTextResponse("Another site sent this; it was refused.\n", FORBIDDEN)(scope, receive, send)
            return
        if scope["method"] in READING and not _may_read(headers):
            await PlainTextResponse("Another site asked for this; it was refused.\n", FORBIDDEN)(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                given = MutableHeaders(scope=message)
                for name, value in ALWAYS.items():
                    given.setdefault(name, value)
                if not scope["path"].startswith("/static/"):
                    given.setdefault("cache-control", "no-store")
            await send(message)

        await self.app(scope, receive, with_headers)

    def _is_own(self, headers: Headers, scheme: str, host: str) -> bool:
        """True where the request says that it comes from a page of this desk."""
        if headers.get("sec-fetch-site", "same-origin") not in ("same-origin", "none"):
            return False
        return headers.get("origin", "") == f"{scheme}://{host}"


def _may_read(headers: Headers) -> bool:
    """False where a page of another site has it fetched; to go to a page from there is allowed."""
    if headers.get("sec-fetch-site", "none") in ("same-origin", "none"):
        return True
    return headers.get("sec-fetch-mode", "") == "navigate" and headers.get("sec-fetch-dest", "") == "document"


def _without_port(host: str) -> str:
    name, sign, port = host.rpartition(":")
    return name if sign and port.isdigit() else host
