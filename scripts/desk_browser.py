"""A desk that answers on a free port, and a browser without a window to look at it: for tests and for pictures."""

from __future__ import annotations

import os
import shutil
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager

import uvicorn
from playwright.sync_api import Browser, sync_playwright
from system_libraries import BROWSER_PACKAGES

from proveout.desk.app import desk_app
from proveout.desk.door import Door
from proveout.desk.serving import THIS_MACHINE
from proveout.jobs.certificate import Certificate
from proveout.jobs.home import Home

BEGIN_LIMIT_S = 20.0
BY_SOFTWARE = ("--use-angle=swiftshader", "--enable-unsafe-swiftshader", "--ignore-gpu-blocklist")
"""Turning pictures are drawn without a graphics card, the same on every machine."""


class NoBrowser(Exception):
    """Chromium is not on this machine; the message says what to install."""


@contextmanager
def served(
    home: Home, *, door: Door | None = None, certificate: Certificate | None = None, port: int = 0
) -> Iterator[str]:  # fmt: skip
    """The address of a desk over a home, until the block ends: behind a door, by https, where those are given.

    port: 0 for a free one.
    """
    app = desk_app(home, door=door)
    files = {} if certificate is None else {"ssl_certfile": certificate.path, "ssl_keyfile": str(certificate.key)}
    server = uvicorn.Server(uvicorn.Config(app, host=THIS_MACHINE, port=port, log_level="warning", ws="none", **files))
    thread = threading.Thread(target=server.run, daemon=True)
    thread.start()
    end = time.monotonic() + BEGIN_LIMIT_S
    while not server.started:
        if not thread.is_alive() or time.monotonic() > end:
            message = "the desk did not begin to answer"
            raise RuntimeError(message)
        time.sleep(0.02)
    try:
        scheme = "http" if certificate is None else "https"
        yield f"{scheme}://{THIS_MACHINE}:{server.servers[0].sockets[0].getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()
        app.state.desk.close()


@contextmanager
def chromium() -> Iterator[Browser]:
    """Debian's Chromium without a window.

    Raises:   NoBrowser where there is none.
    """
    found = shutil.which("chromium")
    if found is None:
        message = f"no chromium on this machine: sudo apt-get install --yes {' '.join(BROWSER_PACKAGES)}"
        raise NoBrowser(message)
    with sync_playwright() as playwright:
        as_root = ["--no-sandbox"] if os.getuid() == 0 else []
        browser = playwright.chromium.launch(executable_path=found, args=[*as_root, *BY_SOFTWARE])
        try:
            yield browser
        finally:
            browser.close()
