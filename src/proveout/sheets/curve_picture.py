"""Money of a piece against the quantity, as a picture in black and white: band hatched, middle thick, prices dashed."""

from __future__ import annotations

import numpy as np

from proveout.model.cost_band import CostBand
from proveout.sheets.svg import Array, Paper
from proveout.sheets.writer import Writer

WIDTH_MM, HEIGHT_MM = 180.0, 76.0
LOW_MM = 36.0  # of the picture on a full sheet
LEFT_MM, RIGHT_MM, TOP_MM, BOTTOM_MM = 18.0, 4.0, 6.0, 12.5
TICK_MM = 1.4
PRICES_MOST = 2  # lines of prices less fees
APART_MM = 4.2  # between two names of lines


class _Frame:
    """Takes quantity and money to paper-millimetres, y down."""

    def __init__(self, band: CostBand, *, height_mm: float) -> None:
        self.first, self.last = band.curve[0].quantity, band.curve[-1].quantity
        self.top = max(band.money_ticks[-1], *(point.each.p90 for point in band.curve))
        self.wide = WIDTH_MM - LEFT_MM - RIGHT_MM
        self.tall = height_mm - TOP_MM - BOTTOM_MM

    def x(self, quantity: float) -> float:
        return LEFT_MM + (quantity - self.first) / max(1, self.last - self.first) * self.wide

    def y(self, money: float) -> float:
        return TOP_MM + (1.0 - money / self.top) * self.tall

    def line(self, points: list[tuple[float, float]]) -> Array:
        return np.array([[self.x(q), self.y(m)] for q, m in points])


def curve_svg(writer: Writer, *, ids: str = "curve", height_mm: float = HEIGHT_MM) -> str:
    """The curve; empty without a band."""
    band, ink = writer.plan.cost.band, writer.ink
    if band is None or len(band.curve) < 2:
        return ""
    frame, paper = _Frame(band, height_mm=height_mm), Paper(width_mm=WIDTH_MM, height_mm=height_mm)
    at = ("plan", "cost", "band")
    low = [(float(p.quantity), p.each.p10) for p in band.curve]
    high = [(float(p.quantity), p.each.p90) for p in band.curve]
    paper.path(np.vstack([frame.line(low), frame.line(high)[::-1]]), fill="hatch", width_mm=0.0, closed=True)
    for ends in (low, high):
        paper.path(frame.line(ends), fill="none", width_mm=0.25)
    paper.path(frame.line([(float(p.quantity), p.each.p50) for p in band.curve]), fill="none", width_mm=0.7)
    _axes(paper, frame, writer)
    for cliff in band.cliffs:
        x = frame.x(cliff.quantity)
        paper.path(np.array([[x, frame.y(0.0)], [x, frame.y(0.0) - 3.0 * TICK_MM]]), fill="none", width_mm=0.5)
    _prices(paper, frame, writer)
    quantity = writer.plan.cost.quantity
    if frame.first <= quantity <= frame.last:
        x = frame.x(quantity)
        paper.path(np.array([[x, TOP_MM], [x, frame.y(0.0)]]), fill="none", width_mm=0.35, dash="0.6 1.2")
        paper.words(
            f"this batch, {ink.number('plan', 'cost', 'quantity', digits=0)}: "
            f"{ink.number(*at, 'each', 'p50', digits=2)}",
            x + 1.5, TOP_MM + 2.5, anchor="start", strong=True,
        )  # fmt: skip
    return paper.text(
        alt="Cost of a piece against the number made at once: the middle of the draws as a thick line, the band of "
        "eight draws in ten hatched; short strokes on the axis where bars or minimum charges make a step.",
        ids=ids,
    )


def _axes(paper: Paper, frame: _Frame, writer: Writer) -> None:
    band, ink = writer.plan.cost.band, writer.ink
    assert band is not None
    at, floor = ("plan", "cost", "band"), frame.y(0.0)
    paper.path(np.array([[LEFT_MM, TOP_MM], [LEFT_MM, floor], [WIDTH_MM - RIGHT_MM, floor]]), fill="none", width_mm=0.4)
    for i, quantity in enumerate(band.quantity_ticks):
        x = frame.x(quantity)
        paper.path(np.array([[x, floor], [x, floor + TICK_MM]]), fill="none", width_mm=0.3)
        paper.words(ink.number(*at, "quantity_ticks", i, digits=0), x, floor + 5.2)
    digits = 0 if all(tick == int(tick) for tick in band.money_ticks) else 2
    for i, money in enumerate(band.money_ticks):
        y = frame.y(money)
        paper.path(np.array([[LEFT_MM - TICK_MM, y], [LEFT_MM, y]]), fill="none", width_mm=0.3)
        paper.words(ink.number(*at, "money_ticks", i, digits=digits), LEFT_MM - 2.4, y + 1.2, anchor="end")
    paper.words("good pieces at once", (LEFT_MM + WIDTH_MM) / 2.0, floor + 10.0)
    paper.words(f"{writer.plan.cost.currency} a piece", 1.0, TOP_MM - 2.0, anchor="start")


def _prices(paper: Paper, frame: _Frame, writer: Writer) -> None:
    """Price less fees of the first ways of selling, as far as they lie in the picture."""
    band, ink = writer.plan.cost.band, writer.ink
    assert band is not None
    last_mm = -100.0
    for i, one in enumerate(band.channels[:PRICES_MOST]):
        if one.net is None or not 0.0 < one.net < frame.top:
            continue
        y = frame.y(one.net)
        paper.path(np.array([[LEFT_MM, y], [WIDTH_MM - RIGHT_MM, y]]), fill="none", width_mm=0.3, dash="3.0 1.5")
        if abs(y - last_mm) < APART_MM:
            continue
        last_mm = y
        at = ("plan", "cost", "band", "channels", i)
        told = f"left of the price, {ink.words(*at, 'channel')}: {ink.number(*at, 'net', digits=2)}"
        paper.words(told, WIDTH_MM - RIGHT_MM - 1.0, y - 1.0, anchor="end")
