"""Every number on a sheet is printed here, from its address in the plan, and is written down beside that address."""

from __future__ import annotations

import math
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from typing import Any

import msgspec

from proveout.model.fact import Fact
from proveout.model.plan import Plan
from proveout.model.proof import Proof
from proveout.model.shop import Noun
from proveout.quantities.errors import InternalError
from proveout.quantities.units import (
    MM_PER_INCH,
    MW_PER_KW,
    N_MM_PER_N_M,
    RAD_PER_DEG,
    RAD_PER_S_PER_RPM,
    S_PER_H,
    S_PER_MIN,
)

Address = tuple[str | int, ...]

# printed unit: (unit inside, how many of the inside unit make one printed unit)
UNITS: dict[str, tuple[str, float]] = {
    "": ("", 1.0),
    "mm": ("mm", 1.0),
    "min:s": ("s", 1.0),
    "min": ("s", S_PER_MIN),
    "h": ("s", S_PER_H),
    "1/min": ("rad/s", RAD_PER_S_PER_RPM),
    "mm/min": ("mm/s", 1.0 / S_PER_MIN),
    "in": ("mm", MM_PER_INCH),
    "in/min": ("mm/s", MM_PER_INCH / S_PER_MIN),
    "in/s": ("mm/s", MM_PER_INCH),
    "in/s²": ("mm/s2", MM_PER_INCH),
    "in/s³": ("mm/s3", MM_PER_INCH),
    "°": ("rad", RAD_PER_DEG),
    "kN": ("N", 1000.0),
    "N m": ("N mm", N_MM_PER_N_M),
    "kW": ("mW", MW_PER_KW),
    "cm²": ("mm2", 100.0),
    "dm²": ("mm2", 10_000.0),
    "cm³": ("mm3", 1000.0),
    "%": ("ratio", 0.01),
    "kg": ("kg", 1.0),
    "g": ("kg", 0.001),
}
NAMED_AS = {"deg": "°"}  # units of proofs that are written by their sign
MOST_DIGITS = 3
DUST_DIGITS = 9  # of what is rounded one way: beyond them lies what adding up floats leaves
SHORT_UNIT = 6  # letters; longer ones are words
READ_AS = {"rad/s": "1/min", "N mm": "N m", "mW": "kW", "rad": "°", "ratio": "%", "s": "min:s", "mm3": "cm³", "kg": "g"}

INCH_FOR = {
    "mm": ("in", 2), "mm/min": ("in/min", 1), "mm/s": ("in/s", 1), "mm/s²": ("in/s²", 1), "mm/s³": ("in/s³", 1),
}  # fmt: skip
"""Printed unit for people who read inches, and how many decimals more it takes to tell no less."""
INSIDE = ("mm", "mm/s", "mm/s²", "mm/s³")  # of those the units that numbers are in inside, too
IN_INCHES = "\ue000"
"""Stands before every number that is in inches already, until a page is whole: no second time is it turned over."""
INWARDS = {
    "cut_tolerance_mm": -1, "deviation_mm": -1, "alarm_mm": -1, "tail_mm": 1, "lift_mm": 1,
    "before_low_mm": 1, "before_high_mm": -1, "accept_low_mm": 1, "accept_high_mm": -1, "act_low_mm": 1,
    "act_high_mm": -1, "finished_low_mm": 1, "finished_high_mm": -1,
}  # fmt: skip
"""Limits by the field that holds them: 1 where one of inches is rounded up so that it does not grow wider, -1 down."""

# what stands in place of a number that was reckoned with figures of another metal, and where such numbers lie
NOT_SHOWN = "not shown"
OF_METAL = ("time", "cost")
METAL_FIELDS = (
    "price", "material_price_each", "mass_kg", "setup_s", "batch_s", "piece_s", "seconds", "cutting_s",
    "speed_rad_per_s", "feed_mm_per_s", "least_s", "cut_s", "hand_s", "saved_price", "bar_mass_kg", "blade_s",
)  # fmt: skip


class Printed(Noun, frozen=True, kw_only=True):
    """One thing printed: its text and the address it came from; as_is: the value there is in the printed unit."""

    text: str
    address: Address
    unit: str
    digits: int
    is_words: bool
    as_is: bool = False


def printed(value: float, *, unit: str, digits: int, as_is: bool = False, towards: int = 0) -> str:
    """A number as text in a printed unit, without the unit's name: 12.50, 4:07; a true minus sign.

    as_is: the value is in that unit already.   towards: -1 to round down, 1 up, 0 to the nearest.
    """
    scaled = value if as_is else value / UNITS.get(unit, ("", 1.0))[1]
    if unit == "min:s":
        seconds = math.floor(abs(scaled) + 0.5)
        return f"{'−' if scaled < 0 and seconds else ''}{seconds // 60}:{seconds % 60:02d}"
    if towards:
        rounding = ROUND_CEILING if towards > 0 else ROUND_FLOOR
        end = Decimal(repr(round(scaled, DUST_DIGITS))).quantize(Decimal(1).scaleb(-digits), rounding)
        text = f"{abs(end):f}"
    else:
        text = f"{abs(scaled):.{digits}f}"
    return f"−{text}" if scaled < 0 and float(text) != 0.0 else text


def digits_for(value: float, *, unit: str, as_is: bool = False) -> int:
    """Decimals that show a measured value in about three figures; whole numbers of a count stay whole."""
    scaled = abs(value if as_is else value / UNITS.get(unit, ("", 1.0))[1])
    if unit in ("mm", "°") and scaled < 1.0:
        return 3
    if scaled == 0.0 or (unit not in UNITS and scaled == int(scaled)):
        return 0
    return max(0, min(3, 2 - math.floor(math.log10(scaled))))


def digits_whole(value: float, *, least: int = 1) -> int:
    """Decimals, up to MOST_DIGITS, that tell a size as it was written: a drill of 5.05 is never one of 5.0."""
    for digits in range(least, MOST_DIGITS):
        if abs(round(value, digits) - value) < 10.0 ** -(MOST_DIGITS + 1):
            return digits
    return max(least, MOST_DIGITS)


def digits_apart(values: list[float], *, unit: str, as_is: bool = False) -> int:
    """Decimals for numbers told side by side: about three figures of the last two, more while two print alike."""
    digits = max((digits_for(value, unit=unit, as_is=as_is) for value in values[-2:] if value != 0.0), default=0)
    while digits < MOST_DIGITS and len({printed(v, unit=unit, digits=digits, as_is=as_is) for v in values}) < len(
        set(values)
    ):
        digits += 1
    return digits


def resolve(root: Any, address: Address) -> Any:
    """What lies at an address below a noun: fields by name, entries of tuples by place, of tables by key."""
    at = root
    for step in address:
        if isinstance(at, msgspec.Struct):
            at = getattr(at, str(step))
        elif isinstance(at, (tuple, dict)):
            at = at[step]  # type: ignore[index]
        else:
            raise InternalError("A sheet asked for a value that the plan does not have", where=str(address))
    return at


class Ink:
    """Prints numbers and words from named roots ("plan", "shop", "derived") and keeps the list of what it printed.

    Args:     roots: the nouns that addresses begin in.   marked: put ‹ and › around everything printed, for tests.
              is_inch: lengths and feeds in inches, each behind IN_INCHES: for a page that PlanInInches makes whole.
    """

    def __init__(self, *, roots: dict[str, Any], marked: bool = False, is_inch: bool = False) -> None:
        self.roots = roots
        self.marked = marked
        self.is_inch = is_inch
        self.lines: list[Printed] = []

    def at(self, *address: str | int) -> Any:
        """The value at an address, not printed."""
        return resolve(self.roots[str(address[0])], address[1:])

    def is_veiled(self, address: Address) -> bool:
        """Whether the number there was reckoned with figures of another metal than the plan's own."""
        if address[0] == "derived":
            plan = self.roots.get("plan")
            return bool(isinstance(plan, Plan) and plan.metal_unknown and address[-1] in METAL_FIELDS)
        at: Any = self.roots[str(address[0])]
        for place, step in enumerate(address[1:], start=1):
            if isinstance(at, Plan):
                rest = address[place:]
                return bool(at.metal_unknown) and (rest[0] in OF_METAL or rest[-1] in METAL_FIELDS)
            at = resolve(at, (step,))
        return False

    def number(
        self, *address: str | int, unit: str = "", digits: int | None = None, bare: bool = False, as_is: bool = False
    ) -> str:
        """The number at an address with its unit behind a narrow space; `bare` leaves the unit off."""
        value = self.at(*address)
        if self.is_veiled(address):
            return NOT_SHOWN
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise InternalError("A sheet wanted to print a number and found none", where=str(address))
        places = digits_for(value, unit=unit, as_is=as_is) if digits is None else digits
        length, towards = self._length(address, unit, as_is=as_is), 0
        if length:
            (inch, more), towards = INCH_FOR[length], self._towards(address)
            unit, bare, as_is, places = inch, bare or not unit, False, places + more
        text = printed(float(value), unit=unit, digits=places, as_is=as_is, towards=towards)
        self.lines.append(Printed(text=text, address=address, unit=unit, digits=places, is_words=False, as_is=as_is))
        shown = f"‹{text}›" if self.marked else text
        shown = f"{IN_INCHES}{shown}" if length else shown
        if bare or unit in ("", "min:s"):
            return shown
        space = "" if unit == "°" else "\u202f" if len(unit) <= SHORT_UNIT else "\u00a0"
        return f"{shown}{space}{unit}"

    def _length(self, address: Address, unit: str, *, as_is: bool) -> str:
        """The unit of a number that is to be told in inches: a length or a feed; empty for all else."""
        if not self.is_inch or (as_is and unit not in INSIDE):
            return ""
        if unit in INCH_FOR:
            return unit
        field = next((step for step in reversed(address) if isinstance(step, str)), "")
        return "mm" if not unit and field.endswith("_mm") and not field.endswith("_n_mm") else ""

    def _towards(self, address: Address) -> int:
        """Which way a number in inches is rounded, so that no limit grows and nothing found shrinks by it."""
        field = str(address[-1])
        if field not in ("limit", "found_low", "found_high"):
            return INWARDS.get(field, 0)
        proof: Proof = self.at(*address[:-1])
        inwards = 1 if proof.sense == "at least" else -1
        if field == "limit" or self.at(*address) == proof.limit:
            return inwards
        return 1 if field == "found_high" else -1

    def span(self, *address: str | int, unit: str = "", digits: int | None = None) -> str:
        """A fact as its low and high end, or as one number when the two ends print alike."""
        value: Fact = self.at(*address)
        if self.is_veiled(address):
            return NOT_SHOWN
        places = digits_for(value.high, unit=unit) if digits is None else digits
        ends = [printed(end, unit=unit, digits=places) for end in (value.low, value.high)]
        if ends[0] == ends[1]:
            return self.number(*address, "nominal", unit=unit, digits=places)
        low = self.number(*address, "low", unit=unit, digits=places, bare=True)
        return f"{low} to {self.number(*address, 'high', unit=unit, digits=places)}"

    def words(self, *address: str | int, as_text: str | None = None) -> str:
        """The words at an address; `as_text` is the same with long ids put plainly."""
        text = str(self.at(*address)) if as_text is None else as_text
        if address[-1] == "how" and self.is_veiled(address):
            return NOT_SHOWN
        self.lines.append(Printed(text=text, address=address, unit="", digits=0, is_words=True))
        return f"‹{text}›" if self.marked and any(c.isdigit() for c in text) else text
