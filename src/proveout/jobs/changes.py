"""Engineering changes: a revision of a part ends on a day, by somebody's word, and what that meets."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from typing import get_args

from proveout.books.folding import item_key
from proveout.jobs.ended import ending_of, revisions_of
from proveout.jobs.found_files import read_bytes, told_bytes
from proveout.jobs.half_made import Beside, half_made, unread
from proveout.jobs.home import Home
from proveout.jobs.packets import HasPlans
from proveout.jobs.place import Place
from proveout.jobs.releasing import batch_of, packet_place, plans_of_part
from proveout.jobs.same_so_far import differing
from proveout.jobs.signed import Signed, post_once
from proveout.jobs.whole_files import write_whole
from proveout.model.batch import Batch
from proveout.model.change_events import (
    GO_ON,
    Fate,
    PiecesSettled,
    RevisionEnds,
    RevisionStays,
    SolidHeld,
    StockFate,
    StockSettled,
)
from proveout.model.events import Corrected
from proveout.model.half_made import ChangeTold, HalfMade, InStock, StockSaid
from proveout.model.revision import Revision
from proveout.model.revision_book import Ending
from proveout.model.stock_kept import Item
from proveout.quantities.errors import BadInput, ProveoutError, Refused
from proveout.records.records import Records

CHANGES = "changes"
"""Below the plans: what was found when new solids were held against old plans, by its fingerprint."""


def every_change(records: Records) -> list[tuple[str, Ending]]:
    """All changes with their parts: those that stand first, by their day."""
    parts = sorted({row["part"] for row in records.rows("changes")})
    found = [(part, one) for part in parts for one in revisions_of(records, part).endings]
    return sorted(found, key=lambda pair: (not pair[1].stands, pair[1].from_day, pair[0]))


def change_of(records: Records, id: str) -> tuple[str, Ending]:
    """A change and its part.

    Raises:   BadInput when there is none.
    """
    for part, one in every_change(records):
        if one.id == id:
            return part, one
    raise BadInput("There is no such change", where="changes", value=id[:80], do="look at the list of changes")


def note(
    records: Records, *, part: str, ends: str, begins: str, from_day: str, why: str, signed: Signed
) -> Ending:  # fmt: skip
    """Write that a revision of a part ends.

    Raises:   Refused when one change ends it already, or the new revision is itself ended.
    """
    event = signed.says(RevisionEnds(part=part, ends=ends, begins=begins, from_day=from_day, why=why))
    post_once(records, event)
    return change_of(records, event.id)[1]


def move_day(records: Records, *, id: str, from_day: str, why: str, signed: Signed) -> Ending:
    """Correct the day from which a change holds; the event stays as it was written.

    Raises:   Refused for a change that was taken back.
    """
    part, one = change_of(records, id)
    if not one.stands:
        raise Refused("This change was taken back", where=f"{part}, revision {one.ends}", value=one.stays)
    instead = RevisionEnds(part=part, ends=one.ends, begins=one.begins, from_day=from_day, why=one.why)
    post_once(records, signed.says(Corrected(event_id=id, why=why, instead=instead)))
    return change_of(records, id)[1]


def take_back(records: Records, *, id: str, why: str, signed: Signed) -> Ending:
    """Write that a revision stays after all.

    Raises:   Refused where it was taken back already.
    """
    part, one = change_of(records, id)
    post_once(records, signed.says(RevisionStays(part=part, ends=one.ends, why=why)))
    return change_of(records, id)[1]


def hold(home: HasPlans, records: Records, place: Place, revision: Revision, *, solid: str, signed: Signed) -> Ending:
    """Keep what was found when a new solid was held against a plan, with the change that ends its revision.

    Args:     solid: fingerprint of the new STEP file.
    Raises:   Refused when no change ends it.
    """
    part, ends = place.plan.part.number, place.plan.part.revision or "-"
    content = told_bytes(revision)
    found = hashlib.sha256(content).hexdigest()
    folder = home.plans / CHANGES
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / found, content, is_lasting=True)
    of = SolidHeld(part=part, ends=ends, plan=place.fingerprint, solid=solid, found=found)
    post_once(records, signed.says(of))
    ending = revisions_of(records, part).ending_of(ends)
    assert ending is not None  # the event would have been refused
    return ending


def held_against(home: HasPlans, ending: Ending, plan: str) -> Revision | None:
    """What was found of the new solid against a plan; None where nobody held it, or the file is not as it was kept."""
    for one in ending.held:
        path = home.plans / CHANGES / one.found
        if one.plan == plan and path.is_file():
            content = path.read_bytes()
            return read_bytes(content, Revision) if hashlib.sha256(content).hexdigest() == one.found else None
    return None


def tell(home: Home, records: Records, *, part: str, ending: Ending) -> ChangeTold:
    """A change with all that it meets: open batches of the old revision stage by stage, and stock."""
    batches = list(_batches(records, part))
    new, into = new_plan(home, records, part=part, revision=ending.begins)
    stock = records.rows("stock", part=part, revision=ending.ends)
    mine = [one for one in batches if one.revision == ending.ends and not one.is_closed]
    return ChangeTold(
        part=part, ending=ending, new_plan="" if new is None else new.address,
        batches=tuple(_half_made(home, records, one, ending, new, into) for one in mine if one.is_released),
        unreleased=tuple(one.batch for one in mine if not one.is_released),
        stock=tuple(
            InStock(item=row["item"], sort=row["sort"], name=row["name"], place=row["place"], count=row["count"],
                    kept_count=row["kept_count"], aside_count=row["aside_count"])
            for row in stock if row["count"]
        ),
        stock_said=_said_of_stock(records, {row["item"] for row in stock}),
    )  # fmt: skip


def new_plan(home: Home, records: Records, *, part: str, revision: str) -> tuple[Place | None, tuple[Batch, ...]]:
    """A plan of a revision and the open batches released with it: a batch's packet, else the plan that lies there."""
    own = [one for one in _batches(records, part) if one.revision == revision and one.is_released and not one.is_closed]
    for one in own:
        try:
            place = packet_place(home, one)
        except ProveoutError:
            continue
        return place, tuple(batch for batch in own if batch.plan == one.plan)
    lying = (one for one in plans_of_part(home, part) if (one.plan.part.revision or "-") == revision)
    return next(lying, None), ()


def _said_of_stock(records: Records, items: set[str]) -> tuple[StockSaid, ...]:
    """What was said of these items, as it stands; only they are looked at."""
    kind = str(StockSettled.__struct_config__.tag)
    found = records.standing_after(0, (kind,), books=[item_key(item) for item in items]) if items else []
    return tuple(
        StockSaid(id=event.id, item=of.item, place=of.place, count=of.count, fate=of.fate, why=of.why,
                  person=event.person)
        for _, event, of in found if isinstance(of, StockSettled)
    )  # fmt: skip


def stock_fate_typed(words: str) -> StockFate:
    """What becomes of pieces in stock, as somebody typed or chose it.

    Raises:   BadInput for anything else.
    """
    for fate in get_args(StockFate):
        if fate == words.strip():
            return fate
    raise BadInput("Nothing was chosen for these pieces", where="stock", value=words[:40],
                   limit=", ".join(get_args(StockFate)))  # fmt: skip


def settle_stock(
    records: Records, *, item: str, place: str, count: int, fate: StockFate, why: str, signed: Signed
) -> Item:  # fmt: skip
    """Write what becomes of pieces in stock since their revision ends.

    Raises:   Refused when no change ends their revision, or fewer lie there undecided.
    """
    found = records.book(item_key(item))
    if not isinstance(found, Item):
        raise BadInput("There is no such thing in stock", where="stock", value=item[:80])
    if revisions_of(records, found.part).ending_of(found.revision) is None:
        raise Refused("No change ends this revision", where=item, value=f"{found.part}, revision {found.revision}",
                      do="note the change first")  # fmt: skip
    post_once(records, signed.says(StockSettled(item=item, place=place, count=count, fate=fate, why=why)))
    after = records.book(item_key(item))
    return after if isinstance(after, Item) else found


def unsay_stock(records: Records, *, event_id: str, why: str, signed: Signed) -> None:
    """Write that what was said of pieces in stock was wrong: they are undecided again.

    Raises:   Refused when what came after could not have happened without it; BadInput where nothing was said so.
    """
    kind = str(StockSettled.__struct_config__.tag)
    if all(event.id != event_id for _, event, _ in records.standing_after(0, (kind,))):
        raise BadInput("Nothing of this was said of stock", where="stock", value=event_id[:80])
    post_once(records, signed.says(Corrected(event_id=event_id, why=why, instead=None)))


def fate_typed(words: str) -> Fate:
    """What becomes of pieces, as somebody typed or chose it.

    Raises:   BadInput for anything else.
    """
    for fate in get_args(Fate):
        if fate == words.strip():
            return fate
    raise BadInput("Nothing was chosen for these pieces", where="pieces", value=words[:40],
                   limit=", ".join(get_args(Fate)))  # fmt: skip


def settle(
    home: Home, records: Records, *, batch: str, step: str, count: int, fate: Fate, why: str, to_batch: str = "",
    signed: Signed,
) -> Batch:  # fmt: skip
    """Write what becomes of pieces that wait at a step since their revision ends.

    Into another batch they go only where its plan has the very same up to that step: what it proves of its clampings it
    proves of no others. Nobody can answer for that.
    Raises:   Refused when no change ends the revision, fewer pieces wait undecided, or they cannot go on so.
    """
    found = batch_of(records, batch)
    ending = ending_of(records, found)
    if ending is None:
        raise Refused("No change ends this revision", where=batch, value=f"revision {found.revision}",
                      do="note the change first")  # fmt: skip
    heats: tuple[str, ...] = ()
    if fate == GO_ON and to_batch:
        _may_go_on(home, found, batch_of(records, to_batch), step=step, ending=ending)
        heats = found.heats
    of = PiecesSettled(step=step, count=count, fate=fate, why=why, to_batch=to_batch, heats=heats)
    post_once(records, signed.says(of, batch=batch))
    return batch_of(records, batch)


def _may_go_on(home: Home, batch: Batch, into: Batch, *, step: str, ending: Ending) -> None:
    where = f"{batch.batch}, step {step}, into {into.batch}"
    if (into.part, into.revision) != (batch.part, ending.begins):
        raise Refused("Pieces go on only in a batch of the new revision", where=where,
                      value=f"{into.part}, revision {into.revision}",
                      limit=f"{batch.part}, revision {ending.begins}")  # fmt: skip
    behind = [one.id for one in batch.steps]
    behind = behind[: behind.index(step)] if step in behind else []
    differs = differing(packet_place(home, batch), packet_place(home, into), behind)
    if differs:
        raise Refused("The plan of that batch is proved on other pieces than these", where=where,
                      value="; ".join(differs), do="set them aside, scrap them, or use them as they are")  # fmt: skip


def _batches(records: Records, part: str) -> Iterator[Batch]:
    for row in records.rows("batches", part=part):
        found = records.batch(row["batch"])
        if found is not None:
            yield found


def _half_made(
    home: Home, records: Records, batch: Batch, ending: Ending, new: Place | None, into: tuple[Batch, ...]
) -> HalfMade:  # fmt: skip
    try:
        place = packet_place(home, batch)
    except ProveoutError as fault:
        return unread(records, batch, fault.message)
    revision = held_against(home, ending, batch.plan)
    return half_made(records, batch, Beside(place, ending, revision, new, into))
