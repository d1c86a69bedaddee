"""Strip, jaws and blank as boxes that a cutter must keep clear of."""

from __future__ import annotations

import numpy as np

from proveout.geometry.boxes import box_corners
from proveout.model.choice_of_clampings import Grip
from proveout.model.shop import Vise
from proveout.model.target import Target
from proveout.model.work import Vector
from proveout.stages.clampings.covering import Obstacle

STRIP_CLEAR_MM = 1.5
SIDE_SKIM_MM = 1.5
FACE_MM, SEAT_BELOW_MM = 0.02, 0.05
"""So far beside and below the part jaws and seat are taken to begin, or faces on them would seem covered."""


def op1_obstacles(up: Vector, target: Target, grip_mm: float, vise: Vise) -> tuple[Obstacle, ...]:
    """The strip under the part, the two jaws that hold it and the seat between them, as boxes."""
    axis = int(np.argmax(np.abs(up)))
    low, high = target.vertices_mm.min(axis=0), target.vertices_mm.max(axis=0)
    sides = sorted((i for i in range(3) if i != axis), key=lambda i: (-(high[i] - low[i]), i))
    along, across = sides
    bottom = low[axis] if up[axis] > 0.0 else high[axis]
    down = -1.0 if up[axis] > 0.0 else 1.0
    jaw_top = bottom + down * STRIP_CLEAR_MM
    deep = bottom + down * (STRIP_CLEAR_MM + grip_mm)
    boxes: list[Obstacle] = []
    blank_low, blank_high = low - SIDE_SKIM_MM, high + SIDE_SKIM_MM
    boxes.append(_box(axis, (bottom + down * 0.05, deep), along, (blank_low[along], blank_high[along]), across,
                      (blank_low[across], blank_high[across])))  # fmt: skip
    middle = (low[along] + high[along]) / 2.0
    reach = vise.jaw_length_mm / 2.0
    floor_of = jaw_top + down * vise.jaw_height_mm
    spans = (
        (blank_high[across], blank_high[across] + vise.jaw_deep_mm),
        (blank_low[across] - vise.jaw_deep_mm, blank_low[across]),
    )
    held = (middle - reach, middle + reach)
    boxes.extend(_box(axis, (jaw_top, floor_of), along, held, across, span) for span in spans)
    between = (blank_low[across], blank_high[across])
    boxes.append(_box(axis, (deep, deep + down * vise.jaw_height_mm), along, held, across, between))
    return tuple(boxes)


def later_obstacles(up: Vector, grip: Grip, target: Target, vise: Vise) -> tuple[Obstacle, ...]:
    """The two jaws on finished faces and the seat between them, as boxes (their corners along the grip's own axes)."""
    u, n = np.array(up), np.array(grip.across)
    x = np.cross(n, u)
    points = target.vertices_mm
    seat = float((points @ u).min())
    top = seat + grip.low_mm + grip.patch_height_mm
    middle = float((points @ x).min() + (points @ x).max()) / 2.0
    reach = vise.jaw_length_mm / 2.0
    low, high = float((points @ n).min()), float((points @ n).max())
    deep = seat - vise.jaw_height_mm

    def box(across: tuple[float, float], top_mm: float, foot_mm: float) -> Obstacle:
        corners = [
            x * (middle + sx * reach) + n * place + u * height
            for height in (foot_mm, top_mm)
            for place in across
            for sx in (-1.0, 1.0)
        ]
        return Obstacle(np.array(corners))

    return (
        box((high + FACE_MM, high + FACE_MM + vise.jaw_deep_mm), top, deep),
        box((low - FACE_MM, low - FACE_MM - vise.jaw_deep_mm), top, deep),
        box((low, high), seat - SEAT_BELOW_MM, deep - SEAT_BELOW_MM),
    )


def _box(
    a: int, a_span: tuple[float, float], b: int, b_span: tuple[float, float], c: int, c_span: tuple[float, float]
) -> Obstacle:
    low, high = np.zeros(3), np.zeros(3)
    for axis, span in ((a, a_span), (b, b_span), (c, c_span)):
        low[axis], high[axis] = min(span), max(span)
    return Obstacle(box_corners(low, high))
