"""Whether a window before the coat is open, and wide enough to be held."""

from __future__ import annotations

from proveout.model.coat_growth import Growth
from proveout.model.fact import Fact, exact_fact
from proveout.model.plan import Window
from proveout.model.proof import Basis, Proof, prove
from proveout.quantities.coat import etch_room_mm
from proveout.stages.finishing.finished import Limits, tidy
from proveout.stages.finishing.proofs import STAGE, key_of
from proveout.stages.finishing.windows import HELD_WIDTH_MM, Before


def window_proofs(
    window: Window, limits: Limits, before: Before, growth: Growth | None, currency: str
) -> tuple[Proof, Proof]:
    """Open, and wide enough to be held; *not shown* where what nobody said about the coat decides."""
    is_coated = growth is not None and before.size is not None
    formula = f"width = high - low, no coat on it; limits: {limits.formula}"
    if growth is not None and is_coated:
        formula = f"width = (high - low) - {before.surfaces:g} {_varies(growth)}; limits: {limits.formula}"
    inputs = {
        "finished low": exact_fact(window.finished_low_mm, "mm", limits.source, limits.strength),
        "finished high": exact_fact(window.finished_high_mm, "mm", limits.source, limits.strength),
        **(coat_inputs(growth) if growth is not None and is_coated else {}),
    }
    source = "hard_coat_guide" if is_coated else key_of(limits)
    remedy = "; or ".join(way.words(currency) for way in window.ways_out) or "loosen the size"
    decides = _decides(window, before, growth) if is_coated else ""
    low, high = tidy(before.worst_width_mm), tidy(before.best_width_mm)

    def judged(what: str, claim: str, limit: float, more: dict[str, Fact]) -> Proof:
        return prove(
            id=f"{STAGE}:{window.mark}:{what}",
            stage=STAGE,
            subject=f"size {window.mark}",
            claim=claim,
            sense="at least",
            found_low=low,
            found_high=high,
            limit=limit,
            unit="mm",
            blocks_release=True,
            basis=Basis(formula=formula, source=source, inputs={**inputs, **more}),
            decides=decides,
            remedy=remedy,
        )

    held = exact_fact(HELD_WIDTH_MM, "mm", "workshop-practice", "common practice")
    return (
        judged("window-is-open", f"some size before the coat ends within {window.text}, whatever coat comes", 0.0, {}),
        judged(
            "window-can-be-held",
            f"the window of {window.text} is no narrower than the finest that a shop holds piece after piece",
            HELD_WIDTH_MM,
            {"narrowest that can be held": held},
        ),
    )


def _varies(growth: Growth) -> str:
    """By how much the growth of a surface varies, as a formula with its letters."""
    if growth.coat.grown_mm is None:
        return "(t_high s_high - t_low s_low + e_high - e_low), t coat thickness, s share that builds up, e etch"
    if growth.share_ratio.low == 1.0:
        return "(g_high - g_low), g growth of a surface as read"
    return "(q_high g_high - (1 - q_high) e_low - q_low g_low + (1 - q_low) e_high), g growth outside as read, q share"


def coat_inputs(growth: Growth) -> dict[str, Fact]:
    """What a window rests on, of the coat."""
    if growth.coat.grown_mm is not None and growth.share_ratio.low == 1.0:
        return {"growth of a surface, read on coated pieces": growth.coat.grown_mm}
    found = {"coat thickness": growth.coat.comes_mm, "share that builds up": growth.coat.build_up_ratio}
    if growth.coat.grown_mm is not None:
        found = {"growth of a surface outside, read on coated pieces": growth.coat.grown_mm}
    found["etch before the coat"] = growth.etch_mm
    if growth.share_ratio.low < 1.0:
        found["share of the thickness in the blind hole"] = growth.share_ratio
    return found


def _decides(window: Window, before: Before, growth: Growth | None) -> str:
    """What to ask the finisher, and how much of it the size bears."""
    if growth is None or before.is_decided:
        return ""
    asked = f"ask the finisher {' and '.join(growth.asks)}"
    if growth.is_share_said:
        room = etch_room_mm(
            window_width_mm=window.width_mm, held_width_mm=HELD_WIDTH_MM, surfaces_ratio=before.surfaces
        )  # fmt: skip
        asked += f"; the size bears an etch that varies by at most {1000.0 * room:.0f} µm a surface"
    return asked
