"""The staircase of pieces from a bar: how much less length gives one more, what that saves, what could give it."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.fact import exact_fact
from proveout.model.plan import BarsPlan
from proveout.model.proof import Basis, Proof, prove
from proveout.model.sawing import LengthStep
from proveout.model.shop import Saw
from proveout.model.work import Blank
from proveout.solving.cutting_stock import cut_length_for_pieces_mm, pieces_per_bar_count, solve_bars
from proveout.stages.bars.fitting import sure_cut_length_mm

# steps of each bar length that are looked at: with one piece more a bar, and two, and three
STEPS_COUNT = 3
# own choice: a step that is no further away than this is worth a look before the bars are sawn
NEAR_MM = 1.0
PART = "part along"
WORK_LIMIT = 1.0


def length_steps(
    *, blank: Blank, saw: Saw, stock: Sequence[tuple[float, float, int | None]], pieces_count: int, price: float,
    bars_count: int,
) -> tuple[LengthStep, ...]:  # fmt: skip
    """The next step of each bar length, and the nearest step that saves money for the batch where none of those does.

    Lengths at which nothing but the part itself would be left are not among them.
    """
    part = sum(line.size_mm for line in blank.stack if line.side == "length" and line.text.startswith(PART))
    first: list[LengthStep] = []
    further: list[LengthStep] = []
    for length, _, _ in stock:
        now = pieces_per_bar_count(
            bar_length_mm=length, piece_length_mm=blank.cut_length_mm, kerf_mm=saw.kerf_mm, trim_mm=saw.trim_mm,
            tail_mm=saw.tail_mm,
        )  # fmt: skip
        for more in range(1, STEPS_COUNT + 1):
            cut = cut_length_for_pieces_mm(
                bar_length_mm=length, pieces_count=now + more, kerf_mm=saw.kerf_mm, trim_mm=saw.trim_mm,
                tail_mm=saw.tail_mm,
            )  # fmt: skip
            if cut <= max(part, 0.0):
                break
            step = _step(blank, saw, stock, pieces_count, price, bars_count, length, now + more, cut)
            (first if more == 1 else further).append(step)
    saving = sorted((one for one in further if one.saved_price > 0.0), key=lambda one: (one.less_mm, one.bar_length_mm))
    nearest = min((one.less_mm for one in first if one.saved_price > 0.0), default=None)
    if saving and (nearest is None or saving[0].less_mm < nearest):
        first.append(saving[0])
    return tuple(sorted(first, key=lambda one: (one.less_mm, one.bar_length_mm)))


def _step(
    blank: Blank, saw: Saw, stock: Sequence[tuple[float, float, int | None]], pieces_count: int, price: float,
    bars_count: int, bar_length_mm: float, pieces_each: int, cut_mm: float,
) -> LengthStep:  # fmt: skip
    found = solve_bars(
        demand={cut_mm: pieces_count}, stock=stock, kerf_mm=saw.kerf_mm, trim_mm=saw.trim_mm, tail_mm=saw.tail_mm,
        bundle_max=1, work_limit=WORK_LIMIT,
    )  # fmt: skip
    less = round(blank.cut_length_mm - cut_mm, 2)
    return LengthStep(
        bar_length_mm=bar_length_mm,
        pieces_count=pieces_each,
        cut_length_mm=cut_mm,
        sure_length_mm=sure_cut_length_mm(
            cut_length_mm=cut_mm, pieces_count=pieces_each, bar_length_mm=bar_length_mm, saw=saw
        ),
        less_mm=less,
        saved_price=round(max(0.0, price - found.cost), 2),
        saved_bars_count=bars_count - found.bars_count if found.cost < price - 1e-9 else 0,
        allowances=tuple(
            line.text
            for line in blank.stack
            if line.side == "length" and not line.text.startswith(PART) and line.size_mm >= less - 1e-9
        ),
    )


def step_proof(*, plan: BarsPlan, bar_id: str, blank: Blank) -> Proof:
    """Whether a little less cut length would save money: of the steps within NEAR_MM the one that saves most."""
    near = [one for one in plan.steps if one.less_mm <= NEAR_MM]
    best = max(near, key=lambda one: (one.saved_price, -one.less_mm), default=None)
    saved = 0.0 if best is None else best.saved_price
    remedy = ""
    if best is not None and saved > 0.0:
        giver = f"take it off: {' or '.join(best.allowances)}" if best.allowances else "no one allowance can give it"
        remedy = (
            f"cut {best.less_mm:g} mm shorter, to {best.cut_length_mm:g} mm, and a bar of {best.bar_length_mm:g} mm "
            f"gives {best.pieces_count} pieces, however the saw cuts them only at {best.sure_length_mm:g} mm; {giver}"
        )
    inputs = {
        f"{number} {line.text}": exact_fact(line.size_mm, "mm", "own-algorithm", "assumed")
        for number, line in enumerate((one for one in blank.stack if one.side == "length"), start=1)
    }
    for one in plan.steps:
        name = f"cut length for {one.pieces_count} from {one.bar_length_mm:g} mm"
        inputs[name] = exact_fact(one.cut_length_mm, "mm", "saw_arithmetic", "published as quoted")
    return prove(
        id=f"bars:{bar_id}:no-step-is-near",
        stage="bars",
        subject=bar_id,
        claim=f"no cut length up to {NEAR_MM:g} mm shorter saves money on bars",
        sense="at most",
        found_low=saved,
        found_high=saved,
        limit=0.0,
        unit="money",
        blocks_release=False,
        basis=Basis(
            formula="price of the bars now, less price at the next length (L - trim - tail + kerf) / n - kerf",
            source="saw_arithmetic",
            inputs=inputs,
        ),
        remedy=remedy,
    )
