"""The motion kernels give the same seconds with the compiler on and off."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

PROGRAM = """
import math
import numpy as np
from proveout.motion.chain_time import chain_times_s

draw = np.random.default_rng(5)
points = np.cumsum(draw.normal(0.0, 3.0, (60, 3)), axis=0)
feeds = draw.choice([15.0, 60.0, 120.0, np.inf], 60)
for jerk in (5.0e4, math.inf):
    for axes in (1, 3):
        limits = {"rapid_mm_per_s": 300.0, "accel_mm_per_s2": 3000.0, "jerk_mm_per_s3": jerk, "jump_mm_per_s": 20.0}
        if axes == 3:
            limits = {key: [value, value / 2, value / 3] for key, value in limits.items()}
        for seconds in chain_times_s(points, feeds, stop_angle_rad=1.5, **limits):
            print(float(seconds).hex())
"""


def run(root: Path, *, compiled: bool) -> list[float]:
    environment = dict(os.environ, NUMBA_DISABLE_JIT="0" if compiled else "1", PYTHONPATH=str(root / "src"))
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM], env=environment, capture_output=True, text=True, check=True
    ).stdout
    return [float.fromhex(line) for line in done.splitlines()]


def test_compiled_and_plain_kernels_give_the_same_seconds(root: Path) -> None:
    """To the rounding of powers and roots, which the compiler may take from another library."""
    compiled, plain = run(root, compiled=True), run(root, compiled=False)
    assert len(compiled) == 4 * 59
    assert max(abs(a - b) for a, b in zip(compiled, plain, strict=True)) <= 1e-12 * sum(compiled)
