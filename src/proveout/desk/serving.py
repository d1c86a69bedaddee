"""Serve the desk until it is ended: on this machine alone, or to other stations behind a password."""

from __future__ import annotations

import contextlib
import socket
import threading
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from proveout.desk.app import OWN_NAMES, desk_app
from proveout.desk.door import Door
from proveout.desk.page import Desk
from proveout.jobs.home import Home
from proveout.jobs.password import Password
from proveout.jobs.people import People, people_path

THIS_MACHINE, EVERY_ADDRESS = "127.0.0.1", "0.0.0.0"  # noqa: S104 - only where somebody asked for it, with a password
NOWHERE = (
    "192.0.2.1",
    9,
)  # an address of documentation: nothing is sent, the system only tells the way


@dataclass(frozen=True)
class Stations:
    """How other stations reach the desk. names: under which it answers.   certificate, key: for https, or neither.

    password: of all stations, None where everybody comes in by their own.
    """

    password: Password | None
    names: tuple[str, ...]
    certificate: Path | None = None
    key: Path | None = None

    @property
    def scheme(self) -> str:
        """Of its addresses."""
        return "http" if self.certificate is None else "https"


def serve(home: Home, *, port: int, stations: Stations | None = None) -> None:
    """Answer until interrupted: on this machine alone, unless it is said how other stations sign in."""
    door = Door(stations.password, People(people_path(home))) if stations is not None else None
    app = desk_app(home, hosts=OWN_NAMES + (stations.names if stations is not None else ()), door=door)
    desk: Desk = app.state.desk
    desk.tasks.take_up()
    threading.Thread(target=desk.warm, daemon=True, name="warming").start()
    files = {}
    if stations is not None and stations.certificate is not None:
        files = {"ssl_certfile": str(stations.certificate), "ssl_keyfile": str(stations.key) if stations.key else None}
    try:
        uvicorn.run(
            app, host=THIS_MACHINE if stations is None else EVERY_ADDRESS, port=port, log_level="warning",
            access_log=False, server_header=False, proxy_headers=False, **files,
        )  # fmt: skip
    finally:
        desk.close()


def names_of_this_machine() -> tuple[str, ...]:
    """Names and addresses under which other stations may know this machine; nothing is sent to find them."""
    own = socket.gethostname().lower()
    found = dict.fromkeys((own, own.split(".", 1)[0], f"{own.split('.', 1)[0]}.local"))
    with contextlib.suppress(OSError):
        found.update(dict.fromkeys(str(told[4][0]) for told in socket.getaddrinfo(own, None, socket.AF_INET)))
    with contextlib.suppress(OSError), socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        way.connect(NOWHERE)
        found[str(way.getsockname()[0])] = None
    return tuple(name for name in found if name and not name.startswith("127."))
