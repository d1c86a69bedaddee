"""One tilt as the maker of passes sees it: target, jaws, and the work as it stands, all in the tilt's frame."""

from __future__ import annotations

import math
from collections.abc import Hashable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet, facets_of
from proveout.geometry.frames import Frame
from proveout.geometry.upward import Upward
from proveout.model.shop import Cutter
from proveout.model.target import Target
from proveout.model.work import Clamping, Tilt
from proveout.stages.passes.areas import COARSE_MM, FINE_MM, PATH_MM, area_of, disc, grown, nothing, shape_of
from proveout.stages.passes.jaw_outline import Formed
from proveout.stages.passes.shadows import MEMORY, content_key, shadow_of, upward_of

Array = NDArray[np.float64]

JAW_GAP_MM = 0.3
"""Least air between a cutter and jaws or seat."""
SKIN_MM = 5e-4
"""A face at a height counts as below it: the shadow is taken this far above."""
OVERLAP_MM = 0.002
"""Cleared areas are taken this much wider from the believed work, so that no slivers stay between them."""
WORK_GRID_MM = 0.001
"""Corners of the believed work's shadow fall on this grid: finer than what its cuts are simplified by."""
TIP_STEP_MM = 0.1
"""The tip of a ball is taken down to this step where jaws, shank and holder are kept off."""
BODY_GAP_MM = 0.5
"""Least air between the holder and metal; the shank keeps a tenth of it."""


class TiltView:
    """Holds the three bodies of one tilt; the work is the only thing that changes, by `cut`.

    fills: (x, y, radius, top z) of the holes that drills or bores make, so that other passes stay out of them.
    effort_count: triangles of the work gone through so far, which is what planning costs on any machine.
    formed: jaws that are cut to the shape of the work reach over it as far as their bite.
    """

    def __init__(
        self, *, target: Target, body: Any, clamping: Clamping, tilt: Tilt, work: Any, formed: Formed | None = None
    ) -> None:  # fmt: skip
        self.clamping = clamping
        self.tilt = tilt
        self.frame: Frame = tilt.frame
        self.points = tilt.frame.into(target.vertices_mm)
        self.triangles = target.triangles
        self.cusp_mm = target.cusp_mm
        self.facets: list[Facet] = facets_of(
            points_mm=self.points,
            triangles=target.triangles,
            triangle_face=target.triangle_face,
            count=len(target.face_ids),
        )
        self.index_of = {face_id: k for k, face_id in enumerate(target.face_ids)}
        self.body = body.transform(_into(tilt.frame))
        self.work = work.transform(_into(tilt.frame))
        self.is_upright = float(np.dot(clamping.frame.z, tilt.frame.z)) > 1.0 - 1e-9
        self.seat_mm = float(tilt.frame.into([clamping.frame.origin_mm])[0, 2])
        self.jaws = _jaws(clamping, self.work_box_in_clamping(), formed).transform(_into(tilt.frame))
        self.fills: list[tuple[float, float, float, float]] = []
        self.low_mm = self.points.min(axis=0)
        self.high_mm = self.points.max(axis=0)
        self._key = content_key(target, tilt.frame)
        self._jaw_shadows: dict[int, Any] = {}
        self._upward: Upward | None = None
        self._jaws_upward: Upward | None = None
        self._around: Any | None = None
        self._metal_kept: dict[tuple[int, int], Any] = {}
        self._zones_kept: dict[tuple[Hashable, ...], Any] = {}
        self.effort_count = 0
        jaw_top = float(self.jaws.bounding_box()[5])
        self.clear_mm = max(float(self.work.bounding_box()[5]), jaw_top, float(self.high_mm[2])) + 5.0

    def work_box_in_clamping(self) -> tuple[float, ...]:
        """The work's box in the clamping's frame."""
        in_clamping = self.work.transform(_out_of(self.frame)).transform(_into(self.clamping.frame))
        return tuple(float(v) for v in in_clamping.bounding_box())

    @property
    def lowest_mm(self) -> float:
        """No tip goes below this height outside the jaws: the seat and its air."""
        return self.seat_mm + JAW_GAP_MM if self.is_upright else -math.inf

    @property
    def jaw_low_mm(self) -> float:
        """No tip goes below this height over the jaws."""
        return float(self.jaws.bounding_box()[5]) + JAW_GAP_MM

    def shadow(self, z_mm: float) -> Any:
        """The target above a height, with the fills, seen along the cutter."""
        area = self.bare_shadow(z_mm)
        for x, y, radius in self._fills_above(z_mm):
            area = area + disc(x_mm=x, y_mm=y, radius_mm=radius)
        return area

    def bare_shadow(self, z_mm: float) -> Any:
        """The target above a height (taken to the nearest 0.1 µm), without the fills."""
        level = round(z_mm * 1e4)
        return MEMORY.get(
            (*self._key, "shadow", level), lambda: shadow_of(self._target_upward(), level / 1e4 + SKIN_MM)
        )

    def grown_shadow(self, z_mm: float, by_mm: float, *, chord_mm: float = FINE_MM) -> Any:
        """The shadow with its fills, grown by a round distance."""
        key = (*self._key, "grown", round(z_mm * 1e4), self._fills_above(z_mm), by_mm, chord_mm)
        return MEMORY.get(key, lambda: grown(self.shadow(z_mm), by_mm, chord_mm=chord_mm))

    def memory_key(self, what: str, rows: NDArray[Any], *figures: float) -> tuple[Hashable, ...]:
        """Names what is made from some triangles of the target in this tilt, and from figures, by content."""
        return (*self._key, what, np.ascontiguousarray(rows).tobytes(), *figures)

    def _target_upward(self) -> Upward:
        return MEMORY.get((*self._key, "upward"), lambda: Upward(self.points, self.triangles))

    def _fills_above(self, z_mm: float) -> tuple[tuple[float, float, float], ...]:
        return tuple((x, y, radius) for x, y, radius, top in self.fills if top > round(z_mm * 1e4) / 1e4 + SKIN_MM)

    def jaw_shadow(self, z_mm: float) -> Any:
        """The jaws and the seat above a height less the air kept from them."""
        if z_mm > self.jaw_low_mm:
            return nothing()
        key = round(z_mm * 1e4)
        if key not in self._jaw_shadows:
            if self._jaws_upward is None:
                self._jaws_upward = upward_of(self.jaws)
            self._jaw_shadows[key] = shadow_of(self._jaws_upward, z_mm - JAW_GAP_MM + 1e-6)
        return self._jaw_shadows[key]

    def metal(self, z_mm: float) -> Any:
        """The work above a height, seen along the cutter."""
        key = (round(z_mm * 1e6), 0)
        if key not in self._metal_kept:
            self._metal_kept[key] = shadow_of(self._work_upward(), z_mm + SKIN_MM, grid_mm=WORK_GRID_MM)
        return self._metal_kept[key]

    def _work_upward(self) -> Upward:
        if self._upward is None:
            self.effort_count += self.work.num_tri()
            self._upward = upward_of(self.work)
        return self._upward

    def held_off(self, z_mm: float, *, cutter: Cutter, radius_mm: float) -> Any:
        """Where the tip may not stand at a height because of jaws, shank or holder."""
        area = grown(self.jaw_shadow(z_mm), radius_mm + JAW_GAP_MM, chord_mm=COARSE_MM)
        if self.is_upright and self.clamping.holds_strip and z_mm < self.jaw_low_mm - 1e-6:
            area = area + grown(self._outside(), radius_mm, chord_mm=COARSE_MM)
        top = float(self.work.bounding_box()[5]) if not self.work.is_empty() else -math.inf
        bodies = [
            (cutter.stick_out_mm, cutter.holder_diameter_mm / 2.0, BODY_GAP_MM, cutter.holder_length_mm > 0.0),
            (
                cutter.shank_from_mm,
                cutter.shank_diameter_mm / 2.0,
                BODY_GAP_MM / 10.0,
                cutter.shank_diameter_mm > cutter.diameter_mm - 2.0 * BODY_GAP_MM / 10.0 + 1e-9,
            ),
        ]
        for height, radius, gap, counts in bodies:
            low = z_mm + height
            if not counts or radius <= 0.0:
                continue
            if low < top:
                area = area + self._metal_round(
                    low, radius + gap, step_mm=0.25 if height == cutter.stick_out_mm else 0.0
                )
            if low < self.jaw_low_mm:
                area = area + grown(self.jaw_shadow(low), radius + gap, chord_mm=COARSE_MM)
        return area

    def ball_zone(self, over_mm: float, tip_mm: float, *, cutter: Cutter, narrower_mm: float) -> Any:
        """Where a ball's centre may not stand, as a prepared shape: the target above a height, jaws, shank and holder.

        The tip is taken down to a step, but not over the jaws' top: what the body then meets is never less.  Kept until
        the work changes.
        """
        import shapely

        low = math.floor(tip_mm / TIP_STEP_MM) * TIP_STEP_MM
        if low < self.jaw_low_mm <= tip_mm:
            low = self.jaw_low_mm
        radius = cutter.diameter_mm / 2.0
        held_key = ("held", round(low * 1e6), cutter.id)
        if held_key not in self._zones_kept:
            self._zones_kept[held_key] = self.held_off(low, cutter=cutter, radius_mm=radius)
        key = ("zone", round(over_mm * 1e4), narrower_mm, *held_key)
        if key not in self._zones_kept:
            zone = shape_of(self.grown_shadow(over_mm, radius - narrower_mm) + self._zones_kept[held_key])
            shapely.prepare(zone)
            self._zones_kept[key] = zone
        return self._zones_kept[key]

    def _metal_round(self, z_mm: float, by_mm: float, *, step_mm: float) -> Any:
        """The metal above a height (taken down to a step) grown by a distance, kept until the work changes."""
        z = math.floor(z_mm / step_mm) * step_mm if step_mm else z_mm
        key = (round(z * 1e6), round(by_mm * 1e4))
        if key not in self._metal_kept:
            self._metal_kept[key] = grown(self.metal(z), by_mm, chord_mm=COARSE_MM)
        return self._metal_kept[key]

    def _outside(self) -> Any:
        """All around the part's silhouette: below the jaw tops the metal there is what the jaws hold."""
        if self._around is None:
            import manifold3d

            whole = self.shadow(float(self.low_mm[2]) - 1.0)
            outer = area_of([c for c in whole.to_polygons() if _turns_left(c)])
            box = self.work.bounding_box()
            size = (box[3] - box[0] + 400.0, box[4] - box[1] + 400.0)
            frame = manifold3d.CrossSection.square(size).translate((box[0] - 200.0, box[1] - 200.0))
            self._around = frame - outer
        return self._around

    def obstacle(
        self,
        z_mm: float,
        *,
        cutter: Cutter,
        allowance_mm: float,
        radius_mm: float | None = None,
        chord_mm: float = FINE_MM,
    ) -> Any:
        """Where the tip may not stand at a height: target with its allowance, jaws, shank and holder."""
        radius = cutter.diameter_mm / 2.0 if radius_mm is None else radius_mm
        area = self.grown_shadow(z_mm, radius + allowance_mm, chord_mm=chord_mm)
        return area + self.held_off(z_mm, cutter=cutter, radius_mm=radius)

    def removable(self, z_mm: float, *, obstacle: Any, radius_mm: float) -> Any:
        """Metal above a height that a flat cutter kept out of the obstacle can take."""
        return self.metal(z_mm) - grown(obstacle, -radius_mm, chord_mm=COARSE_MM)

    def cut(self, area: Any, *, above_mm: float, below_mm: float | None = None) -> None:
        """Takes away the work over an area above a height (and below another)."""
        if area.is_empty():
            return
        top = self.clear_mm + 1.0 if below_mm is None else below_mm
        if top - above_mm <= 1e-9:
            return
        import manifold3d

        area = grown(area, OVERLAP_MM, chord_mm=COARSE_MM).simplify(PATH_MM)
        column = manifold3d.Manifold.extrude(area, top - above_mm).translate((0.0, 0.0, above_mm))
        self.take(column)

    def take(self, body: Any) -> None:
        """Takes a body away from the work, when the boolean library can."""
        import manifold3d

        left = self.work - body
        self.effort_count += self.work.num_tri()
        if left.status() == manifold3d.Error.NoError:
            self.work = left
            self._upward = None
            self._metal_kept.clear()
            self._zones_kept.clear()

    def top_at(self, *, x_mm: float, y_mm: float, radius_mm: float) -> float:
        """Height of the highest metal under a disc; -inf when there is none."""
        return self._work_upward().top_mm(x_mm=x_mm, y_mm=y_mm, radius_mm=radius_mm)

    def top_along(self, line: Array, *, radius_mm: float) -> float:
        """Height of the highest metal under a disc set down along a polyline; -inf when there is none.

        The places lie a quarter radius apart: strips of less than a hundredth of the radius between them are not seen.
        """
        upward = self._work_upward()
        steps = np.linalg.norm(np.diff(line[:, :2], axis=0), axis=1)
        gone = np.concatenate([[0.0], np.cumsum(steps)])
        at = np.linspace(0.0, float(gone[-1]), max(2, math.ceil(float(gone[-1]) / (radius_mm / 4.0)) + 1))
        spots = np.column_stack([np.interp(at, gone, line[:, k]) for k in range(2)])
        return float(upward.tops_mm(spots, radius_mm=radius_mm).max())

    def work_in_part(self) -> Any:
        """The work as it stands, in the part frame."""
        return self.work.transform(_out_of(self.frame))

    def outline(self, facet: Facet) -> Any:
        """A face seen along the cutter, as an area (empty for walls)."""
        corners = self.points[self.triangles[facet.rows]][:, :, :2]
        first, second = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
        turn = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
        flipped = np.where((turn < 0.0)[:, None, None], corners[:, ::-1, :], corners)
        kept = flipped[np.abs(turn) > 1e-9]
        return area_of(list(kept)) if len(kept) else nothing()


def box_body(low_mm: Any, high_mm: Any) -> Any:
    """A box as a body."""
    import manifold3d

    low, high = np.asarray(low_mm, dtype=np.float64), np.asarray(high_mm, dtype=np.float64)
    return manifold3d.Manifold.cube(tuple(high - low)).translate(tuple(low))


def _into(frame: Frame) -> Array:
    turn = frame.turn
    return np.column_stack([turn, -turn @ np.array(frame.origin_mm)])


def _out_of(frame: Frame) -> Array:
    return np.column_stack([frame.turn.T, np.array(frame.origin_mm)])


def _jaws(clamping: Clamping, work_box: tuple[float, ...], formed: Formed | None) -> Any:
    """Both jaws and the seat as blocks, in the part frame; 60 mm thick, and where nobody says how long they are 40 mm
    longer than the work each way.
    """
    x_low, x_high = work_box[0] - 40.0, work_box[3] + 40.0
    if clamping.jaw_length_mm > 0.0:
        half = clamping.jaw_length_mm / 2.0
        x_low, x_high = clamping.jaw_middle_mm - half, clamping.jaw_middle_mm + half
    top, gap = clamping.jaw_top_mm, clamping.gap_mm
    bite = 0.0 if formed is None else formed.bite_mm
    fixed = box_body((x_low, -bite, -60.0), (x_high, 60.0, top))
    moving = box_body((x_low, -gap - 60.0, -60.0), (x_high, bite - gap, top))
    whole = fixed + moving
    for low, high in clamping.seats_mm:
        whole = whole + box_body((x_low, low, -60.0), (x_high, high, 0.0))
    if len(clamping.seats_mm) > 1:
        whole = whole + box_body((x_low, -gap, -60.0), (x_high, 0.0, -clamping.below_mm))
    if formed is not None and not formed.outline.is_empty():
        import manifold3d

        whole = whole - manifold3d.Manifold.extrude(formed.outline, top + 1.0)
    return whole.transform(_out_of(clamping.frame))


def _turns_left(contour: Any) -> bool:
    x, y = np.asarray(contour)[:, 0], np.asarray(contour)[:, 1]
    return float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum()) > 0.0
