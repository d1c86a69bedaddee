"""Three perpendicular fields of intervals of metal along x, y and z of the part frame.

The grid. Along each axis the box is divided into whole cells no longer than the asked pitch, so that cells tile the
box and a full box has its exact volume in every field. One ray runs through each cell of the two other axes, and
its ends on the metal are kept exactly: walls are exact at any pitch, the pitch only decides what can be missed.

Where in its cell a ray runs. Not in the middle: along u it is moved by a share of a cell that its row's number sets,
along v by one that its column's number sets (`ray_shifts_mm`, waves whose lengths are no whole numbers of rays, which
spread evenly over the cell). So the rays beside a flat wall stand at every distance from it, and the wall's place is
the mean over many rays instead of all of them counting or none: a field whose rays run along a wall knows the volume
behind it to a small share of a cell. Faces of a part lie at round numbers; a ray inside a face, which has no defined
interval, is practically impossible for the same reason. Rows are moved by turns to one side and the other, and
neighbours but little against each other otherwise, so that no point lies farther than FARTHEST_RATIO of a cell from a
ray: less than the 0.7071 of rays in the middles. A dent of radius R is seen but for FARTHEST_RATIO^2 pitch^2 / (2 R),
which is below pitch^2 / (4 R).
"""

from __future__ import annotations

import hashlib
import math
from dataclasses import dataclass, field

import numpy as np

from proveout.quantities.errors import BadInput, OutOfRange

# shares of a wave that a row and a column stand for. Found by search: places of walls are known best from 20 to 50
# rays, and no hole between rays is larger than FARTHEST_RATIO
SPREAD_U, SPREAD_V = 0.1532186536523697, 0.10289072283457606
RAY_SHIFT_MOST_RATIO = 0.49  # of a cell to either side, so that every ray stays within its own
FARTHEST_RATIO = 0.695
SPANS_FIRST_COUNT = 4  # intervals a ray can hold at first; the lists grow when one more is needed


@dataclass(kw_only=True)
class Fields:
    """Intervals of metal of three fields; field k has its rays along axis k of the part frame.

    low_mm, high_mm, pitch_mm: (3,) box and true cell sizes. cells: numbers of cells along x, y, z.
    counts[k]: (rays,) int32, intervals a ray. spans[k]: (rays, capacity, 2) float64, mm, sorted, part frame.
    Ray (i, j) of field k has number i * cells[(k+2) % 3] + j, i along axis (k+1) % 3, j along (k+2) % 3.
    odd_rays: rays a field whose solid was crossed an odd number of times, so that its surface has a hole there.
    """

    low_mm: np.ndarray
    high_mm: np.ndarray
    pitch_mm: np.ndarray
    cells: tuple[int, int, int]
    counts: list[np.ndarray]
    spans: list[np.ndarray]
    odd_rays: tuple[int, int, int] = field(default=(0, 0, 0))

    @classmethod
    def from_box(cls, *, low_mm: np.ndarray, high_mm: np.ndarray, pitch_mm: float) -> Fields:
        """A full box of metal; low_mm and high_mm are its corners (3,), part frame."""
        result = empty_fields(low_mm=low_mm, high_mm=high_mm, pitch_mm=pitch_mm)
        for k in range(3):
            result.counts[k][:] = 1
            result.spans[k][:, 0, 0] = result.low_mm[k]
            result.spans[k][:, 0, 1] = result.high_mm[k]
        return result

    def copy(self) -> Fields:
        """Fields of their own arrays with the same content."""
        return Fields(
            low_mm=self.low_mm.copy(),
            high_mm=self.high_mm.copy(),
            pitch_mm=self.pitch_mm.copy(),
            cells=self.cells,
            counts=[counts.copy() for counts in self.counts],
            spans=[spans.copy() for spans in self.spans],
            odd_rays=self.odd_rays,
        )

    def rays_uv(self, k: int) -> tuple[int, int]:
        """Numbers of rays of field k along axes (k+1) % 3 and (k+2) % 3."""
        return self.cells[(k + 1) % 3], self.cells[(k + 2) % 3]

    def cell_area_mm2(self, k: int) -> float:
        """Area in mm2 that one ray of field k stands for."""
        return float(self.pitch_mm[(k + 1) % 3] * self.pitch_mm[(k + 2) % 3])

    def grid_mm(self, k: int) -> np.ndarray:
        """First u, step u, first v, step v of the middles of the cells of field k, (4,) mm; see ray_shifts_mm."""
        u_axis, v_axis = (k + 1) % 3, (k + 2) % 3
        return np.array(
            [
                self.low_mm[u_axis] + 0.5 * self.pitch_mm[u_axis],
                self.pitch_mm[u_axis],
                self.low_mm[v_axis] + 0.5 * self.pitch_mm[v_axis],
                self.pitch_mm[v_axis],
            ]
        )

    def ray_shifts_mm(self, k: int) -> tuple[np.ndarray, np.ndarray]:
        """How far the rays of field k run from the middles of their cells: along u by v number, along v by u number."""
        rays_u, rays_v = self.rays_uv(k)
        by_turns = np.where(np.arange(rays_v) % 2 == 0, -0.5, 0.5)
        of_v = by_turns + 0.5 * _wave((np.arange(rays_v) + 0.5) * SPREAD_U)
        of_u = _wave((np.arange(rays_u) + 0.5) * SPREAD_V)
        most = RAY_SHIFT_MOST_RATIO
        return most * of_v * self.pitch_mm[(k + 1) % 3], most * of_u * self.pitch_mm[(k + 2) % 3]

    def volume_mm3(self) -> np.ndarray:
        """Volume of metal by each field, (3,) mm3."""
        return np.array([float(self._lengths_mm(k).sum()) * self.cell_area_mm2(k) for k in range(3)])

    def roughness_mm2(self) -> np.ndarray:
        """Mean square of how far each ray's length lies from the middle of its two neighbours', (3,) mm2 by field.

        A field whose rays run along a wall has steps there and knows the volume by chance; where lengths change
        evenly it knows it exactly. The variance of a field's volume goes with this and with the area of a cell.
        """
        found = np.zeros(3)
        for k in range(3):
            lengths = self._lengths_mm(k).reshape(self.rays_uv(k))
            for bends in (np.diff(lengths, 2, axis=0), np.diff(lengths, 2, axis=1)):
                found[k] += float((bends**2).mean()) if bends.size else 0.0
        return found

    def volume_best_mm3(self) -> float:
        """Volume of metal in mm3 by all three fields: their mean, weighted by 1 / variance.

        The rule, fixed beforehand: the variance of field k is taken as roughness_mm2 of k times its cell's area times
        the area of the box across its rays (independent errors of the cells), and no less than 1e-12 of the largest,
        so that a field without any roughness stands for all.
        """
        volumes = self.volume_mm3()
        size = self.high_mm - self.low_mm
        variances = self.roughness_mm2() * np.array(
            [self.cell_area_mm2(k) * size[(k + 1) % 3] * size[(k + 2) % 3] for k in range(3)]
        )
        largest = float(variances.max())
        if largest <= 0.0:
            return float(volumes.mean())
        weights = 1.0 / np.maximum(variances, 1e-12 * largest)
        return float((volumes * weights).sum() / weights.sum())

    def digest(self) -> str:
        """Sha256 of grid and intervals, the same whatever room the lists have; 64 hexadecimal digits."""
        wrapped = hashlib.sha256()
        for corner in (self.low_mm, self.high_mm, self.pitch_mm):
            wrapped.update(np.ascontiguousarray(corner, dtype="<f8").tobytes())
        wrapped.update(np.array(self.cells, dtype="<i8").tobytes())
        for k in range(3):
            wrapped.update(np.ascontiguousarray(self.counts[k], dtype="<i4").tobytes())
            kept = self.spans[k][self._used(k)] + 0.0  # so that -0.0 and 0.0 are one number
            wrapped.update(np.ascontiguousarray(kept, dtype="<f8").tobytes())
        return wrapped.hexdigest()

    def same_grid(self, other: Fields) -> bool:
        """True when both have the same rays."""
        return (
            self.cells == other.cells
            and bool(np.array_equal(self.low_mm, other.low_mm))
            and bool(np.array_equal(self.high_mm, other.high_mm))
        )

    def surface_points_mm(self) -> np.ndarray:
        """Both ends of every interval of every field, (n, 3) mm, part frame; points of the metal's surface."""
        found = []
        for k in range(3):
            rays, slots = np.nonzero(self._used(k))
            ends = self.spans[k][rays, slots]
            first_u, step_u, first_v, step_v = self.grid_mm(k)
            i, j = np.divmod(rays, self.rays_uv(k)[1])
            shift_u, shift_v = self.ray_shifts_mm(k)
            points = np.empty((rays.size, 2, 3))
            points[:, :, k] = ends
            points[:, :, (k + 1) % 3] = (first_u + step_u * i + shift_u[j])[:, None]
            points[:, :, (k + 2) % 3] = (first_v + step_v * j + shift_v[i])[:, None]
            found.append(points.reshape(-1, 3))
        return np.concatenate(found)

    def grow(self, k: int) -> None:
        """Doubles the number of intervals a ray of field k can hold."""
        old = self.spans[k]
        self.spans[k] = np.zeros((old.shape[0], 2 * old.shape[1], 2))
        self.spans[k][:, : old.shape[1]] = old

    def _used(self, k: int) -> np.ndarray:
        return np.arange(self.spans[k].shape[1])[None, :] < self.counts[k][:, None]

    def _lengths_mm(self, k: int) -> np.ndarray:
        lengths = self.spans[k][:, :, 1] - self.spans[k][:, :, 0]
        return np.where(self._used(k), lengths, 0.0).sum(axis=1)


def _wave(turns: np.ndarray) -> np.ndarray:
    """Straight from -1 to 1 in the first half of each turn, and straight back in the second."""
    share = np.modf(turns)[0]
    return np.where(share < 0.5, 4.0 * share - 1.0, 3.0 - 4.0 * share)


def empty_fields(*, low_mm: np.ndarray, high_mm: np.ndarray, pitch_mm: float) -> Fields:
    """Fields without metal on the grid of the box; low_mm and high_mm are its corners (3,), part frame."""
    low = np.array(low_mm, dtype=float)
    high = np.array(high_mm, dtype=float)
    if low.shape != (3,) or high.shape != (3,) or not np.all(np.isfinite(low)) or not np.all(np.isfinite(high)):
        raise BadInput("A box needs two corners of three finite numbers", value=f"{low_mm}, {high_mm}")
    if not math.isfinite(pitch_mm) or pitch_mm <= 0.0:
        raise OutOfRange("The pitch must be a positive length", value=f"{pitch_mm} mm", limit="> 0 mm")
    if np.any(high <= low):
        raise OutOfRange("A box needs a low corner below its high corner", value=f"{low.tolist()}, {high.tolist()} mm")
    cells = np.maximum(1, np.ceil((high - low) / pitch_mm - 1e-9)).astype(int)
    counts = []
    spans = []
    for k in range(3):
        rays = int(cells[(k + 1) % 3] * cells[(k + 2) % 3])
        counts.append(np.zeros(rays, dtype=np.int32))
        spans.append(np.zeros((rays, SPANS_FIRST_COUNT, 2)))
    return Fields(
        low_mm=low,
        high_mm=high,
        pitch_mm=(high - low) / cells,
        cells=(int(cells[0]), int(cells[1]), int(cells[2])),
        counts=counts,
        spans=spans,
    )


def require_same_grid(first: Fields, second: Fields) -> None:
    """Raises BadInput when the two do not have the same rays."""
    if not first.same_grid(second):
        raise BadInput(
            "Two fields can only be compared on the same grid",
            value=f"cells {first.cells} and {second.cells}",
            do="make both with the same corners and the same pitch",
        )
