"""The quickest way to run through a chain of moves in strokes, and the seconds of each of its moves.

A stroke is one seven-phase run over one or more moves that follow each other; at its ends the acceleration along the
path is zero. Inside it the speed keeps to the lowest cap of its moves and of the joints it runs through, acceleration
and jerk to the lowest of its moves.
"""

from __future__ import annotations

import math

import numpy as np
from numba import njit

from proveout.motion.kernels.ramps import (
    ramp_length,
    reached_speed,
    stroke_instant,
    stroke_seconds,
    top_speed,
)

LONGEST = 3072
"""So many moves, after joining those that run on alike, fit into one stroke at most."""
SAME = 1e-12
FITS = 1.0 + 1e-10


@njit(cache=True, nogil=True)
def joined(
    lengths: np.ndarray, caps: np.ndarray, accels: np.ndarray, jerks: np.ndarray, joints: np.ndarray
) -> np.ndarray:
    """First move of each run of moves with equal limits whose joints need no slowing, and the end (m + 1,)."""
    count = lengths.shape[0]
    firsts = np.empty(count, dtype=np.int64)
    runs = 0
    for k in range(count):
        alike = (
            k > 0
            and joints[k] >= caps[k] * (1.0 - SAME)
            and abs(caps[k] - caps[k - 1]) <= SAME * caps[k]
            and abs(accels[k] - accels[k - 1]) <= SAME * accels[k]
            and (jerks[k] == jerks[k - 1] or abs(jerks[k] - jerks[k - 1]) <= SAME * jerks[k])
        )
        if not alike:
            firsts[runs] = k
            runs += 1
    found = np.empty(runs + 1, dtype=np.int64)
    for k in range(runs):
        found[k] = firsts[k]
    found[runs] = count
    return found


@njit(cache=True, nogil=True)
def next_size(size: int) -> int:
    """Sizes of strokes: 1, 2, 3, 4, 6, 8, 12, 16, 24 ..."""
    if size < 2:
        return size + 1
    power = 1
    while 2 * power <= size:
        power *= 2
    return power * 3 // 2 if size == power else 2 * power


@njit(cache=True, nogil=True)
def possible_strokes(
    lengths: np.ndarray, caps: np.ndarray, accels: np.ndarray, jerks: np.ndarray, joints: np.ndarray,
    starts: np.ndarray, strokes: np.ndarray,
) -> int:  # fmt: skip
    """How many strokes there are; fills strokes (k, 5) as far as there is room, and starts (m + 1,).

    A stroke: last joint, length, cap, acceleration, jerk; those from joint p lie at starts[p] to starts[p + 1].
    Sizes grow until the speed could rise from rest to the cap up to an inner joint, and fall to rest behind it: a
    longer stroke can be cut there at no loss.  Where the jerk is unlimited strokes of several moves gain nothing.
    """
    count = lengths.shape[0]
    room = strokes.shape[0]
    number = 0
    starts[0] = 0
    for first in range(count):
        length, cap, accel, jerk = 0.0, math.inf, math.inf, math.inf
        wanted, risen = 1, math.inf
        for last in range(first + 1, min(first + LONGEST, count) + 1):
            move = last - 1
            if move > first:
                cap = min(cap, joints[move])
            length += lengths[move]
            cap, accel, jerk = min(cap, caps[move]), min(accel, accels[move]), min(jerk, jerks[move])
            if cap <= 0.0 or (last > first + 1 and math.isinf(jerk)):
                break
            ramp = ramp_length(0.0, cap, accel, jerk)
            enough = length - risen >= ramp
            if risen == math.inf and length >= ramp:
                risen = length
            if last - first == wanted or enough:
                if number < room:
                    strokes[number, 0] = last
                    strokes[number, 1] = length
                    strokes[number, 2] = cap
                    strokes[number, 3] = accel
                    strokes[number, 4] = jerk
                number += 1
                wanted = next_size(wanted)
            if enough:
                break
        starts[first + 1] = number
    return number


@njit(cache=True, nogil=True)
def look_ahead(strokes: np.ndarray, starts: np.ndarray, joints: np.ndarray) -> np.ndarray:
    """Speeds at the joints (m + 1, 2) that strokes reach from the start and leave towards the end.

    First those that strokes of one move allow, then those that all strokes allow.
    """
    count = starts.shape[0] - 1
    speeds = np.zeros((count + 1, 2))
    best = np.zeros(2)
    for p in range(count):
        for k in range(starts[p], starts[p + 1]):
            q, length, cap, accel, jerk = int(strokes[k, 0]), strokes[k, 1], strokes[k, 2], strokes[k, 3], strokes[k, 4]
            for i in range(2):
                if (i == 1 or q == p + 1) and speeds[q, i] < min(cap, joints[q]):
                    reached = min(cap, reached_speed(min(speeds[p, i], cap), length, accel, jerk))
                    speeds[q, i] = max(speeds[q, i], min(reached, joints[q]))
    speeds[count, 0] = speeds[count, 1] = 0.0
    for p in range(count - 1, -1, -1):
        best[0] = best[1] = 0.0
        for k in range(starts[p], starts[p + 1]):
            q, length, cap, accel, jerk = int(strokes[k, 0]), strokes[k, 1], strokes[k, 2], strokes[k, 3], strokes[k, 4]
            for i in range(2):
                if (i == 1 or q == p + 1) and best[i] < min(cap, speeds[p, i]):
                    reached = min(cap, reached_speed(min(speeds[q, i], cap), length, accel, jerk))
                    best[i] = max(best[i], reached)
        speeds[p, 0] = min(speeds[p, 0], best[0])
        speeds[p, 1] = min(speeds[p, 1], best[1])
    return speeds


@njit(cache=True, nogil=True)
def tried_speeds(strokes: np.ndarray, starts: np.ndarray, joints: np.ndarray) -> np.ndarray:
    """Speeds to be tried at each joint (m + 1, 3), -1 for none.

    The one that strokes of one move allow, with which every move can follow every other; the one that longer strokes
    allow; below it the highest cap of a stroke that begins or ends there.
    """
    count = starts.shape[0] - 1
    both = look_ahead(strokes, starts, joints)
    speeds = np.empty((count + 1, 3))
    for p in range(count + 1):
        speeds[p, 0] = both[p, 0]
        speeds[p, 1] = both[p, 1] if both[p, 1] > both[p, 0] * FITS else -1.0
        speeds[p, 2] = -1.0
    for p in range(count):
        for k in range(starts[p], starts[p + 1]):
            cap = strokes[k, 2]
            for q in (p, int(strokes[k, 0])):
                if cap * FITS < both[q, 1]:
                    speeds[q, 2] = max(speeds[q, 2], cap)
    return speeds


@njit(cache=True, nogil=True)
def quickest(
    lengths: np.ndarray, caps: np.ndarray, accels: np.ndarray, jerks: np.ndarray, joints: np.ndarray
) -> np.ndarray:
    """The strokes of the quickest way (k, 4): first and last joint, start and end speed."""
    count = lengths.shape[0]
    starts = np.empty(count + 1, dtype=np.int64)
    strokes = np.empty((4 * count + 64, 5))
    number = possible_strokes(lengths, caps, accels, jerks, joints, starts, strokes)
    if number > strokes.shape[0]:
        strokes = np.empty((number, 5))
        possible_strokes(lengths, caps, accels, jerks, joints, starts, strokes)
    speeds = tried_speeds(strokes, starts, joints)
    seconds = np.empty((count + 1, 3))
    before = np.empty((count + 1, 3), dtype=np.int64)
    for p in range(count + 1):
        for i in range(3):
            seconds[p, i] = math.inf
            before[p, i] = -1
    seconds[0, 0] = 0.0
    for p in range(count):
        for k in range(starts[p], starts[p + 1]):
            q, length, cap, accel, jerk = int(strokes[k, 0]), strokes[k, 1], strokes[k, 2], strokes[k, 3], strokes[k, 4]
            for i in range(3):
                if math.isinf(seconds[p, i]):
                    continue
                start, least = speeds[p, i], seconds[p, i] + length / cap
                for j in range(3):
                    end = speeds[q, j]
                    if (
                        least >= seconds[q, j]
                        or end < 0.0
                        or start > cap * FITS
                        or end > cap * FITS
                        or length < ramp_length(start, end, accel, jerk) / FITS
                    ):
                        continue
                    taken = seconds[p, i] + stroke_seconds(start, end, length, max(cap, start, end), accel, jerk)
                    if taken < seconds[q, j]:
                        seconds[q, j] = taken
                        before[q, j] = 3 * p + i
    size, q, j = 0, count, 0
    while q > 0:
        q, j = before[q, j] // 3, before[q, j] % 3
        size += 1
    chosen = np.empty((size, 4))
    q, j = count, 0
    while q > 0:
        p, i = before[q, j] // 3, before[q, j] % 3
        size -= 1
        chosen[size, 0] = p
        chosen[size, 1] = q
        chosen[size, 2] = speeds[p, i]
        chosen[size, 3] = speeds[q, j]
        q, j = p, i
    return chosen


@njit(cache=True, nogil=True)
def spread(
    chosen: np.ndarray, firsts: np.ndarray, lengths: np.ndarray, caps: np.ndarray, accels: np.ndarray,
    jerks: np.ndarray, joints: np.ndarray, seconds: np.ndarray, strokes: np.ndarray,
) -> None:  # fmt: skip
    """Fills the seconds of each move (n,) and the strokes (k, 8) from the chosen ones, counted in runs from firsts.

    A stroke: first move, move after its last, start, top and end speed, length, acceleration, jerk.
    """
    for number in range(chosen.shape[0]):
        first, last = firsts[int(chosen[number, 0])], firsts[int(chosen[number, 1])]
        start, end = chosen[number, 2], chosen[number, 3]
        length, cap, accel, jerk = 0.0, math.inf, math.inf, math.inf
        for move in range(first, last):
            length += lengths[move]
            cap, accel, jerk = min(cap, caps[move]), min(accel, accels[move]), min(jerk, jerks[move])
            if move > first:
                cap = min(cap, joints[move])
        cap = max(cap, start, end)
        top = top_speed(start, end, length, cap, accel, jerk)
        whole = stroke_seconds(start, end, length, cap, accel, jerk)
        strokes[number, 0] = first
        strokes[number, 1] = last
        strokes[number, 2] = start
        strokes[number, 3] = top
        strokes[number, 4] = end
        strokes[number, 5] = length
        strokes[number, 6] = accel
        strokes[number, 7] = jerk
        way, then = 0.0, 0.0
        for move in range(first, last):
            way += lengths[move]
            now = whole
            if move < last - 1:
                now = min(max(stroke_instant(start, end, length, top, way, accel, jerk), then), whole)
            seconds[move] = now - then
            then = now
