"""The removal kernels give the same bits with the compiler on and off."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

PROGRAM = """
import numpy as np
from proveout.model.cutter import Piece
from proveout.removal.arcs import cut_arcs
from proveout.removal.comparing import deviation, difference_mm3
from proveout.removal.engagement import cut_measured
from proveout.removal.fields import Fields
from proveout.removal.meshing import mesh_fields
from proveout.removal.sweeping import cut, overlap_mm

draw = np.random.default_rng(3)
grid = {"low_mm": np.zeros(3), "high_mm": np.array([3.0, 2.5, 2.0]), "pitch_mm": 0.5}
pieces = (
    Piece(kind="frustum", z_low_mm=0.0, z_high_mm=0.4, r_low_mm=0.0, r_high_mm=0.5),
    Piece(kind="frustum", z_low_mm=0.4, z_high_mm=3.0, r_low_mm=0.5, r_high_mm=0.5),
    Piece(kind="ball", z_low_mm=-0.6, z_high_mm=0.6, r_low_mm=0.6, r_high_mm=0.6),
    Piece(kind="round corner", z_low_mm=0.0, z_high_mm=0.4, r_low_mm=0.3, r_high_mm=0.5),
)
work = Fields.from_box(**grid)
sums = []
for _ in range(4):
    axis = draw.normal(size=3)
    starts = draw.uniform(0.0, 3.0, (3, 3))
    moves = {"pieces": pieces, "axis": axis / np.linalg.norm(axis), "starts_mm": starts,
             "ends_mm": starts + draw.uniform(-1.0, 1.0, (3, 3))}
    sums.append(overlap_mm(work, **moves))
    sums.append(cut(work, **moves).ravel())
    measured = cut_measured(Fields.from_box(**grid), **moves)
    sums += [measured.radial_mm, measured.axial_mm, measured.angle_rad, measured.chip_ratio]
spots = np.array([[1.0, 1.2, 0.8], [2.0, 1.2, 0.7], [1.5, 1.9, 0.2]])
for axis in ([0.0, 0.0, 1.0], [0.0, -0.6, 0.8]):
    sums.append(cut_arcs(work, pieces=pieces[1:], axis=np.array(axis), starts_mm=spots, ends_mm=spots,
                         centres_mm=spots + np.array([0.05, 0.0, 0.0]), turns=np.array([1, -1, 0])).ravel())
corners = np.array([[x, y, z] for x in (0.4, 2.6) for y in (0.3, 2.2) for z in (0.2, 1.7)])
triangles = np.array([[0, 1, 3], [0, 3, 2], [4, 6, 7], [4, 7, 5], [0, 4, 5], [0, 5, 1],
                      [2, 3, 7], [2, 7, 6], [0, 2, 6], [0, 6, 4], [1, 5, 7], [1, 7, 3]])
target = mesh_fields(corners, triangles, **grid)
sums += list(difference_mm3(work, target))
found = deviation(work, vertices=corners, triangles=triangles, triangle_face=np.arange(12) // 2,
                  face_offset_mm=np.array([0.0, 0.1, 0.0, 0.0, 0.2, 0.0]))
sums.append(found.deviation_mm)
print(work.digest(), target.digest(), found.face.tolist(), [float(n).hex() for n in np.concatenate(sums)])
"""


def run(root: Path, *, compiled: bool) -> str:
    environment = dict(os.environ, NUMBA_DISABLE_JIT="0" if compiled else "1", PYTHONPATH=str(root / "src"))
    return subprocess.run(
        [sys.executable, "-c", PROGRAM], env=environment, capture_output=True, text=True, check=True
    ).stdout


def test_compiled_and_plain_kernels_give_the_same_bits(root: Path) -> None:
    compiled = run(root, compiled=True)
    assert len(compiled) > 1000
    assert run(root, compiled=False) == compiled
