"""Rough seconds of milling: facing, roughing by levels, floors, walls, sloping faces, undercuts and edges."""

from __future__ import annotations

import math

from proveout.cutting.scallop import step_over_mm
from proveout.geometry.facets import Facet
from proveout.model.choice import LIP_RATIO
from proveout.model.shop import Cutter
from proveout.model.work import PassKind
from proveout.stages.outlook.rates import (
    AIR_RATIO,
    AXIAL_RATIO,
    FLOOR_MM,
    FLOOR_STEP_RATIO,
    FLUTE_RATIO,
    OVERRUN_MM,
    RADIAL_RATIO,
    STAIR_MM,
    STAIR_RATIO,
    WALL_FLUTE_RATIO,
    WALL_RATIO,
    Rate,
    powered_mm_per_s,
    rate_of,
    run_s,
)
from proveout.stages.outlook.site import Reckoned, Site

STAGE_MM, SKIM_MM = 1.5, 0.3
FACE_WIDTH_RATIO = 0.7
RUN_OUT_MM = 2.0
SLOPING = ("inclined", "cone", "curved")


def facing(site: Site, cutter: Cutter, subjects: tuple[str, ...]) -> list[Reckoned]:
    """Lines over all that stands above the target's top, in stages of which the last is a skim."""
    top, goal = site.look.top_mm, site.high_mm
    depth = top - goal
    if depth < 1e-3:
        return []
    count = stages_count(depth)
    long, wide = site.look.sides_mm(goal)
    if long == 0.0:
        return []
    lines = 1 if wide <= 0.75 * cutter.diameter_mm else math.ceil(wide / (FACE_WIDTH_RATIO * cutter.diameter_mm))
    rate = rate_of(cutter, site.machine)
    axial = min(STAGE_MM, depth)
    radial = FACE_WIDTH_RATIO * cutter.diameter_mm
    feed = powered_mm_per_s(rate, cutter, site.machine, site.metal, axial_mm=axial, radial_mm=radial)
    line = long + cutter.diameter_mm + 2.0 * RUN_OUT_MM
    air = min(AIR_RATIO * rate.feed_mm_per_s, site.machine.feed_max_mm_per_s)
    stage = run_s(site.machine, feed, length_mm=lines * line, stops_count=lines)
    stage += run_s(site.machine, air, length_mm=(lines - 1) * wide / lines, stops_count=lines - 1)
    site.taken |= site.look.heights > goal
    return [
        Reckoned(
            kind="face", cutter_id=cutter.id, feature="top", face_ids=tuple(sorted(subjects)), rate=rate,
            seconds=count * (stage + site.entry_s(rate, to_mm=goal)), length_mm=count * lines * line, radial_mm=radial,
            axial_mm=axial,
        )
    ]  # fmt: skip


def stages_count(depth_mm: float) -> int:
    """Stages of facing: equal ones and the skim."""
    return 1 if depth_mm <= 2.0 * SKIM_MM else 1 + max(1, math.ceil((depth_mm - SKIM_MM) / STAGE_MM - 1e-9))


def lowest_mm(site: Site, faces: list[Facet]) -> float:
    """How deep roughing goes: the lowest of the faces, walls with their run into waste but never to seat or jaws."""
    low = math.inf
    is_upright = site.tilt.frame.z == site.clamping.frame.z
    for facet in faces:
        own = float(facet.low_mm[2])
        if facet.seen == "wall":
            below = own - OVERRUN_MM
            own = max(below, min(own, site.clamping.jaw_top_mm)) if is_upright else below
        low = min(low, own)
    return low


def level_heights_mm(site: Site, *, top_mm: float, low_mm: float, axial_mm: float) -> list[float]:
    """Lower ends of the levels: above every floor its allowance, equal steps of at most `axial_mm` between."""
    floors = {
        round(float(f.high_mm[2]) + FLOOR_MM, 4) for f in site.facets if f.seen == "floor" and f.area_mm2 > 0.5
    }  # fmt: skip
    stops = sorted({z for z in floors if low_mm + 0.05 < z < top_mm - 0.05} | {low_mm}, reverse=True)
    found: list[float] = []
    above = top_mm
    for z in stops:
        if z >= above - 1e-6:
            continue
        count = max(1, math.ceil((above - z) / axial_mm - 1e-6))
        found += [above + (z - above) * (k + 1) / count for k in range(count)]
        above = z
    return found


def levels(site: Site, cutters: list[Cutter], faces: list[Facet]) -> list[Reckoned]:
    """Roughing with each cutter in turn: the area that it takes at every level over the width of a loop."""
    low = lowest_mm(site, faces)
    found: list[Reckoned] = []
    for number, cutter in enumerate(cutters):
        rate = rate_of(cutter, site.machine)
        axial = min(AXIAL_RATIO * cutter.diameter_mm, FLUTE_RATIO * cutter.flute_length_mm)
        radial = RADIAL_RATIO * cutter.diameter_mm
        feed = powered_mm_per_s(rate, cutter, site.machine, site.metal, axial_mm=axial, radial_mm=radial)
        taken = site.look.takes(low_mm=low, radius_mm=cutter.diameter_mm / 2.0) & ~site.taken
        if not taken.any():
            continue
        top = float(site.look.heights[taken].max()) + site.look.thick_mm / 2.0
        seconds = length = 0.0
        above = top
        for z in level_heights_mm(site, top_mm=top, low_mm=low, axial_mm=axial):
            path = site.look.area_mm2(taken, low_mm=z, high_mm=above) / radial
            if path > 0.0:
                length += path
                seconds += run_s(site.machine, feed, length_mm=path) + site.entry_s(rate, to_mm=z)
            above = z
        site.taken |= taken
        found.append(
            Reckoned(
                kind="rough" if number == 0 else "rough corners", cutter_id=cutter.id, feature="levels", face_ids=(),
                rate=rate, seconds=seconds, length_mm=length, radial_mm=radial, axial_mm=axial,
            )
        )  # fmt: skip
    return found


def stairs(site: Site, cutter: Cutter, faces: list[Facet]) -> list[Reckoned]:
    """Finer levels along sloping faces: each face's contour, as often as a stair goes into its height."""
    rate = rate_of(cutter, site.machine)
    stair = min(STAIR_MM, STAIR_RATIO * AXIAL_RATIO * cutter.diameter_mm)
    length = seconds = 0.0
    for facet in faces:
        tall = _tall_mm(facet)
        if facet.seen in SLOPING and tall > 2.0 * STAIR_MM:
            count = math.ceil(tall / stair)
            path = count * _contour_mm(facet)
            length += path
            seconds += run_s(site.machine, rate.feed_mm_per_s, length_mm=path, stops_count=count)
    if seconds == 0.0:
        return []
    return [
        Reckoned(
            kind="rough", cutter_id=cutter.id, feature="stairs", face_ids=(), rate=rate, seconds=seconds,
            length_mm=length, radial_mm=RADIAL_RATIO * cutter.diameter_mm, axial_mm=stair,
        )
    ]  # fmt: skip


def of_floors(site: Site, cutter: Cutter, subjects: tuple[str, ...]) -> list[Reckoned]:
    """Floors: area over the width of a loop, and an entry for each."""
    floors = tuple(f for f in subjects if site.facet(f).seen == "floor")
    rate, width = rate_of(cutter, site.machine), FLOOR_STEP_RATIO * cutter.diameter_mm
    length = seconds = 0.0
    for face_id in floors:
        facet = site.facet(face_id)
        path = facet.area_mm2 / width
        length += path
        seconds += run_s(site.machine, rate.feed_mm_per_s, length_mm=path)
        seconds += site.entry_s(rate, to_mm=float(facet.high_mm[2]))
    return _one("finish floor", cutter, rate, floors, seconds, length, width, FLOOR_MM) if floors else []


def of_walls(site: Site, cutter: Cutter, subjects: tuple[str, ...]) -> list[Reckoned]:
    """Walls: their length as often as steps go into their height; one entry a step for walls that end together."""
    walls = tuple(f for f in subjects if site.facet(f).seen == "wall")
    rate = rate_of(cutter, site.machine)
    step = min(WALL_FLUTE_RATIO * cutter.flute_length_mm, WALL_RATIO * cutter.diameter_mm)
    length = seconds = 0.0
    steps_at: dict[float, int] = {}
    for face_id in walls:
        facet = site.facet(face_id)
        tall = _tall_mm(facet)
        count = max(1, math.ceil(tall / step - 1e-9))
        path = count * facet.area_mm2 / max(tall, 1e-6)
        length += path
        seconds += run_s(site.machine, rate.feed_mm_per_s, length_mm=path, stops_count=count)
        foot = round(float(facet.low_mm[2]), 3)
        steps_at[foot] = max(steps_at.get(foot, 0), count)
    seconds += sum(count * site.entry_s(rate, to_mm=foot) for foot, count in sorted(steps_at.items()))
    return _one("finish wall", cutter, rate, walls, seconds, length, 0.0, step) if walls else []


def of_surface(site: Site, cutter: Cutter, face_id: str, *, is_under: bool) -> list[Reckoned]:
    """A sloping face: lines one cusp's step apart along its contour; a face that leans under: its contour once."""
    facet, rate = site.facet(face_id), rate_of(cutter, site.machine)
    if facet.is_ceiling:
        return _under_ceiling(site, cutter, face_id)
    contour = _contour_mm(facet)
    step = cutter.flute_length_mm
    if not is_under:
        step = step_over_mm(radius_mm=cutter.diameter_mm / 2.0, scallop_height_mm=site.cusp_mm)
    count = max(1, math.ceil(_slant_mm(facet) / max(step, 1e-6)))
    length = count * (contour + step)
    seconds = run_s(site.machine, rate.feed_mm_per_s, length_mm=length, stops_count=count)
    seconds += site.entry_s(rate, to_mm=float(facet.low_mm[2]))
    kind: PassKind = "undercut" if is_under else "finish surface"
    return _one(kind, cutter, rate, (face_id,), seconds, length, step, _tall_mm(facet))


def _under_ceiling(site: Site, cutter: Cutter, face_id: str) -> list[Reckoned]:
    """A face that looks straight down: runs so wide as a T-slot cutter takes beside the lip, over all of it."""
    facet, rate = site.facet(face_id), rate_of(cutter, site.machine)
    step = LIP_RATIO * cutter.diameter_mm
    length = facet.area_mm2 / step + 2.0 * cutter.diameter_mm
    seconds = run_s(site.machine, rate.feed_mm_per_s, length_mm=length, stops_count=2)
    seconds += site.entry_s(rate, to_mm=float(facet.low_mm[2]) - cutter.flute_length_mm)
    return _one("undercut", cutter, rate, (face_id,), seconds, length, step, cutter.flute_length_mm)


def of_edges(site: Site, cutter: Cutter, subjects: tuple[str, ...]) -> list[Reckoned]:
    """Chamfers: their length, and an entry for each."""
    rate = rate_of(cutter, site.machine)
    length = seconds = 0.0
    for face_id in subjects:
        facet = site.facet(face_id)
        contour = _contour_mm(facet)
        length += contour
        seconds += run_s(site.machine, rate.feed_mm_per_s, length_mm=contour)
        seconds += site.entry_s(rate, to_mm=float(facet.low_mm[2]))
    return _one("break edge", cutter, rate, subjects, seconds, length, 0.0, 0.0) if subjects else []


def _one(
    kind: PassKind, cutter: Cutter, rate: Rate, faces: tuple[str, ...], seconds: float, length: float, radial: float,
    axial: float,
) -> list[Reckoned]:  # fmt: skip
    ids = tuple(sorted(faces))
    feature = ids[0] if len(ids) == 1 else f"{ids[0]} and {len(ids) - 1} more"
    return [
        Reckoned(
            kind=kind, cutter_id=cutter.id, feature=feature, face_ids=ids, rate=rate, seconds=seconds,
            length_mm=length, radial_mm=radial, axial_mm=axial,
        )
    ]  # fmt: skip


def _tall_mm(facet: Facet) -> float:
    return float(facet.high_mm[2] - facet.low_mm[2])


def _slant_mm(facet: Facet) -> float:
    """Size of a sloping face up its slope."""
    flat = math.sqrt(max(1.0 - min(abs(facet.lean_middle), 1.0) ** 2, 1e-4))
    return max(_tall_mm(facet) / flat, 1e-3)


def _contour_mm(facet: Facet) -> float:
    """Size of a sloping face along its level lines."""
    return facet.area_mm2 / _slant_mm(facet)
