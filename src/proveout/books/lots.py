"""Lots at outside finishers: sent, back, counted in, short, rejected."""

from __future__ import annotations

from msgspec.structs import replace

from proveout.books.steps import at_work, index_of, passed_on, with_bad, with_step
from proveout.model.batch import Batch, OutsideLot
from proveout.model.batch_events import Bad
from proveout.model.outside_events import CameBack, CountedIn, GivenUp, Rejected, SentOut
from proveout.quantities.errors import Refused


def lot_of(batch: Batch, lot: str) -> OutsideLot:
    """The lot of that name.

    Raises:   Refused when none was sent.
    """
    for one in batch.lots:
        if one.lot == lot:
            return one
    raise Refused("No such lot was sent out", where=batch.batch, value=lot,
                  limit=", ".join(one.lot for one in batch.lots) or "none was sent")  # fmt: skip


def _with_lot(batch: Batch, lot: OutsideLot) -> Batch:
    others = [one for one in batch.lots if one.lot != lot.lot]
    return replace(batch, lots=tuple(sorted([*others, lot], key=lambda one: one.lot)))


def sent_out(batch: Batch, of: SentOut) -> Batch:
    """Pieces that wait at an outside step go away as a lot; a step may send several.

    Raises:   Refused when the step is not outside or another finisher's, the lot is there already, or fewer wait.
    """
    number = index_of(batch, of.step)
    where = f"{batch.batch}, lot {of.lot}"
    if batch.steps[number].kind != "outside":
        raise Refused("This step is not done outside", where=where, value=of.step)
    if any(one.lot == of.lot for one in batch.lots):
        raise Refused("A lot of this name went out already", where=where, do="name it otherwise")
    if not batch.steps[number].is_started:
        batch = with_step(batch, number, replace(batch.steps[number], is_started=True))
    number = at_work(batch, of.step, station=of.finisher)
    step = batch.steps[number]
    if of.count > step.waiting_count:
        raise Refused("More pieces go out than wait", where=where, value=str(of.count),
                      limit=f"at most {step.waiting_count}")  # fmt: skip
    batch = with_step(batch, number, replace(step, away_count=step.away_count + of.count))
    return _with_lot(
        batch,
        OutsideLot(lot=of.lot, step=of.step, finisher=of.finisher, sent_count=of.count, promised=of.promised),
    )  # fmt: skip


def came_back(batch: Batch, of: CameBack) -> Batch:
    """Pieces of a lot stand here and nobody has counted them.

    Raises:   Refused when more came back than are out.
    """
    lot = lot_of(batch, of.lot)
    out = lot.sent_count - lot.back_count - lot.missing_count
    if of.count > out:
        raise Refused("More pieces came back than are out", where=f"{batch.batch}, lot {of.lot}", value=str(of.count),
                      limit=f"at most {out}", do="count again, or correct what was sent")  # fmt: skip
    return _with_lot(batch, replace(lot, back_count=lot.back_count + of.count))


def counted_in(batch: Batch, of: CountedIn) -> Batch:
    """Pieces that are back, counted: good ones go on to the next step.

    Raises:   Refused when more are counted than slips say.
    """
    lot = lot_of(batch, of.lot)
    lost = sum(one.count for one in of.bad)
    if of.good_count + lost > lot.uncounted_count:
        raise Refused(
            "More pieces are counted than came back", where=f"{batch.batch}, lot {of.lot}",
            value=str(of.good_count + lost), limit=f"at most {lot.uncounted_count}",
            do="write down first what came back, or count again",
        )  # fmt: skip
    batch = _no_longer_away(batch, lot, of.good_count + lost)
    batch = passed_on(batch, index_of(batch, lot.step), good_count=of.good_count, bad=of.bad)
    return _with_lot(batch, replace(lot, good_count=lot.good_count + of.good_count, bad_count=lot.bad_count + lost))


def rejected(batch: Batch, of: Rejected) -> Batch:
    """Pieces counted in as good are bad after all; they must not have gone on.

    Raises:   Refused when fewer of the lot are good, or fewer wait at the next step.
    """
    lot = lot_of(batch, of.lot)
    where = f"{batch.batch}, lot {of.lot}"
    if of.count > lot.good_count:
        raise Refused("More pieces are rejected than were counted in as good", where=where, value=str(of.count),
                      limit=f"at most {lot.good_count}")  # fmt: skip
    number = index_of(batch, lot.step)
    if number + 1 < len(batch.steps):
        after = batch.steps[number + 1]
        if of.count > after.waiting_count:
            raise Refused("Pieces of this lot have gone on", where=where, value=str(of.count),
                          limit=f"at most {after.waiting_count} that wait at {after.id}",
                          do="count the others bad where they are")  # fmt: skip
        batch = with_step(batch, number + 1, replace(after, in_count=after.in_count - of.count))
    step = batch.steps[number]
    batch = with_step(
        batch, number, replace(step, good_count=step.good_count - of.count, bad_count=step.bad_count + of.count)
    )  # fmt: skip
    batch = with_bad(batch, step.id, [Bad(reason=of.reason, count=of.count)])
    return _with_lot(
        batch,
        replace(lot, good_count=lot.good_count - of.count, rejected_count=lot.rejected_count + of.count,
                claim_until=of.claim_until or lot.claim_until),
    )  # fmt: skip


def given_up(batch: Batch, of: GivenUp) -> Batch:
    """Pieces of a lot that will not come back: bad, as missing.

    Raises:   Refused when fewer are out that no slip speaks of.
    """
    lot = lot_of(batch, of.lot)
    if of.count > lot.away_count:
        raise Refused("More pieces are given up than are away", where=f"{batch.batch}, lot {of.lot}",
                      value=str(of.count), limit=f"at most {lot.away_count}")  # fmt: skip
    batch = _no_longer_away(batch, lot, of.count)
    batch = passed_on(
        batch, index_of(batch, lot.step), good_count=0, bad=[Bad(reason=of.reason, count=of.count)]
    )  # fmt: skip
    # what a slip promised and nobody found is not back
    missing = lot.missing_count + of.count
    return _with_lot(
        batch, replace(lot, missing_count=missing, back_count=min(lot.back_count, lot.sent_count - missing))
    )  # fmt: skip


def _no_longer_away(batch: Batch, lot: OutsideLot, count: int) -> Batch:
    number = index_of(batch, lot.step)
    step = batch.steps[number]
    return with_step(batch, number, replace(step, away_count=step.away_count - count))
