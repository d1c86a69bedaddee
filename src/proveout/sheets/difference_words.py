"""Differences between two plans as rows of words: what, before, after."""

from __future__ import annotations

from proveout.model.differences import Differences, Ends, PassChange, ProofChange, Shift, SizeChange, Swap
from proveout.model.plan import Plan
from proveout.model.proof import Proof
from proveout.model.shop import Shop
from proveout.quantities.units import MM_PER_INCH
from proveout.sheets.ink import NAMED_AS, NOT_SHOWN, READ_AS, digits_apart, printed
from proveout.sheets.names import Names
from proveout.sheets.writer import MANY_N, YES

NONE = "none"
LEAST_DIGITS = 2
"""Of money and of lengths: a hundredth more or less is a change."""


class DifferenceWords:
    """Puts differences into words.

    Args:     plan, shop: the new ones, whose names and units are used.   is_inch: None for as the shop reads.
    """

    def __init__(self, *, plan: Plan, shop: Shop, is_inch: bool | None = None) -> None:
        self._names = Names(plan=plan, shop=shop)
        self._is_inch = shop.units == "inch" if is_inch is None else is_inch
        self._currency = plan.cost.currency

    def swap(self, one: Swap) -> tuple[str, str, str]:
        """A choice: what, before, after."""
        return (self._names.short(one.what), self._short(one.old), self._short(one.new))

    def shift(self, one: Shift) -> tuple[str, str, str]:
        """A number: what, before, after, both in the printed unit."""
        values = [v for ends in (one.old, one.new) if ends is not None for v in ends]
        old = NONE if one.is_new else self._ends(one.old, one.unit, values)
        new = NONE if one.is_gone else self._ends(one.new, one.unit, values)
        return (self._names.short(one.what), old, new)

    def size(self, one: SizeChange) -> tuple[str, str, str]:
        """A size before the coat: its number and text, the limits before and after."""
        sides = [
            None if w is None or not w.is_decided else (w.before_low_mm, w.before_high_mm) for w in (one.old, one.new)
        ]
        values = [v for ends in sides if ends is not None for v in ends]
        before, after = (
            NONE if window is None else self._ends(ends, "mm", values)
            for window, ends in zip((one.old, one.new), sides, strict=True)
        )
        was = f" (was {one.old.text})" if one.old is not None and one.old.text != one.shown.text else ""
        return (f"{one.shown.mark} {one.shown.text}{was}", before, after)

    def claim(self, one: ProofChange) -> str:
        """What the proof claims, and of what."""
        return f"{self._names.short(one.shown.claim)} ({self._names.short(one.shown.subject)})"

    def found(self, proof: Proof | None) -> str:
        """Verdict and the value found against its limit."""
        if proof is None:
            return NONE
        if proof.found_low is None or proof.found_high is None:
            return proof.verdict
        if proof.unit == YES:
            return f"{proof.verdict}: {'yes' if proof.found_low > 0.0 else 'no'}"
        values = [proof.found_low, proof.found_high, *([proof.limit] if proof.limit is not None else [])]
        span = self._ends((proof.found_low, proof.found_high), proof.unit, values)
        if proof.limit is None:
            return f"{proof.verdict}: {span}"
        return f"{proof.verdict}: {span}, {proof.sense} {self._ends((proof.limit, proof.limit), proof.unit, values)}"

    def plain(self, text: str) -> str:
        """The text with every id put plainly."""
        return self._names.short(text)

    def passes(self, found: Differences) -> list[tuple[str, str]]:
        """Each pass that is not as it was, and how."""
        return [(self._names.short(one.shown.id), self._how(one)) for one in found.passes]

    def _how(self, one: PassChange) -> str:
        if one.old is None or one.new is None:
            return "new" if one.old is None else "gone"
        told = [f"{what} {old}, now {new}" for what, old, new in map(self.shift, one.numbers)]
        return "; ".join(told) or "other moves"

    def _short(self, text: str) -> str:
        return self._names.short(text) if text else NONE

    def _ends(self, ends: Ends | None, unit: str, values: list[float]) -> str:
        """Low to high in the printed unit; one number where both print alike."""
        if ends is None:
            return NOT_SHOWN
        if unit == "mm" and self._is_inch:
            low, high = (f"{v / MM_PER_INCH:.4f}".replace("-", "−") for v in ends)
            return f"{low} inch" if low == high else f"{low} to {high} inch"
        shown, as_is = READ_AS.get(unit, unit), unit not in READ_AS
        if unit == "N" and max(map(abs, values)) >= MANY_N:
            shown, as_is = "kN", False
        digits = digits_apart(values, unit=shown, as_is=as_is)
        if unit in (self._currency, "mm"):
            digits = max(digits, LEAST_DIGITS)
        low, high = (printed(v, unit=shown, digits=digits, as_is=as_is) for v in ends)
        text = low if low == high else f"{low} to {high}"
        named = "min" if shown == "min:s" else NAMED_AS.get(shown, shown)
        return f"{text} {named}".rstrip()
