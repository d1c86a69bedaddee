"""Sides that stay as bar or saw left them: which faces lie in them, and what the sawn piece may measure there."""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.coat_growth import growth_of
from proveout.model.job import Job
from proveout.model.plan import Window
from proveout.model.size_text import Written
from proveout.model.solid import SIDES, Solid
from proveout.model.target import NOTHING_BOUGHT, AsBought
from proveout.quantities.errors import BadInput
from proveout.stages.finishing.features import Feature
from proveout.stages.finishing.finished import Limits, finished_limits
from proveout.stages.finishing.windows import coated_size, window_before

PLAIN = Written(manner="unknown")


def bought_faces(job: Job, solid: Solid) -> frozenset[str]:
    """Faces that stay as bar or saw left them.

    Raises:   BadInput where a side of the part has no flat face.
    """
    found: set[str] = set()
    for side in job.as_bought:
        faces = solid.faces_on(side)
        if not faces:
            raise BadInput(
                "A side that is to stay as bought has no flat face", where="job file, [as_bought] sides", value=side,
                limit=", ".join(s for s in SIDES if solid.faces_on(s)) or "none", do="take it out: it has to be cut",
            )  # fmt: skip
        found.update(faces)
    return frozenset(found)


def as_bought(job: Job, solid: Solid, masked: frozenset[str], windows: Sequence[Window]) -> AsBought:
    """The sides that stay, with what the sawn piece may measure before the coat where both along an axis stay."""
    if not job.as_bought:
        return NOTHING_BOUGHT
    low: list[float | None] = [None, None, None]
    half: list[float | None] = [None, None, None]
    high: list[float | None] = [None, None, None]
    for axis, letter in enumerate("xyz"):
        if not {f"-{letter}", f"+{letter}"} <= set(job.as_bought):
            continue
        ends = (solid.faces_on(f"-{letter}"), solid.faces_on(f"+{letter}"))
        size_mm = solid.high_mm[axis] - solid.low_mm[axis]
        both = {*ends[0], *ends[1]}
        hanging = [
            w.width_mm / 2.0 if w.is_decided else 0.0
            for w in windows
            if w.kind == "length" and len(both & set(w.face_ids)) == 1
        ]
        half[axis] = min(hanging, default=None)
        own = [
            w for w in windows
            if w.kind == "length" and set(w.face_ids) & set(ends[0]) and set(w.face_ids) & set(ends[1])
        ]  # fmt: skip
        if own:
            if all(w.is_decided for w in own):
                low[axis], high[axis] = max(w.before_low_mm for w in own), min(w.before_high_mm for w in own)
            continue
        feature = Feature(kind="length", size_mm=round(size_mm, 6), face_ids=(ends[0][0], ends[1][0]), is_inside=False)
        limits = finished_limits(written=PLAIN, feature=feature, general_tolerance=job.general_tolerance)
        if isinstance(limits, Limits):
            coated = (not set(ends[0]) <= masked, not set(ends[1]) <= masked)
            growth = None if job.coat is None else growth_of(job.coat, depth_ratio=0.0)
            size = coated_size(feature, coated=coated, is_thread=False)
            before = window_before(limits=limits, size=size, growth=growth)
            if before.is_decided:
                low[axis], high[axis] = before.window.low_mm, before.window.high_mm
    return AsBought(
        sides=tuple(s for s in SIDES if s in job.as_bought), face_ids=tuple(sorted(bought_faces(job, solid))),
        low_mm=(low[0], low[1], low[2]), high_mm=(high[0], high[1], high[2]),
        half_mm=(half[0], half[1], half[2]), edge_mm=job.edge_break_mm,
    )  # fmt: skip
