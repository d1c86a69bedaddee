"""A cutter's outline as pieces of revolution about its axis, tip at z = 0, shank towards +z."""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.quantities.errors import OutOfRange

CutterKind = Literal[
    "face mill", "end mill", "ball", "drill", "spot", "tap", "edge break", "undercut", "counterbore", "reamer",
    "thread mill", "T-slot",
]  # fmt: skip

SQUARE_KINDS: tuple[CutterKind, ...] = ("end mill", "counterbore")
"""They cut with their side, square to their end but for a corner radius."""
HEADED_KINDS: tuple[CutterKind, ...] = ("T-slot", "undercut")
"""They cut with a head that is wider than what it hangs on."""
TRIED_KINDS: tuple[CutterKind, ...] = (*SQUARE_KINDS, "face mill", "ball")
"""A test cut in scrap tells of their chatter."""
CORNER_AGREES_MM = 1e-9


def tooth_rows_count(*, flute_length_mm: float, pitch_mm: float) -> int:
    """Rows of teeth of a thread mill, by its own pitch; one row cuts any pitch up to that, several only their own."""
    return max(1, int(flute_length_mm / pitch_mm + 1e-9)) if pitch_mm > 0.0 else 1


class Piece(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A convex piece of revolution.

    frustum: radius goes linearly from r_low_mm at z_low_mm to r_high_mm at z_high_mm (a cylinder when equal).
    ball: a full sphere of radius r_low_mm about z = (z_low_mm + z_high_mm) / 2, with z_high - z_low = 2 r.
    round corner: a disc of radius r_low_mm at z = (z_low_mm + z_high_mm) / 2, thickened by a ball of the corner's
    radius r: the hull of a torus, with z_high - z_low = 2 r and r_high = r_low + r.
    """

    kind: Literal["frustum", "ball", "round corner"]
    z_low_mm: float
    z_high_mm: float
    r_low_mm: float
    r_high_mm: float

    def __post_init__(self) -> None:
        if self.z_high_mm <= self.z_low_mm or self.r_low_mm < 0.0 or self.r_high_mm < 0.0:
            raise OutOfRange(
                "A cutter piece needs z_low < z_high and radii of at least 0",
                value=f"z {self.z_low_mm}..{self.z_high_mm} mm, r {self.r_low_mm}, {self.r_high_mm} mm",
            )
        if self.kind == "round corner" and abs(self.r_high_mm - self.r_low_mm - self.corner_mm) > CORNER_AGREES_MM:
            raise OutOfRange(
                "A round corner is twice its radius high and reaches its radius beyond its flat",
                value=f"z {self.z_low_mm}..{self.z_high_mm} mm, r {self.r_low_mm}, {self.r_high_mm} mm",
                limit="r_high - r_low = (z_high - z_low) / 2",
            )

    @property
    def corner_mm(self) -> float:
        """Radius in mm of the rounding of a ball or a round corner: half the height."""
        return 0.5 * (self.z_high_mm - self.z_low_mm)
