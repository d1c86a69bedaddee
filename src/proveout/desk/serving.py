"""Serve the desk until it is ended."""

from __future__ import annotations

import uvicorn

from proveout.desk.app import desk_app
from proveout.jobs.home import Home

THIS_MACHINE = "127.0.0.1"


def serve(home: Home, *, port: int) -> None:
    """Answer on this machine alone, until interrupted."""
    uvicorn.run(desk_app(home), host=THIS_MACHINE, port=port, log_level="warning", server_header=False)
