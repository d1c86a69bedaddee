"""Steps of the general tolerance: what sizes without limits of their own may differ by, finished and before a coat."""

from __future__ import annotations

import math

from proveout.model.shop import Noun
from proveout.quantities.coat import STEP, CoatedSize, size_growth_mm
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import GENERAL_LOWEST_MM, GENERAL_STEPS_MM, general_deviation_mm

# what a size of each column may be: nobody at the machine knows which of its faces the coat will take
COATED_KINDS: dict[str, tuple[CoatedSize, ...]] = {
    "outside_mm": ("shaft", "one face"),
    "inside_mm": ("bore", "one inside face"),
    "step_mm": (STEP, "one face", "one inside face"),
}
FINEST = 100.0  # printed to 0.01 mm, rounded inward
HAIR = 1e-9


class GeneralStep(Noun, frozen=True, kw_only=True):
    """One step of the general tolerance: sizes over over_mm up to and including up_to_mm may differ by deviation_mm.

    outside_mm, inside_mm, step_mm: least and most that a size of a coated part may differ before its coat, whichever
    of its faces take it; None without a coat, where its build-up is not known, and where nothing would be left.
    """

    over_mm: float
    up_to_mm: float
    deviation_mm: float
    outside_mm: tuple[float, float] | None = None
    inside_mm: tuple[float, float] | None = None
    step_mm: tuple[float, float] | None = None


def general_steps(
    *, general_class: str, largest_mm: float, build_up_mm: tuple[float, float] | None = None
) -> tuple[GeneralStep, ...]:
    """Steps of the general tolerance that sizes up to largest_mm need; empty without a class.

    Neighbouring steps of one deviation are joined; where the table ends, the steps end.
    build_up_mm: least and most growth of a coated surface, None where there is no coat or nobody knows.
    """
    if not general_class:
        return ()
    made: list[GeneralStep] = []
    low = GENERAL_LOWEST_MM
    for top in GENERAL_STEPS_MM:
        try:
            deviation = general_deviation_mm(size_mm=top, general_class=general_class)
        except OutOfRange:
            break
        if made and made[-1].deviation_mm == deviation:
            low = made.pop().over_mm
        before = {
            field: None if build_up_mm is None else _before_coat(deviation, build_up_mm, sizes)
            for field, sizes in COATED_KINDS.items()
        }
        made.append(GeneralStep(over_mm=low, up_to_mm=top, deviation_mm=deviation, **before))
        low = top
        if largest_mm <= top:
            break
    return tuple(made)


def _before_coat(
    deviation: float, build_up_mm: tuple[float, float], sizes: tuple[CoatedSize, ...]
) -> tuple[float, float] | None:
    """How far a size may differ before the coat, whichever of the sizes it is, or free of coat; inward to 0.01 mm."""
    grown = [
        (0.0, 0.0), *(size_growth_mm(size=s, build_low_mm=build_up_mm[0], build_high_mm=build_up_mm[1]) for s in sizes)
    ]  # fmt: skip
    low = -deviation - min(least for least, _ in grown)
    high = deviation - max(most for _, most in grown)
    low, high = math.ceil(low * FINEST - HAIR) / FINEST, math.floor(high * FINEST + HAIR) / FINEST
    return (low, high) if low <= high else None
