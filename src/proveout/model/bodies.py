"""What stands about the work besides the jaws: the vise's bed, the table, and the head that the spindle sits in.

Each is as its owner measured it, taken as a box or an upright cylinder that holds all of it; what nobody described is
None, and is then not looked at.
"""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.model.cutter import Piece


class Bed(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The vise's own body under its jaws, a box.

    length_mm: front to back, of which behind_mm lie behind the fixed jaw's face.  width_mm: along the jaws, evenly to
    both sides of their middle.  below_mm: from the seat down to its top.  height_mm: from its top down to its foot.
    """

    length_mm: float
    width_mm: float
    behind_mm: float
    below_mm: float
    height_mm: float

    @property
    def foot_mm(self) -> float:
        """From the seat down to what the vise stands on."""
        return self.below_mm + self.height_mm


class Table(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the vise stands on; it turns with the work where the machine turns it.

    size_mm: along X and Y; both the diameter when round.  top_z_mm: machine Z of the spindle's nose where it would
    touch its top, at A = C = 0; None: at the vise's foot.  middle_mm: machine X and Y of the nose over its middle; None
    where nobody measured it: on a machine with rotary axes the C axis.
    """

    shape: Literal["round", "rectangular"]
    size_mm: tuple[float, float]
    thickness_mm: float
    top_z_mm: float | None = None
    middle_mm: tuple[float, float] | None = None


class Head(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The spindle's nose above the gauge line, and the head above the nose, as cylinders about the spindle's axis.

    nose_diameter_mm, diameter_mm: the widest of each.  diameter_mm, length_mm: None where only the nose was measured.
    """

    nose_diameter_mm: float
    nose_length_mm: float
    diameter_mm: float | None = None
    length_mm: float | None = None

    def pieces(self, gauge_mm: float) -> tuple[Piece, ...]:
        """Nose and head as pieces counted from the tip of a cutter that ends gauge_mm below the gauge line."""
        end = gauge_mm + self.nose_length_mm
        found = [_cylinder(gauge_mm, end, self.nose_diameter_mm)]
        if self.diameter_mm is not None and self.length_mm is not None:
            found.append(_cylinder(end, end + self.length_mm, self.diameter_mm))
        return tuple(found)


def _cylinder(low_mm: float, high_mm: float, diameter_mm: float) -> Piece:
    radius = diameter_mm / 2.0
    return Piece(kind="frustum", z_low_mm=low_mm, z_high_mm=high_mm, r_low_mm=radius, r_high_mm=radius)
