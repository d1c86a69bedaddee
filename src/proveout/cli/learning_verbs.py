"""The verbs of what a batch teaches: close-out, again, learn and machine-minutes."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proveout.cli.home_options import add_home, add_json, add_records_of_home, add_shop, print_json, told_records

if TYPE_CHECKING:
    from proveout.model.learned import Lesson

DONE, CHANGED = 0, 3


def add_learning(verbs: Any) -> None:
    """Add them to the parser."""
    _add_machine_minutes(verbs)
    out = verbs.add_parser(
        "close-out", help="hold a batch on record against its plan: minutes, scrap, days away, growth, money",
        description="Tells planned against actual of a batch, which planned intervals held what happened, and which "
        "inputs made most of the difference. Exit status: 0 done; 2 bad input; 1 internal error.",
    )  # fmt: skip
    out.add_argument("batch", metavar="BATCH", help="its name in the records")
    out.add_argument("--plans", type=Path, default=Path(), metavar="DIR", help="folder below which its plan or "
                     "packet lies; default: here")  # fmt: skip
    out.add_argument("--out", type=Path, metavar="FILE.pdf", help="write it as one page too")
    _records_and_json(out)
    out.set_defaults(verb=_close_out)

    again = verbs.add_parser(
        "again", help="say what has changed since a batch was released, before it is made once more",
        description="Holds the packet of an earlier batch against the files, cutters and accepted numbers of today. "
        "Exit status: 0 nothing that it was planned from has changed; 3 something has; 2 bad input or refused.",
    )  # fmt: skip
    again.add_argument("batch", metavar="BATCH", help="its name in the records")
    add_home(again)
    add_shop(again)
    _records_and_json(again)
    again.set_defaults(verb=_again)

    learn = verbs.add_parser(
        "learn", help="propose numbers of the shop file by what batches on record tell, and write those you accept",
        description="Reads every batch that is over and proposes minutes of machines, seconds by hand, days at "
        "finishers, the share lost, coats and cutting pressure, before and after, with what they rest on. Friction and "
        "grips are never proposed: pull tests alone tell them. Exit status: 0 done; 2 bad input; 1 internal error.",
    )  # fmt: skip
    learn.add_argument("--shop", type=Path, required=True, metavar="FILE", help="the shop file")
    learn.add_argument("--plans", type=Path, metavar="DIR", help="folder below which plans and packets lie; default: "
                       "beside the shop's folder, FOLDER-plans")  # fmt: skip
    learn.add_argument("--accept", nargs="+", default=[], metavar="KEY", help="write these into the shop file; what is "
                       "learned together is written together")  # fmt: skip
    learn.add_argument("--decline", nargs="+", default=[], metavar="KEY", help="write down that you do not take these "
                       "over: they are proposed again once further batches tell of them")  # fmt: skip
    learn.add_argument("--why", default="", metavar="TEXT", help="of what is declined")
    learn.add_argument("--person", default="", metavar="NAME", help="who accepts or declines; wanted with either")
    _records_and_json(learn)
    learn.set_defaults(verb=_learn)


def _add_machine_minutes(verbs: Any) -> None:
    """Add the verb that reads the streams of machines."""
    ran = verbs.add_parser(
        "machine-minutes", help="tell the cycles in a machine's own stream, and write them into a batch",
        description="Reads recorded answers of a machine's sender (XML of ANSI/MTC1.4), or asks a sender in the local "
        "network, and tells each cycle: begin, minutes, how long it stood, program, pieces. With --batch they are "
        "written into the records. Exit status: 0 done; 2 bad input; 1 internal error.",
    )  # fmt: skip
    ran.add_argument("files", nargs="*", type=Path, metavar="FILE.xml", help="recorded answers, of one machine")
    ran.add_argument("--address", default="", metavar="URL", help="A sender instead: http://host:port, /NAME behind it")
    ran.add_argument("--program", default="", metavar="NAME", help="only cycles of this program")
    ran.add_argument("--batch", default="", metavar="BATCH", help="write them into this batch")
    ran.add_argument("--step", default="", metavar="STEP", help="of its route, where they ran")
    ran.add_argument("--machine", default="", metavar="ID", help="the machine, as the shop file names it")
    ran.add_argument("--person", default="", metavar="NAME", help="who writes them")
    add_home(ran)
    _records_and_json(ran)
    ran.set_defaults(verb=_machine_minutes)


def _machine_minutes(given: argparse.Namespace) -> int:
    from proveout.books.cycles import cycles_of
    from proveout.jobs.home import Home
    from proveout.jobs.machine_minutes import look_at, post_cycles, recorded_stream, sender_at, whole_cycles
    from proveout.quantities.errors import BadInput
    from proveout.records.records import Records

    if bool(given.files) == bool(given.address):
        raise BadInput("Name recorded answers or a sender", where="FILE.xml, --address", do="one of the two")
    stream = recorded_stream(given.files) if given.files else look_at(sender_at(given.address))
    cycles = whole_cycles(stream, program=given.program)
    if given.batch:
        for name in ("step", "machine", "person"):
            if not getattr(given, name).strip():
                raise BadInput("Cycles are written with step, machine and person", where=f"--{name}", value="none")
        with Records(told_records(Home(given.home).plans, given.records), may_make=False) as records:
            post_cycles(records, cycles, batch=given.batch, step=given.step, machine=given.machine,
                        person=given.person.strip())  # fmt: skip
    if given.json:
        print_json({"device": stream.device, "cycles": cycles, "gaps": stream.gaps})
        return DONE
    broken = len(cycles_of(stream)) - len(whole_cycles(stream))
    name = stream.device or "machine"
    print(f"{name}: {len(cycles)} cycles from begin to end, {broken} not whole or without a piece and left out")
    for gap in stream.gaps:
        print(f"gap after {gap.after}: {'nobody knows how many' if gap.count is None else gap.count}: {gap.why}")
    for one in cycles:
        stood = f", stood {one.held_s:.0f} s in {one.held_count}" if one.held_count else ""
        pieces = "pieces not shown" if one.pieces_count is None else f"{one.pieces_count} pieces"
        print(f"{one.begun:%Y-%m-%d %H:%M:%S} {one.program or 'program not shown'}: {one.run_s:.1f} s{stood}, {pieces}")
    if given.batch:
        print(f"Written into batch {given.batch}, step {given.step}")
    return DONE


def _records_and_json(parser: argparse.ArgumentParser) -> None:
    add_records_of_home(parser)
    add_json(parser)


def _close_out(given: argparse.Namespace) -> int:
    from proveout.jobs.close_out import close_out_below
    from proveout.records.records import Records
    from proveout.sheets.close_out_page import close_out_pdf
    from proveout.sheets.close_out_words import driver_lines, held_line, sections

    with Records(told_records(given.plans, given.records), may_make=False) as records:
        told, shop = close_out_below(records, given.batch, plans=given.plans)
    if given.out is not None:
        given.out.write_bytes(close_out_pdf(told, shop=shop))
    if given.json:
        print_json(told)
        return DONE
    print(f"Batch {told.batch}, {told.part} revision {told.revision}: {told.state}")
    print(held_line(told))
    for title, lines in sections(told):
        _columns(title, lines)
    if drivers := driver_lines(told):
        _columns("What made the difference of a good piece, each input exchanged alone", drivers)
    return DONE


def _columns(title: str, lines: list[tuple[str, str, str, str]]) -> None:
    print(f"{title}:")
    for what, planned, actual, more in lines:
        print(f"  {what:44} {planned:>17} {actual:>12}  {more}".rstrip())


def _again(given: argparse.Namespace) -> int:
    from proveout.jobs.home import Home
    from proveout.jobs.records import records_of_home
    from proveout.jobs.running_again import run_again
    from proveout.records.records import Records

    home = Home(given.home, shop_path=given.shop)
    with Records(records_of_home(home, given.records), may_make=False) as records:
        told = run_again(home, records, given.batch)
    status = DONE if told.may_run_as_is else CHANGED
    if given.json:
        print_json(told)
        return status
    print(f"Batch {told.batch}: {told.part} revision {told.revision}, {told.good_count} good, {told.bad_count} bad; "
          f"its packet of {told.papers_count} files is as it was released: /parts/{told.packet}")  # fmt: skip
    print("The solid is the same." if told.is_same_solid else "The solid has CHANGED.")
    for line in (*told.changes, *told.cutters, told.verdict):
        print(line)
    return status


def _learn(given: argparse.Namespace) -> int:
    from proveout.intake.shop_file import read_shop
    from proveout.jobs.home import Home
    from proveout.jobs.learning import lesson_of
    from proveout.jobs.lesson_answers import accept, decline
    from proveout.quantities.errors import BadInput
    from proveout.records.records import Records
    from proveout.sheets.lesson_words import before_after

    plans = Home(given.shop.resolve().parent, plans=given.plans).plans
    if (given.accept or given.decline) and not given.person.strip():
        raise BadInput("Whoever accepts or declines a number answers for it", where="--person", do="say who you are")
    if given.accept and given.decline:
        raise BadInput("Accept and decline one after the other", where="--decline", value=" ".join(given.decline))
    with Records(told_records(plans, given.records), may_make=False) as records:
        if given.accept or given.decline:
            if given.accept:
                answered = accept(records, given.shop, given.accept, plans=plans, person=given.person)
            else:
                answered = decline(records, given.shop, given.decline, plans=plans, person=given.person, why=given.why)
            if given.json:
                print_json(answered)
                return DONE
            for one in answered:
                print(f"{'Written' if given.accept else 'Declined'}: {before_after(one)}")
            return DONE
        told = lesson_of(records, read_shop(given.shop), plans=plans)
    if given.json:
        print_json(told)
        return DONE
    return _say(told)


def _say(told: Lesson) -> int:
    from proveout.sheets.lesson_words import (
        PULL_TESTS,
        before_after,
        coverage_words,
        read_words,
        rests_words,
        row_words,
        worth_words,
    )

    print(read_words(told))
    for one in told.proposals:
        print(before_after(one))
        print(f"    {rests_words(one)}; what is written weighs as much as {worth_words(one)}")
        for row in one.rows:
            print(f"    + {row_words(row)}")
        for caution in one.cautions:
            print(f"    ! {caution}")
        if not one.is_writable:
            print("    it stands in job files: write it there yourself")
    for turned in told.declined:
        print(f"declined by {turned.person}: {before_after(turned.proposal)}: {turned.why}")
    for words in told.silent:
        print(f"not shown: {words}")
    for words in told.unread:
        print(f"left out: {words}")
    for held in told.coverage:
        print(f"planned intervals, {coverage_words(held)}")
    print(PULL_TESTS)
    return DONE
