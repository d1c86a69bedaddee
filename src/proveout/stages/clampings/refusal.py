"""Why no way up can be held: the nearest miss in words, with its numbers."""

from __future__ import annotations

from proveout.stages.clampings.looking import Cover
from proveout.stages.clampings.obstacles import SIDE_SKIM_MM
from proveout.stages.clampings.offers import SLENDER_MAX, fits_travel, raw_jaws, slenderness, vise_on


def why_not_held(cover: Cover) -> str:
    """What stands in the way of every first clamping, as one phrase; the ways up that come nearest speak."""
    floor = cover.floor
    if not floor.machines:
        return "the shop has no machine"
    if raw_jaws(floor, "") is None:
        return "the shop has no jaws"
    if not any(vise_on(floor, m) for m in floor.machines):
        return "no machine of the shop has a vise"
    size = cover.target.vertices_mm.max(axis=0) - cover.target.vertices_mm.min(axis=0)
    lies = " x ".join(f"{v:.0f}" for v in size)
    narrow = float(min(size)) + 2.0 * SIDE_SKIM_MM
    reasons: list[str] = []
    widest = max(v.opening_max_mm for v in floor.vises)
    ups = cover.survey.directions[:6]
    short = [up for up in ups if slenderness(cover.target, up) <= SLENDER_MAX]
    across = [min(float(size[i]) for i in range(3) if abs(up[i]) < 0.5) + 2.0 * SIDE_SKIM_MM for up in short]
    if not short:
        reasons.append(f"it would stand more than {SLENDER_MAX:.0f} times as high as it is wide")
    elif min(across) > widest:
        reasons.append(f"it needs a vise that opens {min(across):.0f} mm and the widest opens {widest:.0f} mm")
    if not any(fits_travel(m, size, up) for m in floor.machines for up in ups):
        most = "; ".join(f"{m.id} {' x '.join(f'{v:.0f}' for v in m.travel_mm)}" for m in floor.machines)
        reasons.append(f"its {lies} mm lie beyond the travels of every machine ({most} mm)")
    if not reasons:
        reasons.append(
            f"no vise of one machine opens far enough where the travels suffice (part {lies} mm, narrowest side with "
            f"its skims {narrow:.0f} mm, widest vise {widest:.0f} mm)"
        )
    return " and ".join(reasons)
