"""The band of the example plan's cost, written by hand: plausible, not computed."""

from __future__ import annotations

from proveout.model.cost_band import (
    Cause,
    ChannelBand,
    Cliff,
    CostBand,
    CurvePoint,
    LineBand,
    LotChoice,
    LotWay,
    Range,
    Rider,
)
from proveout.model.fact import Fact

# text, low, middle, high, what moves it
LINES = (
    ("Bar", 1.82, 1.95, 2.11, ("price of the metal",)),
    ("Mill, three clampings", 10.6, 12.02, 13.55, ("minutes of the machines", "rates an hour")),
    ("Set-ups", 1.12, 1.36, 1.71, ("minutes of set-ups and saw", "rates an hour")),
    ("Program and prove-out", 1.31, 1.82, 2.29, ("programming, prove-out and jaws",)),
    ("Coat", 3.43, 3.43, 3.43, ()),
    ("Bench, blast, kit", 1.77, 2.33, 2.86, ("minutes by hand", "rates an hour")),
)


def span(low: float, middle: float, high: float) -> Range:
    return Range(p10=low, p50=middle, p90=high)


def said(low: float, nominal: float, high: float, unit: str) -> Fact:
    return Fact(low=low, nominal=nominal, high=high, unit=unit, source="job-file: asked", strength="owner's guess")


def cost_band() -> CostBand:
    """A band with everything that a page can show."""
    quantities = (30, 48, 49, 75, 100, 124, 125, 150, 187, 188, 240, 300, 375, 450)
    curve = tuple(
        CurvePoint(
            quantity=q,
            each=span(16.4 + 620.0 / q, 17.9 + 741.0 / q, 19.6 + 880.0 / q),
        )
        for q in quantities
    )
    return CostBand(
        draws_count=20_000, seed=41, each=span(20.71, 22.93, 25.44), apart=span(21.34, 22.92, 24.61), mean=23.01,
        lines=tuple(
            LineBand(text=text, each=span(low, middle, high), causes=causes)
            for text, low, middle, high, causes in LINES
        ),
        widest=tuple(
            Cause(
                id=id, text=text, low=low, likely=1.0, high=high, unit="times what is written", shape="triangular",
                source="shop-file: asked", strength="owner's guess", known=span(*known), narrows_ratio=share,
                measure=measure,
            )
            for id, text, low, high, known, share, measure in (
                ("rate", "rates an hour", 0.9, 1.15, (21.4, 22.9, 24.4), 0.366,
                 "work the rate out from last year's costs and hours"),
                ("moves", "minutes of the machines", 0.85, 1.15, (21.2, 22.9, 24.8), 0.239,
                 "time one cycle of the first pieces and write it beside the estimate"),
                ("hand", "minutes by hand", 0.6, 1.7, (21.0, 22.9, 25.1), 0.133,
                 "time ten pieces with a watch: kit and box first"),
                ("metal", "price of the metal", 0.95, 1.1, (20.8, 22.9, 25.4), 0.021,
                 "ask for a price of these bars today"),
            )
        ),
        not_spread=("prices of the finishers", "cost of cutters a minute"),
        spares_suffice=said(0.61, 0.87, 0.98, "ratio"), lost=span(1.0, 3.0, 6.0), curve=curve,
        cliffs=(
            Cliff(quantity=49, jump=0.0, text="the minimum charge of coat-works is reached: fewer pieces cost as much "
                  "there"),
            Cliff(quantity=125, jump=55.69, text="more bars for one more piece"),
            Cliff(quantity=188, jump=55.69, text="more bars for one more piece"),
        ),
        even_share_quantity=312, quantity_ticks=(50, 100, 150, 200, 250, 300, 350, 400, 450),
        money_ticks=(0.0, 10.0, 20.0, 30.0, 40.0),
        channels=(
            ChannelBand(
                channel="own", fee_ratio=0.03, fee_each=0.35, price=34.0, net=32.63, left=span(7.19, 9.70, 11.92),
                loss_ratio=0.0, even_quantity=51, sure_quantity=68, floor_price=45.24,
            ),
            ChannelBand(
                channel="fair", fee_ratio=0.3, fee_each=0.0, price=34.0, net=23.8, left=span(-1.64, 0.87, 3.09),
                loss_ratio=0.31, even_quantity=126, sure_quantity=None, floor_price=84.8,
            ),
        ),
        bought_saving=span(3.1, 6.2, 9.4), made_ratio=0.994,
        lots=LotChoice(
            demand=said(300.0, 450.0, 700.0, "pieces"), holding_ratio=said(0.15, 0.2, 0.3, "ratio"), flat_ratio=0.01,
            most_quantity=1400,
            ways=tuple(
                LotWay(
                    text=text, quantity=quantity, closed_form=closed, flat_low=flat[0], flat_high=flat[1],
                    best_low=best[0], best_high=best[1], per_year=year, lots_per_year=lots, each=each, outlay=outlay,
                    lying=outlay / 2.0,
                )
                for text, quantity, closed, flat, best, year, lots, each, outlay in (
                    ("riding with 1 other part to the finisher", 248, 271.4, (174, 343), (211, 310), 9320.0, 1.95,
                     19.87, 4927.76),
                    ("alone", 310, 304.9, (231, 424), (248, 372), 9581.0, 1.56, 19.66, 6094.6),
                )
            ),
            order_quantity=150, order_per_year=9466.0, lot_charge=367.2,
        ),
        riders=(Rider(number="EX-101", pieces_count=155),),
    )  # fmt: skip
