"""Numbers that somebody typed into a form."""

from __future__ import annotations

import math

from proveout.model.written import COUNT_MOST
from proveout.quantities.errors import BadInput


def whole_typed(text: str, *, where: str, least: int = 0, most: int = COUNT_MOST) -> int:
    """A whole number in plain figures.

    Raises:   BadInput for anything else, and below least or above most.
    """
    tidy = text.strip()
    # raised figures are digits too, and no number
    is_number = tidy.isascii() and tidy.isdigit() and len(tidy) <= len(str(most))
    if not (is_number and least <= int(tidy) <= most):
        raise BadInput("A whole number is needed", where=where, value=text[:40], limit=f"{least} to {most}",
                       do="correct it")  # fmt: skip
    return int(tidy)


def number_typed(text: str, *, where: str) -> float:
    """A number, written with a point.

    Raises:   BadInput for anything else, and what is not finite.
    """
    try:
        found = float(text)
    except ValueError:
        found = math.nan
    if not math.isfinite(found):
        raise BadInput("A number is needed", where=where, value=text[:40], do="write it with a point, as 4.2")
    return found
