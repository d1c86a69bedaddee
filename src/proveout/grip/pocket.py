"""Which poses go into a pocket that is cut in the jaws."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import triple
from proveout.grip.kernels.pocket import first_blocked, held_points, is_clear
from proveout.grip.seating import CONTACT_MM, Body
from proveout.model.jaw_form import JawForm
from proveout.model.loading import Pose

Floats = NDArray[np.float64]
FIT_MM = 0.2
"""Common practice, no source: work that is wider than its pocket by this can still be forced in."""
STEP_MM = 0.25
CELL_MM, ALIKE_MM = 0.1, 0.3


def in_pocket(poses: Sequence[Pose], body: Body, form: JawForm, *, home_mm: Floats) -> tuple[Pose, ...]:
    """Those of the poses that go down to the step of the pocket, at the places along and across it where they do.

    poses: as between plain jaws.   home_mm: what is taken off their shifts to come into the clamping's frame, in which
    the pocket lies.
    Returns:  a pose for each end of the pocket that the body can be pushed to, less those that go in nowhere.
    Valid:    the moving jaw may stand farther off or closer than planned, as the body needs. A pocket is looked at by
              the outline of its floor; its reliefs are left out, so that it refuses too little, never too much.
    """
    if not form.outline_mm:
        return tuple(poses)
    rings = np.vstack([np.array(ring) for ring in form.outline_mm])
    fixed, moving = (_Wall(one) for one in _walls(form))
    found: list[Pose] = []
    points = np.ascontiguousarray(body.points_mm)
    for pose in poses:
        turn, shift = np.array(pose.turn), np.array(pose.shift_mm) - home_mm
        held = held_points(points, turn, shift, form.depth_mm + CONTACT_MM, CELL_MM)
        for x in (float(rings[:, 0].min() - held[:, 0].min()), float(rings[:, 0].max() - held[:, 0].max())):
            aside = _fits(held, x, fixed, moving, form)
            if aside is None:
                continue
            moved = msgspec.structs.replace(pose, shift_mm=triple(shift + np.array([x, aside, 0.0]) + home_mm))
            if not any(
                moved.turn == p.turn
                and max(abs(a - b) for a, b in zip(moved.shift_mm, p.shift_mm, strict=True)) < ALIKE_MM
                for p in found
            ):
                found.append(moved)
    return tuple(found)


def _fits(held: Floats, x: float, fixed: _Wall, moving: _Wall, form: JawForm) -> float | None:
    """How far across the body lies from the fixed jaw's wall when it is in, None when it does not go in."""
    # on the step of either jaw it must stand by half the bite, or it is not in
    steps = np.arange(0.0, form.bite_mm / 2.0 + 1e-9, STEP_MM)
    step = next((float(step) for step in steps if fixed.takes(held, x, -float(step))), None)
    if step is None:
        return None
    # the other jaw closes until it meets the body: from as far off as leaves its face clear of everything
    clear = form.bite_mm - form.gap_mm - (float(held[:, 1].min()) - step)
    gaps = np.arange(clear + STEP_MM, clear - 2.0 * form.bite_mm - STEP_MM, -STEP_MM)
    closed = moving.closes(held, x, float(gaps[0]) - step, len(gaps))
    return -step if closed and float(gaps[closed - 1]) <= clear - form.bite_mm / 2.0 else None


class _Wall:
    """A jaw's metal on a fine grid: how deep a place lies in it."""

    def __init__(self, wall: Any) -> None:
        import shapely
        from scipy.ndimage import distance_transform_edt

        x_low, y_low, x_high, y_high = wall.bounds
        self._low = np.array([x_low, y_low]) - CELL_MM
        counts = np.ceil((np.array([x_high, y_high]) - self._low) / CELL_MM).astype(int) + 1
        axes = [self._low[k] + CELL_MM * (np.arange(counts[k]) + 0.5) for k in range(2)]
        x, y = np.meshgrid(*axes, indexing="ij")
        self._deep = np.asarray(distance_transform_edt(shapely.contains_xy(wall, x, y))) * CELL_MM

        wall_rows = np.where(self._deep > FIT_MM, np.arange(self._deep.shape[1]), -1)
        self._tops = wall_rows.max(axis=1).astype(np.int64)

    def closes(self, points: Floats, x: float, y: float, count: int) -> int:
        """At how many of `count` steps from y down points (n, 2), moved by x, may be forced past it one after another.

        They come from where they are clear of it, each STEP_MM lower than the one before.
        """
        return first_blocked(self._deep, self._tops, self._low, CELL_MM, points, x, y, STEP_MM, count, FIT_MM)

    def takes(self, points: Floats, x: float, y: float) -> bool:
        """Whether points (n, 2), moved by x and y, may be forced past it; good to a cell."""
        return bool(is_clear(self._deep, self._low, CELL_MM, points, x, y, FIT_MM))


def _walls(form: JawForm) -> tuple[Any, Any]:
    """The metal of both jaws between step and jaw tops, seen from above."""
    import shapely

    hole = shapely.union_all([shapely.Polygon(ring).buffer(0.0) for ring in form.outline_mm])
    bite, thick, gap = form.bite_mm, form.thickness_mm, form.gap_mm
    boxes = (
        shapely.box(form.low_mm, -bite, form.high_mm, thick - bite),
        shapely.box(form.low_mm, bite - gap - thick, form.high_mm, bite - gap),
    )
    walls = [box.difference(hole) for box in boxes]
    for wall in walls:
        shapely.prepare(wall)
    return walls[0], walls[1]
