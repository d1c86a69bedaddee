"""A cutter's outline as pieces of revolution about its axis, tip at z = 0, shank towards +z."""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.quantities.errors import OutOfRange

CutterKind = Literal[
    "face mill", "end mill", "ball", "drill", "spot", "tap", "edge break", "undercut", "counterbore", "reamer"
]


class Piece(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A convex piece of revolution.

    frustum: radius goes linearly from r_low_mm at z_low_mm to r_high_mm at z_high_mm (a cylinder when equal).
    ball: a full sphere of radius r_low_mm about z = (z_low_mm + z_high_mm) / 2, with z_high - z_low = 2 r.
    """

    kind: Literal["frustum", "ball"]
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
