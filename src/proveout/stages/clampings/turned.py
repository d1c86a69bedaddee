"""Wrong load: whether a half-made piece could be put in turned round, and whether it would then be cut wrong."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.choice_of_clampings import Hold
from proveout.model.proof import Basis, Proof, prove
from proveout.model.target import Target
from proveout.model.work import Clamping

SAME_MM = 0.01
SAME_SHARE = 1e-3
LEVEL_MM = 0.1
SQUARE = 0.99999
SEAT_SHARE = 0.15
HELD_MM = 1.0
"""A turned piece counts as held where its grip faces still overlap the jaws by so much."""

# half turns about the clamping's z, x and y, as signs of its coordinates from the middle of the box
POSES = (
    ("turned end for end", (-1.0, -1.0, 1.0)),
    ("upside down", (1.0, -1.0, -1.0)),
    ("upside down", (-1.0, 1.0, -1.0)),
)

Array = NDArray[np.float64]


def wrong_loads(clamping: Clamping, holds: tuple[Hold, ...], target: Target) -> tuple[str, ...]:
    """The ways that a piece fits this later clamping other than drawn and would be cut wrong; holds up to this one."""
    faces = _Faces(clamping, holds, target)
    found = [name for name, signs in POSES if _fits(clamping, faces, signs) and not faces.is_the_same(signs)]
    return tuple(dict.fromkeys(found))


def wrong_load_proof(clamping: Clamping, ways: tuple[str, ...]) -> Proof:
    """Said, but no reason to hold back release: what in jaws and stop refuses a shape is not modelled."""
    return prove(
        id=f"clampings:{clamping.id}:wrong load", stage="clampings", subject=f"clamping {clamping.number}",
        claim="a piece turned round cannot be loaded and cut", sense="at most", found_low=0.0,
        found_high=float(len(ways)), limit=0.0, unit="ways", blocks_release=False,
        basis=Basis(
            formula="half turns about x, y and z that the jaws, the stop and a finished seat take as well, less those "
            "that bring every face that reaches up to the cut onto one alike and as far made; "
            + (f"it fits {' and '.join(ways)}" if ways else "none is left"),
            source="own-algorithm",
        ),
        decides="a pin, mark or stop that a turned part cannot pass",
    )  # fmt: skip


class _Faces:
    """Middle, size and normal of every face of the target in the clamping's frame, from the middle of its box."""

    def __init__(self, clamping: Clamping, holds: tuple[Hold, ...], target: Target) -> None:
        frame: Frame = clamping.frame
        points = frame.into(target.vertices_mm)
        self.low, self.high = points.min(axis=0), points.max(axis=0)
        corners = (points - (self.low + self.high) / 2.0)[target.triangles]
        across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]) / 2.0
        areas = np.linalg.norm(across, axis=1)
        count = len(target.face_ids)
        self.area = np.bincount(target.triangle_face, weights=areas, minlength=count)
        self.middle, self.normal = np.zeros((count, 3)), np.zeros((count, 3))
        for k in range(3):
            weighted = areas * corners[:, :, k].mean(axis=1)
            sums = np.bincount(target.triangle_face, weights=weighted, minlength=count)
            self.middle[:, k] = sums / np.maximum(self.area, 1e-12)
            sums = np.bincount(target.triangle_face, weights=across[:, k], minlength=count)
            self.normal[:, k] = sums / np.maximum(self.area, 1e-12)
        heights = points[target.triangles][:, :, 2] - self.low[2]
        self.bottom, self.top = np.full(count, np.inf), np.full(count, -np.inf)
        np.minimum.at(self.bottom, target.triangle_face, heights.min(axis=1))
        np.maximum.at(self.top, target.triangle_face, heights.max(axis=1))
        self.is_held = np.array([f in clamping.grip_faces for f in target.face_ids], dtype=bool)
        self.is_made_before = np.array(
            [any(f in h.makes_faces for h in holds[:-1]) for f in target.face_ids], dtype=bool
        )
        self.is_cut = np.array([f in holds[-1].makes_faces for f in target.face_ids], dtype=bool)

    def is_the_same(self, signs: tuple[float, float, float]) -> bool:
        """Whether the half turn brings every face that reaches up to the lowest cut onto one alike and as far made.

        What lies wholly below the cut is not met: its shape may differ. Upside down everything counts.
        """
        turn = np.array(signs)
        lowest = float(self.bottom[self.is_cut].min(initial=np.inf)) if signs[2] > 0.0 else -np.inf
        for i in np.flatnonzero(self.is_cut | (self.top >= lowest - LEVEL_MM)):
            alike = (
                (np.abs(self.middle - self.middle[i] * turn).max(axis=1) <= SAME_MM)
                & (np.abs(self.normal - self.normal[i] * turn).max(axis=1) <= SAME_SHARE)
                & (np.abs(self.area - self.area[i]) <= SAME_SHARE * self.area[i])
                & (self.is_cut == self.is_cut[i])
                & (self.is_made_before == self.is_made_before[i])
            )
            if not alike.any():
                return False
        return True


def _fits(clamping: Clamping, faces: _Faces, signs: tuple[float, float, float]) -> bool:
    """Whether jaws, stop and seat take the piece so: its box and the gap stay the same under every half turn."""
    if signs[2] > 0.0:
        return True
    high = float(faces.high[2] - faces.low[2])
    top = (
        (faces.normal[:, 2] > SQUARE) & (faces.middle[:, 2] > high / 2.0 - LEVEL_MM) & faces.is_made_before
    )  # fmt: skip
    footprint = clamping.gap_mm * max(clamping.patch_length_mm.nominal, 1.0)
    if float(faces.area[top].sum()) < SEAT_SHARE * footprint:
        return False
    held = np.minimum(high - faces.bottom, clamping.jaw_top_mm) - np.maximum(high - faces.top, 0.0)
    return bool(faces.is_held.any()) and float(held[faces.is_held].min()) >= HELD_MM
