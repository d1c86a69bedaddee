"""Stock, cutters, coolant, people and stations as their events have left them."""

from __future__ import annotations

from proveout.model.batch import Book
from proveout.model.stock_events import ItemSort


class Item(Book, frozen=True, kw_only=True):
    """Bars of one tag, a remnant, kits: what lies where. counts: by place, none of them 0.   of: bar of a remnant.

    Since their revision ends: kept: of counts, those that are used as they are;  aside: those that nobody takes.
    """

    item: str
    sort: ItemSort
    name: str = ""
    alloy: str = ""
    section: str = ""
    heat: str = ""
    lot: str = ""
    part: str = ""
    revision: str = ""
    of: str = ""
    length_mm: float | None = None
    counts: dict[str, int] = {}
    kept: dict[str, int] = {}
    aside: dict[str, int] = {}
    reorder_at_count: int | None = None

    @property
    def all_count(self) -> int:
        """In all places together."""
        return sum(self.counts.values())

    @property
    def is_low(self) -> bool:
        """True when more of it is to be ordered."""
        return self.reorder_at_count is not None and self.all_count <= self.reorder_at_count


class Edge(Book, frozen=True, kw_only=True):
    """A cutter's edge in a machine. life_s: None when nobody knows how long it cuts.   used_s: since it was fresh."""

    machine: str
    cutter: str
    life_s: float | None
    used_s: float = 0.0
    changes_count: int = 0

    @property
    def left_s(self) -> float | None:
        """Seconds left, below 0 once it has cut longer than it was good for; None when nobody knows."""
        return None if self.life_s is None else self.life_s - self.used_s


class Gauge(Book, frozen=True, kw_only=True):
    """A gauge as it was last checked. checked, until: ISO dates; until: empty while it does not read right.

    readings_count: by it since it was last found right;  doubtful_count: by it between the last check
    that found it right and those that found it wrong.
    """

    gauge: str
    checked: str
    until: str
    person: str
    readings_count: int = 0
    doubtful_count: int = 0

    @property
    def is_right(self) -> bool:
        """It read right when it was last checked."""
        return bool(self.until)

    def is_good_on(self, day: str) -> bool:
        """Whether it is right and in date on a day. day: ISO date."""
        return self.is_right and day <= self.until


class Person(Book, frozen=True, kw_only=True):
    """Somebody of the shop."""

    who: str
    name: str
    is_here: bool


class Station(Book, frozen=True, kw_only=True):
    """A place of work."""

    which: str
    name: str
    is_used: bool
