"""Lots that go to outside finishers: minimum charge, price a piece, freight."""

from __future__ import annotations

import math

from proveout.model.fact import exact_fact
from proveout.model.job import Job
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Finisher, Noun


class Lot(Noun, frozen=True, kw_only=True):
    """One lot. pieces_count: all that are sent, spares included."""

    finisher: Finisher
    pieces_count: int

    @property
    def money(self) -> float:
        """Larger of minimum charge and pieces times price, and freight."""
        return max(self.finisher.lot_minimum, self.pieces_count * self.finisher.price_each) + self.finisher.freight


def outside_lots(
    *, job: Job, finishers: tuple[Finisher, ...], pieces_count: int
) -> tuple[tuple[Lot, ...], tuple[str, ...]]:
    """Lots in the order in which the job names its finishers, and the names the shop does not know."""
    wanted = [job.coat.finisher] if job.coat is not None and job.coat.finisher else []
    wanted += list(job.other_finishers)
    by_id = {finisher.id: finisher for finisher in finishers}
    lots = tuple(Lot(finisher=by_id[name], pieces_count=pieces_count) for name in wanted if name in by_id)
    unknown = [name for name in wanted if name not in by_id]
    if job.coat is not None and not job.coat.finisher:
        unknown.insert(0, job.coat.process)
    return lots, tuple(unknown)


def lot_proof(lot: Lot, currency: str, quantity: int) -> Proof:
    """Whether the lot is large enough to pay by the piece."""
    finisher = lot.finisher
    by_piece = round(lot.pieces_count * finisher.price_each, 6)
    short = max(0.0, finisher.lot_minimum - by_piece)
    more = math.ceil(short / finisher.price_each - 1e-9) if finisher.price_each > 0.0 else 0
    return prove(
        id=f"costing:{finisher.id}:lot-reaches-the-minimum",
        stage="costing",
        subject=finisher.id,
        claim=f"the lot for {finisher.process} pays by the piece and not the minimum charge",
        sense="at least",
        found_low=by_piece,
        found_high=by_piece,
        limit=finisher.lot_minimum,
        unit=currency,
        blocks_release=False,
        basis=Basis(
            formula="pieces sent x price each against the minimum charge",
            source="own-algorithm",
            inputs={
                "pieces sent": exact_fact(float(lot.pieces_count), "pieces", "own-algorithm", "assumed"),
                "price each": exact_fact(finisher.price_each, currency, "shop-file", "owner's guess"),
                "minimum charge": exact_fact(finisher.lot_minimum, currency, "shop-file", "owner's guess"),
            },
        ),
        remedy=(
            f"send {more} more pieces in the same lot: they cost nothing there; the minimum costs each piece "
            f"{short / quantity:.2f} more"
        ),
    )


def unknown_proof(name: str) -> Proof:
    """A finisher without prices: the cost lacks that line."""
    return prove(
        id=f"costing:{name}:price-is-known",
        stage="costing",
        subject=name,
        claim=f"the cost holds what {name} charges",
        sense="at least",
        found_low=None,
        found_high=None,
        limit=None,
        unit="money",
        blocks_release=False,
        basis=Basis(formula="finishers named in the job against those of the shop", source="own-algorithm"),
        decides=f"write minimum charge, price each and freight of {name} into the shop file",
    )
