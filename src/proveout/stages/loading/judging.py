"""One clamping: which bodies seat in which poses, which of those are cut wrongly, and how each differs."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.grip.pocket import in_pocket
from proveout.grip.seating import Body, Vise, seated_poses
from proveout.model.jaw_form import JawForm
from proveout.model.loading import Pose
from proveout.model.run import Run
from proveout.removal.apart import shared, thickest_mm, without
from proveout.removal.fields import Fields
from proveout.stages.loading.bodies import MIRROR, UPRIGHT, Cuts, Standing, Stuff, standing, take
from proveout.stages.loading.metal import Cells, PosedCells, cells_of, grid_size, thick_apart_mm
from proveout.stages.loading.naming import way_words
from proveout.stages.loading.readings import Shape, shape_of_cells, shape_of_fields
from proveout.stages.loading.sites import Posed

Floats = NDArray[np.float64]
CELL_MM, CELLS_MOST = 1.0, 140
PITCH_LOW_MM, PITCH_HIGH_MM, PITCHES_COUNT = 0.3, 0.8, 260
MARGIN_MM = 8.0
GROSS_MM = 1.0
"""What differs by this beyond the doubt of the coarse cells needs no closer look."""
REACH_MM = 3.0
"""A body that reaches so far beyond the right one stands in the cutter's way."""
EXTRA_MM = 0.5
"""Common practice, no source: a cutter takes so much more than reckoned without harm."""
SAME_TURN, HOLD_MM = 1e-3, 1e-6


@dataclass(frozen=True, kw_only=True)
class Laid:
    """A body in a pose. apart_mm: how wrongly it is cut, 0 when it is cut right.  posed: as a probe meets it.

    points_mm: of its surface in its own place, for the eye.
    """

    stuff: Stuff
    pose: Pose
    way: str
    apart_mm: float
    place_mm: Floats
    posed: Posed
    points_mm: Floats

    @property
    def turn(self) -> Floats:
        """(3, 3) from its own place into its pose."""
        return np.array(self.pose.turn)

    @property
    def shift_mm(self) -> Floats:
        """(3,) likewise."""
        return np.array(self.pose.shift_mm)


@dataclass(frozen=True, kw_only=True)
class Judged:
    """The right load and every other that seats. seats: whether the right one is among what seats."""

    right: Posed
    right_points_mm: Floats
    low_mm: Floats
    high_mm: Floats
    others: tuple[Laid, ...]
    refused: tuple[str, ...]
    seats: bool


def judge(
    *, right: Stuff, others: Sequence[Stuff], cuts: Sequence[Cuts], vise: Vise, form: JawForm | None = None,
    tolerance_mm: float, run: Run, subject: str = "", looked: Looked | None = None,
) -> Judged:  # fmt: skip
    """Every pose of every body that the vise takes, with how wrongly it would be cut.

    right: the work as it stands before this clamping, in the clamping's frame, where it lies rightly.   others: what
    else might be put in.   cuts: what this clamping cuts.   tolerance_mm: metal that differs by more is wrong.
    looked: what is known of bodies of other parts, added to.
    """
    box_low, box_high = right.points_mm.min(axis=0), right.points_mm.max(axis=0)
    pitch = _pitch_mm(box_low, box_high)
    stands: list[Standing] = []
    own = _grown(right, {}, pitch, stands)
    low, high = own.hull_mm.min(axis=0), own.hull_mm.max(axis=0)
    grid_low, grid_high = low - MARGIN_MM, high + np.array([MARGIN_MM, MARGIN_MM, 2.0])
    still = {"turn": np.eye(3), "shift_mm": np.zeros(3)}
    metal = right.fields(**still, low_mm=grid_low, high_mm=grid_high, pitch_mm=pitch)
    kept = Fields.from_box(low_mm=grid_low, high_mm=grid_high, pitch_mm=pitch)
    for one in cuts:
        take(kept, one)
    cell_low, cell_high = grid_size(low, high, own.cells.cell_mm)
    coarse = cells_of(
        right.fields(**still, low_mm=cell_low, high_mm=cell_high, pitch_mm=own.cells.cell_mm, along=UPRIGHT)
    )
    whole = Fields.from_box(low_mm=cell_low, high_mm=cell_high, pitch_mm=own.cells.cell_mm)
    for one in cuts:
        take(whole, one, along=UPRIGHT)
    left = cells_of(whole)
    swept = Cells(low_mm=left.low_mm, cell_mm=left.cell_mm, is_metal=~left.is_metal)
    found: list[Laid] = []
    refused: list[str] = []
    home = np.zeros(3)
    seats = False
    grown_by_id: dict[int, _Grown] = {}
    for stuff in (right, *others):
        run.check("loading", f"{subject} {stuff.named}".strip())
        if stuff is right:
            grown = own
        elif stuff.part and looked is not None:
            grown = looked.grown(stuff, pitch)
        else:
            grown = _grown(stuff, grown_by_id, pitch, stands)
        grown_by_id[id(stuff)] = grown
        poses = seated_poses(grown.body, vise, is_formed=form is not None)
        if stuff is right:
            same = [p for p in poses if np.abs(np.array(p.turn) - np.eye(3)).max() < SAME_TURN]
            same.sort(key=lambda p: float(np.abs(np.array(p.shift_mm)).max()))
            seats = bool(same)
            home = np.array(same[0].shift_mm) if same else np.zeros(3)
            poses = tuple(p for p in poses if not same or p is not same[0])
        if form is not None:
            poses = in_pocket(poses, grown.dense, form, home_mm=home)
        if not poses and stuff is not right:
            refused.append(stuff.named)
        for pose in poses:
            run.check("loading", f"{subject} {stuff.named}".strip())
            turn, shift = np.array(pose.turn), np.array(pose.shift_mm) - home
            found.append(
                _laid(
                    stuff, grown, pose, turn, shift, metal=metal, kept=kept, coarse=coarse, swept=swept, low=low,
                    high=high, tolerance=tolerance_mm, stop=vise.stop_mm,
                )
            )  # fmt: skip
    return Judged(
        right=Posed(
            shape=shape_of_fields(metal), raw_mm=right.raw_mm,
            closer=_closer(right, np.eye(3), np.zeros(3), low_mm=grid_low[2], high_mm=grid_high[2]),
        ),
        right_points_mm=metal.surface_points_mm(), low_mm=low, high_mm=high, others=tuple(found),
        refused=tuple(refused), seats=seats,
    )  # fmt: skip


@dataclass(frozen=True, kw_only=True)
class _Grown:
    """A body looked at once in its own place: points of its surface, its middle, and its cells.

    dense: the body with all points of its surface.   hull_mm: (n, 3) corners of its hull.
    """

    cells: Cells
    surface_mm: Floats
    body: Body
    dense: Body
    hull_mm: Floats

    def mirrored(self) -> _Grown:
        """Left for right."""
        low = self.cells.low_mm.copy()
        low[0] = -(low[0] + self.cells.cell_mm * self.cells.is_metal.shape[0])
        body = self.body.moved(MIRROR, np.zeros(3))
        dense = body if self.dense is self.body else self.dense.moved(MIRROR, np.zeros(3))
        return _Grown(
            cells=Cells(
                low_mm=low, cell_mm=self.cells.cell_mm, is_metal=np.ascontiguousarray(self.cells.is_metal[::-1])
            ),
            surface_mm=self.surface_mm @ MIRROR, body=body, dense=dense, hull_mm=self.hull_mm @ MIRROR,
        )  # fmt: skip


class Looked:
    """Bodies that lie in no clamping's frame, looked at once for all clampings."""

    def __init__(self) -> None:
        self._grown: dict[tuple[int, float], tuple[Stuff, _Grown]] = {}
        self._stands: dict[float, list[Standing]] = {}

    def grown(self, stuff: Stuff, pitch_mm: float) -> _Grown:
        """The body, with its surface known by this pitch."""
        pitch = round(pitch_mm, 9)
        key = (id(stuff), pitch)
        if key not in self._grown:
            self._grown[key] = (stuff, _grown(stuff, {}, pitch, self._stands.setdefault(pitch, [])))
        return self._grown[key][1]


def _grown(stuff: Stuff, known: Mapping[int, _Grown], pitch_mm: float, stands: list[Standing]) -> _Grown:
    """A left-hand piece mirrors what is known of the other one.

    stands: bodies as they stand in their own places, added to.
    """
    if stuff.mirror_of is not None and id(stuff.mirror_of) in known:
        return known[id(stuff.mirror_of)].mirrored()
    low, high = stuff.points_mm.min(axis=0), stuff.points_mm.max(axis=0)
    cell = max(CELL_MM, float((high - low).max()) / CELLS_MOST)
    cell_low, cell_high = grid_size(low, high, cell)
    stands.append(standing(stuff, stands, pitch_mm=pitch_mm, coarse=(cell_low, cell_high, cell)))
    fields, cells = stands[-1].fine, cells_of(stands[-1].coarse)
    metal = cell_low + cell * (np.argwhere(cells.is_metal) + 0.5)
    surface = fields.surface_points_mm()
    if stuff.cuts:
        points, edges = _with_corners(stuff, surface, float(fields.pitch_mm.max())), np.zeros((0, 2), dtype=np.int64)
    else:
        points, edges = stuff.points_mm, _edges(stuff.triangles)
    middle = metal.mean(axis=0) if len(metal) else points.mean(axis=0)
    body = Body(points_mm=points, edges=edges, middle_mm=middle)
    # cut work is known by points of its surface to begin with
    dense = body if stuff.cuts else replace(body, points_mm=np.vstack([points, surface]))
    return _Grown(cells=cells, surface_mm=surface, body=body, dense=dense, hull_mm=body.corners_mm)  # fmt: skip


def _with_corners(stuff: Stuff, surface: Floats, pitch: float) -> Floats:
    """Points of the surface, and those corners of the blank that still stand."""
    kept = [corner for corner in stuff.points_mm if _stands(corner, surface, pitch)]
    return np.vstack([surface, *(corner[None] for corner in kept)])


def _stands(corner: Floats, points: Floats, pitch: float) -> bool:
    """Whether all three planes of a corner are met close by."""
    near = points[(np.abs(points - corner) < 1.5 * pitch).all(axis=1)]
    return all(bool((np.abs(near[:, k] - corner[k]) < HOLD_MM).any()) for k in range(3))


def _edges(triangles: NDArray[np.int64]) -> NDArray[np.int64]:
    pairs = np.sort(np.vstack([triangles[:, [0, 1]], triangles[:, [1, 2]], triangles[:, [2, 0]]]), axis=1)
    return np.unique(pairs, axis=0).astype(np.int64)


def _pitch_mm(low: Floats, high: Floats) -> float:
    return float(np.clip((high - low).max() / PITCHES_COUNT, PITCH_LOW_MM, PITCH_HIGH_MM))


def _laid(
    stuff: Stuff, grown: _Grown, pose: Pose, turn: Floats, shift: Floats, *, metal: Fields, kept: Fields, coarse: Cells,
    swept: Cells, low: Floats, high: Floats, tolerance: float, stop: float | None,
) -> Laid:  # fmt: skip
    points = grown.hull_mm @ turn.T + shift
    reach = np.maximum(points.max(axis=0) - high, low - points.min(axis=0))
    apart, place = (
        float(reach.max()),
        np.clip(points[int(np.argmax(np.abs(points - (low + high) / 2.0).max(axis=1)))], low, high),
    )
    if apart <= REACH_MM:
        apart, place = thick_apart_mm(grown.cells, turn, shift, coarse, swept)
    raw, is_square = _raw_of(stuff, turn, shift)
    if apart > GROSS_MM:
        shape = shape_of_cells(_posed_cells(grown.cells, points, turn, shift, coarse))
    else:
        there = stuff.fields(
            turn=turn, shift_mm=shift, low_mm=metal.low_mm, high_mm=metal.high_mm, pitch_mm=float(metal.pitch_mm.max())
        )
        apart, place = _apart_mm(metal, there, kept, tolerance)
        shape = shape_of_fields(there)
    at_stop = stop is None or float(points[:, 0].max()) > stop + 1.0
    placed = Pose(
        turn=pose.turn, shift_mm=tuple(round(float(v), 6) + 0.0 for v in shift), gap_mm=pose.gap_mm,  # type: ignore[arg-type]
        slide_mm=pose.slide_mm,
    )  # fmt: skip
    return Laid(
        stuff=stuff, pose=placed, way=way_words(placed, at_stop=at_stop), apart_mm=apart, place_mm=place,
        posed=Posed(
            shape=shape, raw_mm=raw, is_square=is_square,
            closer=_closer(stuff, turn, shift, low_mm=metal.low_mm[2], high_mm=metal.high_mm[2]),
        ),
        points_mm=grown.surface_mm,
    )  # fmt: skip


def _closer(
    stuff: Stuff, turn: Floats, shift: Floats, *, low_mm: float, high_mm: float
) -> Callable[[Floats, Floats, float], Shape]:
    """Looks at a posed body in a window, between two heights."""

    def look(low: Floats, high: Floats, pitch: float) -> Shape:
        own = stuff.fields(
            turn=turn, shift_mm=shift, low_mm=np.array([*low, low_mm]), high_mm=np.array([*high, high_mm]),
            pitch_mm=pitch,
        )  # fmt: skip
        return shape_of_fields(own)

    return look


def _apart_mm(right: Fields, there: Fields, kept: Fields, tolerance: float) -> tuple[float, Floats]:
    """How thick metal is missing or too much after the cut, or meets the cutter unreckoned; 0 within the tolerance."""
    extra = without(there, right)
    found = [
        thickest_mm(shared(without(right, there), kept), least_mm=tolerance),
        thickest_mm(shared(extra, kept), least_mm=tolerance),
        thickest_mm(extra, least_mm=EXTRA_MM + tolerance),
    ]
    return max(found, key=lambda one: one[0])


def _raw_of(stuff: Stuff, turn: Floats, shift: Floats) -> tuple[Floats | None, bool]:
    if stuff.raw_mm is None:
        return None, True
    corners = box_corners(stuff.raw_mm[0], stuff.raw_mm[1]) @ turn.T + shift
    is_square = bool(np.allclose(np.abs(turn).max(axis=1), 1.0, atol=1e-6))
    return np.array([corners.min(axis=0), corners.max(axis=0)]), is_square


def _posed_cells(body: Cells, points: Floats, turn: Floats, shift: Floats, grid: Cells) -> PosedCells:
    """The posed body on a grid that holds the right body and it, less what lies farther than the margin beside.

    points: corners of its hull, posed.
    """
    beside = math.ceil(MARGIN_MM / grid.cell_mm)
    low = grid.low_mm - beside * grid.cell_mm
    nx, ny, nz = (n + 2 * beside for n in grid.is_metal.shape)
    # cells that its box, and a cell about it, does not meet need no look
    first = np.clip(np.floor((points.min(axis=0) - low) / grid.cell_mm).astype(np.int64) - 1, 0, (nx, ny, nz))
    last = np.clip(np.ceil((points.max(axis=0) - low) / grid.cell_mm).astype(np.int64) + 1, first, (nx, ny, nz))
    return PosedCells(
        body=body, turn=turn, shift_mm=shift, low_mm=low, cell_mm=grid.cell_mm, shape=(nx, ny, nz), first=first,
        last=last,
    )  # fmt: skip
