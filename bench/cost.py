"""Bands of cost against closed forms, and draws a second against the plain loop that a spreadsheet's owner would write.

The closed forms: mean, deviation and ends of one triangular cause; sums of causes together and apart; ten lines that
share three tenths of their variance; a product. A gap is a share of the closed form. The baseline draws the same
fifteen lines one by one with Python's own generator; its band is held against ours, within what so many draws can tell.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import numpy as np
from yardstick import line, paired, seconds_of

from proveout.money.band import band_of, widths
from proveout.money.draws import COUNT, Amount, Drawing, Drawn
from proveout.money.spread import Spread, exact
from proveout.quantities.distribution import common_cause_sd, triangular_mean, triangular_sd

BOOK = {"low": 10.0, "likely": 12.0, "high": 17.0}
NOTHING = ("lost", exact(0.0))
LOST = ("lost", Spread(low=0.01, likely=0.02, high=0.05, shape="triangular"))
PIECES = 100
PLAIN_COUNT = 2_000  # of the baseline; its seconds are taken to as many draws as ours


def triangle(low: float, likely: float, high: float) -> Spread:
    """A triangular spread."""
    return Spread(low=low, likely=likely, high=high, shape="triangular")


def even(mean: float, sd: float) -> Spread:
    """A uniform spread of that mean and deviation."""
    half = math.sqrt(3.0) * sd
    return Spread(low=mean - half, likely=mean, high=mean + half, shape="uniform")


def lot(name: str, *factors: tuple[str, Spread]) -> Amount:
    """An amount once a lot."""
    return Amount(line=name, per="lot", scale=1.0, factors=factors)


def drawn(*amounts: Amount, is_together: bool = True) -> np.ndarray:
    """Money of one batch."""
    return Drawn(amounts, NOTHING, Drawing(is_together=is_together)).at(1).total


def shared() -> tuple[Amount, ...]:
    """Ten lines of deviation 1 that share three tenths of their variance."""
    made = []
    for k in range(10):
        made.append(lot(f"{k}", (f"own {k}", even(10.0, math.sqrt(0.7)))))
        made.append(lot(f"{k}", ("common", even(0.0, math.sqrt(0.3)))))
    return tuple(made)


def closed_forms() -> dict[str, tuple[float, float]]:
    """Each case as (closed form, drawn)."""
    one = drawn(lot("a", ("x", triangle(**BOOK))))
    p10, p50, p90 = (float(v) for v in np.quantile(one, (0.1, 0.5, 0.9)))
    apart = drawn(*(lot(f"{k}", (f"x{k}", even(10.0, s))) for k, s in enumerate((1.0, 2.0, 0.5))))
    same = drawn(*(lot(f"{k}", ("x", even(10.0, s))) for k, s in enumerate((1.0, 2.0, 0.5))))
    product = drawn(lot("a", ("x", even(10.0, 1.0)), ("y", even(3.0, 0.5))))
    lost = Drawn((), ("lost", exact(0.02)), Drawing()).lost_pieces(PIECES)
    return {
        "triangular_mean": (triangular_mean(**BOOK), float(one.mean())),
        "triangular_sd": (triangular_sd(**BOOK), float(one.std())),
        "triangular_p10": (10.0 + math.sqrt(0.1 * 7.0 * 2.0), p10),
        "triangular_p50": (17.0 - math.sqrt(0.5 * 7.0 * 5.0), p50),
        "triangular_p90": (17.0 - math.sqrt(0.1 * 7.0 * 5.0), p90),
        "one_cause_sd": (3.5, float(same.std())),
        "several_causes_sd": (math.sqrt(5.25), float(apart.std())),
        "ten_lines_together_sd": (
            common_cause_sd(sds=[1.0] * 10, correlation_ratio=0.3), float(drawn(*shared()).std()),
        ),
        "ten_lines_apart_sd": (
            common_cause_sd(sds=[1.0] * 10, correlation_ratio=0.0), float(drawn(*shared(), is_together=False).std()),
        ),
        "product_sd": (math.sqrt(101.0 * 9.25 - 900.0), float(product.std())),
        "lost_pieces_mean": (PIECES * 0.02 / 0.98, float(lost.mean())),
    }  # fmt: skip


def invoice() -> tuple[Amount, ...]:
    """Fifteen lines as a part of the demo has them."""
    rate, moves, hand = ("rate", triangle(0.92, 1.0, 1.12)), triangle(0.85, 1.0, 1.15), triangle(0.6, 1.0, 1.7)
    made = [Amount(line="metal", per="lot", scale=500.0, factors=(("metal", triangle(0.97, 1.0, 1.1)),))]
    made += [
        Amount(line=f"mill {k}", per="piece", scale=6.0 + k, factors=(("moves", moves), rate)) for k in range(4)
    ]  # fmt: skip
    made += [Amount(line=f"bench {k}", per="piece", scale=1.5, factors=(("hand", hand), rate)) for k in range(4)]
    made += [
        Amount(line=f"set-up {k}", per="lot", scale=45.0, factors=(("set-up", triangle(0.8, 1.0, 1.5)), rate))
        for k in range(3)
    ]
    made += [
        Amount(line=f"outside {k}", per="lot", scale=300.0, factors=(("outside", triangle(1.0, 1.0, 1.08)),))
        for k in range(2)
    ]
    made.append(Amount(line="program", per="design", scale=112.0, factors=(("once", triangle(0.4, 1.0, 2.4)), rate)))
    return tuple(made)


def ours(amounts: tuple[Amount, ...]) -> Callable[[], object]:
    """A band of the invoice."""
    return lambda: band_of(Drawn(amounts, LOST, Drawing()).at(PIECES).each)


def plain_draws(amounts: tuple[Amount, ...], count: int) -> list[float]:
    """The same, draw by draw: every cause once, every piece tried until the last good one."""
    source = random.Random(7)  # noqa: S311 - draws, no secrets
    found = []
    for _ in range(count):
        value: dict[str, float] = {}
        total = worked = 0.0
        for amount in amounts:
            money = amount.scale_at(PIECES)
            for cause, spread in amount.factors:
                if cause not in value:
                    value[cause] = source.triangular(spread.low, spread.high, spread.likely)
                money *= value[cause]
            if amount.per == "piece":
                worked += money
                money *= PIECES
            total += money
        share = source.triangular(LOST[1].low, LOST[1].high, LOST[1].likely)
        good = lost = 0
        while good < PIECES:
            if source.random() < share:
                lost += 1
            else:
                good += 1
        found.append((total + worked * lost) / PIECES)
    return found


def sum_mean(amounts: tuple[Amount, ...]) -> float:
    """Mean money of a batch in closed form, nothing lost: scale times the means of the factors, summed."""
    total = 0.0
    for amount in amounts:
        times = PIECES if amount.per in ("piece", "sold") else 1
        total += times * amount.scale_at(PIECES) * math.prod(spread.mean for _, spread in amount.factors)
    return total


def main() -> int:
    """Print the table of closed forms and the line."""
    gaps: dict[str, float] = {}
    for name, (closed, found) in closed_forms().items():
        gaps[name] = abs(found - closed) / closed
        print(f"{name:24} {closed:12.6f} closed, {found:12.6f} drawn, {100.0 * gaps[name]:.4f} % off")
    amounts = invoice()
    band = band_of(Drawn(amounts, LOST, Drawing()).at(PIECES).each)
    plain = np.quantile(plain_draws(amounts, 10 * PLAIN_COUNT), (0.1, 0.5, 0.9))
    apart = band_of(Drawn(amounts, LOST, Drawing(is_together=False)).at(PIECES).each)
    told = (
        f"band {band.p10:.3f} {band.p50:.3f} {band.p90:.3f}; draw by draw {plain[0]:.3f} {plain[1]:.3f} {plain[2]:.3f};"
        f" every line alone {apart.p10:.3f} {apart.p50:.3f} {apart.p90:.3f}"
    )
    print(told)
    speed = paired(ours(amounts), lambda: plain_draws(amounts, PLAIN_COUNT))
    gain = speed["ratio"] * COUNT / PLAIN_COUNT
    fixed = Drawn(amounts, LOST, Drawing())
    figures = {
        "closed_form_gap_most_ratio": max(gaps.values()),
        "one_cause_gap_most_ratio": max(gap for name, gap in gaps.items() if name.startswith("triangular")),
        "band_gap_ratio": max(
            abs(a - float(b)) / band.width for a, b in zip((band.p10, band.p50, band.p90), plain, strict=True)
        ),
        "mean_gap_ratio": abs(
            float(Drawn(amounts, NOTHING, Drawing()).at(PIECES).total.mean()) / sum_mean(amounts) - 1.0
        ),
        "apart_of_width_ratio": apart.width / band.width,
        "band_s": speed["subject_s"],
        "draws_per_s": COUNT / speed["subject_s"],
        "line_draws_per_s": COUNT * len(amounts) / speed["subject_s"],
        "curve_of_60_s": seconds_of(lambda: [band_of(fixed.at(q).each) for q in range(40, 100)]),
        "causes_s": seconds_of(lambda: widths(amounts, LOST, quantity=PIECES, drawing=Drawing())),
    }  # fmt: skip
    targets: dict[str, tuple[str, float]] = {
        "closed_form_gap_most_ratio": ("at most", 3.0 / math.sqrt(COUNT)),
        "one_cause_gap_most_ratio": ("at most", 1e-3),
        "band_gap_ratio": ("at most", 0.03), "mean_gap_ratio": ("at most", 3.0 / math.sqrt(COUNT)),
        "apart_of_width_ratio": ("at most", 1.0), "draws_ratio": ("at least", 10.0),
    }  # fmt: skip
    print(
        line(
            name="cost", figures=figures, ratios={"draws_ratio": gain}, targets=targets, repeats=speed["repeats"],
            spread={"draws_ratio": [end * COUNT / PLAIN_COUNT for end in speed["spread"]]},
            excluded=("the baseline draws a tenth as often; its seconds are taken ten times",),
        )
    )  # fmt: skip
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
