"""Where a program's coordinates lie in the work: by zero, length offset, rotary positions and cutter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.arcs import chords_mm
from proveout.geometry.turning import turn_of
from proveout.model.checking import CutterTable, Standing
from proveout.model.course import Modes, Motion

Floats = NDArray[np.float64]
SAME_MM = 1e-7
"""Zeros nearer than this are one: then coordinates are taken as they are written, to the last bit."""
CHORD_MM = 0.0005


@dataclass(frozen=True)
class Placed:
    """The work as it stands under the spindle.  turn: (3, 3) from part directions to machine directions.

    shift_mm: (3,) to add to a program's coordinates to count the tip from the work's zero, in machine directions.
    why: what is not known, empty when all is.
    """

    turn: Floats
    shift_mm: Floats
    why: str = ""

    def in_part(self, points_mm: Floats, standing: Standing) -> Floats:
        """Points (n, 3) of the program's coordinates in the part frame; the rows of `turn` are the tilt's axes."""
        moved = points_mm if not self.shift_mm.any() else points_mm + self.shift_mm
        return moved @ self.turn + np.array(standing.frame.origin_mm)

    @property
    def axis(self) -> Floats:
        """The cutter's axis, tip to shank, in the part frame."""
        return np.array(self.turn[2])


def place(modes: Modes, standing: Standing, table: CutterTable) -> Placed:
    """Where program coordinates lie under these modes.

    Formula:  with zero O, length offset L_h and the cutter's length L the tip lies at p + O + (L_h - L) z in the
              machine; the work's zero w has turned to c + R (w - c) about the rotary centre c. Where the machine
              coordinates are not known, a tilted plane whose zero lies s from the work offset's puts it at p + R s.
    Returns:  the shift from p to the tip as counted from the work's zero. `why` says what it lacks.
    Valid:    A about X and C about the table's Z; anything of B is not followed.
    """
    a, b, c = modes.turned_rad
    lacks: list[str] = []
    if a is None or c is None or b is None or b != 0.0:
        lacks.append("the rotary positions are not known")
        a, c = 0.0, 0.0
    about = turn_of(a_rad=a, c_rad=c)
    shift = np.zeros(3)
    is_turned = a != 0.0 or c != 0.0
    origin, zero, centre = modes.origin_mm, standing.zero_mm, standing.centre_mm
    if None in origin or None in zero:
        of_plane = modes.plane_shift_mm
        if of_plane is not None and None not in of_plane and modes.system == standing.system:
            # the control carries the plane along with the work: where both stand in the machine does not matter
            shift = about @ np.array([float(v or 0.0) for v in of_plane])
        elif modes.system != standing.system:
            lacks.append(f"where the zero of work offset {modes.system} lies is not known")
        elif is_turned:
            lacks.append("where the work and the rotary centre lie in the machine is not known")
        elif None not in origin:
            lacks.append("the program sets its zero, and where the work lies in the machine is not known")
        elif None in modes.shift_mm:
            lacks.append("how far program zero was shifted is not known")
        else:  # the work offset is set at the work's zero, wherever that is
            shift = np.array([float(v or 0.0) for v in modes.shift_mm])
    else:
        here = np.array([float(v or 0.0) for v in zero])
        if is_turned:
            if centre is None:
                lacks.append("where the rotary axes meet is not known")
            else:
                here = about @ (here - np.array(centre)) + np.array(centre)
        shift = np.array([float(v or 0.0) for v in origin]) - here
    cutter_mm = table.gauge_mm.get(modes.cutter) if modes.cutter is not None else None
    if modes.length_mm is None or cutter_mm is None:
        if modes.cutter is None or modes.cutter not in table.cutters:
            lacks.append("which cutter is in the spindle is not known")
        elif modes.length_mm is None:
            lacks.append(f"the length behind H{modes.length_number} is not known")
        else:
            lacks.append("the cutter's length is not known")
    else:
        shift[2] += modes.length_mm - cutter_mm
    shift[np.abs(shift) < SAME_MM] = 0.0
    return Placed(turn=about @ standing.frame.turn, shift_mm=shift, why="; ".join(lacks))


def polyline(motion: Motion) -> Floats:
    """The points of a motion whose ends are known, (n, 3) mm in its own coordinates; arcs by chords within CHORD_MM."""
    start = (float(motion.start[0] or 0.0), float(motion.start[1] or 0.0), float(motion.start[2] or 0.0))
    end = (float(motion.end[0] or 0.0), float(motion.end[1] or 0.0), float(motion.end[2] or 0.0))
    if motion.arc is None:
        return np.array([start, end])
    return chords_mm(motion.arc, start, end, within_mm=CHORD_MM)


def lines_of(points: Sequence[Floats]) -> tuple[Floats, Floats, NDArray[np.int64]]:
    """Starts (n, 3), ends (n, 3) and the number of the polyline each belongs to."""
    starts = np.concatenate([one[:-1] for one in points])
    ends = np.concatenate([one[1:] for one in points])
    owner = np.repeat(np.arange(len(points)), [len(one) - 1 for one in points])
    return starts, ends, owner
