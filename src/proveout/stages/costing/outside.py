"""Lots that go to outside finishers, as their invoices: pieces or minimum charge, plugs, masks, loading, freight."""

from __future__ import annotations

import math

from proveout.model.cost_band import Rider
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Job
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Finisher, Noun
from proveout.money.finisher_lot import missing_to_minimum, once_a_lot


class InvoiceLine(Noun, frozen=True, kw_only=True):
    """One line of a finisher's invoice: so many at a price, and the money."""

    text: str
    count: int
    price: Fact
    money: Fact


class Lot(Noun, frozen=True, kw_only=True):
    """One lot. pieces_count: all that are sent, spares included; plugs, masks: of one piece.

    riders: other parts that ride in it. What is missing to the minimum of the whole lot is shared by the money of the
    pieces; loading, further part numbers and freight evenly by part.
    """

    finisher: Finisher
    pieces_count: int
    plugs_count: int = 0
    masks_count: int = 0
    riders: tuple[Rider, ...] = ()

    @property
    def riders_count(self) -> int:
        """Pieces of the other parts."""
        return sum(rider.pieces_count for rider in self.riders)

    def short(self, pieces_count: int) -> float:
        """Money missing to the minimum charge of the whole lot with so many pieces of this part."""
        return missing_to_minimum(self.finisher, pieces_count=pieces_count + self.riders_count)

    def made_up(self, pieces_count: int) -> float:
        """Share of it that is this part's: all pieces have one price, so that of their money is that of their count."""
        all_count = pieces_count + self.riders_count
        return self.short(pieces_count) * (pieces_count / all_count if all_count else 1.0)

    def listed(self, pieces_count: int) -> float:
        """Money of the lot with so many pieces of this part, without plugs and masks."""
        parts_count = 1 + len(self.riders)
        shared = once_a_lot(self.finisher, parts_count=parts_count)
        money = pieces_count * self.finisher.price_each + self.made_up(pieces_count) + shared / parts_count
        return round(money, 6)

    @property
    def invoice(self) -> tuple[InvoiceLine, ...]:
        """Its lines as the finisher would write them, without those that charge nothing."""
        one, pieces, share = self.finisher, self.pieces_count, 1.0 / (1 + len(self.riders))
        lines = [
            _line("pieces", pieces, _of(one.price_each)),
            _line("made up to the minimum charge", 1, _of(self.made_up(pieces))),
            _line("loading", 1, _of(one.loading_price * share)),
            _line("further part numbers", len(self.riders), _of(one.further_part_price * share)),
            _line("freight", 1, _of(one.freight * share)),
        ]
        if one.charges_plugs:
            assert one.plug_price is not None
            assert one.mask_price is not None
            lines[2:2] = [
                _line("plugs", pieces * self.plugs_count, one.plug_price),
                _line("masks", pieces * self.masks_count, one.mask_price),
            ]
        return tuple(line for line in lines if line.money.high > 0.0)

    @property
    def money(self) -> Fact:
        """Sum of the invoice: pieces, what is made up to the minimum charge, plugs, masks, loading and freight."""
        lines = self.invoice
        low, nominal, high = (round(sum(getattr(x.money, e) for x in lines), 6) for e in ("low", "nominal", "high"))
        return Fact(low=low, nominal=nominal, high=high, unit="money", source="shop-file", strength="owner's guess")


def _of(price: float) -> Fact:
    return exact_fact(price, "money", "shop-file", "owner's guess")


def _line(text: str, count: int, price: Fact) -> InvoiceLine:
    money = Fact(
        low=round(count * price.low, 6), nominal=round(count * price.nominal, 6), high=round(count * price.high, 6),
        unit=price.unit, source=price.source, strength=price.strength,
    )  # fmt: skip
    return InvoiceLine(text=text, count=count, price=price, money=money)


def outside_lots(
    *,
    job: Job,
    finishers: tuple[Finisher, ...],
    pieces_count: int,
    plugs_count: int = 0,
    riders: tuple[Rider, ...] = (),
) -> tuple[tuple[Lot, ...], tuple[str, ...]]:
    """Lots in the order in which the job names its finishers, and the names the shop does not know.

    plugs_count: of one piece; what is masked beside them goes by hand. riders: other parts in the
    coat's lot. All three are the coat's alone.
    """
    masks_count = max(0, len({size.mark for size in job.sizes if size.is_masked}) - plugs_count)
    wanted = job.finisher_ids
    by_id = {finisher.id: finisher for finisher in finishers}
    coated = "" if job.coat is None else job.coat.finisher
    lots = tuple(
        Lot(
            finisher=by_id[name], pieces_count=pieces_count, plugs_count=plugs_count if name == coated else 0,
            masks_count=masks_count if name == coated else 0, riders=riders if name == coated else (),
        )
        for name in wanted
        if name in by_id
    )  # fmt: skip
    unknown = [name for name in wanted if name not in by_id]
    if job.coat is not None and not job.coat.finisher:
        unknown.insert(0, job.coat.process)
    return lots, tuple(unknown)


def riding_words(riders: tuple[Rider, ...]) -> str:
    """What rides along, as the end of a clause; empty where nothing does."""
    if not riders:
        return ""
    named = [f"{rider.pieces_count} pieces of {rider.number}" for rider in riders]
    return f", with {' and '.join(named)} riding in it,"


def lot_proof(lot: Lot, currency: str, quantity: int) -> Proof:
    """Whether the lot is large enough to pay by the piece."""
    finisher = lot.finisher
    by_piece = round((lot.pieces_count + lot.riders_count) * finisher.price_each, 6)
    short = lot.short(lot.pieces_count)
    more = math.ceil(short / finisher.price_each - 1e-9) if finisher.price_each > 0.0 else 0
    return prove(
        id=f"costing:{finisher.id}:lot-reaches-the-minimum",
        stage="costing",
        subject=finisher.id,
        claim=f"the lot for {finisher.process}{riding_words(lot.riders)} pays by the piece and not the minimum charge",
        sense="at least",
        found_low=by_piece,
        found_high=by_piece,
        limit=finisher.lot_minimum,
        unit=currency,
        blocks_release=False,
        basis=Basis(
            formula="pieces sent, what rides along too, x price each against the minimum charge",
            source="own-algorithm",
            inputs={
                "pieces sent": exact_fact(float(lot.pieces_count), "pieces", "own-algorithm", "assumed"),
                **(
                    {
                        "pieces that ride along": exact_fact(
                            float(lot.riders_count), "pieces", "own-algorithm", "assumed"
                        )
                    }
                    if lot.riders
                    else {}
                ),
                "price each": exact_fact(finisher.price_each, currency, "shop-file", "owner's guess"),
                "minimum charge": exact_fact(finisher.lot_minimum, currency, "shop-file", "owner's guess"),
            },
        ),
        remedy=(
            f"send {more} more pieces in the same lot: they cost nothing there; the minimum costs each piece "
            f"{lot.made_up(lot.pieces_count) / quantity:.2f} more"
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
