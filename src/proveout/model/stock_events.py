"""What happens to bars, remnants, stock, cutters, coolant, people and stations."""

from __future__ import annotations

from typing import Literal

from proveout.model.batch_events import Bad, Happening
from proveout.model.written import counted, dated, named
from proveout.quantities.errors import BadInput, OutOfRange

ItemSort = Literal[
    "bar", "remnant", "blank", "half-made part", "coated part", "boxed part", "kit", "hardware", "other"
]  # fmt: skip


class BarReceived(Happening, frozen=True, kw_only=True):
    """Bars of one heat and one delivery came. item: the tag that they carry from now on."""

    item: str
    alloy: str
    section: str
    heat: str
    lot: str
    length_mm: float
    count: int
    place: str

    def __post_init__(self) -> None:
        named(self.item, where="tag of the bars")
        named(self.heat, where=f"bars {self.item}, heat")
        named(self.place, where=f"bars {self.item}, place")
        counted(self.count, where=f"bars {self.item}", least=1)
        if self.length_mm <= 0.0:
            raise OutOfRange("A bar has a length", where=self.item, value=f"{self.length_mm:g} mm", limit="above 0 mm")


class Sawn(Happening, frozen=True, kw_only=True):
    """Whole bars or a remnant became blanks. heat, alloy, section: read off the bar, so that a wrong one is seen here.

    alloy, section: may be empty only for a batch whose release says nothing of its bars.
    """

    step: str
    item: str
    heat: str
    place: str
    bars_count: int
    good_count: int
    bad: tuple[Bad, ...] = ()
    alloy: str = ""
    section: str = ""

    def __post_init__(self) -> None:
        named(self.item, where="tag of the bars")
        counted(self.bars_count, where=f"bars {self.item}, sawn", least=1)
        counted(self.good_count, where=f"step {self.step}, blanks")
        if not self.good_count and not self.bad:
            raise BadInput("Nothing was sawn", where=f"bars {self.item}", limit="at least one blank")

    @property
    def pieces_count(self) -> int:
        """All blanks, bad ones among them."""
        return self.good_count + sum(one.count for one in self.bad)


class RemnantPut(Happening, frozen=True, kw_only=True):
    """What is left of a bar is tagged and put by. of: tag of the bar it was, whose alloy, section and heat it has."""

    item: str
    of: str
    heat: str
    length_mm: float
    place: str
    alloy: str = ""
    section: str = ""

    def __post_init__(self) -> None:
        named(self.item, where="tag of the remnant")
        named(self.place, where=f"remnant {self.item}, place")
        if self.item == self.of:
            raise BadInput("A remnant gets a tag of its own", where=self.item, do="name another tag")
        if self.length_mm <= 0.0:
            raise OutOfRange("A remnant has a length", where=self.item, value=f"{self.length_mm:g} mm", limit="above 0")


class StockPut(Happening, frozen=True, kw_only=True):
    """Kits, hardware or parts come to a place. revision, heat: empty where they have none."""

    item: str
    sort: ItemSort
    name: str
    count: int
    place: str
    part: str = ""
    revision: str = ""
    heat: str = ""
    lot: str = ""

    def __post_init__(self) -> None:
        named(self.item, where="stock")
        named(self.place, where=f"{self.item}, place")
        counted(self.count, where=f"{self.item}, put", least=1)


class StockTaken(Happening, frozen=True, kw_only=True):
    """Some of it was used."""

    item: str
    count: int
    place: str
    why: str = ""

    def __post_init__(self) -> None:
        counted(self.count, where=f"{self.item}, taken", least=1)


class StockCounted(Happening, frozen=True, kw_only=True):
    """Somebody counted what lies in one place: so many, whatever was reckoned."""

    item: str
    count: int
    place: str

    def __post_init__(self) -> None:
        named(self.place, where=f"{self.item}, place")
        counted(self.count, where=f"{self.item}, found")


class ReorderSet(Happening, frozen=True, kw_only=True):
    """Order more of an item when so many or fewer are left."""

    item: str
    at_count: int

    def __post_init__(self) -> None:
        counted(self.at_count, where=f"{self.item}, reorder")


class Moved(Happening, frozen=True, kw_only=True):
    """Stock goes from one place to another. With no item it is the batch's tray; count and from_place say nothing."""

    to_place: str
    item: str = ""
    count: int = 0
    from_place: str = ""

    def __post_init__(self) -> None:
        named(self.to_place, where="new place")
        counted(self.count, where=f"{self.item}, moved", least=1 if self.item else 0)


class EdgeChanged(Happening, frozen=True, kw_only=True):
    """A cutter of a machine has a fresh edge. life_s: in cut, that it is good for; None when nobody knows."""

    machine: str
    cutter: str
    life_s: float | None
    why: str = ""

    def __post_init__(self) -> None:
        named(self.machine, where="machine")
        named(self.cutter, where="cutter")
        if self.life_s is not None and self.life_s <= 0.0:
            raise OutOfRange("An edge has a life", where=self.cutter, value=f"{self.life_s:g} s", limit="above 0 s")


class CoolantRead(Happening, frozen=True, kw_only=True):
    """A look at a machine's coolant. share_ratio: of concentrate, None when not read.  added_l: litres poured in."""

    machine: str
    share_ratio: float | None = None
    ph: float | None = None
    added_l: float = 0.0
    note: str = ""

    def __post_init__(self) -> None:
        named(self.machine, where="machine")
        if self.share_ratio is not None and not 0.0 <= self.share_ratio <= 1.0:
            raise OutOfRange("A share of concentrate is out of range", where=self.machine, limit="0 to 1",
                             value=f"{self.share_ratio:g}")  # fmt: skip
        if self.ph is not None and not 0.0 <= self.ph <= 14.0:
            raise OutOfRange("A pH is out of range", where=self.machine, value=f"{self.ph:g}", limit="0 to 14")
        if self.added_l < 0.0:
            raise OutOfRange("Coolant cannot be added backwards", where=self.machine, value=f"{self.added_l:g} l",
                             limit="from 0")  # fmt: skip


class GaugeChecked(Happening, frozen=True, kw_only=True):
    """Somebody held a gauge against something known. is_right: it reads as it should.   by: what it was held against.

    until: ISO date, the last day on which it is in date; empty for one that does not read right.
    """

    gauge: str
    by: str
    is_right: bool
    until: str = ""

    def __post_init__(self) -> None:
        named(self.gauge, where="gauge")
        named(self.by, where=f"gauge {self.gauge}, what it was held against")
        dated(self.until, where=f"gauge {self.gauge}, in date until")
        if self.is_right != bool(self.until):
            raise BadInput("A gauge that reads right is in date until a day, another until none",
                           where=f"gauge {self.gauge}", value=self.until or "no day", limit="YYYY-MM-DD")  # fmt: skip


class PersonNoted(Happening, frozen=True, kw_only=True):
    """Who somebody is. who: as events name them.   is_here: works here now."""

    who: str
    name: str
    is_here: bool = True

    def __post_init__(self) -> None:
        named(self.who, where="person")
        named(self.name, where=f"person {self.who}, name")


class StationNoted(Happening, frozen=True, kw_only=True):
    """What a station is. which: as events name it."""

    which: str
    name: str
    is_used: bool = True

    def __post_init__(self) -> None:
        named(self.which, where="station")
        named(self.name, where=f"station {self.which}, name")


StockHappening = (
    BarReceived | Sawn | RemnantPut | StockPut | StockTaken | StockCounted | ReorderSet | Moved | EdgeChanged
    | CoolantRead | GaugeChecked | PersonNoted | StationNoted
)  # fmt: skip
