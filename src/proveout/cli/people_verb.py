"""The verb that says who works in the shop: set a person with a PIN or a password, list them, remove one."""

from __future__ import annotations

import argparse
import getpass
import sys
from typing import TYPE_CHECKING, Any

from proveout.cli.home_options import add_home, add_records_of_home
from proveout.quantities.errors import BadInput

if TYPE_CHECKING:
    from proveout.jobs.people import People

DONE = 0
ROLES = ("floor", "inspection", "planning", "office", "owner")  # as in jobs/people, whose import would make --help slow
ASKED = "PIN, 4 to 12 figures: "
ASKED_FOR_OFFICE = "Password, 10 letters or more: "


def add_people(verbs: Any) -> None:
    """Add the verb and its three ways to the parser."""
    people = verbs.add_parser(
        "people", help="say who works here, in which role, and set their PINs and passwords",
        description="Who may write what at the stations of the floor, by a PIN, and do what in the office, by a "
        "password of their own. A hash of each is kept in people.json beside the records; the secret itself nowhere. "
        "The first person set must be an owner. Without any PIN the floor answers on this machine alone, and people "
        "say who they are; once anybody has a password the desk asks everybody for theirs.",
    )  # fmt: skip
    ways = people.add_subparsers(title="what to do", metavar="WAY", required=True)
    put = _way(ways, "set", "add a person, or give them another name, role, PIN or password")
    put.add_argument("who", metavar="WHO", help="as events will name them")
    put.add_argument("--name", default="", metavar="NAME", help="to show; default: as before, or WHO")
    put.add_argument("--role", choices=ROLES, default="", help="default: as before, or floor")
    put.add_argument("--password", action="store_true", help="set the password for the office, not the PIN")
    put.set_defaults(verb=_set)
    _way(ways, "list", "everybody with their roles").set_defaults(verb=_list)
    gone = _way(ways, "remove", "forget a person and their secrets; what they wrote stays")
    gone.add_argument("who", metavar="WHO")
    gone.set_defaults(verb=_remove)


def _way(ways: Any, name: str, help_words: str) -> argparse.ArgumentParser:
    way = ways.add_parser(name, help=help_words, description=f"{help_words[:1].upper()}{help_words[1:]}.")
    add_home(way)
    add_records_of_home(way)
    return way


def _people(given: argparse.Namespace) -> People:
    from proveout.jobs.home import Home
    from proveout.jobs.people import People, people_path

    return People(people_path(Home(given.home), given.records))


def _set(given: argparse.Namespace) -> int:
    """Ask twice; from a pipe one line is read."""
    people = _people(given)
    if sys.stdin.isatty():
        typed = getpass.getpass(ASKED_FOR_OFFICE if given.password else ASKED)
        if getpass.getpass("Once more: ") != typed:
            raise BadInput("The two are not the same; nothing was changed", where=given.who, do="try again")
    else:
        typed = sys.stdin.readline().rstrip("\r\n")
    before = people.of(given.who)
    name = given.name or (before.name if before is not None else given.who)
    role = given.role or (before.role if before is not None else "floor")
    if given.password:
        people.put(given.who, name=name, role=role, password=typed)
    else:
        people.put(given.who, name=name, role=role, pin=typed)
    print(f"{given.who}, {role}: a hash of the {'password' if given.password else 'PIN'} is kept in {people.path}")
    return DONE


def _list(given: argparse.Namespace) -> int:
    known = _people(given).all()
    for one in known:
        has = [word for word, kept in (("PIN", one.pin), ("password", one.password)) if kept is not None]
        print(f"{one.who}\t{one.role}\t{one.name}\t{', '.join(has)}")
    if not any(one.pin for one in known):
        print("Nobody has a PIN: the floor answers on this machine alone, and to whoever is signed in by name.")
    if not any(one.password for one in known):
        print("Nobody has a password of their own: on this machine the desk asks nobody who they are.")
    return DONE


def _remove(given: argparse.Namespace) -> int:
    _people(given).remove(given.who)
    print(f"{given.who} is forgotten; what they wrote stays.")
    return DONE
