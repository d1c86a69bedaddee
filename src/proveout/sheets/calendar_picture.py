"""The schedule of an order as a calendar to scale: a row for each station, a column for each working day."""

from __future__ import annotations

import math

import numpy as np

from proveout.model.schedule import OrderSchedule, ScheduledStep
from proveout.quantities.units import S_PER_H
from proveout.sheets.names import capital
from proveout.sheets.schedule_html import AT, Printing
from proveout.sheets.svg import Paper

WIDTH_MM, LEFT_MM, RIGHT_MM, TOP_MM = 300.0, 44.0, 6.0, 16.0
LANE_MM, BAR_MM, GAP_MM = 6.0, 4.4, 2.4
LABEL_MM = 24.0  # of paper that a date takes
LEGEND_MM, PART_MM, WORDS_MM = 9.0, 34.0, 112.0  # a line of the legend, a part in it, and its words
GRID = "#b2b2b2"  # grey without a hue: the picture stands on black and white papers too
FILLS = ("#fff", "#1a1a1a", "hatch", "lining")  # by part, in order; told in the legend
HAIR_S = 1.0


def lanes_of(steps: list[ScheduledStep]) -> list[int]:
    """For each step the lane in which it lies beside those of the same station at the same time, lowest first."""
    ends: list[float] = []
    lanes: list[int] = []
    for step in steps:
        begin = step.begin_s - step.setup_s
        free = next((i for i, end in enumerate(ends) if end <= begin + HAIR_S), len(ends))
        if free == len(ends):
            ends.append(step.end_s)
        else:
            ends[free] = step.end_s
        lanes.append(free)
    return lanes


def calendar_svg(order: Printing, *, shift_h: float, width_mm: float = WIDTH_MM) -> str:
    """The picture; empty without a schedule.   shift_h: hours of a working day, each following at once on the last."""
    schedule = order.load.schedule
    if schedule is None or not schedule.steps or shift_h <= 0.0:
        return ""
    day_s = shift_h * S_PER_H
    days = max(1, math.ceil(max(step.end_s for step in schedule.steps) / day_s - 1e-9))
    unit = (width_mm - LEFT_MM - RIGHT_MM) / (days * day_s)
    rows = _rows(schedule)
    parts = list(dict.fromkeys(part for step in schedule.steps for part in step.parts))
    heights = [(max(lanes) + 1) * LANE_MM for _, lanes in rows.values()]
    legend_mm = LEGEND_MM * (1 if LEFT_MM + PART_MM * len(parts) + WORDS_MM <= width_mm else 2)
    height = TOP_MM + sum(heights) + GAP_MM * len(rows) + legend_mm
    paper = Paper(width_mm=width_mm, height_mm=height)
    _days(paper, order, schedule, days=days, day_s=day_s, unit=unit, foot=height - legend_mm)
    y = TOP_MM
    for (places, lanes), tall in zip(rows.values(), heights, strict=True):
        name = capital(order.words(*AT, "steps", places[0], "station"))
        paper.words(name, LEFT_MM - 2.0, y + 4.0, anchor="end")
        for place, lane in zip(places, lanes, strict=True):
            _bar(paper, schedule.steps[place], parts, y + lane * LANE_MM, unit)
        y += tall + GAP_MM
        paper.strokes([np.array([[LEFT_MM, y - GAP_MM / 2.0], [width_mm - RIGHT_MM, y - GAP_MM / 2.0]])],
                      width_mm=0.1, ink=GRID)  # fmt: skip
    _legend(paper, order, schedule, parts, height - legend_mm)
    alt = (
        "The work of the order on a calendar: each station's lots as bars along the working days; the table below says "
        "the same in words."
    )
    return paper.text(alt=alt, ids="calendar")


def _rows(schedule: OrderSchedule) -> dict[str, tuple[list[int], list[int]]]:
    """By station, in order of first use: places of its steps, and the lane of each."""
    found: dict[str, list[int]] = {}
    for place in sorted(range(len(schedule.steps)), key=lambda i: (schedule.steps[i].begin_s, i)):
        found.setdefault(schedule.steps[place].station, []).append(place)
    return {station: (own, lanes_of([schedule.steps[i] for i in own])) for station, own in found.items()}


def _days(
    paper: Paper, order: Printing, schedule: OrderSchedule, *, days: int, day_s: float, unit: float, foot: float
) -> None:
    """A hair line at each day's beginning, and its date where there is room and a step begins on it."""
    lines = [np.array([[LEFT_MM + i * day_s * unit, TOP_MM - 2.0], [LEFT_MM + i * day_s * unit, foot]])
             for i in range(days + 1)]  # fmt: skip
    paper.strokes(lines, width_mm=0.12, ink=GRID)
    first = {}
    for place, step in enumerate(schedule.steps):
        first.setdefault(int((step.begin_s + HAIR_S) // day_s), place)
    last_mm = -LABEL_MM
    for index in sorted(first):
        x = LEFT_MM + index * day_s * unit
        if x - last_mm < LABEL_MM or x > paper.width_mm - LABEL_MM:
            continue
        last_mm = x
        paper.strokes([np.array([[x, TOP_MM - 6.0], [x, foot]])], width_mm=0.25)
        paper.words(order.ink.words(*AT, "steps", first[index], "day"), x + 0.8, TOP_MM - 4.0, anchor="start")


def _bar(paper: Paper, step: ScheduledStep, parts: list[str], y: float, unit: float) -> None:
    x, end = LEFT_MM + step.begin_s * unit, LEFT_MM + step.end_s * unit
    if step.setup_s > 0.0:
        start = x - step.setup_s * unit
        paper.strokes([np.array([[start, y + BAR_MM / 2.0], [x, y + BAR_MM / 2.0]])], width_mm=0.9)
    end = max(end, x + 0.3)  # seen however short
    box = np.array([[x, y], [end, y], [end, y + BAR_MM], [x, y + BAR_MM]])
    paper.path(box, fill=_fill(parts, step.parts), width_mm=0.25, closed=True)
    if len(step.parts) > 1:
        paper.path(box, fill="none", width_mm=0.8, closed=True)


def _fill(parts: list[str], own: tuple[str, ...]) -> str:
    return FILLS[parts.index(own[0]) % len(FILLS)]


def _legend(paper: Paper, order: Printing, schedule: OrderSchedule, parts: list[str], foot: float) -> None:
    """Which filling is which part; a thick rim: several that ride together, a stroke before a bar: its set-up."""
    x, y = LEFT_MM, foot + LEGEND_MM - 6.0
    for part in parts:
        paper.path(np.array([[x, y], [x + 7.0, y], [x + 7.0, y + BAR_MM], [x, y + BAR_MM]]),
                   fill=_fill(parts, (part,)), width_mm=0.25, closed=True)  # fmt: skip
        at = next((i, step.parts.index(part)) for i, step in enumerate(schedule.steps) if part in step.parts)
        paper.words(order.ink.words(*AT, "steps", at[0], "parts", at[1]), x + 8.5, y + 3.6, anchor="start")
        x += PART_MM
    if x + WORDS_MM > paper.width_mm:
        x, y = LEFT_MM, y + LEGEND_MM
    paper.words("stroke before a bar: set-up; thick rim: parts that ride together", x, y + 3.6, anchor="start")
