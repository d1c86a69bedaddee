"""Serve the desk until it is ended."""

from __future__ import annotations

import threading

import uvicorn

from proveout.desk.app import desk_app
from proveout.desk.page import Desk
from proveout.jobs.home import Home

THIS_MACHINE = "127.0.0.1"


def serve(home: Home, *, port: int) -> None:
    """Answer on this machine alone, until interrupted."""
    app = desk_app(home)
    desk: Desk = app.state.desk
    desk.tasks.take_up()
    threading.Thread(target=desk.warm, daemon=True, name="warming").start()
    uvicorn.run(app, host=THIS_MACHINE, port=port, log_level="warning", server_header=False)
