"""The verb that runs batches of planned parts: ask, waive, release, show, list."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from proveout.cli.home_options import add_home, add_json, add_records_of_home, add_shop, print_json
from proveout.cli.learning_verbs import add_learning

if TYPE_CHECKING:
    from proveout.jobs.home import Home
    from proveout.jobs.signed import Signed
    from proveout.model.batch import Batch
    from proveout.records.records import Records

DONE, OPEN = 0, 3


def add_batch(verbs: Any, *, count: Any) -> None:
    """Add the verb and its five ways to the parser, and those for what follows.   count: reads a number of pieces."""
    add_learning(verbs)
    verb = verbs.add_parser(
        "batch", help="run a batch of a planned part: ask, waive, release, show, list",
        description="A batch is asked for, planned by the plan of its part, and released once every proof that blocks "
        "it holds or is answered for in writing; then its packet of papers and programs is frozen. Exit status: 0 "
        "done; 3 something stands open; 2 bad input or refused; 1 internal error.",
    )  # fmt: skip
    ways = verb.add_subparsers(title="what to do", metavar="WAY", required=True)
    ask = _way(ways, "ask", "ask for a batch of a planned part", is_signed=True)
    ask.add_argument("part", metavar="PART", help="address of the part on the desk: ENTRY, or ORDER:PART")
    ask.add_argument("--count", type=count, metavar="N", help="pieces wanted; default: those it was planned for")
    ask.add_argument("--due", default="", metavar="DATE", help="as 2027-03-01; default: the plan's")
    ask.set_defaults(verb=_ask)
    waive = _way(ways, "waive", "answer in writing for a proof that does not hold", is_signed=True)
    waive.add_argument("proof", metavar="PROOF", help="id of the proof, as show tells it")
    waive.add_argument("--reason", required=True, metavar="WORDS", help="stands on every page of the papers")
    waive.set_defaults(verb=_waive)
    _way(ways, "release", "freeze the packet of a batch and release it", is_signed=True).set_defaults(verb=_release)
    show = _way(ways, "show", "say where a batch and its pieces stand", is_named=True)
    show.set_defaults(verb=_show)
    every = _way(ways, "list", "list all batches")
    every.set_defaults(verb=_list)
    for way in (show, every):
        add_json(way)


def _way(
    ways: Any, name: str, help_words: str, *, is_named: bool = False, is_signed: bool = False
) -> argparse.ArgumentParser:  # fmt: skip
    way = ways.add_parser(name, help=help_words, description=f"{help_words[:1].upper()}{help_words[1:]}.")
    if is_named or is_signed:
        way.add_argument("batch", metavar="BATCH", help="name of the batch: letters, digits, dot, dash, underscore")
    if is_signed:
        way.add_argument("--person", required=True, metavar="NAME", help="who answers for it")
    add_home(way)
    add_shop(way)
    add_records_of_home(way)
    return way


@contextmanager
def opened(given: argparse.Namespace) -> Iterator[tuple[Home, Records]]:
    """The home and its records, for as long as a verb needs them."""
    from proveout.jobs.home import Home
    from proveout.jobs.records import records_of_home
    from proveout.records.records import Records

    home = Home(given.home, shop_path=given.shop)
    with Records(records_of_home(home, given.records), asks_for_plans=True) as records:
        yield home, records


def signed(given: argparse.Namespace) -> Signed:
    """Who answers for what a verb writes."""
    from proveout.jobs.signed import Signed

    return Signed(person=given.person, station="command line")


def _ask(given: argparse.Namespace) -> int:
    from proveout.jobs.releasing import ask

    with opened(given) as (home, records):
        wanted = given.count or home.place(given.part).plan.part.quantity
        return _told(ask(home, records, given.part, batch=given.batch, wanted_count=wanted, due=given.due,
                         signed=signed(given)))  # fmt: skip


def _waive(given: argparse.Namespace) -> int:
    from proveout.jobs.releasing import waive

    with opened(given) as (_, records):
        return _told(waive(records, batch=given.batch, proof_id=given.proof, reason=given.reason,
                           signed=signed(given)))  # fmt: skip


def _release(given: argparse.Namespace) -> int:
    from proveout.jobs.left_packets import set_aside_of
    from proveout.jobs.packets import packet_folder
    from proveout.jobs.plan_drawings import Drawer
    from proveout.jobs.releasing import release
    from proveout.jobs.store import Store, default_folder

    with opened(given) as (home, records):
        found = release(home, records, Drawer(Store(default_folder())), batch=given.batch, signed=signed(given))
        for aside in set_aside_of(home, found.batch):
            print(f"A release of this batch was cut short once; its packet released nothing and lies in {aside}")
        print(f"Written: {packet_folder(home, found.batch)}")
        return _told(found)


def _show(given: argparse.Namespace) -> int:
    from proveout.jobs.releasing import batch_of

    with opened(given) as (_, records):
        found = batch_of(records, given.batch)
    if given.json:
        print_json(found)
        return DONE
    return _told(found)


def _list(given: argparse.Namespace) -> int:
    with opened(given) as (_, records):
        rows = records.rows("batches")
    if given.json:
        print_json(rows)
        return DONE
    for row in rows:
        print(f"{row['batch']}: {row['part']} revision {row['revision']}, {row['wanted_count']} wanted"
              f"{' by ' + row['due'] if row['due'] else ''}, {row['state']}, {row['good_count']} good, "
              f"{row['bad_count']} bad")  # fmt: skip
    if not rows:
        print("No batch yet: proveout batch ask")
    return DONE


def _told(found: Batch) -> int:
    """Say where a batch stands; 3 while something that blocks its release is open."""
    print(f"{found.batch}: {found.part} revision {found.revision}, {found.wanted_count} wanted, {found.state}")
    for one in found.unwaived:
        can = "answer for it with: proveout batch waive" if one.may_waive else "nobody can answer for it"
        print(f"  open, {one.verdict}: {one.claim} ({one.id}); {can}")
    for waiver in found.waivers:
        print(f"  {waiver.words}")
    for step in found.steps:
        print(f"  {step.id} at {step.station}: {step.waiting_count} wait, {step.good_count} good, {step.bad_count} bad"
              f"{f', {step.away_count} away' if step.away_count else ''}")  # fmt: skip
    return OPEN if found.unwaived else DONE
