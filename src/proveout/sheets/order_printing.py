"""What the page and the papers of an order are printed from: its numbers with their ink, and plain names."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from typing import NamedTuple

from proveout.model.fact import Fact
from proveout.model.order import OrderLoad, OrderMoney
from proveout.model.plan import Plan
from proveout.model.proof import Proof, open_proofs, weakest_first
from proveout.model.purchase import OrderBuying
from proveout.model.sawing import OrderSawing
from proveout.model.schedule import DayRhythm
from proveout.model.shop import Noun, Shop
from proveout.quantities.names_apart import names_apart
from proveout.quantities.units import S_PER_H, S_PER_MIN
from proveout.sheets.bought_cells import bought_cells, bought_what
from proveout.sheets.ink import Ink
from proveout.sheets.names import Names

NOBODY = "no supplier written"
TURN_MOST = 4  # things done in turn that are told as one line


class DayWork(Noun, frozen=True, kw_only=True):
    """One thing that a person does."""

    station: str
    part: str
    what: str


class DayLine(Noun, frozen=True, kw_only=True):
    """What one person does on the day of the rhythm, begins and ends in h:mm into the shift.

    works: one after the other, and the whole of them so many times.
    """

    person: int
    begins: str
    ends: str
    works: tuple[DayWork, ...]
    times_count: int


class OrderContent(Noun, frozen=True, kw_only=True):
    """What page and papers print from; open_counts: proofs of each part that must hold before release and do not yet.

    day_lines: the rhythm of a day, person by person, what is done over and over in one line.
    """

    load: OrderLoad
    plans: tuple[Plan, ...]
    open_counts: tuple[int, ...]
    unready_count: int
    fits: tuple[Proof, ...] = ()
    sawing: OrderSawing | None = None
    sawing_proofs: tuple[Proof, ...] = ()
    buying: OrderBuying | None = None
    money: OrderMoney | None = None
    day_lines: tuple[DayLine, ...] = ()


class Bought(NamedTuple):
    """One line of the purchase list, printed.   shares: the parts, with what each asks for by itself."""

    what: str
    count: str
    packs: str
    price: str
    days: str
    shares: str
    why: str


class OrderPrinting:
    """The content with its ink and plain names."""

    def __init__(self, *, parts: Sequence[tuple[Plan, str]], load: OrderLoad, shop: Shop, marked: bool,
        fits: tuple[Proof, ...] = (), sawing: OrderSawing | None = None, sawing_proofs: tuple[Proof, ...] = (),
        buying: OrderBuying | None = None, money: OrderMoney | None = None, is_inch: bool = False,
    ) -> None:  # fmt: skip
        plans = tuple(plan for plan, _ in parts)
        self.content = OrderContent(
            load=load,
            plans=plans,
            open_counts=tuple(len(open_proofs(plan.proofs)) for plan in plans),
            unready_count=sum(not plan.ready for plan in plans),
            fits=fits,
            sawing=sawing,
            sawing_proofs=weakest_first(sawing_proofs),
            buying=buying,
            money=money,
            day_lines=day_lines(load.schedule.rhythm) if load.schedule is not None and load.schedule.rhythm else (),
        )
        self.folders = tuple(folder for _, folder in parts)
        self.shop, self.load = shop, load
        self.ink = Ink(roots={"order": self.content, "shop": shop}, marked=marked, is_inch=is_inch)
        self.names = Names(plan=plans[0], shop=shop)
        numbers = names_apart(plan.part.number for plan in plans)
        self._ops = {one.id: f"op {one.number}" for plan in plans for one in plan.clampings}
        ids = "|".join(re.escape(id) for id in sorted(self._ops, key=lambda id: (-len(id), id)))
        self._clampings = re.compile(rf"(?<![\w-])(?:{ids})(?![\w-])")
        self._of_part = {
            number: Names(plan=plan, shop=shop) for number, plan in zip(numbers, plans, strict=True)
        }  # fmt: skip

    def words(self, *address: str | int) -> str:
        """Words of the order with machines, and what is of one of its parts, named plainly."""
        text = self.names.short(str(self.ink.at(*address)))
        if self._ops:
            text = self._clampings.sub(lambda found: self._ops[found[0]], text)
        return self.ink.words(*address, as_text=text)

    def of_part(self, part: str, *address: str | int) -> str:
        """Words about one part of the order, with its own clampings, faces and holes named plainly."""
        names = self._of_part.get(part, self.names)
        return self.ink.words(*address, as_text=names.short(str(self.ink.at(*address))))

    def late_ends(self, *at: str | int) -> str:
        """From how many to how many working days past the date, rounded up: a part of a day late is a day."""
        fact: Fact = self.ink.at(*at)
        low, high = (
            self.ink.words(*at, end, as_text=f"{math.ceil(value) + 0}".replace("-", "−"))
            for end, value in (("low", fact.low), ("high", fact.high))
        )
        return low if low == high else f"{low} to {high}"

    def ends(self, *address: str | int, unit: str = "") -> str:
        """Both ends of a fact, whole, in the unit it is kept in; one number where both print alike."""
        low, high = (self.ink.number(*address, end, digits=0, bare=True, as_is=True) for end in ("low", "high"))
        return f"{low if low == high else f'{low} to {high}'}{unit}"

    def bought(self, index: int) -> Bought:
        """A line of the purchase list."""
        assert self.content.buying is not None
        line, at, ink = self.content.buying.lines[index], ("order", "buying", "lines", index), self.ink
        what, cells = bought_what(line, self.words(*at, "what")), bought_cells(ink, line, at)
        shares = []
        for n, share in enumerate(line.shares):
            part = ink.words(*at, "shares", n, "part")
            shares.append(part if share.count is None or len(line.shares) == 1 else
                          f"{part} {ink.number(*at, 'shares', n, 'count', digits=0)}")  # fmt: skip
        return Bought(what, *cells, ", ".join(shares), self.words(*at, "why"))

    def unpriced(self, count: int, *address: str | int) -> str:
        """Words for the lines of a sum whose price is not known; empty where all are."""
        if not count:
            return ""
        return f", and {self.ink.number(*address, digits=0)} line{'' if count == 1 else 's'} without a price"


def day_lines(rhythm: DayRhythm) -> tuple[DayLine, ...]:
    """Each person's day in order; what is done over and over, by itself or in turn, is one line."""
    found: list[DayLine] = []
    for person in sorted({step.person for step in rhythm.steps}):
        own = sorted((step for step in rhythm.steps if step.person == person), key=lambda step: step.begin_s)
        works = [DayWork(station=step.station, part=step.part, what=step.what) for step in own]
        place = 0
        while place < len(own):
            length, times = _again(works, place)
            last = own[place + length * times - 1]
            found.append(
                DayLine(
                    person=person, begins=own[place].into_shift, ends=_clock(last.end_s),
                    works=tuple(works[place : place + length]), times_count=times,
                )
            )  # fmt: skip
            place += length * times
    return tuple(found)


def _again(works: Sequence[DayWork], place: int) -> tuple[int, int]:
    """How many works from there on are done over and over, and how often: what covers most, of those the shortest."""
    best = (1, 1)
    for length in range(1, TURN_MOST + 1):
        turn, times = works[place : place + length], 1
        while works[place + length * times : place + length * (times + 1)] == turn:
            times += 1
        if times > 1 and length * times > best[0] * best[1]:
            best = (length, times)
    return best


def _clock(seconds: float) -> str:
    """Hours and minutes into the shift, a begun minute as a whole one."""
    hours, rest = divmod(math.ceil(seconds / S_PER_MIN), round(S_PER_H / S_PER_MIN))
    return f"{hours}:{rest:02d}"
