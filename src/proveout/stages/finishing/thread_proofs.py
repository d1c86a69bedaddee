"""Threads under a coat: plugged, or cut with a tap whose limit leaves room for the coat, and gauged as such."""

from __future__ import annotations

from proveout.cutting.threads import tap_limit_window
from proveout.model.coat_growth import Growth
from proveout.model.fact import Fact, exact_fact
from proveout.model.plan import Window
from proveout.model.proof import Basis, Proof, prove
from proveout.stages.finishing.finished import ThreadLimits
from proveout.stages.finishing.proofs import STAGE, window_inputs
from proveout.stages.finishing.window_proofs import coat_inputs

# common practice, no source: diameters of thread that a steel screw wants in aluminium
LENGTH_RATIO = 1.5


def thread_gauges(window: Window, *, is_inside: bool) -> str:
    """Which gauges tell a thread before its coat, by pitch diameter and how far that is off the one after it.

    After it a screw's GO gauge is that of its finished limit, which may lie above its class: the coat takes the
    allowance.
    """
    kind, than = ("plug", "the standard one") if is_inside else ("ring", "the one after it")
    ends = [("before_low_mm", "finished_low_mm"), ("before_high_mm", "finished_high_mm")]
    go, no_go = ends if is_inside else reversed(ends)
    said = []
    for name, (before, finished) in (("GO", go), ("NO-GO", no_go)):
        size, off = getattr(window, before), 1000.0 * (getattr(window, before) - getattr(window, finished))
        said.append(f"{name} {kind} of pitch diameter {size:.3f} mm, {off:+.0f} µm from {than}")
    after = "the standard pair"
    if not is_inside:
        after = f"GO ring of pitch diameter {window.finished_high_mm:.3f} mm and the standard NO-GO"
    return f"before the coat: {said[0]}; {said[1]}; after it {after}"


def thread_proof(window: Window, growth: Growth | None, thread: ThreadLimits, tap_limit: int, currency: str) -> Proof:
    """A thread under a coat must be plugged, or cut with a tap whose limit is stated. growth: None when it is bare."""
    if growth is not None and tap_limit:
        return _tapped(window, growth, thread, tap_limit, currency)
    shrink = 0.0
    if growth is not None:
        coat = growth.coat
        shrink = 4.0 * max(coat.thickness_mm.high, coat.comes_mm.high) * coat.build_up_ratio.high
        if growth.coat.grown_mm is not None:
            shrink = max(shrink, 4.0 * growth.coat.grown_mm.high)
    width = round(window.finished_high_mm - window.finished_low_mm, 6)
    decides = (
        f"plug it (add its balloon to the masked ones), or state a tap whose pitch diameter lies within "
        f"{window.before_low_mm:.3f} to {window.before_high_mm:.3f} mm by the number of its limit"
    )
    if growth is not None and not window.is_inside:
        decides = (
            f"mask it (add its balloon to the masked ones), or see that it is cut to a pitch diameter within "
            f"{window.before_low_mm:.3f} to {window.before_high_mm:.3f} mm, and gauge every piece before the coat"
        )
    if growth is not None and not window.is_decided:
        decides = (
            f"plug or mask it (add its balloon to the masked ones), or ask the finisher {' and '.join(growth.asks)}"
        )
    return prove(
        id=f"{STAGE}:{window.mark}:thread-takes-its-screw",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim="the coat does not close the thread",
        sense="at most",
        found_low=None if growth is not None else 0.0,
        found_high=None if growth is not None else 0.0,
        limit=width,
        unit="mm",
        blocks_release=True,
        basis=Basis(
            formula="pitch diameter shrinks by 4 t s; none when plugged or not coated",
            source="thread_plating_note",
            inputs={
                **(coat_inputs(growth) if growth is not None else {}),
                "shrinks by at most": exact_fact(shrink, "mm", "own-algorithm", "assumed"),
                "pitch diameter tolerance": exact_fact(width, "mm", thread.source, thread.strength),
            },
        ),
        decides="" if growth is None else decides,
    )


def length_proof(window: Window, thread: ThreadLimits, drilled_mm: float, *, is_through: bool) -> Proof:
    """A steel screw in aluminium wants one and a half diameters of thread; the drilled length is the most there is.

    Of a blind hole the tap's lead and the room below it take some of that, and nobody says how much.
    """
    most = round(drilled_mm / thread.major_mm, 6)
    least = most if is_through or most < LENGTH_RATIO else None
    return prove(
        id=f"{STAGE}:{window.mark}:thread-is-long-enough",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim=f"the hole of {window.text} is long enough for a steel screw in aluminium; never for lifting or pressure",
        sense="at least",
        found_low=least,
        found_high=most,
        limit=LENGTH_RATIO,
        unit="x its diameter",
        blocks_release=False,
        basis=Basis(
            formula="drilled length / major diameter; in a blind hole less the tap's lead and the room below it",
            source="workshop-practice",
            inputs={
                "drilled length": exact_fact(round(drilled_mm, 6), "mm", "solid-model", "assumed"),
                "major diameter": exact_fact(round(thread.major_mm, 6), "mm", thread.source, thread.strength),
            },
        ),
        decides=""
        if least is not None
        else "the lead of the tap and the room below it: full thread is the drilled "
        "length less both; measure it with a screw on the first piece",
        remedy=f"make it {LENGTH_RATIO * thread.major_mm:.1f} mm long or more, or put in an insert",
    )


def _tapped(window: Window, growth: Growth, thread: ThreadLimits, tap_limit: int, currency: str) -> Proof:
    """The stated tap, worst end of both: no narrower than the window at its foot, no wider at its top."""
    tap = tap_limit_window(basic_pitch_diameter_mm=thread.basic_mm, limit_number=tap_limit, series=thread.tap_series)
    room = round(min(tap.low_mm - window.before_low_mm, window.before_high_mm - tap.high_mm), 6)
    found = room if window.is_decided else None
    return prove(
        id=f"{STAGE}:{window.mark}:thread-takes-its-screw",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim=f"a tap of limit {tap_limit} leaves a thread that is right once it is coated",
        sense="at least",
        found_low=found,
        found_high=found,
        limit=0.0,
        unit="mm",
        blocks_release=True,
        basis=Basis(
            formula="least of tap low - window low and window high - tap high; the tap cuts its own pitch diameter, "
            "which the gauges before the coat check",
            source="thread_limits_table",
            inputs={
                **coat_inputs(growth),
                "tap": Fact(
                    low=tap.low_mm, nominal=tap.middle_mm, high=tap.high_mm, unit="mm", source="thread_limits_table",
                    strength="published and seen" if thread.is_unified else "from memory",
                ),
                **window_inputs(window),
            },
        ),
        decides="" if window.is_decided else f"ask the finisher {' and '.join(growth.asks)}",
        remedy="; or ".join(way.words(currency) for way in window.ways_out),
    )  # fmt: skip
