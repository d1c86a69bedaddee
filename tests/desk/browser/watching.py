"""What a page asks for and complains of while a test looks at it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from urllib.parse import urlsplit

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import ConsoleMessage, Page, Request

from proveout.desk.serving import THIS_MACHINE

CHANGE = "5f7d3b0a-5a0e-4c6e-9d35-3f4b0a6c1e02"
"""The id of the change in the home of these tests."""
DESK, PHONE, TABLET, LARGE = (1280, 900), (360, 800), (820, 1180), (3840, 2160)
GRAVE = ("serious", "critical")
OWN_SCHEMES = ("data", "blob", "chrome", "chrome-extension")  # the last two: Chromium's own viewer of PDF
Look = Callable[..., Page]
"""look(path, size, script=True): opens a page of the desk."""


@dataclass
class Watch:
    """What pages asked for outside of this machine, and what they complained of."""

    faults: list[str] = field(default_factory=list)

    def over(self, page: Page) -> None:
        """Watch a page from now on."""
        page.on("request", self._asked)
        page.on("console", self._said)
        page.on("pageerror", lambda fault: self.faults.append(f"script: {fault}"))

    def _asked(self, request: Request) -> None:
        parts = urlsplit(request.url)
        if parts.scheme not in OWN_SCHEMES and parts.hostname != THIS_MACHINE:
            self.faults.append(f"asked outside: {request.url}")

    def _said(self, message: ConsoleMessage) -> None:
        if message.type == "error":
            self.faults.append(f"console: {message.text}")


def told(page: Page) -> list[str]:
    """What axe finds serious or critical on a page, with the elements."""
    found = Axe().run(page).response["violations"]
    return [
        f"{one['id']}: {one['help']}: {[node['html'][:160] for node in one['nodes'][:3]]}"
        for one in found
        if one["impact"] in GRAVE
    ]
