"""Books and readings as rows of tables: the same in a database, on a page and in a plain file."""

from __future__ import annotations

from proveout.books.folding import AnyBook
from proveout.books.readings import verdict_of
from proveout.model.batch import Batch
from proveout.model.batch_events import ReadingTaken
from proveout.model.events import Event, Stating
from proveout.model.revision_book import Revisions
from proveout.model.stock_events import CoolantRead
from proveout.model.stock_kept import Edge, Gauge, Item, Person, Station

Cell = str | int | float | None
Row = tuple[Cell, ...]
Placed = tuple[str, Row]
"""A table and one row of it."""

# name, columns with their kind; the first `keys` columns tell one row from every other
TABLES: dict[str, tuple[int, dict[str, type]]] = {
    "batches": (1, {"batch": str, "part": str, "revision": str, "state": str, "wanted_count": int, "due": str,
                    "blanks_count": int, "good_count": int, "bad_count": int, "waiting_count": int, "away_count": int,
                    "unmade_count": int, "heats": str, "place": str, "plan": str}),
    "waivers": (2, {"batch": str, "proof_id": str, "person": str, "words": str}),
    "papers": (2, {"batch": str, "paper": str, "fingerprint": str}),
    "counts": (2, {"batch": str, "number": int, "step": str, "station": str, "kind": str, "in_count": int,
                   "good_count": int, "bad_count": int, "rework_count": int, "waiting_count": int, "away_count": int,
                   "returned_count": int, "unmade_count": int, "taken_count": int, "brought_count": int,
                   "kept_count": int, "is_started": int, "is_done": int, "stopped": str}),
    "changes": (2, {"part": str, "number": int, "ends": str, "begins": str, "from_day": str, "why": str,
                    "person": str, "stays": str, "id": str}),
    "bad": (3, {"batch": str, "step": str, "reason": str, "count": int}),
    "lots": (2, {"batch": str, "lot": str, "step": str, "finisher": str, "promised": str, "sent_count": int,
                 "back_count": int, "uncounted_count": int, "good_count": int, "bad_count": int,
                 "missing_count": int, "rejected_count": int, "away_count": int, "claim_until": str}),
    "stock": (2, {"item": str, "place": str, "count": int, "sort": str, "name": str, "alloy": str, "section": str,
                  "heat": str, "lot": str, "part": str, "revision": str, "length_mm": float, "of": str,
                  "reorder_at_count": int, "is_low": int, "kept_count": int, "aside_count": int}),
    "cutters": (2, {"machine": str, "cutter": str, "life_s": float, "used_s": float, "left_s": float,
                    "changes_count": int}),
    "gauges": (1, {"gauge": str, "checked": str, "is_right": int, "until": str, "person": str, "readings_count": int,
                   "doubtful_count": int}),
    "people": (1, {"who": str, "name": str, "is_here": int}),
    "stations": (1, {"which": str, "name": str, "is_used": int}),
    "readings": (1, {"seq": int, "batch": str, "step": str, "mark": str, "value": float, "unit": str, "verdict": str,
                     "low": float, "high": float, "react_low": float, "react_high": float, "piece": str, "lot": str,
                     "at": str, "person": str, "gauge": str}),
    "coolant": (1, {"seq": int, "machine": str, "at": str, "share_ratio": float, "ph": float, "added_l": float,
                    "note": str, "person": str}),
}  # fmt: skip
LOGS = ("readings", "coolant")
"""Tables with a row an event; the others have rows of books."""


def rows_of(book: AnyBook | None) -> list[Placed]:
    """The rows of one book, none of no book."""
    if isinstance(book, Batch):
        return _of_batch(book)
    if isinstance(book, Item):
        return [
            ("stock", (book.item, place, book.counts.get(place, 0), book.sort, book.name, book.alloy, book.section,
                       book.heat, book.lot, book.part, book.revision, book.length_mm, book.of, book.reorder_at_count,
                       int(book.is_low), book.kept.get(place, 0), book.aside.get(place, 0)))
            for place in sorted(book.counts) or [""]
        ]  # fmt: skip
    if isinstance(book, Revisions):
        return [
            ("changes", (book.part, number, one.ends, one.begins, one.from_day, one.why, one.person, one.stays, one.id))
            for number, one in enumerate(book.endings, start=1)
        ]  # fmt: skip
    if isinstance(book, Edge):
        return [("cutters", (book.machine, book.cutter, book.life_s, book.used_s, book.left_s, book.changes_count))]
    if isinstance(book, Gauge):
        return [("gauges", (book.gauge, book.checked, int(book.is_right), book.until, book.person,
                            book.readings_count, book.doubtful_count))]  # fmt: skip
    if isinstance(book, Person):
        return [("people", (book.who, book.name, int(book.is_here)))]
    if isinstance(book, Station):
        return [("stations", (book.which, book.name, int(book.is_used)))]
    return []


def _of_batch(batch: Batch) -> list[Placed]:
    steps, name = batch.steps, batch.batch
    rows: list[Placed] = [
        ("batches", (name, batch.part, batch.revision, batch.state, batch.wanted_count, batch.due, batch.blanks_count,
                     steps[-1].good_count if steps else 0, sum(one.count for one in batch.bad),
                     sum(one.waiting_count for one in steps), sum(one.away_count for one in steps),
                     sum(one.unmade_count for one in steps), ", ".join(batch.heats), batch.place, batch.plan))
    ]  # fmt: skip
    rows += [("waivers", (name, one.proof_id, one.person, one.words)) for one in batch.waivers]
    rows += [("papers", (name, paper, digest)) for paper, digest in sorted(batch.papers.items())]
    rows += [
        ("counts", (name, number, one.id, one.station, one.kind, one.in_count, one.good_count, one.bad_count,
                    one.rework_count, one.waiting_count, one.away_count, one.returned_count, one.unmade_count,
                    one.taken_count, one.brought_count, one.kept_count, int(one.is_started), int(one.is_done),
                    one.stopped))
        for number, one in enumerate(steps, start=1)
    ]  # fmt: skip
    rows += [("bad", (name, one.step, one.reason, one.count)) for one in batch.bad]
    rows += [
        ("lots", (name, one.lot, one.step, one.finisher, one.promised, one.sent_count, one.back_count,
                  one.uncounted_count, one.good_count, one.bad_count, one.missing_count, one.rejected_count,
                  one.away_count, one.claim_until))
        for one in batch.lots
    ]  # fmt: skip
    return rows


def log_rows(seq: int, event: Event, of: Stating | None, batch: Batch | None) -> list[Placed]:
    """What an event adds to the tables that have a row an event. batch: that of the event, once it has happened."""
    at = event.at.isoformat().replace("+00:00", "Z")
    if isinstance(of, ReadingTaken) and batch is not None:
        check = next(one for one in batch.checks if (one.step, one.mark) == (of.step, of.mark))
        row = (seq, batch.batch, of.step, of.mark, of.value, check.unit, verdict_of(check, of.value), check.low,
               check.high, check.react_low, check.react_high, of.piece, of.lot, at, event.person, of.gauge)  # fmt: skip
        return [("readings", row)]
    if isinstance(of, CoolantRead):
        row = (seq, of.machine, at, of.share_ratio, of.ph, of.added_l, of.note, event.person)
        return [("coolant", row)]
    return []
