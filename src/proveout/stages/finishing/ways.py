"""The ways out of a window that is empty or too narrow, in the order in which to think of them, with their prices."""

from __future__ import annotations

import math

from proveout.cutting.threads import TAP_LIMIT_LARGEST_MM, first_tap_limit_inside, tap_limit_window
from proveout.model.coat_growth import Growth
from proveout.model.coat_way import CoatPrices, CoatWay
from proveout.model.fact import exact_fact
from proveout.model.plan import Window
from proveout.quantities.coat import SizeWindow, coat_spread_ratio
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import grade_mm
from proveout.stages.finishing.finished import ThreadLimits
from proveout.stages.finishing.windows import HELD_WIDTH_MM, Before

# common practice, no source: metal and coat that a hone needs to take to clean a bore up
HONE_STOCK_MM = 0.010
NOTHING = exact_fact(0.0, "", "own-algorithm", "assumed")


def ways_out(
    *, window: Window, before: Before, growth: Growth, is_inside: bool, is_whole: bool, thread: ThreadLimits | None,
    prices: CoatPrices,
) -> tuple[CoatWay, ...]:  # fmt: skip
    """What the owner can do, each way with the number it needs and what it costs.

    Of a thread whose window is wide enough only what closes it is left: an oversize tap or a plug.
    is_whole: the size is a whole hole, which a plug closes; anything else is masked by hand.
    """
    width = window.finished_high_mm - window.finished_low_mm
    spread = width - before.worst_width_mm
    is_tight = before.worst_width_mm < HELD_WIDTH_MM
    ways = [_loosen(window, needed_mm=spread + HELD_WIDTH_MM, spread_mm=spread)] if is_tight else []
    if thread is not None:
        ways.append(_oversize_tap(window, thread, prices))
    ways.append(
        CoatWay(
            kind="plug or mask", per="piece", price=prices.plug if is_whole else prices.mask,
            text=f"plug or mask it: the window becomes {window.finished_low_mm:.3f} to {window.finished_high_mm:.3f} "
            f"mm, {1000.0 * width:.0f} µm wide", helps=width >= HELD_WIDTH_MM - 1e-9,
        )
    )  # fmt: skip
    if window.kind == "hole" and is_inside:
        ways.append(_hone(window, before, growth, prices))
    if is_tight:
        ways.append(_tighten(growth, allowed_mm=width - HELD_WIDTH_MM, surfaces=before.surfaces, prices=prices))
    return tuple(ways)


def _loosen(window: Window, *, needed_mm: float, spread_mm: float) -> CoatWay:
    text = f"loosen it: limits at least {needed_mm:.3f} mm apart"
    if window.kind == "hole":
        size = window.finished_low_mm
        for grade in range(6, 15):
            try:
                width = grade_mm(grade=grade, size_mm=size)
            except OutOfRange:
                break
            if width >= needed_mm - 1e-9:
                left = 1000.0 * (width - spread_mm)
                text = f"{text}, such as {size:g} H{grade}, whose window is {left:.0f} µm wide"
                break
    return CoatWay(kind="loosen", text=text, per="drawing", price=NOTHING)


def _oversize_tap(window: Window, thread: ThreadLimits, prices: CoatPrices) -> CoatWay:
    """The lowest numbered tap limit that lies wholly inside the window, beside the pitch diameters themselves."""
    if window.width_mm <= 0.0:
        text = "oversize tap: none can help, as the coat varies by more than the thread allows"
        return CoatWay(kind="oversize tap", text=text, per="tap", price=prices.tap, helps=False)
    if not window.is_decided:
        text = "oversize tap: none can be named before the finisher has said what he takes off and puts on"
        return CoatWay(kind="oversize tap", text=text, per="tap", price=prices.tap, helps=False)
    text = f"oversize tap: pitch diameter {window.before_low_mm:.3f} to {window.before_high_mm:.3f} mm before the coat"
    inside = SizeWindow(low_mm=window.before_low_mm, high_mm=window.before_high_mm)
    number = None
    if thread.major_mm <= TAP_LIMIT_LARGEST_MM:
        number = first_tap_limit_inside(
            basic_pitch_diameter_mm=thread.basic_mm, window=inside, series=thread.tap_series
        )
    if number is not None:
        tap = tap_limit_window(basic_pitch_diameter_mm=thread.basic_mm, limit_number=number, series=thread.tap_series)
        text += f", such as a tap {thread.tap_series}{number}, {tap.low_mm:.3f} to {tap.high_mm:.3f} mm"
    return CoatWay(kind="oversize tap", text=text, per="tap", price=prices.tap)


def _hone(window: Window, before: Before, growth: Growth, prices: CoatPrices) -> CoatWay:
    least, _ = growth.build_up_mm
    before_hone = window.finished_low_mm + before.surfaces * least - HONE_STOCK_MM
    return CoatWay(
        kind="hone", per="piece", price=prices.hone,
        text=f"hone after the coat: machine to at most {before_hone:.3f} mm"
        f" so that the hone always finds {HONE_STOCK_MM:.3f} mm, then hone to {window.finished_low_mm:.3f} to "
        f"{window.finished_high_mm:.3f} mm (the bore is then bare or thinly coated)",
    )  # fmt: skip


def _tighten(growth: Growth, *, allowed_mm: float, surfaces: float, prices: CoatPrices) -> CoatWay:
    """The share by which the thickness may vary for the window to be just wide enough to be held."""
    coat, etch, share = growth.coat, growth.etch_mm, growth.share_ratio
    if coat.grown_mm is not None:
        text = (
            f"tighten the coat: a surface was read to grow {coat.grown_mm.low:.4f} to {coat.grown_mm.high:.4f} mm; the "
            "finisher would have to hold it closer than he did"
        )
        return CoatWay(
            kind="tighten the coat", text=text, per="piece", price=prices.tighter_coat, helps=False
        )  # fmt: skip
    low, high, nominal = coat.build_up_ratio.low * share.low, coat.build_up_ratio.high * share.high, coat.thickness_mm
    ratio = -1.0
    if nominal.nominal > 0.0 and high > 0.0:
        ratio = coat_spread_ratio(
            allowed_mm=allowed_mm - surfaces * (etch.high - etch.low), thickness_mm=nominal.nominal,
            share_low_ratio=low, share_high_ratio=high, surfaces_ratio=surfaces,
        )  # fmt: skip
    if ratio <= 0.0:
        said = f"{100 * coat.build_up_ratio.low:.0f} to {100 * coat.build_up_ratio.high:.0f} % of it builds up"
        text = (
            f"tighten the coat: thickness alone cannot help while {said}; the finisher would have to state that share "
            "more closely as well"
        )
        if growth.asks:
            text = f"tighten the coat: first ask {' and '.join(growth.asks)}"
        return CoatWay(
            kind="tighten the coat", text=text, per="piece", price=prices.tighter_coat, helps=False
        )  # fmt: skip
    percent = math.floor(1000.0 * ratio + 1e-9) / 10.0
    text = f"tighten the coat to ±{percent:g} % of {nominal.nominal:.3f} mm: the window becomes {HELD_WIDTH_MM:.3f} mm"
    return CoatWay(kind="tighten the coat", text=f"{text} wide", per="piece", price=prices.tighter_coat)
