"""Facing: the highest face first, in stages, the last a skim."""

from __future__ import annotations

import math

import numpy as np

from proveout.model.pace import AS_PLANNED
from proveout.model.shop import Cutter
from proveout.stages.passes.areas import area_of
from proveout.stages.passes.pacing import deepest_of
from proveout.stages.passes.task import Task, is_empty

STAGE_MM = 1.5
"""Most metal that a facing stage takes."""
AXIAL_USUAL = 0.5
"""The limit on a rougher's depth, in diameters, at which stages are as deep as they may be."""
SKIM_MM = 0.3
"""The last stage."""
WIDTH_RATIO = 0.7
"""Most of the cutter's diameter between two lines."""
RUN_OUT_MM = 2.0


def face(task: Task, *, cutter: Cutter) -> bool:
    """Takes all metal above the target's highest point off, line by line; False when jaws or holder forbid it."""
    view = task.view
    goal = float(view.high_mm[2])
    top = float(view.work.bounding_box()[5])
    if view.work.is_empty() or top - goal < 1e-3:
        _mark(task, goal)
        return True
    radius = cutter.diameter_mm / 2.0
    share = min(1.0, task.limit("axial_ratio", cutter, AXIAL_USUAL) / AXIAL_USUAL)
    deepest, deepest_by = deepest_of(cutter, STAGE_MM)
    whole = min(STAGE_MM, deepest)
    most, by = whole * share, deepest_by if deepest < STAGE_MM and share >= 1.0 else AS_PLANNED
    track = task.track()
    speeds = task.pacer(cutter).stage(
        radial_mm=WIDTH_RATIO * cutter.diameter_mm, axial_mm=min(most, top - goal),
        axial_ratio=ratio_of(min(most, top - goal), whole_mm=whole), deepest_by=by,
    )  # fmt: skip
    heights = stages_mm(top=top, goal=goal, most=most)
    for z in heights:
        area = view.metal(z)
        if is_empty(area):
            continue
        x_low, y_low, x_high, y_high = (float(v) for v in area.bounds())
        swept = area_of([_box(x_low - 2 * radius, y_low - radius, x_high + 2 * radius, y_high + radius)])
        if not is_empty(view.held_off(z, cutter=cutter, radius_mm=radius) ^ swept):
            return False
        for k, (start, end) in enumerate(_lines(area.bounds(), radius)):
            if k == 0:
                track.enter(x_mm=start[0], y_mm=start[1], z_mm=z, feed_mm_per_s=speeds.air_mm_per_s)
            else:
                track.feed(start[0], start[1], z, speeds.air_mm_per_s)
            track.feed(end[0], end[1], z, speeds.feed_mm_per_s)
        view.cut(area_of([_box(x_low - 1.0, y_low - 1.0, x_high + 1.0, y_high + 1.0)]), above_mm=z)
    marked = _mark(task, goal)
    width = min(WIDTH_RATIO * cutter.diameter_mm, cutter.diameter_mm)
    task.add(
        kind="face",
        cutter=cutter,
        feature=marked[0] if len(marked) == 1 else "top",
        face_ids=marked,
        track=track,
        speeds=speeds,
        radial_mm=width,
        axial_mm=min(most, top - goal),
    )
    return True


def ratio_of(deep_mm: float, *, whole_mm: float) -> float:
    """The limit on a rougher's depth, in diameters, at which a stage is so deep; whole_mm: as deep as it may be."""
    return AXIAL_USUAL * deep_mm / whole_mm


def stages_mm(*, top: float, goal: float, most: float) -> list[float]:
    """Heights of the stages from `top` down to `goal`: equal ones, then the skim, none deeper than `most`."""
    depth = top - goal
    if depth <= min(2.0 * SKIM_MM, most):
        return [goal]
    bulk = depth - min(SKIM_MM, most)
    count = max(1, math.ceil(bulk / most - 1e-9))
    return [top - bulk * (k + 1) / count for k in range(count)] + [goal]


def _mark(task: Task, goal: float) -> tuple[str, ...]:
    floors = [f for f in task.open_facets("floor") if abs(float(f.high_mm[2]) - goal) < 1e-3]
    task.done.update(f.index for f in floors)
    return task.ids(floors)


def _box(x_low: float, y_low: float, x_high: float, y_high: float) -> np.ndarray:
    return np.array([[x_low, y_low], [x_high, y_low], [x_high, y_high], [x_low, y_high]])


def _lines(bounds: tuple[float, ...], radius: float) -> list[tuple[tuple[float, float], tuple[float, float]]]:
    """Lines along the longer side, there and back, starting and ending clear of the metal."""
    low, high = np.array(bounds[:2]), np.array(bounds[2:])
    long = 0 if high[0] - low[0] >= high[1] - low[1] else 1
    wide = 1 - long
    width = float(high[wide] - low[wide])
    count = 1 if width <= 1.5 * radius else math.ceil(width / (WIDTH_RATIO * 2.0 * radius))
    ends = (float(low[long]) - radius - RUN_OUT_MM, float(high[long]) + radius + RUN_OUT_MM)
    lines = []
    for k in range(count):
        across = float(low[wide]) + width * (k + 0.5) / count
        first, second = ends if k % 2 == 0 else ends[::-1]
        pair = [(first, across), (second, across)] if long == 0 else [(across, first), (across, second)]
        lines.append((pair[0], pair[1]))
    return lines
