"""A cutter narrower by the limit of a gouge: every point of it lies at least so far within the true one."""

from __future__ import annotations

import math

import pytest

from proveout.model.cutter import Piece
from proveout.stages.removal_check.course import GOUGE_LIMIT_MM, narrower

BALL = Piece(kind="ball", z_low_mm=0.0, z_high_mm=6.0, r_low_mm=3.0, r_high_mm=3.0)
CORNER = Piece(kind="round corner", z_low_mm=0.0, z_high_mm=2.0, r_low_mm=4.0, r_high_mm=5.0)
FLAT = Piece(kind="frustum", z_low_mm=0.0, z_high_mm=20.0, r_low_mm=5.0, r_high_mm=5.0)
POINT = Piece(kind="frustum", z_low_mm=0.0, z_high_mm=1.5, r_low_mm=0.0, r_high_mm=2.5)


def radius_at(piece: Piece, z: float) -> float:
    """Radius of a piece at a height; below 0 outside it."""
    if not piece.z_low_mm <= z <= piece.z_high_mm:
        return -1.0
    if piece.kind == "frustum":
        share = (z - piece.z_low_mm) / (piece.z_high_mm - piece.z_low_mm)
        return piece.r_low_mm + share * (piece.r_high_mm - piece.r_low_mm)
    flat = piece.r_low_mm if piece.kind == "round corner" else 0.0
    middle = 0.5 * (piece.z_low_mm + piece.z_high_mm)
    return flat + math.sqrt(max(piece.corner_mm**2 - (z - middle) ** 2, 0.0))


@pytest.mark.parametrize("piece", [BALL, CORNER, FLAT, POINT], ids=["ball", "round corner", "flat", "point"])
def test_the_narrower_cutter_lies_within_the_true_one_by_the_limit(piece: Piece) -> None:
    less = narrower(piece)
    assert less.z_low_mm == pytest.approx(piece.z_low_mm + GOUGE_LIMIT_MM)
    top = piece.z_high_mm - GOUGE_LIMIT_MM if piece.kind != "frustum" else piece.z_high_mm
    for k in range(1, 200):
        z = less.z_low_mm + (top - less.z_low_mm) * k / 200.0
        own, true = radius_at(less, z), radius_at(piece, z)
        assert own <= true - (GOUGE_LIMIT_MM if piece.kind == "frustum" else 0.0) + 1e-9
    if piece.kind != "frustum":
        assert less.corner_mm == pytest.approx(piece.corner_mm - GOUGE_LIMIT_MM)
