"""What of the half-made work stands between the seat and the jaw tops, and the jaws that are cut to it."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.work import Clamping
from proveout.stages.passes.areas import COARSE_MM, area_of, grown, nothing, opened, shape_of
from proveout.stages.passes.shadows import shadow_of, upward_of

Array = NDArray[np.float64]

BLUR_MM = 0.02
"""Where the believed work stands no farther out than this, the target's own outline counts: cuts blur the work."""
STANDING_MM = 0.05
"""Metal left on the work counts for its outline where it is wider than twice this."""
BITE_MM = 3.0
"""Common practice, no source: how far the pocket goes into each jaw, so that its step carries the work."""
NARROW_RATIO, BITE_MOST_RATIO = 0.25, 0.35
"""Share of the gap that a bite into narrow work is held to, and that no bite goes beyond: the slug needs the rest."""
BITE_STEP_MM = 0.1
WIDE_MM = 1e4


class Formed(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Jaws cut to the work: the outline as an area in the clamping's frame, and how far it goes into each jaw."""

    outline: Any
    bite_mm: float


def outline_of(*, work: Any, target: Any, clamping: Clamping) -> tuple[Array, ...]:
    """Rings (k, 2) about what stands between seat and jaw tops, seen along the clamping's z, holes filled.

    work, target: bodies of the boolean library in the part frame.
    """
    wanted, standing = (_slab_shadow(body, clamping) for body in (target, work))
    left = opened(standing - grown(wanted, BLUR_MM, chord_mm=COARSE_MM), STANDING_MM)
    # down to the target again, of which the blur was taken off
    left = grown(left, 2.0 * BLUR_MM, chord_mm=COARSE_MM) ^ standing
    whole = wanted + left
    closed = grown(grown(whole, STANDING_MM, chord_mm=COARSE_MM), -STANDING_MM, chord_mm=COARSE_MM)
    whole = whole + (closed ^ grown(left, 2.0 * STANDING_MM, chord_mm=COARSE_MM))
    rings = [np.asarray(c, dtype=np.float64) for c in whole.to_polygons()]
    outer = [np.round(ring, 6) for ring in rings if len(ring) >= 3 and _turns_left(ring)]
    outer.sort(key=lambda ring: (float(ring[:, 0].min()), float(ring[:, 1].min()), len(ring)))
    return tuple(outer)


def formed_jaws(outline: Sequence[Array], clamping: Clamping) -> Formed:
    """The jaws as they hold the work: the bite is the least at which both touch it over the length that counts."""
    import shapely

    area = area_of(outline) if len(outline) else nothing()
    shape, gap = shape_of(area), clamping.gap_mm
    bite, most = min(BITE_MM, NARROW_RATIO * gap), BITE_MOST_RATIO * gap
    wanted = clamping.patch_length_mm.nominal

    def touched_mm(bite_mm: float) -> float:
        lines = [shapely.LineString([(-WIDE_MM, y), (WIDE_MM, y)]) for y in (-bite_mm, bite_mm - gap)]
        return min(float(shape.intersection(line).length) for line in lines)

    while touched_mm(bite) < wanted - 1e-3 and bite + BITE_STEP_MM <= most:
        bite = round(bite + BITE_STEP_MM, 6)
    return Formed(outline=area, bite_mm=round(bite, 6))


def foot_of_work(*, target: Any, clamping: Clamping, high_mm: float) -> Any:
    """What of the target stands within a height above the seat, seen along the clamping's z, as an area."""
    return _slab_shadow(target, clamping, high_mm=high_mm)


def _slab_shadow(body: Any, clamping: Clamping, *, high_mm: float | None = None) -> Any:
    import manifold3d

    turn = clamping.frame.turn
    seen = body.transform(np.column_stack([turn, -turn @ np.array(clamping.frame.origin_mm)]))
    box = seen.bounding_box()
    high = clamping.jaw_top_mm if high_mm is None else high_mm
    size = (box[3] - box[0] + 2.0, box[4] - box[1] + 2.0, high + 1.0)
    slab = seen ^ manifold3d.Manifold.cube(size).translate((box[0] - 1.0, box[1] - 1.0, -1.0))
    return nothing() if slab.is_empty() else shadow_of(upward_of(slab), -2.0)


def _turns_left(ring: Array) -> bool:
    x, y = ring[:, 0], ring[:, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) > 0.0
