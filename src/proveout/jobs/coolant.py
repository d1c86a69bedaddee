"""A machine's coolant: the share of concentrate by the refractometer, and the mix that brings it to the wanted one."""

from __future__ import annotations

from proveout.quantities.errors import OutOfRange

PERCENT = 100.0


def share_by_refractometer(*, reading_percent: float, factor: float) -> float:
    """Share of concentrate in the sump.

    Formula:  share = reading * factor / 100
    Args:     reading_percent: on the refractometer's scale, 0 to 100.   factor: of the concentrate's data sheet, > 0.
    Returns:  0 to 1, by volume.
    Raises:   OutOfRange when an argument leaves the bounds above, or the share would be above 1.
    Source:   common practice, no source.   Departs: nothing.
    Checked:  tests/jobs/test_stock_forms.py
    """
    if not 0.0 <= reading_percent <= PERCENT or factor <= 0.0:
        raise OutOfRange("A refractometer's reading or factor is out of range", where="coolant",
                         value=f"{reading_percent:g}, factor {factor:g}", limit="0 to 100, factor above 0")  # fmt: skip
    share = reading_percent * factor / PERCENT
    if share > 1.0:
        raise OutOfRange("The share of concentrate would be above the whole", where="coolant", value=f"{share:.3g}",
                         limit="at most 1", do="look at the factor again")  # fmt: skip
    return share


def mix_to_add(*, sump_l: float, share_ratio: float, wanted_ratio: float, added_l: float) -> float:
    """Share of concentrate that what is poured in must have, so that the sump comes to the wanted share.

    Formula:  m = t + (t - c) V / L         (t wanted, c now, V in the sump, L poured in: concentrate kept)
    Args:     sump_l: V in the sump now, > 0.   share_ratio: c there, 0 to 1.   wanted_ratio: t, 0 to 1.
              added_l: L to pour in, > 0.
    Returns:  0 to 1, by volume.
    Raises:   OutOfRange when an argument leaves the bounds above, or so much cannot bring it there.
    Source:   own-algorithm.   Departs: volumes add up, which water and concentrate do nearly.
    Checked:  tests/jobs/test_stock_forms.py
    """
    if sump_l <= 0.0 or added_l <= 0.0 or not (0.0 <= share_ratio <= 1.0 and 0.0 <= wanted_ratio <= 1.0):
        raise OutOfRange("A mix needs litres above 0 and shares of 0 to 100 %", where="make-up mix")
    mix = wanted_ratio + (wanted_ratio - share_ratio) * sump_l / added_l
    if not 0.0 <= mix <= 1.0:
        words = "plain water is still too much" if mix < 0.0 else "pure concentrate is still too little"
        raise OutOfRange(f"So many litres cannot bring it there: {words}", where="make-up mix",
                         value=f"{added_l:g} l", do="pour in more, or drain some first")  # fmt: skip
    return mix
