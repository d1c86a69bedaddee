"""The verbs of the records: verify, rebuild, back up, restore, export."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

import platformdirs

from proveout.books.rows import TABLES
from proveout.jobs.packets import HasPlans
from proveout.jobs.results import result_folder
from proveout.quantities.errors import BadInput
from proveout.records.copying import backup_lines, event_lines, restore_lines
from proveout.records.records import Records
from proveout.records.verifying import Verified, rebuild, table_rows, verify
from proveout.records.writing import Answer
from proveout.sheets.csv_text import csv_text

SETTING = "PROVEOUT_RECORDS"
EVENTS = "events.jsonl"
RECORDS = "records.sqlite"


def records_of_home(home: HasPlans, named: str = "") -> str:
    """Where the records of a home are: what was named, else PROVEOUT_RECORDS, else a file beside its plans."""
    return named or os.environ.get(SETTING, "") or str(home.plans / RECORDS)


class RecordsAt(NamedTuple):
    """Where records are. note: what somebody should know of it, empty mostly."""

    setting: str
    note: str = ""


def records_at(plans: Path, named: str = "") -> RecordsAt:
    """Where the records are whose plans lie in a folder: as records_of_home.

    Earlier versions made a file in this user's data folder: that one is taken while none lies beside the plans,
    and told.
    """
    set_so = named or os.environ.get(SETTING, "")
    if set_so:
        return RecordsAt(set_so)
    beside, before = plans / RECORDS, before_path()
    if not before.is_file():
        return RecordsAt(str(beside))
    if beside.is_file():
        return RecordsAt(str(beside), f"Other records lie where they were kept before, and are not looked at: {before}")
    return RecordsAt(
        str(before),
        f"There are no records beside the plans ({beside}); taken are those where they were kept before: {before}. The "
        f"desk does not look there: proveout records backup FILE, then proveout records restore FILE, puts them there",
    )


def before_path() -> Path:
    """Where earlier versions made records that nobody named a place for."""
    return platformdirs.user_data_path("proveout", appauthor=False) / RECORDS


def verify_records(setting: str, *, noted: Answer | None = None) -> Verified:
    """Follow the chain and compare everything that follows from the events. noted: an event somebody wrote down.

    Raises:   BadInput when there are no records; NotKept when they cannot be read.
    """
    with Records(setting, may_make=False) as records, records.reading() as connection:
        return verify(connection, noted=noted)


def rebuild_records(setting: str) -> int:
    """Work out anew everything that follows from the events; the number of events.

    Raises:   BadInput when there are no records; Unreadable when the events could not have happened so.
    """
    with Records(setting, may_make=False) as records, records.writing() as connection:
        return rebuild(connection)


def back_up_records(setting: str, path: Path) -> Answer:
    """Write every event into a file that any database can be restored from; the last event in it.

    Raises:   BadInput when there are no records, they do not verify, or the file is there already.
    """
    if path.exists():
        raise BadInput("There is a file of this name", where=str(path), do="name another file")
    with Records(setting, may_make=False) as records, records.reading() as connection:
        found = verify(connection)
        if found.faults:
            raise BadInput("These records are not what was written", where=records.name, value=found.faults[0],
                           do="proveout records verify tells all of it")  # fmt: skip
        _write_whole(path, backup_lines(connection))
    return found.head


def restore_records(setting: str, path: Path) -> Answer:
    """Make new records from a backup; the last event.

    Raises:   BadInput when there are events already; Unreadable when the backup is not whole.
    """
    if not path.is_file():
        raise BadInput("There is no such backup", where=str(path))
    with Records(setting) as records, records.writing() as connection, path.open("rb") as lines:
        return restore_lines(connection, lines)


def export_records(setting: str, out: Path) -> Verified:
    """Write everything as plain files, right or not: events.jsonl and a CSV for each table; what verifying them finds.

    Raises:   BadInput when there are no records, or `out` holds something else.
    """
    with (
        Records(setting, may_make=False) as records,
        result_folder(out, ours=(EVENTS,)) as folder,
        records.reading() as connection,
    ):
        _write_whole(folder / EVENTS, event_lines(connection))
        for table, (_, columns) in TABLES.items():
            text = csv_text([list(columns), *table_rows(connection, table)])
            (folder / f"{table}.csv").write_text(text, encoding="utf-8")
        return verify(connection)


def _write_whole(path: Path, lines: Iterable[bytes]) -> None:
    """Write beside, bring to disk, then rename: a file of this name is always whole."""
    part = path.with_name(f".{path.name}.part")
    try:
        with part.open("wb") as file:
            file.writelines(lines)
            file.flush()
            os.fsync(file.fileno())
        part.replace(path)
    finally:
        part.unlink(missing_ok=True)
