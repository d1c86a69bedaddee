"""Whether the marks of the feed alone are rougher than a surface may be: then no care at the machine helps."""

from __future__ import annotations

from proveout.cutting.feed_marks import MEAN_OF_CUSP_RATIO, nose_mark_height_mm, side_mark_height_mm
from proveout.cutting.scallop import scallop_height_mm
from proveout.model.fact import exact_fact
from proveout.model.plan import SizeNote
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Cutter
from proveout.model.work import Pass
from proveout.quantities.limits import MM_PER_UM

REAL_RATIO = 3.0
"""Common practice, no source: real surfaces are 1.5 to 3 times the ideal and more, by run-out and built-up metal."""
FORMULA = (
    "Ra = 4 / (9 sqrt 3) H, the mean of a row of ideal parabolas; {height}. The ideal: a real surface is rougher, so "
    "that nothing here shows that it will do"
)


def mark_proofs(
    *, passes: tuple[Pass, ...], cutters: tuple[Cutter, ...], notes: tuple[SizeNote, ...]
) -> tuple[Proof, ...]:
    """One for each texture that is asked for, of the roughest of its faces; *fails* or *not shown*, never *holds*."""
    by_id = {c.id: c for c in cutters}
    proofs: list[Proof] = []
    for note in notes:
        if note.kind != "texture" or note.high is None:
            continue
        last = [one for f in note.face_ids for one in [p for p in passes if f in p.face_ids][-1:]]
        marked = [(mark, one) for one in last for mark in (_height_mm(one, by_id[one.cutter_id]),) if mark is not None]
        if marked:
            height, one = max(marked, key=lambda m: (m[0], m[1].id))
            proofs.append(_proof(note, note.high, height, one, by_id[one.cutter_id]))
    return tuple(proofs)


def _height_mm(one: Pass, cutter: Cutter) -> float | None:
    """Ideal height of the marks; None where the form of the cutter or the way it goes leaves none that is known."""
    feed = one.tooth_feed_mm
    if one.kind == "finish wall":
        return side_mark_height_mm(tooth_feed_mm=feed, diameter_mm=cutter.diameter_mm)
    if one.kind == "finish surface" and cutter.kind == "ball":
        radius = 0.5 * cutter.diameter_mm
        return max(
            scallop_height_mm(radius_mm=radius, step_over_mm=min(one.radial_mm, 2.0 * radius)),
            nose_mark_height_mm(feed_mm=min(feed, 2.0 * radius), nose_radius_mm=radius),
        )
    radius = cutter.corner_radius_mm
    if one.kind in ("face", "finish floor") and radius > 0.0 and cutter.kind != "ball":
        return nose_mark_height_mm(feed_mm=min(feed, 2.0 * radius), nose_radius_mm=radius)
    return None


def _proof(note: SizeNote, limit_um: float, height_mm: float, one: Pass, cutter: Cutter) -> Proof:
    ideal = round(MEAN_OF_CUSP_RATIO * height_mm / MM_PER_UM, 4)
    is_wall, is_ball = one.kind == "finish wall", one.kind == "finish surface"
    size = ("d, diameter", cutter.diameter_mm) if is_wall else ("r, corner radius", cutter.corner_radius_mm)
    height = "H = f_z^2 / (4 d)" if is_wall else "H = f_z^2 / (8 r)"
    inputs = {"f_z": exact_fact(round(one.tooth_feed_mm, 6), "mm", "own-algorithm", "assumed")}
    if is_ball:
        size = ("r, of the ball", 0.5 * cutter.diameter_mm)
        height = "H the larger of f_z^2 / (8 r) and r - sqrt(r^2 - s^2 / 4), s from line to line"
        inputs["s"] = exact_fact(round(one.radial_mm, 6), "mm", "own-algorithm", "assumed")
    return prove(
        id=f"loads:{note.mark}:feed marks", stage="loads", subject=one.id,
        claim=f"the marks of the feed on these faces are no rougher than {note.text}", sense="at most",
        found_low=ideal, found_high=REAL_RATIO * ideal if ideal > limit_um else None, limit=limit_um, unit="µm",
        blocks_release=False,
        basis=Basis(
            formula=FORMULA.format(height=height), source="feed_mark_geometry",
            inputs=inputs | {size[0]: exact_fact(size[1], "mm", "shop-file", "owner's guess")},
        ),
        decides="measure it on the first piece",
        remedy="a smaller cusp_mm in the job file, or a slower feed a tooth" if is_ball
        else "a slower feed a tooth, or a cutter with a larger corner radius",
    )  # fmt: skip
