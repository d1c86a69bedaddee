"""The verb of engineering changes: note, show, list, day, settle, stock, stays."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proveout.cli.batch_verb import opened, signed
from proveout.cli.home_options import add_home, add_json, add_records_of_home, add_shop, print_json

if TYPE_CHECKING:
    from proveout.model.half_made import ChangeTold
    from proveout.model.revision_book import Ending
    from proveout.records.records import Records

DONE, OPEN = 0, 3
FATES = "use as they are, go on in another batch, set aside, or scrap"


def add_change(verbs: Any, *, count: Any) -> None:
    """Add the verb and its ways to the parser.   count: reads a number of pieces."""
    verb = verbs.add_parser(
        "change", help="engineering changes: a revision ends on a day, and what becomes of its half-made pieces",
        description="From its day on nothing of the old revision is released, started or counted on, but pieces that "
        "somebody said are used as they are. Exit status: 0 done; 3 pieces, half-made or in stock, are undecided; "
        "2 bad input or refused; 1 internal error.",
    )  # fmt: skip
    ways = verb.add_subparsers(title="what to do", metavar="WAY", required=True)
    told = _way(ways, "note", "write that a revision of a part ends", is_signed=True)
    told.add_argument("--begins", required=True, metavar="REV", help="the new revision")
    told.add_argument("--from", dest="from_day", required=True, metavar="DATE", help="its first day, as 2027-03-01")
    told.add_argument("--why", required=True, metavar="WORDS", help="why, in at least ten signs")
    told.set_defaults(verb=_note)
    show = _way(ways, "show", "say where its half-made pieces are and what can become of them")
    show.add_argument("--out", type=Path, metavar="FILE.pdf", help="write the page to collect them by")
    add_json(show)
    show.set_defaults(verb=_show)
    day = _way(ways, "day", "correct the day of a change", is_signed=True)
    day.add_argument("--from", dest="from_day", required=True, metavar="DATE", help="the right day")
    day.add_argument("--why", required=True, metavar="WORDS", help="why the day was wrong")
    day.set_defaults(verb=_day)
    stays = _way(ways, "stays", "take a change back: the revision does not end", is_signed=True)
    stays.add_argument("--why", required=True, metavar="WORDS", help="why, in at least ten signs")
    stays.set_defaults(verb=_stays)
    said = _way(ways, "settle", "say what becomes of pieces that wait at a step", is_signed=True, is_of_batch=True)
    said.add_argument("step", metavar="STEP", help="of the batch's route")
    said.add_argument("count", type=count, metavar="N", help="pieces")
    said.add_argument("--fate", required=True, metavar="WORDS", help=FATES)
    said.add_argument("--into", default="", metavar="BATCH", help="in which batch they go on")
    said.add_argument("--why", required=True, metavar="WORDS", help="why, in at least ten signs")
    said.set_defaults(verb=_settle)
    stock = ways.add_parser(
        "stock", help="say what becomes of pieces in stock", description="Say what becomes of pieces in stock."
    )
    stock.add_argument("item", metavar="TAG", help="tag of the pieces in stock")
    stock.add_argument("place", metavar="PLACE", help="where they lie")
    stock.add_argument("count", type=count, metavar="N", help="pieces")
    stock.add_argument("--fate", required=True, metavar="WORDS", help="use as they are, set aside, or scrap")
    stock.add_argument("--why", required=True, metavar="WORDS", help="why, in at least ten signs")
    stock.add_argument("--person", required=True, metavar="NAME", help="who answers for it")
    add_home(stock)
    add_shop(stock)
    add_records_of_home(stock)
    stock.set_defaults(verb=_stock)
    every = ways.add_parser("list", help="list all changes", description="List all changes.")
    add_home(every)
    add_shop(every)
    add_records_of_home(every)
    add_json(every)
    every.set_defaults(verb=_list)


def _way(
    ways: Any, name: str, words: str, *, is_signed: bool = False, is_of_batch: bool = False
) -> argparse.ArgumentParser:  # fmt: skip
    way = ways.add_parser(name, help=words, description=f"{words[:1].upper()}{words[1:]}.")
    if is_of_batch:
        way.add_argument("batch", metavar="BATCH", help="name of the batch")
    else:
        way.add_argument("part", metavar="PART", help="number of the part")
        way.add_argument("ends", metavar="REV", help="revision that ends; - where the part has none")
    if is_signed:
        way.add_argument("--person", required=True, metavar="NAME", help="who answers for it")
    add_home(way)
    add_shop(way)
    add_records_of_home(way)
    return way


def _note(given: argparse.Namespace) -> int:
    from proveout.jobs.changes import note

    with opened(given) as (_, records):
        ending = note(records, part=given.part, ends=given.ends, begins=given.begins, from_day=given.from_day,
                      why=given.why, signed=signed(given))  # fmt: skip
    return _said(given.part, ending)


def _show(given: argparse.Namespace) -> int:
    from proveout.jobs.changes import tell
    from proveout.sheets.change_page import collect_pdf

    with opened(given) as (home, records):
        told = tell(home, records, part=given.part, ending=_ending(records, given))
        if given.out is not None:
            given.out.write_bytes(collect_pdf(told, shop=home.shop().name))
    if given.json:
        print_json(told)
    else:
        _print(told)
    return OPEN if told.open_count or told.stock_open_count else DONE


def _day(given: argparse.Namespace) -> int:
    from proveout.jobs.changes import move_day

    with opened(given) as (_, records):
        found = _ending(records, given)
        ending = move_day(records, id=found.id, from_day=given.from_day, why=given.why, signed=signed(given))
    return _said(given.part, ending)


def _stays(given: argparse.Namespace) -> int:
    from proveout.jobs.changes import take_back

    with opened(given) as (_, records):
        ending = take_back(records, id=_ending(records, given).id, why=given.why, signed=signed(given))
    return _said(given.part, ending)


def _settle(given: argparse.Namespace) -> int:
    from proveout.jobs.changes import fate_typed, settle

    with opened(given) as (home, records):
        found = settle(home, records, batch=given.batch, step=given.step, count=given.count,
                       fate=fate_typed(given.fate), why=given.why, to_batch=given.into,
                       signed=signed(given))  # fmt: skip
    step = next(one for one in found.steps if one.id == given.step)
    print(f"{found.batch}, {step.id}: {step.waiting_count} wait, {step.kept_count} of them used as they are, "
          f"{step.taken_count} taken out")  # fmt: skip
    return DONE


def _stock(given: argparse.Namespace) -> int:
    from proveout.jobs.changes import settle_stock, stock_fate_typed

    with opened(given) as (_, records):
        found = settle_stock(records, item=given.item, place=given.place, count=given.count,
                             fate=stock_fate_typed(given.fate), why=given.why, signed=signed(given))  # fmt: skip
    at = given.place
    print(f"{found.item}, {at}: {found.counts.get(at, 0)} lie there, {found.kept.get(at, 0)} of them used as they are, "
          f"{found.aside.get(at, 0)} set aside")  # fmt: skip
    return DONE


def _list(given: argparse.Namespace) -> int:
    from proveout.jobs.changes import every_change

    with opened(given) as (_, records):
        found = every_change(records)
    if given.json:
        print_json([{"part": part, "change": one} for part, one in found])
        return DONE
    for part, one in found:
        _said(part, one)
    if not found:
        print("No revision ends: proveout change note")
    return DONE


def _ending(records: Records, given: argparse.Namespace) -> Ending:
    """The change that ends the revision that is named, the last one that was taken back where none stands."""
    from proveout.jobs.ended import revisions_of
    from proveout.quantities.errors import BadInput

    book = revisions_of(records, given.part)
    found = book.ending_of(given.ends) or next((one for one in reversed(book.endings) if one.ends == given.ends), None)
    if found is None:
        raise BadInput("No change ends this revision", where=given.part, value=given.ends, do="proveout change note")
    return found


def _said(part: str, one: Ending) -> int:
    told = f"from {one.from_day}" if one.stands else f"taken back: {one.stays}"
    print(f"{part}: revision {one.ends} ends, {one.begins} begins, {told} ({one.person}: {one.why})")
    return DONE


def _print(told: ChangeTold) -> None:
    from proveout.sheets.change_words import ChangeWords

    _said(told.part, told.ending)
    print(f"Plan of revision {told.ending.begins}: {told.new_plan or 'not there yet'}")
    for one in told.batches:
        print(f"Batch {one.batch}, {one.state}: {ChangeWords.all_money(one)} in half-made pieces")
        if one.lost:
            print(f"  its packet cannot be read: {one.lost}")
        if one.touched:
            print(f"  steps that make or grip what changed: {', '.join(one.touched)}")
        for stage in one.stages:
            print(f"  {stage.step}: {ChangeWords.where(stage)}, {stage.at}; done: {ChangeWords.passed(stage)}; "
                  f"in each {ChangeWords.minutes(stage)} min:s, {ChangeWords.money(stage)}")  # fmt: skip
            for way in stage.ways:
                print(f"    {way.fate}: {way.verdict or 'a person decides'}. {way.why}")
        for said in one.settled:
            print(f"  said by {said.person}: {said.count} at {said.step}, {said.fate} {said.to_batch}".rstrip())
    for name in told.unreleased:
        print(f"Batch {name} is not released, and is not any more from {told.ending.from_day} on")
    for said in told.stock_said:
        print(f"Said by {said.person}: {said.count} of {said.item} at {said.place}, {said.fate}")
    for item in told.stock:
        print(
            f"In stock: {item.count} {item.sort} {item.name}, {item.item}, at {item.place}; {item.open_count} undecided"
        )
