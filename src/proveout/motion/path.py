"""A chain of moves as a path: lengths, directions at both ends, and what the axes allow along it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from proveout.quantities.bounds import above_zero
from proveout.quantities.errors import OutOfRange

Array = NDArray[np.float64]
Limit = float | Sequence[float]

# moves shorter than this do not exist for the control
SHORTEST = 1.0e-9
ENDS_WITHIN_MM = 0.02
"""How far the end of an arc may lie from where its turn ends: two roundings of a program in hundredths."""

# shares of an arc's acceleration and jerk, our own: the parts stand at right angles, so 0.8 and 0.6 make 1 together
ACROSS_RATIO, ALONG_RATIO = 0.8, 0.6
JERK_TURN_RATIO, JERK_ALONG_RATIO, JERK_ACROSS_RATIO = 0.5, 0.3, 0.6
# the same for a helix whose axis is none of the machine's: there the parts may all fall on one axis
SLANTED_ALONG_RATIO, SLANTED_JERK_ALONG_RATIO, SLANTED_JERK_ACROSS_RATIO = 0.2, 0.2, 0.3


@dataclass(frozen=True, kw_only=True)
class Arcs:
    """Which moves are arcs or helices; row i belongs to the move that arrives at position i, row 0 is not read.

    centres_mm: (n, 3) a point of the axis.   normals: (n, 3) unit vectors along the axis.   turns_rad: (n,) signed by
    the right hand about the normal, more than a whole turn allowed; 0 for a straight move.
    """

    centres_mm: Array
    normals: Array
    turns_rad: Array


@dataclass(frozen=True, kw_only=True)
class Path:
    """Moves of some length. length: mm, or rad for a move of the rotary axes alone (is_turning).

    starts, ends: (m, k) change of the axes per length at both ends of each move.   shares: (m, k) greatest amount of
    it within the move.   radius_mm: infinite for a straight move.   flat: share of the speed that lies in the arc's
    plane.   across: (m, 3) greatest share of what points to an arc's axis that falls on each linear axis.
    """

    moving: NDArray[np.bool_]
    length: Array
    starts: Array
    ends: Array
    shares: Array
    radius_mm: Array
    flat: Array
    across: Array
    is_turning: NDArray[np.bool_]


def path_of(positions: ArrayLike, arcs: Arcs | None = None) -> Path:
    """The path through positions (n, k) of k axes: X Y Z in mm, then rotary axes in rad."""
    place = np.asarray(positions, dtype=np.float64)
    if place.ndim != 2 or not 3 <= place.shape[1] <= 5:
        raise OutOfRange("A chain needs (n, 3) to (n, 5) positions", value=str(place.shape))
    if not np.all(np.isfinite(place)):
        raise OutOfRange("A chain needs finite positions")
    delta = np.diff(place, axis=0)
    length = np.linalg.norm(delta[:, :3], axis=1)
    radius, flat = np.full(len(delta), np.inf), np.ones(len(delta))
    across = np.zeros((len(delta), 3))
    leave, arrive = delta[:, :3].copy(), delta[:, :3].copy()  # tangents times length
    bound = np.abs(leave)
    if arcs is not None:
        _bend(place, arcs, length, radius, flat, across, leave, arrive, bound)
    is_turning = length <= SHORTEST
    length = np.where(is_turning, np.linalg.norm(delta[:, 3:], axis=1), length)
    moving = length > SHORTEST
    size = length[moving][:, None]
    rotary = delta[moving, 3:]
    starts, ends = (np.hstack([one[moving], rotary]) / size for one in (leave, arrive))
    return Path(
        moving=moving, length=length[moving], starts=starts, ends=ends,
        shares=np.hstack([bound[moving], np.abs(rotary)]) / size, radius_mm=radius[moving], flat=flat[moving],
        across=across[moving], is_turning=is_turning[moving],
    )  # fmt: skip


def _bend(
    place: Array, arcs: Arcs, length: Array, radius: Array, flat: Array, across: Array, leave: Array, arrive: Array,
    bound: Array,
) -> None:  # fmt: skip
    """Enters the arcs into the arrays of straight moves."""
    turns = np.asarray(arcs.turns_rad, dtype=np.float64)
    normals, centres = np.asarray(arcs.normals, dtype=np.float64), np.asarray(arcs.centres_mm, dtype=np.float64)
    if turns.shape != (len(place),) or normals.shape != (len(place), 3) or centres.shape != (len(place), 3):
        raise OutOfRange("Arcs need a row for each position", value=f"{turns.shape} for {len(place)} positions")
    which = np.flatnonzero(turns[1:] != 0.0)
    if not len(which):
        return
    turn, normal, centre = turns[1:][which, None], normals[1:][which], centres[1:][which]
    if not np.allclose(np.linalg.norm(normal, axis=1), 1.0, atol=1e-6):
        raise OutOfRange("The axis of an arc needs a unit vector")
    first, last = place[which, :3] - centre, place[which + 1, :3] - centre
    rise = np.sum((last - first) * normal, axis=1)[:, None]
    first, last = (one - np.sum(one * normal, axis=1)[:, None] * normal for one in (first, last))
    size = np.linalg.norm(first, axis=1)[:, None]
    side = np.cross(normal, first)
    off = np.linalg.norm(np.cos(turn) * first + np.sin(turn) * side - last, axis=1)
    if not np.all(size > SHORTEST) or not np.all(off <= ENDS_WITHIN_MM):
        raise OutOfRange("An arc does not end where its turn ends", value=f"{off.max():.4f} mm off")
    leave[which] = turn * side + rise * normal
    arrive[which] = turn * np.cross(normal, last * size / np.linalg.norm(last, axis=1)[:, None]) + rise * normal
    way = np.hypot(size * np.abs(turn), rise)
    length[which], radius[which] = way[:, 0], size[:, 0]
    flat[which] = (size * np.abs(turn) / way)[:, 0]
    upright = np.sqrt(np.maximum(0.0, 1.0 - normal**2))
    across[which] = upright
    bound[which] = size * np.abs(turn) * upright + np.abs(rise * normal)


def along(limit: Limit, path: Path, *, name: str) -> Array:
    """A limit of the axes seen along each move, or the limit itself when it is one number for the path."""
    values = _checked(limit, path, name=name)
    if values.ndim == 0:
        return np.full(len(path.length), float(values))
    with np.errstate(divide="ignore", over="ignore"):
        return np.min(np.where(path.shares > 0.0, values / np.maximum(path.shares, 1e-300), np.inf), axis=1)


def _inward(limit: Limit, path: Path, *, name: str) -> Array:
    """A limit of the axes seen across the path, towards the axis of each arc."""
    values = _checked(limit, path, name=name)
    if values.ndim == 0:
        return np.full(len(path.length), float(values))
    return np.min(np.where(path.across > 1e-9, values[:3] / np.maximum(path.across, 1e-9), np.inf), axis=1)


def _checked(limit: Limit, path: Path, *, name: str) -> Array:
    values = np.asarray(limit, dtype=np.float64)
    for value in values.ravel():
        if not (name == "jerk_mm_per_s3" and value == math.inf):
            above_zero(**{name: float(value)})
    axes = path.shares.shape[1]
    if values.shape != (axes,) and (values.ndim or axes > 3):
        raise OutOfRange(f"An axis limit needs {'one number or three' if axes == 3 else f'{axes} numbers'}", where=name,
            value=str(values.shape))  # fmt: skip
    return values


def path_limits(
    path: Path, feeds: Array, *, rapid_mm_per_s: Limit, accel_mm_per_s2: Limit, jerk_mm_per_s3: Limit
) -> tuple[Array, Array, Array]:
    """Speed, acceleration and jerk along each move, arcs slowed so that no axis is asked for more than it gives."""
    cap = np.minimum(feeds, along(rapid_mm_per_s, path, name="rapid_mm_per_s"))
    accel = along(accel_mm_per_s2, path, name="accel_mm_per_s2")
    jerk = along(jerk_mm_per_s3, path, name="jerk_mm_per_s3")
    bent = np.isfinite(path.radius_mm)
    if not bent.any():
        return cap, accel, jerk
    radius, flat = path.radius_mm[bent], path.flat[bent]
    slanted = np.sum(path.across[bent] > 1e-9, axis=1) > 2
    inward = _inward(accel_mm_per_s2, path, name="accel_mm_per_s2")[bent]
    jolt = _inward(jerk_mm_per_s3, path, name="jerk_mm_per_s3")[bent]
    slow = np.minimum(np.sqrt(ACROSS_RATIO * inward * radius), np.cbrt(JERK_TURN_RATIO * jolt * radius**2)) / flat
    cap[bent] = np.minimum(cap[bent], slow)
    accel[bent] *= np.where(slanted, SLANTED_ALONG_RATIO, ALONG_RATIO)
    jerk[bent] *= np.where(slanted, SLANTED_JERK_ALONG_RATIO, JERK_ALONG_RATIO)
    across = np.where(slanted, SLANTED_JERK_ACROSS_RATIO, JERK_ACROSS_RATIO)
    quickest = np.cbrt(JERK_TURN_RATIO * jolt * radius**2)  # in the arc's plane, whatever the feed
    with np.errstate(invalid="ignore"):
        bound = np.where(np.isfinite(jolt), across * jolt * radius / (3.0 * quickest * flat), np.inf)
    accel[bent] = np.minimum(accel[bent], bound)
    return cap, accel, jerk


def joint_limits(path: Path, cap: Array, *, stop_angle_rad: float, jump_mm_per_s: Limit) -> Array:
    """Highest speed at each joint between two moves (m - 1,)."""
    before, after = path.ends[:-1], path.starts[1:]
    change = after - before
    lower = np.minimum(cap[:-1], cap[1:])
    jump = np.asarray(jump_mm_per_s, dtype=np.float64)
    if not np.all(np.isfinite(jump)) or not np.all(jump >= 0.0):
        raise OutOfRange("A number is out of range", where="jump_mm_per_s", value=str(jump), limit="finite, 0 or more")
    axes = change.shape[1]
    with np.errstate(divide="ignore", invalid="ignore"):
        if jump.ndim == 0 and axes == 3:
            size = np.linalg.norm(change, axis=1)
            by_jump = np.where(size > 1e-9, jump / size, np.inf)
        elif jump.shape == (axes,):
            by_jump = np.min(np.where(np.abs(change) > 1e-9, jump / np.abs(change), np.inf), axis=1)
        else:
            raise OutOfRange("A jump needs one number for three axes, or one for each axis", where="jump_mm_per_s",
                value=str(jump.shape))  # fmt: skip
    turn = np.where(path.is_turning[:-1, None], change, 0.0)
    turn[:, :3] = np.where(path.is_turning[:-1, None], 0.0, change[:, :3])
    sharp = np.linalg.norm(turn, axis=1) >= 2.0 * math.sin(0.5 * stop_angle_rad) - 1e-12
    stops = sharp | (path.is_turning[:-1] != path.is_turning[1:])
    return np.where(stops, 0.0, np.minimum(lower, by_jump))
