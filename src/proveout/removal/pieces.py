"""Pieces of metal that hang together, of three fields: what has come loose from the rest."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from proveout.geometry.frames import triple
from proveout.removal.fields import Fields

STRIDE = 12
OVERLAP_MM = 1e-3
"""Neighbouring rays that overlap by less touch along an edge at the most, which holds nothing."""


@dataclass(frozen=True)
class Lump:
    """One piece of metal: volume by the median of the three fields, and its box, mm, in the frame of the fields."""

    volume_mm3: float
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]


def lumps_of(fields: Fields, *, least_mm3: float) -> tuple[Lump, ...]:
    """Pieces of at least this volume, mm3, the largest first.

    Two pieces with a gap of less than a cell between them may count as one; walls thinner than a cell hold what hangs
    on them wherever rays of any field run along them. First every STRIDEth cell is looked at, which can only part what
    hangs together; where that leaves more than one piece, every cell is.
    """
    for stride in (STRIDE, 1):
        found = _lumps(fields, least_mm3, stride)
        if len(found) < 2:
            return found
    return found


def _lumps(fields: Fields, least_mm3: float, stride: int) -> tuple[Lump, ...]:
    from proveout.removal.kernels.joining import join_across, join_field, roots

    offsets: list[np.ndarray] = []
    total = 0
    for counts in fields.counts:
        ends = np.cumsum(counts.astype(np.int64))
        offsets.append(total + ends - counts)
        total += int(ends[-1]) if len(ends) else 0
    if total == 0:
        return ()
    parent = np.arange(total, dtype=np.int64)
    for k in range(3):
        rays_u, rays_v = fields.rays_uv(k)
        join_field(fields.counts[k], fields.spans[k], offsets[k], rays_u, rays_v, OVERLAP_MM, parent)
        other = (k + 1) % 3
        grid = fields.grid_mm(k)
        shifts_u, _ = fields.ray_shifts_mm(k)
        places = grid[0] + np.arange(rays_u)[:, None] * grid[1] + shifts_u[None, :]
        join_across(
            fields.counts[k], fields.spans[k], offsets[k], fields.counts[other], fields.spans[other], offsets[other],
            places, float(fields.low_mm[k]), float(fields.pitch_mm[k]), stride, parent,
        )  # fmt: skip
    piece = np.unique(roots(parent), return_inverse=True)[1].reshape(-1)
    return _measured(fields, offsets, piece, least_mm3)


def _measured(fields: Fields, offsets: list[np.ndarray], piece: np.ndarray, least_mm3: float) -> tuple[Lump, ...]:
    count = int(piece.max()) + 1
    volumes = np.zeros((3, count))
    low, high = np.full((3, count), np.inf), np.full((3, count), -np.inf)
    for k in range(3):
        counts, spans = fields.counts[k], fields.spans[k]
        taken = np.arange(spans.shape[1])[None, :] < counts[:, None]
        ends = spans[taken]
        mine = piece[offsets[k][0] : offsets[k][0] + len(ends)]
        volumes[k] = np.bincount(mine, weights=ends[:, 1] - ends[:, 0], minlength=count) * fields.cell_area_mm2(k)
        np.minimum.at(low[k], mine, ends[:, 0])
        np.maximum.at(high[k], mine, ends[:, 1])
    middle = np.median(volumes, axis=0)
    order = [int(i) for i in np.argsort(-middle, kind="stable") if middle[i] >= least_mm3]
    return tuple(
        Lump(volume_mm3=float(middle[i]), low_mm=triple(low[:, i]), high_mm=triple(high[:, i])) for i in order
    )  # fmt: skip
