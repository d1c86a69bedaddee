"""Thin work between the jaws: a plate pressed on its edges bows away long before its metal yields."""

from __future__ import annotations

import math

import numpy as np

from proveout.grip.strip import RESERVE_ASKED, buckling_load_n, reserve_told, varying_strip_load_n
from proveout.model.fact import Fact, exact_fact
from proveout.model.proof import Basis, Proof, Tighten, prove
from proveout.model.shop import Noun
from proveout.model.strip_left import StripLeft
from proveout.model.wall_reading import WallReading
from proveout.model.walls_left import WallsLeft
from proveout.model.work import Clamping, Vector
from proveout.stages.holding.clamp_force import known_softer, torque_chart_words
from proveout.stages.holding.gripping import Grip
from proveout.stages.holding.proofs import force_words
from proveout.stages.holding.remedies import PRELOAD_FLOOR, STEP

WALLS = "a wall before a hollow that a jaw bends in by itself is judged apart from it"
FORMULA = (
    "P_cr = pi^2 E I / g^2 of a strip with free ends, I = w t^3 / 12; found: P_cr / P. t, least of finished and sawn "
    "thickness, w, the patch along the jaws, counted as a full plate: pockets and holes weaken it and are not in it; a "
    f"push off the middle of the section is not either; {WALLS}"
)


UNSEEN_FORMULA = (
    "of what is left {when} nobody knows the sections: it does not lie square in the jaws, or not between them"
)
LEFT_FORMULA = (
    "the least P with E I(y) w'' + P w = 0 and w = 0 at both jaws; found: P / jaw force. I(y) of what is left {when}, "
    "of the weakest stretch as long as the patch at every place, each piece of metal that reaches between seat and jaw "
    "tops bending for itself; at the best end of the whole length, all pieces bending as one. A push off the middle of "
    f"a section is not in it; {WALLS}"
)


class Work(Noun, frozen=True, kw_only=True):
    """What lies between the jaws: boxes of the blank and of the part, part frame, and the metal's elastic modulus.

    elastic_mpa: None when nobody knows it.   strips: what is left of it between the jaws, clamping by clamping in the
    order of work; a clamping without any is judged as a full plate, one with any that was not followed not at all.
    walls: likewise of walls before hollows.   widths_mm: of the narrowest size on each face that has one.
    wall_readings: what an indicator read on them.
    """

    blank_low_mm: Vector
    blank_high_mm: Vector
    part_low_mm: Vector
    part_high_mm: Vector
    elastic_mpa: Fact | None
    strips: tuple[StripLeft, ...] = ()
    walls: tuple[WallsLeft, ...] = ()
    widths_mm: dict[str, float] = {}
    wall_readings: tuple[WallReading, ...] = ()


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

    Formula:  P_cr / 2 of the least modulus and the shortest patch, of what is left of the work at its least
    Args:     clamping: whose jaws press.   work: what lies between them, None when nobody says.
    Returns:  N, >= 0, or None.
    Raises:   nothing.
    Valid:    as buckling_load_n.
    Source:   euler_column.   Departs: nothing.
    Checked:  tests/stages/holding/test_by_move.py
    """
    if work is None or work.elastic_mpa is None or clamping.gap_mm <= 0.0:
        return None
    mine = [strip for strip in work.strips if strip.clamping_id == clamping.id]
    if not all(one.is_followed for one in mine):
        return None
    if mine:
        return min(_load_n(one.least_mm4, work.elastic_mpa.low, clamping) for one in mine) / RESERVE_ASKED
    load = buckling_load_n(
        elastic_mpa=work.elastic_mpa.low, width_mm=clamping.patch_length_mm.low,
        thickness_mm=thickness_mm(clamping, work), length_mm=clamping.gap_mm,
    )  # fmt: skip
    return load / RESERVE_ASKED


def _load_n(moments_mm4: tuple[float, ...], elastic_mpa: float, clamping: Clamping) -> float:
    return varying_strip_load_n(
        elastic_mpa=elastic_mpa, second_moments_mm4=np.array(moments_mm4), length_mm=clamping.gap_mm
    )


class Squeezed(Noun, frozen=True, kw_only=True):
    """How many times the jaw force the work bears before it bows, at both ends; None where a number lacks.

    when: at which moment, in words.   inputs: what that rests on beside jaw force and modulus.
    """

    low: float | None
    high: float | None
    when: str
    formula: str
    inputs: dict[str, Fact]


def squeeze_proofs(grip: Grip, work: Work | None) -> list[Proof]:
    """Whether the jaws press the work out of its plane; none when nobody says what lies between them.

    Of what is left of the work the weakest moment counts: the jaws stay closed from before the first pass to behind
    the last.
    """
    if work is None:
        return []
    clamping, elastic = grip.clamping, work.elastic_mpa
    mine = [strip for strip in work.strips if strip.clamping_id == clamping.id]
    found = _left(grip, mine, elastic) if mine else _plate(grip, work)
    inputs = dict(found.inputs)
    if grip.clamp.force_n is not None:
        inputs["P, jaw force"] = grip.clamp.force_n
    if elastic is not None:
        inputs["E, elastic modulus"] = elastic
    softer = None
    if found.low is not None and not grip.vise.is_hand_tight:
        softer = known_softer(grip.vise, _softer(clamping.id, grip.clamp.ratio, found.low))
    lacks = [
        force_words(grip), "" if elastic is not None else "the elastic modulus of this metal",
        "" if all(one.is_followed for one in mine) else "the sections of what is left: it lies askew in the jaws",
    ]  # fmt: skip
    return [
        prove(
            id=f"holding:{clamping.id}:squeezed flat",
            stage="holding",
            subject=f"clamping {clamping.number}{found.when}",
            claim="the jaws, pushing through the middle of its sections, do not bow thin work out of its plane",
            sense="at least",
            found_low=None if found.low is None else reserve_told(found.low),
            found_high=None if found.high is None else reserve_told(found.high),
            limit=RESERVE_ASKED,
            unit="times the jaw force",
            blocks_release=True,
            basis=Basis(formula=found.formula, source="euler_column", inputs=inputs),
            decides="; ".join(text for text in lacks if text) or "a smaller spread of jaw force, patch and modulus",
            remedy=f"close the vise softer{torque_chart_words(grip.vise) or ','} leave more standing in this clamping, "
            "hold it with its thin side across the jaws, or flat on a plate",
            tighten=softer,
        )
    ]


def _ends(grip: Grip, elastic: Fact | None) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Modulus and jaw force at the worst and the best end; None where one is not known."""
    force = grip.force_n
    if elastic is None or force is None or force.low <= 0.0 or grip.clamping.gap_mm <= 0.0:
        return None
    return (elastic.low, force.high), (elastic.high, force.low)


def _plate(grip: Grip, work: Work) -> Squeezed:
    """As a full plate, where nobody followed what is left."""
    clamping = grip.clamping
    thick, width = thickness_mm(clamping, work), clamping.patch_length_mm
    ends = _ends(grip, work.elastic_mpa)
    low = high = None
    if ends is not None:
        low, high = (
            buckling_load_n(elastic_mpa=e, width_mm=w, thickness_mm=thick, length_mm=clamping.gap_mm) / f
            for (e, f), w in zip(ends, (width.low, width.high), strict=True)
        )
    inputs = {
        "t, thickness": exact_fact(round(thick, 6), "mm", "own-algorithm", "assumed"),
        "w, patch length": width,
        "g, between the jaws": exact_fact(clamping.gap_mm, "mm", "own-algorithm", "assumed"),
    }
    return Squeezed(low=low, high=high, when="", formula=FORMULA, inputs=inputs)


def _left(grip: Grip, strips: list[StripLeft], elastic: Fact | None) -> Squeezed:
    """At the moment when least is left; named is the first pass from which on that is too little, else least."""
    clamping, ends = grip.clamping, _ends(grip, elastic)
    unseen = next((one for one in strips if not one.is_followed), None)
    if unseen is not None:
        when = f"after {unseen.pass_id}" if unseen.pass_id else "before the first pass"
        return Squeezed(low=None, high=None, when="", formula=UNSEEN_FORMULA.format(when=when), inputs={})
    least = [_load_n(one.least_mm4, 1.0, clamping) if clamping.gap_mm > 0.0 else 0.0 for one in strips]
    low = high = None
    at = first = int(np.argmin(least))
    if ends is not None:
        (soft, hard_press), (stiff, light_press) = ends
        low = min(least) * soft / hard_press
        high = max(low, min(_load_n(one.most_mm4, 1.0, clamping) for one in strips) * stiff / light_press)
        first = next((i for i, load in enumerate(least) if load * soft < RESERVE_ASKED * hard_press), at)
    worst, named = strips[at], strips[first]
    when = ", as it is put in"
    if named.pass_id:
        is_too_little = low is not None and low < RESERVE_ASKED
        when = f", from {named.pass_id} on" if is_too_little else f", least after {named.pass_id}"
    inputs = {
        "I, least from jaw to jaw": exact_fact(round(min(worst.least_mm4), 3), "mm4", "replay", "assumed"),
        "I, mean from jaw to jaw": exact_fact(round(float(np.mean(worst.least_mm4)), 3), "mm4", "replay", "assumed"),
        "w, patch length": clamping.patch_length_mm,
        "g, between the jaws": exact_fact(clamping.gap_mm, "mm", "own-algorithm", "assumed"),
    }
    return Squeezed(
        low=low, high=high, when=when, inputs=inputs,
        formula=LEFT_FORMULA.format(when=f"after {worst.pass_id}" if worst.pass_id else "before the first pass"),
    )  # fmt: skip


def _softer(clamping_id: str, ratio: float, reserve: float) -> Tighten | None:
    """The share of the usual jaw force that keeps the reserve, None where none is needed or none is left."""
    if reserve >= RESERVE_ASKED:
        return None
    bound = round(math.floor(ratio * reserve / RESERVE_ASKED / STEP + 1e-9) * STEP, 4)
    if bound < PRELOAD_FLOOR or bound >= ratio:
        return None
    return Tighten(subject=clamping_id, quantity="preload_ratio", bound=bound, unit="of the usual")
