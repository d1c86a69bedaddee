"""Blank and bar of all parts of an order chosen together: bars of a section are shared, so the cheapest may differ."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from proveout.model.proof import Basis, Decision, prove
from proveout.model.sawing import BlankTogether, BlankWish, Lot
from proveout.model.shop import Bar, Noun, Saw
from proveout.model.work import Blank
from proveout.solving.cutting_stock import solve_bars
from proveout.stages.bars.bundles import stock_of
from proveout.stages.bars.rack import demand_of

STAGE = "bars"
MOST_CHOICES = 3000
WORK_LIMIT = 1.0
TINY = 1e-4
WHOLE, SINGLE = "other choice among the blanks", "change of one part alone to another of the blanks"


class PartBlanks(Noun, frozen=True, kw_only=True):
    """What one part could be sawn as: the blank of its plan first, then the next-best that its plan names."""

    part: str
    quantity: int
    pieces_count: int
    blanks: tuple[Blank, ...]


def choose_together(
    *, parts: tuple[PartBlanks, ...], bars: tuple[Bar, ...], saw: Saw, density_kg_per_mm3: float
) -> Decision[BlankTogether | None]:
    """The blanks that cost the order least, in whole new bars shared by parts, sawing and chips.

    Every choice of one blank a part is looked at; beyond MOST_CHOICES only the blanks of the plans and changes of one
    part, and no more is claimed then.  What else hangs on a blank, clampings and minutes, is not in it.

    Args:     parts: a part without a bar of the shop is left out.
    Returns:  None when no part is left or no bar is long enough for a planned blank; else the choice, with one proof
              that the planned blanks are as cheap.
    Raises:   nothing.
    Checked:  tests/stages/bars/test_together.py
    """
    known = {bar.id: bar for bar in bars}
    usable = [one for one in parts if one.blanks and one.blanks[0].bar_id in known]
    if not usable:
        return Decision(value=None)
    options = [tuple(blank for blank in one.blanks if blank.bar_id in known) for one in usable]
    count = 1
    for some in options:
        count *= len(some)
    is_whole = count <= MOST_CHOICES
    choices = list(itertools.product(*options)) if is_whole else _single_changes(options)
    priced: dict[tuple[str, tuple[tuple[float, int], ...]], tuple[float, float]] = {}

    def money(choice: Sequence[Blank]) -> tuple[float, float]:
        """Price of a choice and the least that it could cost."""
        total = sum(one.quantity * blank.beside_price_each for one, blank in zip(usable, choice, strict=True))
        least = total
        for bar_id in sorted({blank.bar_id for blank in choice}):
            lots = [
                Lot(part=one.part, bar_id=bar_id, cut_length_mm=blank.cut_length_mm, pieces_count=one.pieces_count,
                    spare_count=0)
                for one, blank in zip(usable, choice, strict=True) if blank.bar_id == bar_id
            ]  # fmt: skip
            key = (bar_id, tuple(sorted(demand_of(lots).items())))
            if key not in priced:
                found = solve_bars(
                    demand=demand_of(lots), stock=stock_of(bar=known[bar_id], density_kg_per_mm3=density_kg_per_mm3),
                    kerf_mm=saw.kerf_mm, trim_mm=saw.trim_mm, tail_mm=saw.tail_mm, bundle_max=1,
                    work_limit=WORK_LIMIT, strokes_share=0.0,
                )  # fmt: skip
                lost = found.status == "cannot"
                priced[key] = (math.inf, math.inf) if lost else (found.cost, found.lower_bound)
            total += priced[key][0]
            least += priced[key][1]
        return total, least

    found = [(*money(choice), number) for number, choice in enumerate(choices)]
    planned = found[0][0]
    if math.isinf(planned):
        return Decision(value=None)
    cheapest, _, at = min(found, key=lambda one: (round(one[0], 4), one[2]))
    if planned - cheapest <= TINY:
        cheapest, at = planned, 0
    bound = min(one[1] for one in found)
    blanks = tuple(
        BlankWish(
            part=one.part, bar_id=blank.bar_id, way="xyz"[blank.length_axis], cut_length_mm=blank.cut_length_mm,
            is_planned=blank is own[0],
        )
        for one, blank, own in zip(usable, choices[at], options, strict=True)
    )  # fmt: skip
    value = BlankTogether(
        blanks=blanks, price=round(cheapest, 4), planned_price=round(planned, 4), lower_bound=round(bound, 4),
        choices_count=len(choices), is_whole=is_whole,
    )  # fmt: skip
    changed = "; ".join(
        f"{one.part} as {one.bar_id} with its {one.way} along the bar, {one.cut_length_mm:g} mm"
        for one in blanks if not one.is_planned
    )  # fmt: skip
    proof = prove(
        id=f"{STAGE}:order:blanks-chosen-together", stage=STAGE, subject="order",
        claim=f"no {WHOLE if is_whole else SINGLE} that the plans name costs the order less in bars, sawing and chips",
        sense="at most", found_low=value.planned_price, found_high=value.planned_price,
        limit=value.lower_bound, unit="money", blocks_release=False,
        basis=Basis(
            formula=f"whole new bars shared by parts + sawing + chips, over {len(choices)} choices"
            f"{'' if is_whole else ' that change one part alone: others are not looked at'}",
            source="own-algorithm",
        ),
        remedy=f"plan {changed}: {planned - cheapest:.2f} less" if changed else "give the search more time",
    )  # fmt: skip
    return Decision(value=value, proofs=(proof,))


def _single_changes(options: Sequence[tuple[Blank, ...]]) -> list[tuple[Blank, ...]]:
    first = tuple(some[0] for some in options)
    changes = [first]
    for place, some in enumerate(options):
        changes += [(*first[:place], other, *first[place + 1 :]) for other in some[1:]]
    return changes
