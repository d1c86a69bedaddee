"""Which books an event is written in, and what it makes of each."""

from __future__ import annotations

from proveout.books.batches import batch_after
from proveout.books.gauges import gauge_after
from proveout.books.revisions import revisions_after
from proveout.books.settling import brought
from proveout.books.stock import item_after
from proveout.model.batch import Batch
from proveout.model.batch_events import Counted, Packed, ReadingTaken
from proveout.model.change_events import PiecesSettled, RevisionEnds, RevisionStays, SolidHeld, StockSettled
from proveout.model.events import Corrected, Event, Stating
from proveout.model.revision_book import Revisions
from proveout.model.shop_events import ValueAccepted, ValueDeclined
from proveout.model.stock_events import (
    BarReceived,
    CoolantRead,
    EdgeChanged,
    GaugeChecked,
    Moved,
    PersonNoted,
    RemnantPut,
    ReorderSet,
    Sawn,
    StationNoted,
    StockCounted,
    StockPut,
    StockTaken,
)
from proveout.model.stock_kept import Edge, Gauge, Item, Person, Station
from proveout.quantities.errors import InternalError, Refused

AnyBook = Batch | Item | Edge | Gauge | Person | Station | Revisions
Key = str
OF_REVISIONS = (RevisionEnds, SolidHeld, RevisionStays)
OF_STOCK = (BarReceived, StockPut, StockTaken, StockCounted, ReorderSet, StockSettled)


def batch_key(batch: str) -> Key:
    """The book of a batch."""
    return f"batch:{batch}"


def item_key(item: str) -> Key:
    """The book of an item of stock."""
    return f"item:{item}"


def edge_key(machine: str, cutter: str) -> Key:
    """The book of a cutter's edge; a name of a machine holds no line break."""
    return f"edge:{machine}\n{cutter}"


def gauge_key(gauge: str) -> Key:
    """The book of a gauge."""
    return f"gauge:{gauge}"


def boxed_key(batch: str, of: Packed) -> Key:
    """The book of the box that pieces went into; of all of a batch that went into boxes without a label."""
    return item_key(of.code or f"{batch} boxed")


def revisions_key(part: str) -> Key:
    """The book of the revisions of a part."""
    return f"revisions:{part}"


def keys_of(batch: str, of: Stating) -> tuple[Key, ...]:
    """The books that something is written in, each once, sorted.

    Raises:   Refused when a batch is named for what is about none, or none where one is needed.
    """
    if isinstance(of, OF_STOCK):
        keys = {item_key(of.item)}
    elif isinstance(of, OF_REVISIONS):
        keys = {revisions_key(of.part)}
    elif isinstance(of, RemnantPut):
        keys = {item_key(of.item), item_key(of.of)}
    elif isinstance(of, EdgeChanged):
        keys = {edge_key(of.machine, of.cutter)}
    elif isinstance(of, GaugeChecked):
        keys = {gauge_key(of.gauge)}
    elif isinstance(of, PersonNoted):
        keys = {f"person:{of.who}"}
    elif isinstance(of, StationNoted):
        keys = {f"station:{of.which}"}
    elif isinstance(of, CoolantRead | ValueAccepted | ValueDeclined):
        keys = set()
    elif isinstance(of, Moved) and of.item:
        keys = {item_key(of.item)}
    else:
        if not batch:
            raise Refused("This happens to a batch, and none is named", where=str(of.__struct_config__.tag))
        keys = {batch_key(batch), *_beside(batch, of)}
    return tuple(sorted(keys))


def _beside(batch: str, of: Stating) -> set[Key]:
    """The books beside that of its batch in which something is written.

    Raises:   Refused when pieces would go on in the batch that they leave.
    """
    if isinstance(of, Sawn):
        return {item_key(of.item)}
    if isinstance(of, PiecesSettled) and of.to_batch:
        if of.to_batch == batch:
            raise Refused("Pieces cannot go on in the batch that they leave", where=batch)
        return {batch_key(of.to_batch)}
    if isinstance(of, ReadingTaken) and of.gauge:
        return {gauge_key(of.gauge)}
    if isinstance(of, Packed) and of.place:
        return {boxed_key(batch, of)}
    if isinstance(of, Counted):
        return {edge_key(use.machine, use.cutter) for use in of.used}
    return set()


def book_after(key: Key, book: AnyBook | None, event: Event, of: Stating) -> AnyBook:
    """One book once something has happened. of: what, as it stands corrected.

    Raises:   Refused when it cannot follow what is in the book.
    """
    sort, _, name = key.partition(":")
    if sort == "batch":
        assert book is None or isinstance(book, Batch)
        if isinstance(of, PiecesSettled) and name == of.to_batch:
            return brought(book, of)
        return batch_after(book, event, of)
    if sort == "item":
        assert book is None or isinstance(book, Item)
        return item_after(book, name, of, batch=event.batch)
    if sort == "edge":
        assert book is None or isinstance(book, Edge)
        return _edge_after(book, name, of)
    if sort == "gauge":
        assert book is None or isinstance(book, Gauge)
        return gauge_after(book, event, of)
    if sort == "revisions":
        assert book is None or isinstance(book, Revisions)
        return revisions_after(book, event, of)
    if isinstance(of, PersonNoted):
        return Person(who=of.who, name=of.name, is_here=of.is_here)
    if isinstance(of, StationNoted):
        return Station(which=of.which, name=of.name, is_used=of.is_used)
    raise InternalError("An event is written in no such book", where=key)


def stated(event: Event) -> Stating:
    """What an event states that corrects nothing.

    Raises:   InternalError for a correction.
    """
    if isinstance(event.of, Corrected):
        raise InternalError("A correction states nothing by itself", where=event.id)
    return event.of


def _edge_after(edge: Edge | None, name: str, of: Stating) -> Edge:
    machine, _, cutter = name.partition("\n")
    if isinstance(of, EdgeChanged):
        return Edge(machine=machine, cutter=cutter, life_s=of.life_s,
                    changes_count=1 + (edge.changes_count if edge is not None else 0))  # fmt: skip
    if not isinstance(of, Counted):
        raise InternalError("This does not happen to a cutter", where=name)
    # nobody wrote down when it was fresh: how long it may still cut is not known
    edge = edge or Edge(machine=machine, cutter=cutter, life_s=None)
    used_s = sum(use.used_s for use in of.used if (use.machine, use.cutter) == (machine, cutter))
    return Edge(machine=machine, cutter=cutter, life_s=edge.life_s, used_s=edge.used_s + used_s,
                changes_count=edge.changes_count)  # fmt: skip
