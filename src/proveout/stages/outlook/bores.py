"""Rough seconds of holes: spot, drill, peck, size, counterbore, bore, broken mouth and tap."""

from __future__ import annotations

import math
from dataclasses import replace

from proveout.model.choice import Role
from proveout.model.cutter import tooth_rows_count
from proveout.model.shop import Cutter
from proveout.model.work import Hole, PassKind
from proveout.stages.outlook.rates import PLUNGE_RATIO, RAMP_RATIO, Rate, rapid_s, rate_of, run_s
from proveout.stages.outlook.site import Reckoned, Site

THROUGH_MM = 0.5
PECK_RATIO = 3.0
SPOT_RATIO = 0.8
RAMP_TAN = math.tan(math.radians(3.0))
OVER_MM = 1.0
"""Above a hole's mouth where feeding begins."""


def of_hole(site: Site, hole: Hole, role: Role, cutter: Cutter, drill: Cutter | None) -> list[Reckoned]:
    """The cuts of one cutter in one hole; `drill`: what drills its smallest step, None when it is milled."""
    rate = rate_of(cutter, site.machine)
    top = float(site.tilt.frame.into([hole.entry_mm])[0, 2])
    cylinders = [s for s in hole.steps if s.kind == "cylinder"]
    if role == "edge":
        cones = [s for s in hole.steps if s.kind == "cone"]
        around = math.pi * max((s.diameter_mm for s in cones), default=0.0)
        faces = tuple(f for s in cones for f in s.face_ids)
        return [_cut(site, hole, "break edge", cutter, rate, top, faces, around, 0.0)] if cones else []
    if not cylinders:
        return []
    smallest = min(cylinders, key=lambda s: s.diameter_mm)
    through = THROUGH_MM if hole.is_through else 0.0
    deep = smallest.depth_high_mm - smallest.depth_low_mm
    if role == "spot":
        width = SPOT_RATIO * min(smallest.diameter_mm, cutter.diameter_mm)
        down = max(0.2, (width - cutter.tip_diameter_mm) / 2.0 / math.tan(max(cutter.tip_angle_rad, 0.1) / 2.0))
        return [_cut(site, hole, "spot", cutter, rate, top, (), 0.0, down)]
    if role == "drill":
        return [_drill(site, hole, cutter, rate, top, tuple(smallest.face_ids), deep + through)]
    if role == "tap" and cutter.kind == "thread mill":
        swing = max((smallest.diameter_mm - cutter.diameter_mm) / 2.0, 0.1) + 0.3 * cutter.pitch_mm
        rows = tooth_rows_count(flute_length_mm=cutter.flute_length_mm, pitch_mm=cutter.pitch_mm)
        turns = 1.0 + deep / (rows * max(cutter.pitch_mm, 0.1))
        around = 2.0 * math.pi * (swing + cutter.diameter_mm / 2.0) * turns  # at the feed of the edge on the wall
        return [_cut(site, hole, "mill thread", cutter, rate, top, (), around, 0.0)]
    if role == "ream":
        return [_cut(site, hole, "ream", cutter, rate, top, tuple(smallest.face_ids), 2.0 * (deep + through), 0.0)]
    if role == "tap":
        length = 2.0 * (deep + 2.0 * cutter.pitch_mm)
        turn = cutter.pitch_mm * rate.speed_rad_per_s / (2.0 * math.pi)
        feed = Rate(speed_rad_per_s=rate.speed_rad_per_s, feed_mm_per_s=turn, tooth_feed_mm=rate.tooth_feed_mm)
        return [_cut(site, hole, "tap", cutter, feed, top, (), length, 0.0)]
    if role == "size":
        around = math.pi * max(smallest.diameter_mm - cutter.diameter_mm, 0.0)
        return [_cut(site, hole, "bore", cutter, rate, top, tuple(smallest.face_ids), around + deep + through, 0.0)]
    found: list[Reckoned] = []
    for step in cylinders if role == "bore" else []:
        if step is smallest and drill is not None:
            continue
        is_last = step.depth_high_mm >= hole.depth_mm - 1e-6
        tall = step.depth_high_mm - step.depth_low_mm + (through if is_last else 0.0)
        swing = max((step.diameter_mm - cutter.diameter_mm) / 2.0, 0.0)
        kind: PassKind = "bore" if is_last else "counterbore"
        faces = tuple(step.face_ids)
        if swing < 0.05:
            found.append(_cut(site, hole, kind, cutter, rate, top, faces, 0.0, tall))
        else:
            helix = tall / RAMP_TAN / RAMP_RATIO
            found.append(_cut(site, hole, kind, cutter, rate, top, faces, helix + 2.0 * math.pi * swing, 0.0))
    return found


def _drill(
    site: Site, hole: Hole, cutter: Cutter, rate: Rate, top: float, faces: tuple[str, ...], deep: float
) -> Reckoned:
    """Straight down, or diameter by diameter with a way out to the mouth and back after each."""
    down = deep + cutter.diameter_mm / 2.0 / math.tan(max(cutter.tip_angle_rad, 0.1) / 2.0)
    is_pecked = deep > PECK_RATIO * cutter.diameter_mm
    one = _cut(site, hole, "peck" if is_pecked else "drill", cutter, rate, top, faces, 0.0, down)
    if not is_pecked:
        return one
    pecks = math.ceil(down / cutter.diameter_mm)
    out_s = sum(2.0 * rapid_s(site.machine, k * cutter.diameter_mm) for k in range(1, pecks))
    return replace(one, seconds=one.seconds + out_s)


def _cut(
    site: Site, hole: Hole, kind: PassKind, cutter: Cutter, rate: Rate, top: float, faces: tuple[str, ...],
    along: float, down: float,
) -> Reckoned:  # fmt: skip
    """A way `along` at the feed and one `down`, over from the hole before: drills by their feed, mills by plunging."""
    ratio = 1.0 if kind in ("spot", "drill", "peck") else PLUNGE_RATIO
    plunge = ratio * rate.feed_mm_per_s
    seconds = site.over_s(to_mm=top)
    seconds += run_s(site.machine, rate.feed_mm_per_s, length_mm=along)
    seconds += run_s(site.machine, plunge, length_mm=down + OVER_MM if down > 0.0 else 0.0)
    return Reckoned(
        kind=kind, cutter_id=cutter.id, feature=hole.id, face_ids=tuple(sorted(faces)), rate=rate, seconds=seconds,
        length_mm=along + down, radial_mm=cutter.diameter_mm / 2.0, axial_mm=down,
    )  # fmt: skip
