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
    hangs together; where that leaves more than one piece, every cell is in which another than the largest one lies.
    """
    offsets, total = _numbered(fields)
    if total == 0:
        return ()
    parent = np.arange(total, dtype=np.int64)
    _join(fields, offsets, np.ones(total, dtype=np.bool_), STRIDE, parent)
    piece = _pieces(parent)
    found = _measured(fields, offsets, piece, least_mm3)
    if len(found) < 2:
        return found
    apart = piece != int(np.argmax(np.bincount(piece)))
    _join(fields, offsets, apart, 1, parent)
    return _measured(fields, offsets, _pieces(parent), least_mm3)


def _numbered(fields: Fields) -> tuple[list[np.ndarray], int]:
    """The number of each ray's first interval, field after field, and how many intervals there are."""
    offsets: list[np.ndarray] = []
    total = 0
    for counts in fields.counts:
        ends = np.cumsum(counts.astype(np.int64))
        offsets.append(total + ends - counts)
        total += int(ends[-1]) if len(ends) else 0
    return offsets, total


def _pieces(parent: np.ndarray) -> np.ndarray:
    from proveout.removal.kernels.joining import roots

    return np.unique(roots(parent), return_inverse=True)[1].reshape(-1)


def _join(fields: Fields, offsets: list[np.ndarray], looked: np.ndarray, stride: int, parent: np.ndarray) -> None:
    """Joins what overlaps, as far as one of the two is looked at; with more than one cell a stride, from one side."""
    from proveout.removal.kernels.joining import join_across, join_back, join_field

    for k in range(3):
        rays_u, rays_v = fields.rays_uv(k)
        if stride > 1:
            join_field(fields.counts[k], fields.spans[k], offsets[k], rays_u, rays_v, OVERLAP_MM, parent)
        other = (k + 1) % 3
        grid = fields.grid_mm(k)
        shifts_u, _ = fields.ray_shifts_mm(k)
        places = grid[0] + np.arange(rays_u)[:, None] * grid[1] + shifts_u[None, :]
        low, pitch = float(fields.low_mm[k]), float(fields.pitch_mm[k])
        both = (
            fields.counts[k], fields.spans[k], offsets[k], fields.counts[other], fields.spans[other], offsets[other],
            places, low, pitch,
        )  # fmt: skip
        join_across(*both, stride, looked, parent)
        if stride == 1:
            join_back(*both, looked, parent)


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
