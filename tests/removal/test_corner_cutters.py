"""Cutters of the shop as pieces: a mill's corner radius is its true torus, and numbers that disagree are refused."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest
from shapes import cutter

from proveout.model.cutter import Piece
from proveout.model.cutter_pieces import cutting_pieces
from proveout.quantities.errors import OutOfRange
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut

UP = np.array([0.0, 0.0, 1.0])


@pytest.mark.parametrize("kind", ["end mill", "face mill"])
def test_a_mill_with_a_corner_radius_is_its_true_torus(kind: str) -> None:
    """Worked: Ø10 with 1 mm: a flat of radius 4 thickened by 1, the side from 1 mm up."""
    tip, side = cutting_pieces(cutter("mill", kind, 10.0, 20.0, 30.0, corner_radius_mm=1.0))
    assert tip == Piece(kind="round corner", z_low_mm=0.0, z_high_mm=2.0, r_low_mm=4.0, r_high_mm=5.0)
    assert side == Piece(kind="frustum", z_low_mm=1.0, z_high_mm=20.0, r_low_mm=5.0, r_high_mm=5.0)
    assert tip.corner_mm == 1.0


@pytest.mark.parametrize(
    ("kind", "corner", "flute", "kinds"),
    [
        ("end mill", 0.0, 20.0, ["frustum"]),
        ("end mill", 5.0, 20.0, ["round corner", "frustum"]),
        ("end mill", 2.0, 1.5, ["round corner"]),
        ("ball", 5.0, 20.0, ["ball", "frustum"]),
        ("reamer", 1.0, 20.0, ["frustum"]),
    ],
)
def test_other_cutters_stay_what_they_are(kind: str, corner: float, flute: float, kinds: list[str]) -> None:
    pieces = cutting_pieces(cutter("one", kind, 10.0, flute, 30.0, corner_radius_mm=corner))
    assert [piece.kind for piece in pieces] == kinds


def test_a_mill_whose_corner_is_half_its_diameter_cuts_as_a_ball() -> None:
    """The same chips by two forms: a ring of radius 0 and a ball, level and falling."""
    path = np.array([[5.0, 10.0, 7.0], [30.0, 12.0, 7.0], [12.0, 8.0, 4.0]])
    removed = []
    for kind in ("end mill", "ball"):
        work = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([40.0, 20.0, 10.0]), pitch_mm=0.4)
        pieces = cutting_pieces(cutter("one", kind, 8.0, 20.0, 30.0, corner_radius_mm=4.0))
        removed.append(cut(work, pieces=pieces, axis=UP, starts_mm=path[:-1], ends_mm=path[1:]))
    np.testing.assert_allclose(removed[0], removed[1], rtol=1e-9)


@pytest.mark.parametrize("more", [{"r_high_mm": 5.5}, {"z_high_mm": 2.5}, {"r_low_mm": 3.0}])
def test_a_round_corner_whose_numbers_disagree_is_refused(more: dict[str, Any]) -> None:
    right = {"kind": "round corner", "z_low_mm": 0.0, "z_high_mm": 2.0, "r_low_mm": 4.0, "r_high_mm": 5.0}
    with pytest.raises(OutOfRange, match="round corner"):
        Piece(**{**right, **more})
    assert math.isclose(Piece(**right).corner_mm, 1.0)  # type: ignore[arg-type]
