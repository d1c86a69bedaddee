"""The torque about a rotary axis that the moves of a clamping are sure to make: the low end of what the brake holds."""

from __future__ import annotations

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.turning import turn_of
from proveout.grip.axis_torque import edge_torques_n_mm, thrust_torques_n_mm
from proveout.model.move_loads import MoveLoads
from proveout.model.shop import Noun
from proveout.model.sure_push import SureEdges
from proveout.stages.holding.gripping import Grip
from proveout.stages.holding.proofs import Kinds

Floats = NDArray[np.float64]
LOOKED_AT = 24
"""Moves of each pass whose sure torque is looked at."""


class Sure(Noun, frozen=True, kw_only=True):
    """The most torque that any move is sure to make about a rotary axis; move 0 where none is sure of any."""

    torque_n_mm: float = 0.0
    axis: str = ""
    pass_id: str = ""
    row: int = 0


def sure_torque(grip: Grip, moves: list[MoveLoads], kinds: Kinds) -> Sure:
    """About the A and the C axis, which meet in the pivot; nothing where nobody measured where the vise stands.

    Only the hardest moves of each pass are looked at: any of them is enough.
    """
    aside, above = grip.vise.from_c_axis_mm, grip.vise.above_a_axis_mm
    best = Sure()
    if aside is None or above is None:
        return best
    clamping = grip.clamping
    tilts = {t.id: t for t in clamping.tilts}
    # along the jaws the work may lie off their middle as well: the patch may be anywhere where both meet
    reach = np.array([aside.high + grip.off_middle_mm, aside.high, 0.0])
    # the pivot, seen from the clamping's zero: anywhere about the fixed jaw's middle, and below the seat
    pivot_low = np.array([clamping.jaw_middle_mm, 0.0, -above.high]) - reach
    pivot_high = np.array([clamping.jaw_middle_mm, 0.0, -above.low]) + reach
    for one in moves:
        sure, tilt = one.sure, tilts.get(kinds[one.pass_id][0].tilt_id)
        if sure is None or tilt is None:
            continue
        is_edges = isinstance(sure, SureEdges)
        at_low, at_high = (sure.axis_low_mm, sure.axis_high_mm) if is_edges else (one.at_low_mm, one.at_high_mm)
        boxes = {"arms_low_mm": at_low - pivot_high, "arms_high_mm": at_high - pivot_low}
        for axis, about in (("A", turn_of(a_rad=tilt.a_rad, c_rad=tilt.c_rad)[0]), ("C", np.array([0.0, 0.0, 1.0]))):
            given = {"rotary_axis": about, "cutter_axis": one.axis}
            if is_edges:
                chosen = _heaviest(sure, about, boxes)
                found = np.zeros(len(one.rows))
                few = {name: box[chosen] for name, box in boxes.items()}
                found[chosen] = edge_torques_n_mm(_rows_of(sure, chosen), **given, **few)
            else:
                found = thrust_torques_n_mm(sure, **given, **boxes)
            at = int(np.argmax(found)) if len(found) else 0
            if len(found) and found[at] > best.torque_n_mm:
                best = Sure(torque_n_mm=float(found[at]), axis=axis, pass_id=one.pass_id, row=int(one.rows[at]))
    return best


def _heaviest(sure: SureEdges, about: Floats, boxes: dict[str, Floats]) -> NDArray[np.int64]:
    """Rows of the moves of a pass with most section times arm, in order."""
    middle = (boxes["arms_low_mm"] + boxes["arms_high_mm"]) / 2.0
    weight = sure.section_low_mm2 * np.linalg.norm(np.cross(middle, about), axis=1)
    return np.sort(np.argsort(-weight, kind="stable")[:LOOKED_AT])


def _rows_of(sure: SureEdges, rows: NDArray[np.int64]) -> SureEdges:
    names = ("section_low_mm2", "section_high_mm2", "deep_mm", "turn_feed_mm", "way", "axis_low_mm", "axis_high_mm")
    return msgspec.structs.replace(sure, **{name: getattr(sure, name)[rows] for name in names})
