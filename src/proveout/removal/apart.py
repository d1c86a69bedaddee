"""How two bodies on one grid differ: what one has and the other has not, and how thick that is."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.removal.fields import Fields, require_same_grid
from proveout.removal.kernels.apart import chord_about, combine

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
DUST_MM = 1e-6


def shared(first: Fields, other: Fields) -> Fields:
    """What both have, on the same grid."""
    return _combined(first, other, 1)


def without(first: Fields, other: Fields) -> Fields:
    """What only the first has, on the same grid."""
    return _combined(first, other, 0)


def thickest_mm(metal: Fields, *, least_mm: float) -> tuple[float, Floats]:
    """How thick the thickest place of a body is, and where.

    Formula:  at the middle of a chord: the shortest of the chords of the three fields there, the largest of all; where
              no chord has others across it, of four rays about one corner of the grid that overlap the shortest.
    Args:     metal: not modified.   least_mm: chords up to this are not looked at, >= 0.
    Returns:  (mm, (3,) place in the fields' frame); 0 and zeros when nothing is thicker than least_mm.
    Valid:    a slab comes out at its thickness where it lies along an axis, at up to 1.74 times that where it is
              inclined. What is smaller than a cell in two directions can lie between the rays.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/removal/test_apart.py
    """
    # four rays a cell apart say nothing of what is thinner than asked and thicker than a cell
    ways = (_by_three, _by_four) if least_mm < float(metal.pitch_mm.min()) else (_by_three,)
    for way in ways:
        best, place = max((way(metal, k, least_mm) for k in range(3)), key=lambda found: found[0])
        if best > 0.0:
            return best, place
    return 0.0, np.zeros(3)


def rays_through(fields: Fields, k: int, points_mm: Floats) -> Integers:
    """(n,) the ray of field k nearest to each point (n, 3); -1 beside the grid."""
    u, v = (k + 1) % 3, (k + 2) % 3
    first_u, step_u, first_v, step_v = fields.grid_mm(k)
    rays_u, rays_v = fields.rays_uv(k)
    shift_u, shift_v = fields.ray_shifts_mm(k)
    j = np.clip(np.rint((points_mm[:, v] - first_v) / step_v), 0, rays_v - 1).astype(np.int64)
    i = np.clip(np.rint((points_mm[:, u] - first_u - shift_u[j]) / step_u), 0, rays_u - 1).astype(np.int64)
    j = np.rint((points_mm[:, v] - first_v - shift_v[i]) / step_v).astype(np.int64)
    i = np.rint((points_mm[:, u] - first_u - shift_u[np.clip(j, 0, rays_v - 1)]) / step_u).astype(np.int64)
    inside = (i >= 0) & (i < rays_u) & (j >= 0) & (j < rays_v)
    return np.where(inside, i * rays_v + j, -1)


def ray_places_mm(fields: Fields, k: int, rays: Integers) -> Floats:
    """(n, 3) a point of each ray of field k, at 0 along the ray."""
    u, v = (k + 1) % 3, (k + 2) % 3
    first_u, step_u, first_v, step_v = fields.grid_mm(k)
    i, j = np.divmod(rays, fields.rays_uv(k)[1])
    shift_u, shift_v = fields.ray_shifts_mm(k)
    points = np.zeros((len(rays), 3))
    points[:, u] = first_u + step_u * i + shift_u[j]
    points[:, v] = first_v + step_v * j + shift_v[i]
    return points


def _combined(first: Fields, other: Fields, kind: int) -> Fields:
    require_same_grid(first, other)
    result = Fields(
        low_mm=first.low_mm, high_mm=first.high_mm, pitch_mm=first.pitch_mm, cells=first.cells, counts=[], spans=[]
    )
    for k in range(3):
        rays = first.counts[k].size
        room = first.spans[k].shape[1] + other.spans[k].shape[1]
        counts, spans = np.zeros(rays, dtype=np.int32), np.zeros((rays, room, 2))
        combine(first.counts[k], first.spans[k], other.counts[k], other.spans[k], kind, DUST_MM, counts, spans)
        most = max(1, int(counts.max(initial=0)))
        result.counts.append(counts)
        result.spans.append(np.ascontiguousarray(spans[:, :most]))
    return result


def _chords(metal: Fields, k: int, least: float) -> tuple[Integers, Floats, Floats]:
    """Ray, low and high end of every interval of field k longer than `least`."""
    used = np.arange(metal.spans[k].shape[1])[None, :] < metal.counts[k][:, None]
    rays, slots = np.nonzero(used & (metal.spans[k][:, :, 1] - metal.spans[k][:, :, 0] > least))
    ends = metal.spans[k][rays, slots]
    return rays.astype(np.int64), ends[:, 0], ends[:, 1]


def _by_three(metal: Fields, k: int, least: float) -> tuple[float, Floats]:
    rays, low, high = _chords(metal, k, least)
    if not len(rays):
        return 0.0, np.zeros(3)
    middles = ray_places_mm(metal, k, rays)
    middles[:, k] = (low + high) / 2.0
    shortest = high - low
    for other in ((k + 1) % 3, (k + 2) % 3):
        lengths = np.zeros(len(rays))
        chord_about(
            metal.counts[other], metal.spans[other], rays_through(metal, other, middles), middles[:, other].copy(),
            lengths,
        )  # fmt: skip
        shortest = np.minimum(shortest, lengths)
    at = int(np.argmax(shortest))
    return (float(shortest[at]), middles[at]) if shortest[at] > least else (0.0, np.zeros(3))


def _by_four(metal: Fields, k: int, least: float) -> tuple[float, Floats]:
    """Only the longest chord of each ray is looked at."""
    rays, low, high = _chords(metal, k, least)
    if not len(rays):
        return 0.0, np.zeros(3)
    order = np.argsort(high - low, kind="stable")
    count_u, count_v = metal.rays_uv(k)
    begin, stop = np.full(count_u * count_v, np.inf), np.full(count_u * count_v, -np.inf)
    begin[rays[order]], stop[rays[order]] = low[order], high[order]
    begin, stop = begin.reshape(count_u, count_v), stop.reshape(count_u, count_v)
    if count_u < 2 or count_v < 2:
        return 0.0, np.zeros(3)
    four = [(slice(a, count_u - 1 + a), slice(b, count_v - 1 + b)) for a in (0, 1) for b in (0, 1)]
    latest = np.max([begin[part] for part in four], axis=0)
    first = np.min([stop[part] for part in four], axis=0)
    lengths = np.min([stop[part] - begin[part] for part in four], axis=0)
    lengths = np.where(first > latest, lengths, 0.0)
    at = int(np.argmax(lengths))
    i, j = divmod(at, count_v - 1)
    if not lengths.flat[at] > least:
        return 0.0, np.zeros(3)
    place = ray_places_mm(metal, k, np.array([i * count_v + j], dtype=np.int64))[0]
    place[k] = (latest.flat[at] + first.flat[at]) / 2.0
    return float(lengths.flat[at]), place
