"""What the edges of moves push with over a turn of the cutter, in the cutter's own directions: peaks and means."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Noun
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]


class TurnPush(msgspec.Struct, frozen=True, kw_only=True):
    """The moves of one pass that meet metal, k of them; N at most, (k,) each: round the axis, off the wall, along it.

    rows: (k,) index into Moves.points of the point at which each ends.  tangential_n, radial_n, axial_n: at the hardest
    moment of a turn.  mean_...: of a whole turn.  by_law_n: (k, n) the first of them by each law of the edge that was
    asked, by specific pressure first; n is 0 of a drill or a tap.
    """

    pass_id: str
    rows: NDArray[np.int64]
    tangential_n: Floats
    radial_n: Floats
    axial_n: Floats
    mean_tangential_n: Floats
    mean_radial_n: Floats
    mean_axial_n: Floats
    by_law_n: Floats

    def __post_init__(self) -> None:
        for name in self.__struct_fields__[1:]:
            array = getattr(self, name)
            if len(array) != len(self.rows):
                raise OutOfRange("The arrays of moves must be of one length", where=name, value=str(array.shape))
            array.setflags(write=False)


class SteadyCut(Noun, frozen=True, kw_only=True):
    """The stretch of a pass at which its spindle's meter stands highest and still.

    tooth_feed_mm: as programmed.   radial_mm, axial_mm: width and depth of the metal that the replay saw go.   seconds:
    that it lasts, at the programmed feed.   section_error_ratio: share by which raw faces leave width times depth open,
    to either side.
    """

    tooth_feed_mm: float
    radial_mm: float
    axial_mm: float
    seconds: float
    section_error_ratio: float = 0.0


class PassPush(Noun, frozen=True, kw_only=True):
    """One pass at the hardest of its moves, each number at its own; at most, at the worst end of every interval.

    row: the move that pushes hardest across the axis, 0 where the pass was bound as a whole.  moves_count: that meet
    metal.  tangential_n, radial_n, axial_n: round the axis, off the wall and along it, at the hardest moment of a turn;
    mean_...: of a whole turn.  across_n: of the first two together, in any direction.  by_pressure_n, by_edges_n: the
    tangential force by specific pressure, and by cutting and edge coefficients; None of a drill or a tap, and where
    those of the metal are not known.  power_mw: at the edge.  bent_mm: of the cutter at its tip, None where unknown.
    steady: where its spindle's meter can be read, None where nowhere.
    """

    pass_id: str
    row: int
    moves_count: int
    tangential_n: float
    radial_n: float
    across_n: float
    axial_n: float
    mean_tangential_n: float
    mean_radial_n: float
    mean_axial_n: float
    by_pressure_n: float | None
    by_edges_n: float | None
    torque_n_mm: float
    mean_torque_n_mm: float
    power_mw: float
    mean_power_mw: float
    tooth_feed_mm: float
    bent_mm: float | None
    steady: SteadyCut | None = None
