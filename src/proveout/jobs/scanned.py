"""What a code says that was scanned or typed at a station: a lot label's, or a batch's name.

The square code on trays and boxes holds part, revision, the plan's fingerprint, its first day, and the batch where the
papers were made for one, parted by semicolons.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from proveout.model.batch import Batch

PARTED = ";"
MARK_LENGTH = 12  # of the plan's fingerprint, as papers print it
REVISION_AT, MARK_AT, BATCH_AT = 1, 2, 4
_MARK = re.compile(r"[0-9a-f]{12}")


@dataclass(frozen=True)
class Scanned:
    """batches: released ones that the code is of.   said: why there is none, else empty."""

    batches: tuple[Batch, ...] = ()
    said: str = ""


def scanned(code: str, released: Sequence[Batch]) -> Scanned:
    """The released batches of a code: a batch's name, a plan's fingerprint, or part, revision, fingerprint and day.

    A code of another revision, or of another plan of the same part, is of no batch: its papers are old.
    """
    text = code.strip()
    if not text:
        return Scanned(said="Nothing was scanned. Scan the square code on the tray, or type the batch.")
    named = tuple(one for one in released if one.batch.casefold() == text.casefold())
    if named:
        return Scanned(named)
    fields = text.split(PARTED)
    if len(fields) > MARK_AT:
        return _of_label(fields, released)
    mark = text.replace(" ", "").lower()
    if _MARK.fullmatch(mark):
        found = tuple(one for one in released if one.plan[:MARK_LENGTH] == mark)
        return (
            Scanned(found) if found else Scanned(said=f"No batch on the floor is of plan {mark}. Are the papers old?")
        )
    return Scanned(said=f"No batch on the floor is called “{text[:60]}”. Scan the square code on the tray.")


def _of_label(fields: list[str], released: Sequence[Batch]) -> Scanned:
    part, revision, mark = (field.strip() for field in fields[:3])
    of_part = [one for one in released if one.part == part]
    if not of_part:
        return Scanned(said=f"No batch of {part[:60]} is on the floor. Ask the office.")
    named = fields[BATCH_AT].strip() if len(fields) > BATCH_AT else ""
    same = tuple(one for one in of_part if one.plan[:MARK_LENGTH] == mark.lower() and named in ("", one.batch))
    if same and all(one.revision == revision for one in same):
        return Scanned(same)
    runs = ", ".join(sorted({one.revision for one in of_part}))
    if revision not in {one.revision for one in of_part}:
        return Scanned(
            said=f"OLD PAPERS: these are of {part[:60]} revision {revision[:20]}, and revision {runs} is made. "
            "Put them away; take the papers of the batch."
        )
    return Scanned(
        said=f"OLD PAPERS: these are of another plan of {part[:60]} than any batch on the floor. Put them away; take "
        "the papers of the batch."
    )
