"""The verbs of the desk: serve, and people, who work on its floor."""

from __future__ import annotations

import argparse
import getpass
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proveout.cli.people_verb import add_people
from proveout.quantities.errors import BadInput

if TYPE_CHECKING:
    from proveout.desk.serving import Stations
    from proveout.jobs.home import Home

DONE = 0
PORT = 8417
PLAIN = (
    "Passwords and pages cross the network readable for whoever listens on it. Use it on a network of your own, or "
    "leave --http out."
)
VOUCHED = (
    "  A browser that opens it for the first time says that nobody vouches for its certificate. Go on only where it "
    "shows this fingerprint (SHA-256):\n  {}"
)
LEFT = (
    "{}: this file was changed by hand after the desk was cut short in a change of it and of others. It is as you left "
    "it, and the others are changed: look whether they still belong together."
)


def add_serve(verbs: Any, *, port: Any) -> None:
    """Add both verbs to the parser.   port: reads a port number."""
    add_people(verbs)
    verb = verbs.add_parser(
        "serve", help="open the desk: pages of every design and order of a folder, on this machine",
        description="Shows the designs and orders of a folder in a web browser on this machine, until Ctrl-C. Nothing "
        "is sent to or fetched from anywhere else. Plans go into FOLDER-plans beside it, as plan-all writes them. "
        "Plans that are under way go on when the desk is ended. One desk serves a folder at a time.",
    )  # fmt: skip
    verb.add_argument(
        "folder", type=Path, nargs="?", default=Path(), metavar="FOLDER", help="default: the folder you are in"
    )
    verb.add_argument("--shop", type=Path, metavar="FILE", help="the shop file; default: shop.toml in the folder")
    verb.add_argument("--port", type=port, default=PORT, metavar="N", help=f"default: {PORT}")
    verb.add_argument("--set-password", action="store_true", help="set the password for other stations, and end")
    verb.add_argument("--lan", action="store_true", help="answer other stations of your network too, after they signed "
                      "in, by https with a certificate made on the spot; needs a password that was set")  # fmt: skip
    verb.add_argument("--name", action="append", default=[], metavar="NAME", help="with --lan: another name by which "
                      "stations know this machine")  # fmt: skip
    verb.add_argument("--certificate", type=Path, metavar="FILE", help="with --lan: a certificate (PEM) of your own")
    verb.add_argument("--key", type=Path, metavar="FILE", help="with --lan: the key of the certificate (PEM)")
    verb.add_argument("--http", action="store_true", help="with --lan: no certificate; whoever listens can read all")
    verb.set_defaults(verb=_serve)


def _serve(given: argparse.Namespace) -> int:
    if given.set_password:
        return _set_password()
    from proveout.desk.serving import THIS_MACHINE, serve
    from proveout.jobs.certificate import fingerprint_of
    from proveout.jobs.home import Home
    from proveout.jobs.opening import opened

    home = Home(given.folder, shop_path=given.shop)
    stations = _stations(given, home)
    scheme = "http" if stations is None else stations.scheme
    address = f"{scheme}://{THIS_MACHINE}:{given.port}/"
    with opened(home, address=address) as left:
        print(f"The desk of {home.root}: {address}  (Ctrl-C ends it)", flush=True)
        for path in left:
            print(LEFT.format(path), file=sys.stderr, flush=True)
        if stations is not None:
            for name in stations.names:
                print(f"  for other stations: {scheme}://{name}:{given.port}/", flush=True)
            if scheme == "http":
                print(PLAIN, file=sys.stderr, flush=True)
            else:
                assert stations.certificate is not None
                print(VOUCHED.format(fingerprint_of(stations.certificate)), flush=True)
        serve(home, port=given.port, stations=stations)
    return DONE


def _stations(given: argparse.Namespace, home: Home) -> Stations | None:
    """How other stations may come in; None for this machine alone."""
    if not given.lan:
        asked = {"--name": given.name, "--certificate": given.certificate, "--key": given.key, "--http": given.http}
        if any(asked.values()):
            raise BadInput(
                "These speak of other stations", where=", ".join(name for name, value in asked.items() if value),
                do="give --lan with them",
            )  # fmt: skip
        return None
    from proveout.desk.serving import Stations, names_of_this_machine
    from proveout.jobs.certificate import certificate_for, own_folder
    from proveout.jobs.password import default_path, read_password
    from proveout.jobs.people import People, people_path

    for option, path in (("--certificate", given.certificate), ("--key", given.key)):
        if path is not None and not path.is_file():
            raise BadInput("There is no such file", where=option, value=str(path), do="name a file in PEM form")
    if given.key is not None and given.certificate is None:
        raise BadInput("A key needs its certificate", where="--key", do="give --certificate too")
    names = dict.fromkeys((*(name.strip().lower() for name in given.name), *names_of_this_machine()))
    if given.http and given.certificate is not None:
        raise BadInput("With a certificate it is https", where="--http", do="leave one of them out")
    is_by_name = not default_path().is_file() and People(people_path(home)).have_passwords
    password = None if is_by_name else read_password(default_path())
    path, key = given.certificate, given.key
    if path is None and not given.http:
        made = certificate_for(tuple(names), own_folder())
        path, key = made.path, made.key
    return Stations(password=password, names=tuple(names), certificate=path, key=key)


def _set_password() -> int:
    """Ask twice and keep the hash; from a pipe one line is read."""
    from proveout.jobs.password import default_path, set_password

    if sys.stdin.isatty():
        typed = getpass.getpass("Password for other stations: ")
        if getpass.getpass("Once more: ") != typed:
            raise BadInput("The two are not the same; nothing was changed", where="--set-password", do="try again")
    else:
        typed = sys.stdin.readline().rstrip("\r\n")
    set_password(typed, default_path())
    print(f"The password is kept, as a hash, in {default_path()}")
    return DONE
