"""The band of drawn money, and which cause widens it most."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable

import msgspec
import numpy as np

from proveout.model.cost_band import Range
from proveout.money.draws import Amount, Drawing, Drawn, causes_of
from proveout.money.spread import Array, Spread

LOW, MIDDLE, HIGH = 0.1, 0.5, 0.9


def band_of(values: Array, *, digits: int = 4) -> Range:
    """The band of drawn values, rounded to the digits that are kept."""
    ends = np.quantile(values, (LOW, MIDDLE, HIGH))
    p10, p50, p90 = (round(float(end), digits) + 0.0 for end in ends)
    return Range(p10=p10, p50=p50, p90=p90)


def share_below(values: Array, limit: float) -> float:
    """Share of the draws below a limit, to four digits."""
    return round(float(np.count_nonzero(values < limit)) / values.size, 4)


class CauseWidth(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A cause, and the band of a piece once it is known: everything else drawn as before."""

    cause: str
    known: Range


def widths(
    amounts: tuple[Amount, ...],
    lost: tuple[str, Spread],
    *,
    quantity: int,
    drawing: Drawing,
    spares: Callable[[int], int] | None = None,
) -> tuple[CauseWidth, ...]:
    """Every cause with the band that is left when it is held at its likely value, the narrowest first.

    spares: as of the drawn amounts.
    """
    names = [*causes_of(amounts), *([lost[0]] if lost[1].low < lost[1].high else [])]
    found = []
    for name in names:
        held = dataclasses.replace(drawing, fixed=drawing.fixed | {name})
        known = Drawn(amounts, lost, held, spares=spares)
        found.append(CauseWidth(cause=name, known=band_of(known.at(quantity).each)))
    return tuple(sorted(found, key=lambda one: (one.known.width, one.cause)))
