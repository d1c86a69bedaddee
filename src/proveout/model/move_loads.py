"""Bounds on what every move asks of cutter, spindle and grip."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.sure_push import SureEdges, SureThrust
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]


class MoveLoads(msgspec.Struct, frozen=True, kw_only=True):
    """The moves of one pass that meet metal, k of them, as arrays; places and forces in the clamping's frame.

    rows: (k,) index into Moves.points of the point at which each ends.
    force_low_n, force_high_n: (k, 3) interval of the force of the cutter on the work, over a whole turn, every
    direction it may take and every coefficient.
    couple_n_mm: (k,) size of the couple about the cutter's axis beside that force; 0 where the force acts at the edge.
    axis: (3,) the cutter's axis.
    at_low_mm, at_high_mm: (k, 3) box in which the force acts.
    cut_low_mm, cut_high_mm: (k, 3) box that holds all the metal that is cut; a drill pushes along its axis alone, but
    cuts as far out as it is wide.
    torque_n_mm, power_mw: (k,) upper bounds at the spindle.
    scale_share: least over greatest force by the coefficients' intervals, 0..1.
    least_share: (k,) likewise of each move, by what of its metal is sure to be there as well; None where nobody looked.
    least_torque_n_mm: (k,) what each is sure to ask for at some moment; None likewise.
    deflection_mm: (k,) upper bound of the cutter's bending at its tip, across; NaN where unknown.
    tooth_feed_mm, radial_mm, axial_mm: (k,) the engagement each was taken at.
    sure: what they are sure to push with at some moment; None where nothing is sure.
    """

    pass_id: str
    clamping_id: str
    rows: Integers
    force_low_n: Floats
    force_high_n: Floats
    couple_n_mm: Floats
    axis: Floats
    at_low_mm: Floats
    at_high_mm: Floats
    cut_low_mm: Floats
    cut_high_mm: Floats
    torque_n_mm: Floats
    power_mw: Floats
    scale_share: float
    deflection_mm: Floats
    tooth_feed_mm: Floats
    radial_mm: Floats
    axial_mm: Floats
    sure: SureThrust | SureEdges | None = None
    least_share: Floats | None = None
    least_torque_n_mm: Floats | None = None

    def __post_init__(self) -> None:
        count = len(self.rows)
        for name in self.__struct_fields__:
            array = getattr(self, name)
            if not isinstance(array, np.ndarray):
                continue
            wanted = (3,) if name == "axis" else (count, 3) if array.ndim == 2 else (count,)
            if array.shape != wanted:
                raise OutOfRange("The arrays of moves must be of one length", where=name, value=str(array.shape))
            array.setflags(write=False)
        if not 0.0 <= self.scale_share <= 1.0:
            raise OutOfRange("A share lies between 0 and 1", where="scale_share", value=str(self.scale_share))
        for share in () if self.least_share is None else (self.least_share,):
            if not ((share >= 0.0) & (share <= 1.0)).all():
                raise OutOfRange("A share lies between 0 and 1", where="least_share", value=f"{share.min()}")

    @property
    def shares(self) -> Floats:
        """(k,) least over greatest force of each move."""
        return np.full(len(self.rows), self.scale_share) if self.least_share is None else self.least_share
