"""The forms in which somebody writes down what happened to stock, cutters, gauges and coolant, and each one's event."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal, get_args

from proveout.jobs.coolant import share_by_refractometer
from proveout.jobs.typed_numbers import number_typed, whole_typed
from proveout.model.events import Stating
from proveout.model.stock_events import (
    BarReceived,
    CoolantRead,
    EdgeChanged,
    GaugeChecked,
    ItemSort,
    Moved,
    RemnantPut,
    ReorderSet,
    StockCounted,
    StockPut,
    StockTaken,
)
from proveout.model.stock_kept import Item
from proveout.quantities.errors import BadInput
from proveout.quantities.units import MM_PER_INCH, S_PER_MIN

Kind = Literal["text", "count", "number", "length", "choice"]
Find = Callable[[str], Item | None]
SORTS: tuple[ItemSort, ...] = get_args(ItemSort)
NOT_BARS = tuple(sort for sort in SORTS if sort not in ("bar", "remnant"))


@dataclass(frozen=True)
class Asked:
    """One field. must: may not be left empty.   offers: name of a list of what was written before, empty for none."""

    name: str
    label: str
    kind: Kind = "text"
    must: bool = True
    choices: tuple[str, ...] = ()
    offers: str = ""


@dataclass(frozen=True)
class StockForm:
    """One form."""

    id: str
    title: str
    hint: str
    fields: tuple[Asked, ...]


ITEM = Asked("item", "tag or name", offers="items")
PLACE = Asked("place", "place", offers="places")
COUNT = Asked("count", "how many", "count")
READS_RIGHT, READS_WRONG = "it reads right", "it does not read right"
FORMS = (
    StockForm("receive", "Bars came", "One tag for each delivery and heat; the section as the shop calls it.", (
        Asked("item", "tag they carry from now on"), Asked("alloy", "alloy", offers="alloys"),
        Asked("section", "section", offers="sections"), Asked("heat", "heat, as the mill's certificate says"),
        Asked("lot", "delivery", must=False), Asked("length", "length of a bar", "length"), COUNT, PLACE,
    )),
    StockForm("remnant", "A remnant is put by", "It keeps alloy, section and heat of the bar that it was.", (
        Asked("item", "tag of the remnant"), Asked("of", "tag of the bar it was", offers="items"),
        Asked("length", "length", "length"), PLACE,
    )),
    StockForm("put", "Something else came", "Blanks, half-made and coated parts, kits, hardware.", (
        ITEM, Asked("sort", "what it is", "choice", choices=NOT_BARS), Asked("name", "in words"), COUNT, PLACE,
        Asked("part", "part, if it is one", must=False), Asked("revision", "revision", must=False),
        Asked("heat", "heat", must=False), Asked("lot", "lot", must=False),
    )),
    StockForm("move", "Move", "", (
        ITEM, COUNT, Asked("from_place", "from", offers="places"), Asked("to_place", "to", offers="places"),
    )),
    StockForm("count", "Count", "What lies there, whatever was reckoned.", (ITEM, COUNT, PLACE)),
    StockForm("take", "Take or scrap", "", (
        ITEM, COUNT, PLACE, Asked("way", "why", "choice", choices=("used", "scrap")),
        Asked("why", "for what, or what is wrong with it"),
    )),
    StockForm("reorder", "Reorder point", "Order more when so many or fewer are left.", (ITEM, COUNT)),
    StockForm("edge", "A fresh edge", "", (
        Asked("machine", "machine", offers="machines"), Asked("cutter", "cutter", offers="cutters"),
        Asked("life", "minutes in cut that it is good for; empty when nobody knows", "number", must=False),
        Asked("why", "why", must=False),
    )),
    StockForm("gauge", "A gauge was checked", "Nobody reads a coat by one that is not right, or is out of date.", (
        Asked("gauge", "gauge", offers="gauges"), Asked("by", "held against what, as foil of 50 µm"),
        Asked("found", "how it reads", "choice", choices=(READS_RIGHT, READS_WRONG)),
        Asked("until", "in date until, as 2027-12-31; empty when it does not read right", must=False),
    )),
    StockForm("coolant", "Coolant looked at", "The factor stands on the data sheet of the concentrate.", (
        Asked("machine", "machine", offers="machines"), Asked("reading", "refractometer reads", "number", must=False),
        Asked("factor", "factor of the concentrate", "number", must=False), Asked("ph", "pH", "number", must=False),
        Asked("added", "litres added", "number", must=False), Asked("note", "what was seen", must=False),
    )),
)  # fmt: skip


def form_of(id: str) -> StockForm:
    """The form of that id.

    Raises:   BadInput when there is none.
    """
    for form in FORMS:
        if form.id == id:
            return form
    raise BadInput("There is no such form", where="stock", value=id[:40])


def event_of_form(form: StockForm, typed: Mapping[str, str], *, is_inch: bool, find: Find) -> Stating:
    """What a form says happened.

    Args:     is_inch: lengths are typed in inches.   find: an item of stock by its tag.
    Raises:   BadInput for a field that is missing or no number, or for what cannot be.
    """
    said = _Typed(form, typed, is_inch=is_inch)
    match form.id:
        case "receive":
            return BarReceived(
                item=said.text("item"), alloy=said.text("alloy"), section=said.text("section"), heat=said.text("heat"),
                lot=said.text("lot"), length_mm=said.length("length"), count=said.count("count"),
                place=said.text("place"),
            )  # fmt: skip
        case "remnant":
            bar = find(said.text("of"))
            if bar is None:
                raise BadInput("There is no bar of this tag", where="tag of the bar it was", value=said.text("of"))
            return RemnantPut(
                item=said.text("item"), of=bar.item, heat=bar.heat, alloy=bar.alloy, section=bar.section,
                length_mm=said.length("length"), place=said.text("place"),
            )  # fmt: skip
        case "put":
            return StockPut(
                item=said.text("item"), sort=said.sort("sort"), name=said.text("name"), count=said.count("count"),
                place=said.text("place"), part=said.text("part"), revision=said.text("revision"),
                heat=said.text("heat"), lot=said.text("lot"),
            )  # fmt: skip
        case "move":
            return Moved(item=said.text("item"), count=said.count("count"), from_place=said.text("from_place"),
                         to_place=said.text("to_place"))  # fmt: skip
        case "count":
            return StockCounted(item=said.text("item"), count=said.count("count"), place=said.text("place"))
        case "take":
            return StockTaken(item=said.text("item"), count=said.count("count"), place=said.text("place"),
                              why=f"{said.choice('way')}: {said.text('why')}")  # fmt: skip
        case "reorder":
            return ReorderSet(item=said.text("item"), at_count=said.count("count"))
        case "edge":
            life_min = said.number("life")
            return EdgeChanged(machine=said.text("machine"), cutter=said.text("cutter"), why=said.text("why"),
                               life_s=None if life_min is None else life_min * S_PER_MIN)  # fmt: skip
        case "gauge":
            return GaugeChecked(gauge=said.text("gauge"), by=said.text("by"), until=said.text("until"),
                                is_right=said.choice("found") == READS_RIGHT)  # fmt: skip
        case _:
            return _coolant(said)


def _coolant(said: _Typed) -> CoolantRead:
    reading, factor, note = said.number("reading"), said.number("factor"), said.text("note")
    share = None
    if (reading is None) != (factor is None):
        raise BadInput("The share of concentrate takes the reading and the factor of the concentrate",
                       where="coolant", do="give both, or neither")  # fmt: skip
    if reading is not None and factor is not None:
        share = share_by_refractometer(reading_percent=reading, factor=factor)
        note = f"{note}; {reading:g} read, factor {factor:g}".removeprefix("; ")
    return CoolantRead(machine=said.text("machine"), share_ratio=share, ph=said.number("ph"),
                       added_l=said.number("added") or 0.0, note=note)  # fmt: skip


class _Typed:
    """What was typed, read field by field."""

    def __init__(self, form: StockForm, typed: Mapping[str, str], *, is_inch: bool) -> None:
        self._fields = {field.name: field for field in form.fields}
        self._typed, self._is_inch = typed, is_inch

    def text(self, name: str) -> str:
        found = self._typed.get(name, "").strip()
        if not found and self._fields[name].must:
            raise BadInput("This must be said", where=self._fields[name].label)
        return found

    def choice(self, name: str) -> str:
        found = self.text(name)
        if found not in self._fields[name].choices:
            raise BadInput("This is none of the choices", where=self._fields[name].label, value=found[:40],
                           limit=", ".join(self._fields[name].choices))  # fmt: skip
        return found

    def sort(self, name: str) -> ItemSort:
        found = self.choice(name)
        return next(one for one in SORTS if one == found)

    def count(self, name: str) -> int:
        return whole_typed(self.text(name), where=self._fields[name].label)

    def number(self, name: str) -> float | None:
        found = self.text(name)
        return number_typed(found, where=self._fields[name].label) if found else None

    def length(self, name: str) -> float:
        found = self.number(name)
        assert found is not None
        return found * MM_PER_INCH if self._is_inch else found
