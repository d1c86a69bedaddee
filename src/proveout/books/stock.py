"""What one event makes of an item of stock, a cutter's edge, a person or a station."""

from __future__ import annotations

from msgspec.structs import replace

from proveout.model.batch_events import Packed
from proveout.model.change_events import ASIDE, KEPT, StockSettled
from proveout.model.events import Stating
from proveout.model.stock_events import (
    BarReceived,
    Moved,
    RemnantPut,
    ReorderSet,
    Sawn,
    StockCounted,
    StockPut,
    StockTaken,
)
from proveout.model.stock_kept import Item
from proveout.quantities.errors import Refused


def item_after(item: Item | None, tag: str, of: Stating, *, batch: str = "") -> Item:
    """The item once this has happened. batch: of the event.

    Raises:   Refused when it cannot follow what happened before.
    """
    if isinstance(of, BarReceived):
        return _received(item, of)
    if isinstance(of, RemnantPut) and of.item == tag:
        return _put_by(item, of)
    if isinstance(of, StockPut | Packed):
        return _put(item, of if isinstance(of, StockPut) else _boxed(tag, of, batch))
    if item is None:
        raise Refused("There is no such thing in stock", where=tag, do="write down first that it came")
    match of:
        case Sawn():
            _is_bar(item)
            _same_heat(item, of.heat)
            _as_tagged(item, alloy=of.alloy or item.alloy, section=of.section or item.section)
            return _taken(item, of.bars_count, of.place)
        case RemnantPut():
            _is_bar(item)
            _same_heat(item, of.heat)
            _as_tagged(item, alloy=of.alloy, section=of.section)
            _shorter(item, of)
            return item
        case StockTaken():
            return _taken(item, of.count, of.place)
        case StockCounted():
            return _with_count(item, of.place, of.count)
        case StockSettled():
            return _settled(item, of)
        case Moved():
            return _moved(item, of)
        case ReorderSet():
            return replace(item, reorder_at_count=of.at_count)
        case _:
            raise Refused("This does not happen to stock", where=tag)


def _received(item: Item | None, of: BarReceived) -> Item:
    if item is not None:
        raise Refused("Bars of this tag are there already", where=of.item, do="give each delivery its own tag")
    return Item(
        item=of.item, sort="bar", name=of.section, alloy=of.alloy, section=of.section, heat=of.heat, lot=of.lot,
        length_mm=of.length_mm, counts={of.place: of.count},
    )  # fmt: skip


def _put_by(item: Item | None, of: RemnantPut) -> Item:
    if item is not None:
        raise Refused("There is something of this tag already", where=of.item, do="name another tag")
    return Item(
        item=of.item, sort="remnant", name=of.section, of=of.of, alloy=of.alloy, section=of.section, heat=of.heat,
        length_mm=of.length_mm, counts={of.place: 1},
    )  # fmt: skip


def _put(item: Item | None, of: StockPut) -> Item:
    if item is None:
        item = Item(item=of.item, sort=of.sort, name=of.name, part=of.part, revision=of.revision, heat=of.heat,
                    lot=of.lot)  # fmt: skip
    elif _what(item) != _what(of):
        raise Refused("What lies under this name is something else", where=of.item, value=_what(of), limit=_what(item),
                      do="name it otherwise")  # fmt: skip
    return _with_count(item, of.place, item.counts.get(of.place, 0) + of.count)


def _boxed(tag: str, of: Packed, batch: str) -> StockPut:
    """Pieces of a batch in a box, which is its lot in stock: never of two batches under one label."""
    if not of.part or not of.revision:
        raise Refused("Boxed pieces are of a part at a revision", where=f"{batch}, {tag}",
                      value=f"part {of.part or 'not said'}, revision {of.revision or 'not said'}")  # fmt: skip
    return StockPut(item=tag, sort="boxed part", name=f"{of.part} revision {of.revision}", count=of.count,
                   place=of.place, part=of.part, revision=of.revision, lot=batch)  # fmt: skip


def _what(of: Item | StockPut) -> str:
    return f"{of.sort}, part {of.part} revision {of.revision}, heat {of.heat}, lot {of.lot}"


def _taken(item: Item, count: int, place: str) -> Item:
    there, aside = item.counts.get(place, 0), item.aside.get(place, 0)
    if count > there:
        raise Refused("Fewer lie in this place", where=f"{item.item}, {place}", value=str(count),
                      limit=f"at most {there}", do="look elsewhere, or write down what was counted there")  # fmt: skip
    if count > there - aside:
        raise Refused("The rest is set aside, as its revision ends", where=f"{item.item}, {place}", value=str(count),
                      limit=f"at most {there - aside}", do="say at the change what becomes of it")  # fmt: skip
    kept = item.kept.get(place, 0)
    item = replace(item, kept=_with(item.kept, place, max(0, kept - count)))
    return _with_count(item, place, there - count)


def _moved(item: Item, of: Moved) -> Item:
    """Those that are used as they are go first, and are that in their new place too."""
    kept = min(of.count, item.kept.get(of.from_place, 0))
    taken = _taken(item, of.count, of.from_place)
    taken = replace(taken, kept=_with(taken.kept, of.to_place, taken.kept.get(of.to_place, 0) + kept))
    return _with_count(taken, of.to_place, taken.counts.get(of.to_place, 0) + of.count)


def _settled(item: Item, of: StockSettled) -> Item:
    """What somebody said of pieces whose revision ends; never of the same ones twice."""
    kept, aside = item.kept.get(of.place, 0), item.aside.get(of.place, 0)
    left = item.counts.get(of.place, 0) - kept - aside
    if of.count > left:
        raise Refused("More pieces than lie there undecided", where=f"{item.item}, {of.place}", value=str(of.count),
                      limit=f"at most {left}", do="count again, or correct what was said of them")  # fmt: skip
    if of.fate == KEPT:
        return replace(item, kept=_with(item.kept, of.place, kept + of.count))
    if of.fate == ASIDE:
        return replace(item, aside=_with(item.aside, of.place, aside + of.count))
    return _with_count(item, of.place, item.counts[of.place] - of.count)


def _with_count(item: Item, place: str, count: int) -> Item:
    """So many lie there; of those that are said of something no more than there are, the ones set aside first."""
    aside = min(item.aside.get(place, 0), count)
    kept = min(item.kept.get(place, 0), count - aside)
    return replace(item, counts=_with(item.counts, place, count), aside=_with(item.aside, place, aside),
                   kept=_with(item.kept, place, kept))  # fmt: skip


def _with(counts: dict[str, int], place: str, count: int) -> dict[str, int]:
    """Counts by place, none of them nothing, in order."""
    return dict(sorted((at, number) for at, number in {**counts, place: count}.items() if number))


def _is_bar(item: Item) -> None:
    if item.sort not in ("bar", "remnant"):
        raise Refused("Only bars and remnants are sawn", where=item.item, value=item.sort, do="read the tag again")


def _shorter(item: Item, of: RemnantPut) -> None:
    if item.length_mm is not None and of.length_mm >= item.length_mm:
        raise Refused("A remnant is shorter than the bar it was", where=of.item, value=f"{of.length_mm:g} mm",
                      limit=f"below {item.length_mm:g} mm", do="measure it again")  # fmt: skip


def _as_tagged(item: Item, *, alloy: str, section: str) -> None:
    for what, read, tagged in (("alloy", alloy, item.alloy), ("section", section, item.section)):
        if read != tagged:
            raise Refused(f"The bar is of another {what} than its tag says", where=item.item, value=read or "not said",
                          limit=tagged or "none is known", do="read the marks on the bar again")  # fmt: skip


def _same_heat(item: Item, heat: str) -> None:
    if item.heat != heat:
        raise Refused("The bar is of another heat than its tag says", where=item.item, value=heat, limit=item.heat,
                      do="read the marks on the bar again")  # fmt: skip
