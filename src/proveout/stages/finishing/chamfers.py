"""Chamfers written at balloons, such as 2 x 45°: leg and angle against the solid, and the leg before a coat."""

from __future__ import annotations

import math

from proveout.model.coat_growth import growth_of
from proveout.model.fact import Strength, exact_fact
from proveout.model.job import Job, Size
from proveout.model.plan import SizeNote
from proveout.model.proof import Basis, Proof, prove
from proveout.model.size_text import Written
from proveout.model.solid import Solid
from proveout.model.work import Survey
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import general_angle_deviation_rad, general_radius_deviation_mm
from proveout.stages.finishing.finished import Limits, tidy
from proveout.stages.finishing.proofs import STAGE, key_of, unclear
from proveout.stages.finishing.windows import HELD_WIDTH_MM, window_before

GENERAL = "iso_2768_page"
LIKE = 'write limits, such as "2 ±0.2 x 45° ±1°", or a general tolerance for the job'
SAME_MM, SAME_DEG = 1e-3, 1e-2
Drawn = tuple[float, float, float, float]
"""Of a chamfer in the solid: a leg and the angle at it, and those at its other side, mm and degrees."""
Half = tuple[float, str, Strength]
"""Half the distance of the limits, its source and how sure that is."""
Ends = tuple[float, float]


def judge_chamfer(
    size: Size, written: Written, job: Job, solid: Solid, survey: Survey, face_ids: tuple[str, ...],
    masked: frozenset[str],
) -> tuple[SizeNote | None, list[Proof]]:  # fmt: skip
    """The note and its proofs; no note where the faces are no chamfer, or nobody says what it may be off by."""
    leg, angle = written.nominal_mm or 0.0, written.angle_deg
    drawn = drawn_chamfer(survey, face_ids, leg, angle)
    if drawn is None:
        return None, [unclear(size, f"type {size.text} at a chamfer: balloon {size.balloon} is none, or several")]
    try:
        halves = _halves(written, job.general_tolerance, shorter_mm=min(drawn[0], drawn[2]))
    except OutOfRange as error:
        return None, [unclear(size, f"{LIKE}: {error.what}, {error.value}")]
    if halves is None:
        return None, [unclear(size, LIKE)]
    of_leg, of_angle = halves
    limits = Limits(
        low_mm=tidy(leg - of_leg[0]), high_mm=tidy(leg + of_leg[0]), source=of_leg[1], formula="leg ± what is written",
        strength=of_leg[2],
    )  # fmt: skip
    before, proofs = _before(size, job, solid, face_ids, masked, limits, leg_growth_ratio(drawn))
    note = SizeNote(
        balloon=size.balloon, mark=size.mark, text=size.text, kind="chamfer", unit="mm", low=limits.low_mm,
        high=limits.high_mm, before_low=None if before is None else tidy(before[0]),
        before_high=None if before is None else tidy(before[1]), is_critical=size.is_critical, face_ids=face_ids,
    )  # fmt: skip
    return note, [
        _as_written(size, "drawn-as-written", "leg", drawn[0], leg, of_leg, "mm"),
        _as_written(size, "drawn-at-its-angle", "angle", drawn[1], angle, of_angle, "deg"),
        *proofs,
    ]


def drawn_chamfer(survey: Survey, face_ids: tuple[str, ...], leg_mm: float, angle_deg: float) -> Drawn | None:
    """The chamfer that all these faces are of, told from the side that comes nearest to what is written.

    None where one of them is no chamfer, or where they are of unlike ones. At its other side the angle follows from
    the legs: they stand to each other as the sines of the angles across from them.
    """
    found: set[tuple[float, float, float]] = set()
    for face_id in face_ids:
        own = [one for one in survey.features if one.kind == "chamfer" and face_id in one.face_ids]
        if len(own) != 1:
            return None
        sizes = own[0].sizes_mm
        found.add((round(sizes["leg_mm"], 6), round(sizes["other_leg_mm"], 6), round(own[0].angle_rad, 9)))
    if len(found) != 1:
        return None
    ((longer, shorter, flatter),) = found
    steeper = math.asin(min(1.0, longer / shorter * math.sin(flatter)))
    one, other = (longer, math.degrees(flatter)), (shorter, math.degrees(steeper))
    sides: list[Drawn] = [(*one, *other), (*other, *one)]
    return min(sides, key=lambda side: (abs(side[0] - leg_mm) / leg_mm + abs(side[1] - angle_deg) / angle_deg, side))


def leg_growth_ratio(drawn: Drawn) -> float:
    """How much longer a leg gets when chamfer and both faces beside it grow by one: tan(turn / 2) - tan(angle / 2).

    The turn from face to face is the sum of both angles, 90 degrees at a square edge. Where two planes meet, their edge
    moves along either by the tangent of half the turn between them.
    """
    return math.tan(math.radians(drawn[1] + drawn[3]) / 2.0) - math.tan(math.radians(drawn[1]) / 2.0)


def _halves(written: Written, general: str | None, *, shorter_mm: float) -> tuple[Half, Half] | None:
    """For leg and angle what is written, else the general tolerance's; None where neither says."""
    of_leg: Half = (written.high_deviation_mm, "job-file", "owner's guess")
    of_angle: Half = (written.angle_half_deg, "job-file", "owner's guess")
    if general is None:
        return (of_leg, of_angle) if of_leg[0] > 0.0 and of_angle[0] > 0.0 else None
    if of_leg[0] <= 0.0:
        most = general_radius_deviation_mm(radius_mm=written.nominal_mm or 0.0, general_class=general)
        of_leg = (most, GENERAL, "published as quoted")
    if of_angle[0] <= 0.0:
        most = math.degrees(general_angle_deviation_rad(leg_mm=shorter_mm, general_class=general))
        of_angle = (most, GENERAL, "published as quoted")
    return of_leg, of_angle


def _as_written(size: Size, id: str, what: str, drawn: float, nominal: float, half: Half, unit: str) -> Proof:
    off, most = round(abs(drawn - nominal), 6), round(half[0], 6)
    if off <= (SAME_MM if unit == "mm" else SAME_DEG):
        off = 0.0
    return prove(
        id=f"{STAGE}:{size.mark}:{id}", stage=STAGE, subject=f"size {size.mark}",
        claim=f"the solid's {what} of {drawn:.6g} {'mm' if unit == 'mm' else '°'} lies within the limits written "
        f"({size.text})",
        sense="at most", found_low=off, found_high=off, limit=most, unit=unit, blocks_release=True,
        basis=Basis(
            formula="|solid - written| against what it may differ by",
            source="own-algorithm" if half[1] == "job-file" else half[1],
            inputs={"may differ by": exact_fact(most, unit, half[1], half[2])},
        ),
        remedy="correct what is written or the balloon it stands at",
    )  # fmt: skip


def _before(
    size: Size, job: Job, solid: Solid, face_ids: tuple[str, ...], masked: frozenset[str], limits: Limits, ratio: float
) -> tuple[Ends | None, list[Proof]]:  # fmt: skip
    """The leg before the coat, None where that is not known, and the proof that it leaves room.

    A leg that grows by ratio g is one of 1 / ratio of its length that grows by g.
    """
    if job.coat is None:
        return (limits.low_mm, limits.high_mm), []
    own = {face.index for face in solid.faces if face.id in face_ids}
    touched = own | {index for edge in solid.edges if own & set(edge.faces) for index in edge.faces}
    coated = {face.id not in masked for face in solid.faces if face.index in touched}
    if coated == {False}:
        return (limits.low_mm, limits.high_mm), []
    if len(coated) > 1:
        return None, [_room(size, limits, None, "which faces beside it are masked: mask all of them or none")]
    scaled = Limits(
        low_mm=limits.low_mm / ratio, high_mm=limits.high_mm / ratio, source=limits.source, formula=limits.formula,
        strength=limits.strength,
    )  # fmt: skip
    growth = growth_of(job.coat, depth_ratio=0.0)
    found = window_before(limits=scaled, size="one face", growth=growth)
    widths = (ratio * found.worst_width_mm, ratio * found.best_width_mm)
    proof = _room(size, limits, widths, f"ask the finisher {' and '.join(growth.asks)}" if growth.asks else "")
    ends = (ratio * found.window.low_mm, ratio * found.window.high_mm)
    return (ends if found.is_decided else None), [proof]


def _room(size: Size, limits: Limits, widths: Ends | None, decides: str) -> Proof:
    low, high = (None, None) if widths is None else (tidy(min(widths)), tidy(max(widths)))
    return prove(
        id=f"{STAGE}:{size.mark}:chamfer-has-room-before-its-coat", stage=STAGE, subject=f"size {size.mark}",
        claim="the limits of the leg leave room for what the coat puts on it", sense="at least", found_low=low,
        found_high=high, limit=HELD_WIDTH_MM, unit="mm", blocks_release=True,
        basis=Basis(
            formula="limits less g (tan(turn / 2) - tan(angle / 2)), g growth of chamfer and both faces beside it",
            source=key_of(limits),
        ),
        decides=decides, remedy="wider limits, or mask the chamfer with the faces beside it",
    )  # fmt: skip
