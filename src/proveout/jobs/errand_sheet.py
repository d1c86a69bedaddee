"""What the process of an errand is told, the two words by which a standing one is known, and whose an errand is."""

from __future__ import annotations

import os
import uuid
from pathlib import Path

import msgspec

STANDING, READY = "--standing", "ready"


class Sheet(msgspec.Struct, frozen=True, kw_only=True):
    """What an errand is told. asked: file of what was asked.   found: file for its result.   lines: file in which it
    tells of itself.   log: file for its error stream.   limit_s: after which it is ended, None for as long as it takes.
    ticket: file that whoever does it must take first, empty where nobody else could.
    """

    asked: str
    found: str
    lines: str
    log: str
    limit_s: float | None
    ticket: str = ""


TICKET = ".ticket-"
TAKEN = ".taken"


def with_ticket(sheet: Sheet) -> Sheet:
    """The same with a ticket: of all that read it one alone does it."""
    ticket = Path(sheet.lines).with_name(f"{TICKET}{uuid.uuid4().hex}")
    ticket.touch()
    return msgspec.structs.replace(sheet, ticket=str(ticket))


def take(sheet: Sheet) -> bool:
    """Take the ticket for this process, whose number it bears from then on; False where it was taken back."""
    if not sheet.ticket:
        return True
    try:
        with Path(sheet.ticket).open("r+", encoding="ascii") as ticket:
            ticket.write(str(os.getpid()))
        Path(sheet.ticket).replace(_taken(sheet))  # one step of the system: it is taken, or it was taken back
    except FileNotFoundError:
        return False
    return True


def take_back(sheet: Sheet) -> int | None:
    """None where nobody had taken the ticket, and now nobody can; else the number of the process that has it."""
    try:
        Path(sheet.ticket).unlink()
    except FileNotFoundError:
        return int(_taken(sheet).read_text(encoding="ascii"))
    return None


def _taken(sheet: Sheet) -> Path:
    return Path(sheet.lines).with_suffix(TAKEN)
