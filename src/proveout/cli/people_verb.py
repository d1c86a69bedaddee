"""The verb that says who works on the floor: set a person with a PIN, list them, remove one."""

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
ROLES = ("floor", "inspection", "office", "owner")  # as in jobs/people, whose import would make --help slow
ASKED = "PIN, 4 to 12 figures: "


def add_people(verbs: Any) -> None:
    """Add the verb and its three ways to the parser."""
    people = verbs.add_parser(
        "people", help="say who works on the floor, in which role, and set their PINs",
        description="Who may write what at the stations of the floor. A hash of each PIN is kept in people.json beside "
        "the records; the PIN itself nowhere. The first person set must be an owner. Without any the floor answers on "
        "this machine alone, and people say who they are.",
    )  # fmt: skip
    ways = people.add_subparsers(title="what to do", metavar="WAY", required=True)
    put = _way(ways, "set", "add a person, or give them another name, role or PIN")
    put.add_argument("who", metavar="WHO", help="as events will name them")
    put.add_argument("--name", default="", metavar="NAME", help="to show; default: WHO")
    put.add_argument("--role", choices=ROLES, default="floor", help="default: floor")
    put.set_defaults(verb=_set)
    _way(ways, "list", "everybody with their roles").set_defaults(verb=_list)
    gone = _way(ways, "remove", "forget a person and their PIN; what they wrote stays")
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
        typed = getpass.getpass(ASKED)
        if getpass.getpass("Once more: ") != typed:
            raise BadInput("The two are not the same; nothing was changed", where=given.who, do="try again")
    else:
        typed = sys.stdin.readline().rstrip("\r\n")
    people.put(given.who, name=given.name or given.who, role=given.role, pin=typed)
    print(f"{given.who}, {given.role}: a hash of the PIN is kept in {people.path}")
    return DONE


def _list(given: argparse.Namespace) -> int:
    known = _people(given).all()
    for one in known:
        print(f"{one.who}\t{one.role}\t{one.name}")
    if not known:
        print("Nobody has a PIN: the floor answers on this machine alone.")
    return DONE


def _remove(given: argparse.Namespace) -> int:
    _people(given).remove(given.who)
    print(f"{given.who} is forgotten; what they wrote stays.")
    return DONE
