"""Thin work between the jaws: a plate pressed on its edges bows away long before its metal yields."""

from __future__ import annotations

import math

from proveout.grip.strip import RESERVE_ASKED, buckling_load_n, reserve_told
from proveout.model.fact import Fact, exact_fact
from proveout.model.proof import Basis, Proof, Tighten, prove
from proveout.model.shop import Noun
from proveout.model.work import Clamping, Vector
from proveout.stages.holding.gripping import Grip
from proveout.stages.holding.proofs import force_words
from proveout.stages.holding.remedies import PRELOAD_FLOOR, STEP

FORMULA = (
    "P_cr = pi^2 E I / g^2 of a strip with free ends, I = w t^3 / 12; found: P_cr / P. t, least of finished and sawn "
    "thickness, w, the patch along the jaws, counted as a full plate: pockets and holes weaken it and are not in it"
)


class Work(Noun, frozen=True, kw_only=True):
    """What lies between the jaws: boxes of the blank and of the part, part frame, and the metal's elastic modulus.

    elastic_mpa: None when nobody knows it.
    """

    blank_low_mm: Vector
    blank_high_mm: Vector
    part_low_mm: Vector
    part_high_mm: Vector
    elastic_mpa: Fact | None


def thickness_mm(clamping: Clamping, work: Work) -> float:
    """Least height of the work across the jaws while it lies in this clamping.

    On the raw bar the grip strip still stands below the finished part; on finished faces the part alone is left.
    """
    into = clamping.frame.into
    blank = into([work.blank_low_mm, work.blank_high_mm])[:, 2]
    part = into([work.part_low_mm, work.part_high_mm])[:, 2]
    foot = float(blank.min()) if clamping.surface == "raw" else float(part.min())
    return max(0.0, float(part.max()) - foot)


def bow_force_n(clamping: Clamping, work: Work | None) -> float | None:
    """The greatest jaw force with the reserve asked for against bowing, worst end; None where the proof knows none.

    Formula:  P_cr / 2 of the least modulus and the shortest patch
    Args:     clamping: whose jaws press.   work: what lies between them, None when nobody says.
    Returns:  N, >= 0, or None.
    Raises:   nothing.
    Valid:    as buckling_load_n.
    Source:   euler_column.   Departs: nothing.
    Checked:  tests/stages/holding/test_by_move.py
    """
    if work is None or work.elastic_mpa is None or clamping.gap_mm <= 0.0:
        return None
    load = buckling_load_n(
        elastic_mpa=work.elastic_mpa.low, width_mm=clamping.patch_length_mm.low,
        thickness_mm=thickness_mm(clamping, work), length_mm=clamping.gap_mm,
    )  # fmt: skip
    return load / RESERVE_ASKED


def squeeze_proofs(grip: Grip, work: Work | None) -> list[Proof]:
    """Whether the jaws press the work out of its plane; none when nobody says what lies between them."""
    if work is None:
        return []
    clamping, force, elastic = grip.clamping, grip.force_n, work.elastic_mpa
    thick, width = thickness_mm(clamping, work), clamping.patch_length_mm
    inputs = {
        "t, thickness": exact_fact(round(thick, 6), "mm", "own-algorithm", "assumed"),
        "w, patch length": width,
        "g, between the jaws": exact_fact(clamping.gap_mm, "mm", "own-algorithm", "assumed"),
    }
    if grip.clamp.force_n is not None:
        inputs["P, jaw force"] = grip.clamp.force_n
    low = high = None
    if elastic is not None:
        inputs["E, elastic modulus"] = elastic
        if force is not None and force.low > 0.0 and clamping.gap_mm > 0.0:
            ends = ((elastic.low, width.low, force.high), (elastic.high, width.high, force.low))
            low, high = (
                buckling_load_n(elastic_mpa=e, width_mm=w, thickness_mm=thick, length_mm=clamping.gap_mm) / f
                for e, w, f in ends
            )
    softer = None if low is None or grip.vise.is_hand_tight else _softer(clamping.id, grip.clamp.ratio, low)
    lacks = [force_words(grip), "" if elastic is not None else "the elastic modulus of this metal"]
    return [
        prove(
            id=f"holding:{clamping.id}:squeezed flat",
            stage="holding",
            subject=f"clamping {clamping.number}",
            claim="the jaws do not bow thin work out of its plane",
            sense="at least",
            found_low=None if low is None else reserve_told(low),
            found_high=None if high is None else reserve_told(high),
            limit=RESERVE_ASKED,
            unit="times the jaw force",
            blocks_release=True,
            basis=Basis(formula=FORMULA, source="euler_column", inputs=inputs),
            decides="; ".join(text for text in lacks if text) or "a smaller spread of jaw force, patch and modulus",
            remedy="close the vise softer, or hold it with its thin side across the jaws, or flat on a plate",
            tighten=softer,
        )
    ]


def _softer(clamping_id: str, ratio: float, reserve: float) -> Tighten | None:
    """The share of the usual jaw force that keeps the reserve, None where none is needed or none is left."""
    if reserve >= RESERVE_ASKED:
        return None
    bound = round(math.floor(ratio * reserve / RESERVE_ASKED / STEP + 1e-9) * STEP, 4)
    if bound < PRELOAD_FLOOR or bound >= ratio:
        return None
    return Tighten(subject=clamping_id, quantity="preload_ratio", bound=bound, unit="of the usual")
