"""What the replay measured of the moves of one pass."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


class MoveCuts(msgspec.Struct, frozen=True, kw_only=True):
    """Moves of one pass that meet metal, k of them, as arrays.

    rows: (k,) index into Moves.points of the point at which each ends.
    removed_mm3: (k,) volume taken.   length_mm: (k,) way of the tip.
    section_mm2: (k,) the largest section of any stretch of path that holds a part of the move and goes sideways; 0
    where the whole move is a plunge; by the field of the replay that sees most.  plunge_mm2: likewise of its plunging.
    Both NaN where the replay cannot tell: along a thread, and where the cut is planned slimmer than its rays are apart;
    there every move at feed that comes near metal is one of these.
    deep_mm: (k,) no metal stands higher above the tip, along the axis, anywhere under the cutter while the move is on
    its way: axial engagement is at most that.
    low_mm, high_mm: (k,) lowest and highest place of the tip, in the tilt's frame.
    """

    pass_id: str
    rows: Integers
    removed_mm3: Floats
    length_mm: Floats
    section_mm2: Floats
    plunge_mm2: Floats
    deep_mm: Floats
    low_mm: Floats
    high_mm: Floats

    def __post_init__(self) -> None:
        for name in self.__struct_fields__[1:]:
            array = getattr(self, name)
            if array.shape != self.rows.shape:
                raise OutOfRange("The arrays of moves must be of one length", where=name, value=str(array.shape))
            array.setflags(write=False)
