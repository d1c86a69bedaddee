"""The verb that opens the desk: serve."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

DONE = 0
PORT = 8417


def add_serve(verbs: Any, *, port: Any) -> None:
    """Add the verb to the parser.   port: reads a port number."""
    verb = verbs.add_parser(
        "serve", help="open the desk: pages of every design and order of a folder, on this machine",
        description="Shows the designs and orders of a folder in a web browser on this machine, until Ctrl-C. Nothing "
        "is sent to or fetched from anywhere else. Plans go into FOLDER-plans beside it, as plan-all writes them.",
    )  # fmt: skip
    verb.add_argument(
        "folder", type=Path, nargs="?", default=Path(), metavar="FOLDER", help="default: the folder you are in"
    )
    verb.add_argument("--shop", type=Path, metavar="FILE", help="the shop file; default: shop.toml in the folder")
    verb.add_argument("--port", type=port, default=PORT, metavar="N", help=f"default: {PORT}")
    verb.set_defaults(verb=_serve)


def _serve(given: argparse.Namespace) -> int:
    from proveout.desk.serving import THIS_MACHINE, serve
    from proveout.jobs.home import Home

    home = Home(given.folder, shop_path=given.shop)
    print(f"The desk of {home.root}: http://{THIS_MACHINE}:{given.port}/  (Ctrl-C ends it)", flush=True)
    serve(home, port=given.port)
    return DONE
