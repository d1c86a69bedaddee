"""Deep holes are drilled a little at a time, as the control's own cycle does it."""

from __future__ import annotations

from proveout.model.shop import Cutter
from proveout.stages.passes.task import Task
from proveout.stages.passes.track import Track

PECK_BACK_MM = 0.5
"""A peck begins this far above where the last one ended, where the machine's description has no number of its own.

Not the quarter of a millimetre that `programs/reading/control.py` takes of a foreign G83, on purpose: this is our own
move, written out, and 0.5 mm keeps its rapid farther from the metal; there it is what a control may do at its worst.
"""


def peck(
    task: Task, track: Track, *, at_mm: tuple[float, float], start_mm: float, goal_mm: float, cutter: Cutter
) -> None:  # fmt: skip
    """Down to the goal a diameter at a time, each time up to the start, where the tip stands now."""
    style, speeds = task.machine.program, task.speeds(cutter)
    back = PECK_BACK_MM if style is None or style.peck_back_mm is None else style.peck_back_mm
    start, goal, step = (track.whole_mm(v) for v in (start_mm, goal_mm, cutter.diameter_mm))
    z, count = start, 0
    while z > goal:
        count += 1
        z = max(goal, track.whole_mm(start - count * step))
        track.feed(*at_mm, z, speeds.feed_mm_per_s)
        track.rapid_z(start)
        if z > goal:
            track.rapid_z(min(start, z + back))
