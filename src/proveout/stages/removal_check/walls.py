"""Which walls before hollows the jaws press on while metal goes away, before and after every pass."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from proveout.grip.bent_wall import standing_wall_bend_mm
from proveout.model.walls_left import Wall, WallsLeft
from proveout.model.work import Clamping
from proveout.removal.fields import Fields

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
SQUARE = 1.0 - 1e-9
TOUCH_MM = 0.2
"""Common practice, no source: metal so close to the plane of a jaw's face is taken to be pressed."""
SLIT_MM = 0.01
"""Narrower than this nothing is hollow: the replay's own rounding."""
THIN_MM = 2.0
"""Common practice, no source: metal between hollows that is narrower holds nothing."""
SEEN_COUNT = 3
"""Rays side by side that tell of a wall, or of how thin it is."""
EDGE_COUNT = 2
"""So many rays wide the edge of a wall may lack a foot of its own: what stands beside it carries it."""
FOOT_RATIO = 0.75
"""Own choice: one piece that reaches so far from jaw to jaw is no wall, and holds what stands on it."""


@dataclass(frozen=True)
class Seen:
    """The work as a jaw sees it, rays from its face on: along the jaws, then up.

    thick_mm: (m, n) of the first piece of metal, 0 where there is none.  is_through: (m, n) metal that reaches through.
    is_foot: (m, n) likewise, and what bridges a hollow half as long as it is thick: it does not bend.
    is_pressed: (m, n) it starts at the jaw's face, between seat and jaw tops.  is_level: (n,) likewise
    of all that lies there.  cell_mm: along and up.  gap_mm: between the jaws.
    """

    thick_mm: Floats
    is_through: Bools
    is_foot: Bools
    is_pressed: Bools
    is_level: Bools
    cell_mm: tuple[float, float]
    gap_mm: float


def walls_left(fields: Fields, clamping: Clamping, pass_id: str) -> WallsLeft:
    """The walls at this moment; not followed where the work lies askew in the fields, or the jaws touch nothing of it.

    On every ray from jaw to jaw the first piece of metal is a wall where more lies behind it, or where it ends in the
    open within FOOT_RATIO of the way. What is narrower than the rays are apart can be missed.
    """
    turn = clamping.frame.turn
    axes = [int(np.argmax(np.abs(row))) for row in turn]
    if any(abs(turn[i, axis]) < SQUARE for i, axis in enumerate(axes)):
        return WallsLeft(clamping_id=clamping.id, pass_id=pass_id, is_followed=False)
    every: list[tuple[str, Seen]] = []
    touched: list[float] = []
    for jaw in ("fixed", "movable"):
        seen = _seen(fields, clamping, axes, is_fixed=jaw == "fixed")
        touched.append(float(seen.is_pressed.sum()) * seen.cell_mm[0] * seen.cell_mm[1])
        every.append((jaw, seen))
    patch = clamping.patch_height_mm
    area = clamping.patch_length_mm.low * patch.low
    # less lies at the jaws than the least patch: nobody knows how it is shared out over the largest
    high = patch.low if min(touched) >= area else patch.high
    walls = [wall for jaw, seen in every if high > 0.0 for wall in _walls(seen, jaw, high)]
    through = min(
        float(seen.is_through[:, seen.is_level].sum()) * seen.cell_mm[0] * seen.cell_mm[1] for _, seen in every
    )
    return WallsLeft(
        clamping_id=clamping.id, pass_id=pass_id, walls=tuple(walls), touch_mm2=round(min(touched), 6),
        through_mm2=round(through, 6), is_followed=min(touched) > 0.0,
    )  # fmt: skip


def _seen(fields: Fields, clamping: Clamping, axes: list[int], *, is_fixed: bool) -> Seen:
    along, across, up = axes
    turn, origin = clamping.frame.turn, clamping.frame.origin_mm
    spans, counts = fields.spans[across], fields.counts[across]
    rises = turn[1, across] > 0.0
    first, last, is_one = np.zeros(len(counts)), np.zeros(len(counts)), np.ones(len(counts), dtype=bool)
    # the pieces of a ray are sorted along its axis: from this jaw's face on they come in that order, or the other way
    rays, k = np.flatnonzero(counts > 0), 0
    while len(rays):
        near, far = spans[rays, counts[rays] - 1 - k if rises == is_fixed else k].T
        near, far = (far, near) if rises == is_fixed else (near, far)
        near, far = (turn[1, across] * (end - origin[across]) for end in (near, far))
        near, far = (-near, -far) if is_fixed else (near + clamping.gap_mm, far + clamping.gap_mm)
        joined = near - last[rays] <= SLIT_MM if k else np.ones(len(rays), dtype=bool)
        if k == 0:
            first[rays] = near
        last[rays[joined]] = far[joined]
        is_one[rays[~joined]] = False
        k += 1
        rays = rays[joined & (counts[rays] > k)]
    # what begins beyond the middle is no metal at this jaw: a hole runs through what was
    metal = (counts > 0) & (first < clamping.gap_mm / 2.0)
    thick = np.where(metal, last - first, 0.0)

    def square(values: NDArray[np.generic]) -> NDArray[np.generic]:
        """As (along, up), both rising with the clamping's x and z."""
        shaped = values.reshape(fields.rays_uv(across))
        shaped = shaped if (across + 1) % 3 == along else shaped.T
        return shaped[:: 1 if turn[0, along] > 0.0 else -1, :: 1 if turn[2, up] > 0.0 else -1]

    x, z = (_places_mm(fields, clamping, axis, row) for axis, row in ((along, 0), (up, 2)))
    within = (z > 0.0) & (z < clamping.jaw_top_mm)
    jaws = np.ones(len(x), dtype=bool)
    if clamping.jaw_length_mm > 0.0:
        jaws = np.abs(x - clamping.jaw_middle_mm) < clamping.jaw_length_mm / 2.0
    near = metal if clamping.needs_form else metal & (first <= TOUCH_MM)
    through = metal & is_one & (thick >= FOOT_RATIO * clamping.gap_mm)
    thick, through = np.asarray(square(thick), dtype=np.float64), np.asarray(square(through), dtype=np.bool_)
    cell = float(fields.pitch_mm[along]), float(fields.pitch_mm[up])
    return Seen(
        thick_mm=thick, is_through=through, is_foot=_bridged(thick, through, cell),
        is_pressed=np.asarray(square(near), dtype=np.bool_) & jaws[:, None] & within[None, :], is_level=within,
        cell_mm=cell, gap_mm=clamping.gap_mm,
    )  # fmt: skip


def _bridged(thick_mm: Floats, through: Bools, cell_mm: tuple[float, float]) -> Bools:
    """What reaches through, and between it, along the jaws or up, what is twice as thick as the hollow is long."""
    foot = through.copy()
    for axis in (0, 1):
        lines, wide = (thick_mm.T, through.T) if axis == 0 else (thick_mm, through)
        told = foot.T if axis == 0 else foot
        line, begin, end = _all_runs(~wide & (lines > 0.0))
        ends_in = (begin > 0) & (end < wide.shape[1])
        at = ends_in & wide[line, begin - 1] & wide[line, np.minimum(end, wide.shape[1] - 1)]
        for row, first, after in zip(line[at].tolist(), begin[at].tolist(), end[at].tolist(), strict=True):
            if lines[row, first:after].min() >= 2.0 * (after - first + 1) * cell_mm[axis]:
                told[row, first:after] = True
    return foot


def _places_mm(fields: Fields, clamping: Clamping, axis: int, row: int) -> Floats:
    """Middles of the cells along an axis, in the clamping's frame, rising."""
    cells = fields.low_mm[axis] + fields.pitch_mm[axis] * (np.arange(fields.cells[axis]) + 0.5)
    return np.sort(clamping.frame.turn[row, axis] * (cells - clamping.frame.origin_mm[axis]))


def _walls(seen: Seen, jaw: str, patch_mm: float) -> list[Wall]:
    """One for each hollow that lies behind pressed metal.   patch_mm: as high as the jaw is sure to press at once."""
    if not (seen.is_pressed & ~seen.is_foot).any():
        return []
    from scipy.ndimage import binary_fill_holes, binary_opening, grey_closing, label

    # what is narrower than three rays, a ridge or a ragged edge, is no wall, and no thin place of one
    square = np.ones((SEEN_COUNT, SEEN_COUNT), dtype=bool)
    kept = np.asarray(binary_opening((seen.thick_mm > 0.0) & ~seen.is_foot, structure=square), dtype=np.bool_)
    closed = np.asarray(grey_closing(seen.thick_mm, size=(SEEN_COUNT, SEEN_COUNT)), dtype=np.float64)
    seen = replace(seen, thick_mm=np.where(kept, closed, np.where(seen.is_foot, seen.thick_mm, 0.0)))
    is_pressed = seen.is_pressed & kept
    whole = np.asarray(binary_fill_holes(kept | seen.is_foot), dtype=np.bool_)
    labels = np.zeros(whole.shape, dtype=np.int64)
    label(whole & ~seen.is_foot, output=labels)
    return [
        _wall(seen, whole, labels == number, is_pressed & (labels == number), jaw, patch_mm)
        for number in np.unique(labels[is_pressed]).tolist()
    ]


def _wall(seen: Seen, whole: Bools, own: Bools, pressed: Bools, jaw: str, patch_mm: float) -> Wall:
    least = float(seen.thick_mm[pressed].min())
    upright = _upright(seen, whole, pressed, least, patch_mm)
    level = _level(seen, whole, pressed, least)
    holes = own & (seen.thick_mm <= 0.0)
    return Wall(
        jaw="fixed" if jaw == "fixed" else "movable",
        thick_mm=round(min(least, upright.thick_mm, level.thick_mm), 6), height_mm=upright.height_mm,
        standing_bend_mm=upright.bend_mm, standing_stress_mpa=upright.stress_mpa, span_mm=level.span_mm,
        up_span_mm=upright.span_mm, up_pierced_ratio=_pierced(own, holes, axis=0),
        along_pierced_ratio=_pierced(own, holes, axis=1), beside_mm2=round(level.beside_mm2, 6),
    )  # fmt: skip


def _pierced(own: Bools, holes: Bools, *, axis: int) -> float:
    """How many strips there are for each that no hole runs through, where that is worst."""
    if not holes.any():
        return 1.0
    many, bored = own.sum(axis=axis), holes.sum(axis=axis)
    left = np.maximum(many - bored, 1e-3)
    return round(float((many / left)[many > 0].max()), 6)


@dataclass(frozen=True)
class Upright:
    """The worst of the strips of a wall that run up, see Wall."""

    thick_mm: float
    height_mm: float | None
    bend_mm: float | None
    stress_mpa: float | None
    span_mm: float | None


def _upright(seen: Seen, whole: Bools, pressed: Bools, least_mm: float, patch_mm: float) -> Upright:
    """Of every column that holds pressed places."""
    cell = seen.cell_mm[1]
    thick, height, bend, stress, span = math.inf, 0.0, 0.0, 0.0, 0.0
    spans, footed = True, np.ones(int(pressed.any(axis=1).sum()), dtype=bool)
    columns = np.flatnonzero(pressed.any(axis=1))
    for which, x in enumerate(columns.tolist()):
        foot = seen.is_foot[x]
        for begin, end in _runs(whole[x] & ~foot):
            if not pressed[x, begin:end].any():
                continue
            below, above = (
                _foot_mm(seen, x, begin - 1, -1, begin) if begin > 0 else 0.0,
                _foot_mm(seen, x, end, 1, end - 1) if end < len(foot) else 0.0,
            )
            least = _wide_enough_mm(least_mm, (end - begin) * cell) - 1e-9
            spans = spans and below >= least and above >= least
            footed[which] &= max(below, above) > 0.0
            span, height = max(span, (end - begin + 1) * cell), max(height, (end - begin) * cell)
            ways: list[tuple[float, float]] = []
            for held, way in ((below, slice(begin, end)), (above, slice(end - 1, begin - 1 if begin else None, -1))):
                if held <= 0.0:
                    continue
                own, at = seen.thick_mm[x, way], pressed[x, way]
                upto = own[: int(np.flatnonzero(at)[-1]) + 1]
                thinnest = float(upto[upto > 0.0].min())
                thick = min(thick, thinnest)
                # over a hole the strip is as thick as at its thinnest: what holes take is in up_pierced_ratio
                ways.append(
                    standing_wall_bend_mm(
                        np.where(own > 0.0, own, thinnest), at, cell_mm=cell, patch_mm=patch_mm, foot_mm=held,
                        across_mm=seen.gap_mm,
                    )
                )  # fmt: skip
            if ways:
                bend, stress = max(bend, min(w[0] for w in ways)), max(stress, min(w[1] for w in ways))
    stands = bool(footed.any()) and _is_near(columns, footed)
    return Upright(
        thick_mm=thick, height_mm=round(height, 6) if stands else None, bend_mm=round(bend, 6) if stands else None,
        stress_mpa=round(stress, 6) if stands else None, span_mm=round(span, 6) if spans else None,
    )  # fmt: skip


@dataclass(frozen=True)
class Level:
    """The worst of the strips of a wall that run along the jaws, see Wall."""

    thick_mm: float
    span_mm: float | None
    beside_mm2: float


def _level(seen: Seen, whole: Bools, pressed: Bools, least_mm: float) -> Level:
    """Of every row that holds pressed places; metal beside it that is too narrow, on the mean, holds nothing."""
    wide = 0.0
    while True:
        found, beside = _level_held(seen, whole, pressed, wide_mm=wide)
        needed = _wide_enough_mm(least_mm, found.span_mm or 0.0)
        if found.span_mm is None or needed <= max(wide, beside) + 1e-9:
            return found
        wide = needed


def _level_held(seen: Seen, whole: Bools, pressed: Bools, *, wide_mm: float) -> tuple[Level, float]:
    """Likewise, held by all that is so wide; and how wide that is on the mean of all rows, on its narrower side."""
    cell = seen.cell_mm[0]
    foot = _wide(seen.is_foot, max(1, math.ceil(wide_mm / cell - 1e-9)))
    at_jaw = foot & seen.is_pressed
    thick, span = math.inf, 0.0
    rows = np.flatnonzero(pressed.any(axis=0))
    footed = np.ones(len(rows), dtype=bool)
    sides, wides = np.zeros(2), np.zeros((2, len(rows)))
    for which, z in enumerate(rows.tolist()):
        begins_here = True
        for begin, end in _runs(whole[:, z] & ~foot[:, z]):
            if not pressed[begin:end, z].any():
                continue
            own = seen.thick_mm[begin:end, z]
            thick, span = min(thick, float(own[own > 0.0].min())), max(span, (end - begin + 1) * cell)
            near = np.array([_run_from(foot[:begin, z][::-1]), _run_from(foot[end:, z])])
            footed[which] &= bool((near > 0).all())
            wides[:, which] = near if begins_here else np.minimum(near, wides[:, which])
            begins_here = False
            sides += _run_from(at_jaw[:begin, z][::-1]), _run_from(at_jaw[end:, z])
    spans = bool(footed.any()) and _is_near(rows, footed)
    beside = float(sides.sum()) * cell * seen.cell_mm[1] if sides.min() > 0.0 else 0.0
    return Level(
        thick_mm=thick, span_mm=round(span, 6) if spans else None, beside_mm2=beside if spans else 0.0
    ), float(wides[:, footed].mean(axis=1).min()) * cell if spans else 0.0  # fmt: skip


def _foot_mm(seen: Seen, x: int, z: int, step: int, root: int) -> float:
    """How high the foot is that begins at z and goes on by steps: the highest within the wall's thickness at its root.

    A wall spreads what turns it along its foot as far as it is thick.
    """
    if not seen.is_foot[x, z]:
        return 0.0
    aside = int(seen.thick_mm[x, root] / seen.cell_mm[0])
    near = seen.is_foot[max(0, x - aside) : x + aside + 1, z::step]
    runs = np.where(near.all(axis=1), near.shape[1], near.argmin(axis=1))
    return float(runs.max()) * seen.cell_mm[1]


def _wide_enough_mm(thick_mm: float, span_mm: float) -> float:
    """How wide what holds a wall must be: as wide as it is thick, of a stocky one as wide as holds anything."""
    return THIN_MM if thick_mm >= span_mm / 2.0 else max(THIN_MM, thick_mm)


def _is_near(columns: NDArray[np.int64], footed: Bools) -> bool:
    """Whether every column without a foot lies within EDGE_COUNT of one that has one."""
    return all(np.abs(columns[footed] - x).min() <= EDGE_COUNT for x in columns[~footed].tolist())


def _wide(foot: Bools, count: int) -> Bools:
    """Without what is narrower along the jaws than so many cells."""
    if count <= 1:
        return foot
    from scipy.ndimage import binary_opening

    return np.asarray(binary_opening(foot, structure=np.ones((count, 1), dtype=bool)), dtype=np.bool_)


def _run_from(line: Bools) -> int:
    """How many are true from the first on."""
    gone = np.flatnonzero(~line)
    return int(gone[0]) if len(gone) else len(line)


def _runs(line: Bools) -> list[tuple[int, int]]:
    _, begins, ends = _all_runs(line[None])
    return list(zip(begins.tolist(), ends.tolist(), strict=True))


def _all_runs(lines: Bools) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.int64]]:
    """Of every run of true along the second axis its line, where it begins and the place after its last, in order."""
    padded = np.zeros((lines.shape[0], lines.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = lines
    edges = np.diff(padded, axis=1)
    line, begins = np.nonzero(edges > 0)
    return line, begins, np.nonzero(edges < 0)[1]
