"""The verb that looks after the records: verify, rebuild, backup, restore, export."""

from __future__ import annotations

import argparse
import re
from pathlib import Path
from typing import TYPE_CHECKING, Any

from proveout.cli.home_options import add_home, add_records_of_home, told_records

if TYPE_CHECKING:
    from proveout.records.verifying import Verified
    from proveout.records.writing import Answer

DONE, WRONG = 0, 3
_NOTED = re.compile(r"(\d+):([0-9a-f]{64})")


def add_records(verbs: Any) -> None:
    """Add the verb and its five ways to the parser."""
    records = verbs.add_parser(
        "records", help="look after the records of running batches: verify, rebuild, back up, restore, export",
        description="The events of a shop lie where its desk keeps them: in records.sqlite beside the plans of --home, "
        "or where PROVEOUT_RECORDS or --records says: a path, or postgresql://user@host/name. Records in this user's "
        "data folder, where earlier versions made them, are still found. Exit status: 0 done; 3 the records are not "
        "what was written; 2 bad input; 1 internal error.",
    )  # fmt: skip
    ways = records.add_subparsers(title="what to do", metavar="WAY", required=True)
    verify = _way(ways, "verify", "follow the chain of events and compare all that follows from them")
    verify.add_argument("--noted", type=_noted, metavar="N:HASH", help="an event whose hash somebody wrote down")
    verify.set_defaults(verb=_verify)
    _way(ways, "rebuild", "work out anew all that follows from the events").set_defaults(verb=_rebuild)
    backup = _way(ways, "backup", "write every event into one file")
    backup.add_argument("file", type=Path, metavar="FILE")
    backup.set_defaults(verb=_backup)
    restore = _way(ways, "restore", "make new records from a backup, in a file or in PostgreSQL")
    restore.add_argument("file", type=Path, metavar="FILE")
    restore.set_defaults(verb=_restore)
    export = _way(ways, "export", "write all events and tables as plain files")
    export.add_argument("folder", type=Path, metavar="DIR")
    export.set_defaults(verb=_export)


def _way(ways: Any, name: str, help_words: str) -> argparse.ArgumentParser:
    way = ways.add_parser(name, help=help_words, description=f"{help_words[:1].upper()}{help_words[1:]}.")
    add_home(way)
    add_records_of_home(way)
    return way


def _at(given: argparse.Namespace) -> str:
    from proveout.jobs.home import Home

    return told_records(Home(given.home).plans, given.records)


def _noted(text: str) -> Answer:
    from proveout.records.writing import Answer

    found = _NOTED.fullmatch(text)
    if found is None:
        raise argparse.ArgumentTypeError(f"a number and a hash are needed, as verify prints them, not {text!r}")
    return Answer(seq=int(found[1]), hash=found[2])


def _last(answer: Answer) -> str:
    return f"{answer.seq} events, the last {answer.seq}:{answer.hash}" if answer.seq else "no event yet"


def _verify(given: argparse.Namespace) -> int:
    from proveout.jobs.records import verify_records

    return _told(verify_records(_at(given), noted=given.noted), "As written")


def _told(found: Verified, words: str) -> int:
    """Say what verifying found. words: where everything is right."""
    for fault in found.faults:
        print(fault)
    print(f"{'NOT what was written' if found.faults else words}: {_last(found.head)}")
    return WRONG if found.faults else DONE


def _rebuild(given: argparse.Namespace) -> int:
    from proveout.jobs.records import rebuild_records

    print(f"Worked out anew from {rebuild_records(_at(given))} events")
    return DONE


def _backup(given: argparse.Namespace) -> int:
    from proveout.jobs.records import back_up_records

    print(f"Written: {given.file}: {_last(back_up_records(_at(given), given.file))}")
    return DONE


def _restore(given: argparse.Namespace) -> int:
    from proveout.jobs.home import Home
    from proveout.jobs.records import records_of_home, restore_records

    setting = records_of_home(Home(given.home), given.records)
    print(f"Restored into {setting}: {_last(restore_records(setting, given.file))}")
    return DONE


def _export(given: argparse.Namespace) -> int:
    from proveout.jobs.records import export_records

    return _told(export_records(_at(given), given.folder), f"Written: {given.folder}")
