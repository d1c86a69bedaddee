"""Nothing of a revision that has ended is begun: the one place where a start, a count or a release is held against it.

It is asked at the doors by which work and releases come into the records, with the day handed in. Of a tap that is the
later of its own day and the day on which it comes: a tablet's clock that is slow lets nothing pass. Nobody answers for
it with a waiver; what may be finished all the same is said of so many pieces at a step, by name and with a reason
(`PiecesSettled`), and only for those work goes on.
"""

from __future__ import annotations

from datetime import date

from proveout.books.folding import revisions_key
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Counted, Packed, Started
from proveout.model.events import Stating
from proveout.model.outside_events import SentOut
from proveout.model.revision_book import Ending, Revisions
from proveout.model.stock_events import Sawn
from proveout.quantities.errors import Refused
from proveout.records.records import Records

Works = Started | Counted | Sawn | Packed | SentOut
"""What carries pieces on. Bad pieces, a stop, what comes back from a finisher: all that is written as it happened."""


def revisions_of(records: Records, part: str) -> Revisions:
    """The revisions of a part that end, or ended."""
    found = records.book(revisions_key(part))
    return found if isinstance(found, Revisions) else Revisions(part=part)


def ending_of(records: Records, batch: Batch) -> Ending | None:
    """The change by which the revision of a batch ends, now or later; None where it goes on."""
    return revisions_of(records, batch.part).ending_of(batch.revision)


def ended_words(ending: Ending) -> str:
    """What to know of a revision that has ended, in one sentence."""
    return f"Revision {ending.ends} ended on {ending.from_day}, {ending.begins} holds: {ending.why}"


def notice(records: Records, batch: Batch, step: StepCount | None, *, day: date) -> tuple[str, bool]:
    """What whoever works on a batch is to know of a change, empty where none ends its revision; and whether it is over.

    step: at which the reader stands, None for the batch as a whole.
    """
    ending = ending_of(records, batch)
    if ending is None:
        return "", False
    if not ending.holds_on(day.isoformat()):
        return f"Revision {ending.ends} ends on {ending.from_day}, then {ending.begins} holds: {ending.why}", False
    if step is None:
        return f"{ended_words(ending)}. Nothing of it is begun any more", True
    kept = step.kept_count
    do = f"Carry on with {kept}, no more: these are used as they are" if kept else "Leave the pieces where they are"
    return f"{ended_words(ending)}. {do}", not kept


def refuse_release(records: Records, batch: Batch, *, day: date) -> None:
    """Refuse to release a batch of a revision that has ended.

    Raises:   Refused.
    """
    ending = ending_of(records, batch)
    if ending is not None and ending.holds_on(day.isoformat()):
        raise _refused(ending, batch, where=batch.batch, do=f"plan and release a batch of revision {ending.begins}")


def refuse_work(records: Records, name: str, of: Stating, *, day: date) -> None:
    """Refuse to carry on more pieces of an ended revision than somebody said are used as they are.

    Raises:   Refused.
    """
    if not isinstance(of, Works) or (batch := records.batch(name)) is None:
        return
    ending = ending_of(records, batch)
    step = next((one for one in batch.steps if one.id == of.step), None)
    if ending is None or step is None or not ending.holds_on(day.isoformat()):
        return
    if step.kept_count < wanted_count(of):
        kept = f"only {step.kept_count} of its pieces are to be used as they are" if step.kept_count else "none is left"
        do = "leave the pieces where they are; the office says at the change what becomes of them"
        raise _refused(ending, batch, where=f"{batch.batch}, step {step.id}", limit=kept, do=do)


def wanted_count(of: Works) -> int:
    """Pieces that are carried on: those that were said to be used as they are must be at least as many."""
    if isinstance(of, Started):
        return 1
    return of.good_count if isinstance(of, Counted | Sawn) else of.count


def _refused(ending: Ending, batch: Batch, *, where: str, do: str, limit: str = "") -> Refused:
    return Refused(ended_words(ending), where=f"{batch.part}, batch {where}", value=f"revision {batch.revision}",
                   limit=limit or f"revision {ending.begins}", do=do)  # fmt: skip
