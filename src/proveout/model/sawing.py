"""How bars are sawn: the steps of the staircase for one part, and one saw plan a section for all parts of an order."""

from __future__ import annotations

from proveout.model.shop import Noun


class BarPattern(Noun, frozen=True, kw_only=True):
    """One way of sawing: so many pieces from each bar of a bundle of `bundle_count`, done `times`.

    across_count: bars beside each other, 0 where it was not said; lies_flat: their wider side lies on the table.
    bar_mass_kg: of one bar as bought, 0 where it was not reckoned; needs_two: too heavy for one person.
    is_kept: what stays of each bar goes back to the rack.   is_last_in_doubt: the last piece may not come out where the
    saw cuts all as long as its tolerance lets it.
    """

    bar_id: str
    bar_length_mm: float
    bundle_count: int
    times: int
    pieces_each: int
    remnant_mm: float
    across_count: int = 0
    lies_flat: bool = True
    bar_mass_kg: float = 0.0
    needs_two: bool = False
    is_kept: bool = False
    is_last_in_doubt: bool = False


class LengthStep(Noun, frozen=True, kw_only=True):
    """The longest cut length at which a bar of one length gives one piece more.

    sure_length_mm: that at which it does so however the saw cuts within its tolerance.
    pieces_count: from each such bar then.   less_mm: how much shorter than now.   saved_price: money for the whole
    batch, and saved_bars_count bars of any length, when every piece is that short; 0 where the batch needs as many.
    allowances: of the cut length those that are as large, by their words; empty where none could give it alone.
    """

    bar_length_mm: float
    pieces_count: int
    cut_length_mm: float
    sure_length_mm: float
    less_mm: float
    saved_price: float
    saved_bars_count: int
    allowances: tuple[str, ...]


class Lot(Noun, frozen=True, kw_only=True):
    """Pieces of one part to be sawn. pieces_count: with spare_count of them beyond the order."""

    part: str
    bar_id: str
    cut_length_mm: float
    pieces_count: int
    spare_count: int
    alloy: str = ""


class SawnBars(Noun, frozen=True, kw_only=True):
    """Bars sawn alike: `times` bundles of bundle_count bars each.

    tag, heat: of the remnant in the rack, empty for a bar that is bought.   pieces: cut length and count, longest
    first, from each bar.   is_kept: what stays of each bar goes back to the rack.   needs_two: too heavy for one.
    is_last_in_doubt: the last piece may not come out where the saw cuts all as long as its tolerance lets it.
    """

    bar_length_mm: float
    bundle_count: int
    times: int
    pieces: tuple[tuple[float, int], ...]
    remnant_mm: float
    bar_mass_kg: float
    is_kept: bool = False
    needs_two: bool = False
    tag: str = ""
    heat: str = ""
    is_last_in_doubt: bool = False


class SectionSawing(Noun, frozen=True, kw_only=True):
    """One section for all lots that are sawn from it.

    price: of the bars that are bought.   alone_price: the same were each lot sawn by itself from whole bars.
    lower_bound: no plan costs less; 0 where heats were left out.   from_heat: by part, the heat of the rack that its
    lot comes from, for those that need no new bar.   ways_count: to deal lots to heats that were looked at;
    heats_left_out: of the rack, in none of those ways.
    """

    bar_id: str
    lots: tuple[Lot, ...]
    rows: tuple[SawnBars, ...]
    price: float
    alone_price: float
    lower_bound: float
    gap_ratio: float
    bars_count: int
    strokes_count: int
    alone_strokes_count: int
    status: str
    from_heat: tuple[tuple[str, str], ...] = ()
    ways_count: int = 0
    heats_left_out: tuple[str, ...] = ()


class BlankWish(Noun, frozen=True, kw_only=True):
    """A blank that a part could be sawn as. way: part axis along the bar, as x, y or z; is_planned: its plan has it."""

    part: str
    bar_id: str
    way: str
    cut_length_mm: float
    is_planned: bool


class BlankTogether(Noun, frozen=True, kw_only=True):
    """The blanks of all parts of an order chosen together, among those that each part's plan names.

    blanks: of the cheapest choice, one a part.   price: bars for all, sawing and chips; planned_price: the same for
    the blanks that the plans have; lower_bound: no choice looked at costs less.   choices_count: choices looked at.
    is_whole: those are all; else each changes the blank of one part alone.
    """

    blanks: tuple[BlankWish, ...]
    price: float
    planned_price: float
    lower_bound: float
    choices_count: int
    is_whole: bool = True


class BlanksTaken(Noun, frozen=True, kw_only=True):
    """Whether the blanks that cost the order less were taken, once the parts that they change were planned again.

    parts: those planned again, each on its bar.   planned_total, total: money of the whole order before and as planned
    again, with minutes, cutters and finishers and the bars shared; total is None where nothing was planned again.
    why: what decided.
    """

    is_taken: bool
    parts: tuple[str, ...]
    bar_ids: tuple[str, ...]
    planned_total: float
    total: float | None
    why: str


class OrderSawing(Noun, frozen=True, kw_only=True):
    """All sections of an order; price and alone_price are their sums.  blanks: None where no part has a bar.

    taken: None where the order does not ask for its blanks to be chosen together.
    """

    sections: tuple[SectionSawing, ...]
    price: float
    alone_price: float
    blanks: BlankTogether | None = None
    taken: BlanksTaken | None = None
