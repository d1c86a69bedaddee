"""What one lot costs at an outside finisher, whoever's parts are in it, without plugs and masks."""

from __future__ import annotations

from proveout.model.shop import Finisher


def missing_to_minimum(finisher: Finisher, *, pieces_count: int) -> float:
    """Money by which so many pieces stay below the minimum charge."""
    return max(0.0, finisher.lot_minimum - pieces_count * finisher.price_each)


def once_a_lot(finisher: Finisher, *, parts_count: int = 1) -> float:
    """Money whatever the pieces: loading, each part number beyond the first, freight both ways."""
    return finisher.loading_price + (parts_count - 1) * finisher.further_part_price + finisher.freight


def lot_price(finisher: Finisher, *, pieces_count: int, parts_count: int = 1) -> float:
    """Money of the whole lot."""
    pieces = pieces_count * finisher.price_each + missing_to_minimum(finisher, pieces_count=pieces_count)
    return pieces + once_a_lot(finisher, parts_count=parts_count)
