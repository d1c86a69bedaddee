"""A chain whose moves are lengths with limits, run through in the quickest strokes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


def run_through(*, length: Array, cap: Array, accel: Array, jerk: Array, joint: Array) -> tuple[Array, Array]:
    """Seconds of each move (n,) from rest to rest, and the strokes (k, 8) in order.

    length, cap, accel, jerk: (n,) mm and s, all above 0, the jerk also infinite.  joint: (n + 1,) highest speed at
    each joint, at most the caps beside it, 0 at both ends.  A stroke: first move, move after its last, start, top and
    end speed, length, acceleration, jerk.
    """
    from proveout.motion.kernels.strokes import joined, quickest, spread

    firsts = joined(length, cap, accel, jerk, joint)
    begins = firsts[:-1]
    chosen = quickest(
        np.add.reduceat(length, begins), cap[begins], accel[begins], jerk[begins], np.append(joint[begins], 0.0)
    )
    seconds, strokes = np.zeros(len(length)), np.zeros((len(chosen), 8))
    spread(chosen, firsts, length, cap, accel, jerk, joint, seconds, strokes)
    return seconds, strokes
