"""The metal on its way from bar to boxed part: one picture a station, all in one frame and to one scale."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.model.solid import Drawing
from proveout.sheets.boxes import part_box
from proveout.sheets.loading_picture import BOX_SIDES
from proveout.sheets.picture import LOOK_DOWN_RAD, Line, Style, View, hull, operator_view
from proveout.sheets.stations import Route, Station
from proveout.sheets.svg import Fit, Paper, paint
from proveout.sheets.writer import Writer

Array = NDArray[np.float64]
FRAME_MM = 62.0  # width of each picture on paper
MARGIN_MM = 2.0  # of paper
LEAST_MM = 30.0  # of metal that a frame shows, however small the part
WIDER = 1.7  # a frame is at most so many times as wide as the metal: longer jaws run out of it
STUB = 0.45  # of the blank's length: what is drawn of the bar beyond the cut
GAP = 0.08  # of the blank's length: how far the sawn piece is drawn from its bar
ROOM_MM = 3.0  # between the part and the box drawn round it
ALONE = "part"  # under which the drawing of a part lies that no clamping holds
BREAK = (0.0, 0.35, -0.25, 0.2, 0.0)  # of a broken end, shares of its depth
WORDS = {
    "buying": "The bar as it is bought, broken off at both ends.",
    "saw": "The bar in the saw and the piece sawn from it.",
    "bench": "The part as it leaves the vise, on the bench.",
    "finisher": "The part as it goes out.",
    "inspection": "The part, measured along its three ways.",
    "packing": "The part in its box. The box itself is not to scale: nobody wrote its size.",
}


def alone_view() -> View:
    """From before the part and above, as a person would look at it on a bench; for a part that no clamping holds."""
    down, level = math.sin(LOOK_DOWN_RAD), math.cos(LOOK_DOWN_RAD)
    return View(towards_viewer=(0.0, 0.0 - level, down), up=(0.0, down, level))


class _Scale:
    """Takes the picture's millimetres to paper, the middle of its foot to that of the frame."""

    def __init__(self, *, scale: float, foot_mm: tuple[float, float], height_mm: float) -> None:
        self.scale, self.foot, self.height = scale, np.array(foot_mm), height_mm

    def to_paper(self, points: Array) -> Array:
        moved = (np.asarray(points, dtype=np.float64).reshape(-1, 2) - self.foot) * self.scale
        return np.column_stack([moved[:, 0] + FRAME_MM / 2.0, self.height - MARGIN_MM - moved[:, 1]])


def route_svgs(writer: Writer, route: Route) -> dict[str, str]:
    """By id of station its picture; every one of one size and one scale, so that they can be laid side by side."""
    scenes = {station.id: _lines(writer, station) for station in route.stations}
    spans = {id: _span(lines) for id, lines in scenes.items()}
    metal = {
        id: _span(own) for id, lines in scenes.items() if (own := [one for one in lines if "jaw" not in one.style])
    }  # fmt: skip
    widest = max(float(high[0] - low[0]) for low, high in metal.values())
    wide = max(LEAST_MM, min(widest * WIDER, max(float(high[0] - low[0]) for low, high in spans.values())))
    tall = max(float(high[1] - low[1]) for low, high in spans.values())
    scale = (FRAME_MM - 2.0 * MARGIN_MM) / wide
    height = tall * scale + 2.0 * MARGIN_MM
    made: dict[str, str] = {}
    for place, station in enumerate(route.stations):
        low, high = spans[station.id]
        middle = metal.get(station.id, (low, high))
        foot = (float(middle[0][0] + middle[1][0]) / 2.0, float(low[1]))
        paper = Paper(width_mm=FRAME_MM, height_mm=height)
        paint(paper, tuple(scenes[station.id]), _Scale(scale=scale, foot_mm=foot, height_mm=height))
        made[station.id] = paper.text(alt=picture_words(writer, station), ids=f"route{place}")
    return made


def station_svg(writer: Writer, station: Station, *, width_mm: float, height_mm: float, ids: str) -> str:
    """A station's picture by itself, as large as it goes."""
    lines = tuple(_lines(writer, station))
    points = np.vstack([line.points_mm for line in lines])
    fit = Fit(points, width_mm=width_mm, height_mm=height_mm, margin_mm=MARGIN_MM, largest=4.0)
    paper = Paper(width_mm=width_mm, height_mm=fit.height_mm)
    paint(paper, lines, fit)
    return paper.text(alt=picture_words(writer, station), ids=ids)


def picture_words(writer: Writer, station: Station) -> str:
    """What a station's picture shows, in a sentence."""
    if station.kind != "clamping":
        return WORDS[station.kind]
    operator, _ = writer.pictures(station.place)
    return operator.caption


def _span(lines: list[Line]) -> tuple[Array, Array]:
    points = np.vstack([line.points_mm for line in lines])
    return points.min(axis=0), points.max(axis=0)


def _view(writer: Writer) -> View:
    return operator_view(writer.plan.clampings[0]) if writer.plan.clampings else alone_view()


def _lines(writer: Writer, station: Station) -> list[Line]:
    """The flat lines of one station, in painting order."""
    if station.kind == "clamping":
        operator, _ = writer.pictures(station.place)
        return list(operator.lines)
    if station.kind == "buying":
        return _bar(writer, whole=True)
    if station.kind == "saw":
        return _bar(writer, whole=False)
    view, drawn = _view(writer), _part(writer)
    if station.kind == "inspection":
        return [*drawn, *_sizes(writer, view)]
    if station.kind == "packing":
        low, high = (np.array(corner) for corner in part_box(writer.plan))
        around = _box(view, low - ROOM_MM, high + ROOM_MM, "hidden")
        return [*around, *drawn]
    return drawn


def part_lines(writer: Writer) -> tuple[Array, ...] | None:
    """The visible lines of the part in the route's view, None where nobody drew them."""
    if writer.plan.clampings:
        found: Drawing | None = None
        drawn = writer.drawings.get(writer.plan.clampings[0].id)
        found = None if drawn is None else drawn.operator
        return None if found is None or not found.visible_mm else found.visible_mm
    drawn = writer.drawings.get(ALONE)
    return None if drawn is None or drawn.operator is None else drawn.operator.visible_mm or None


def _part(writer: Writer) -> list[Line]:
    lines = part_lines(writer)
    if lines is None:
        low, high = (np.array(corner) for corner in part_box(writer.plan))
        return _box(_view(writer), low, high, "work")
    return [
        Line(style="mask", points_mm=hull(np.vstack(lines)), is_closed=True),
        *(Line(style="work", points_mm=line) for line in lines),
    ]


def _box(view: View, low: Array, high: Array, style: Style) -> list[Line]:
    """The sides of a box in the part frame that look at the eye."""
    corners = box_corners(tuple(low), tuple(high))
    towards, middle = np.array(view.towards_viewer), corners.mean(axis=0)
    return [
        Line(style=style, points_mm=view.flat(corners[list(side)]), is_closed=True)
        for side in BOX_SIDES
        if float((corners[list(side)].mean(axis=0) - middle) @ towards) > 1e-9
    ]


def _bar(writer: Writer, *, whole: bool) -> list[Line]:
    """The bar along the blank's length: whole, broken at both ends, or with the sawn piece parted from it."""
    chosen, view = writer.plan.blank.chosen, _view(writer)
    axis = chosen.length_axis
    low, high = np.array(chosen.low_mm), np.array(chosen.high_mm)
    length = float(high[axis] - low[axis])
    run = np.zeros(3)
    run[axis] = 1.0
    if float((view.flat(np.array([run])) - view.flat(np.zeros((1, 3))))[0][0]) < 0.0:
        run = -run  # the sawn piece falls to the right, and the bar comes from the left
    forward = bool(run[axis] > 0.0)
    start, end = (low, high) if forward else (high, low)
    if whole:
        return _broken(view, low, high, axis, ends=(True, True))
    stub = length * STUB
    bar_low, bar_high = low.copy(), high.copy()
    cut = float(start[axis])  # the bar ends where the piece begins
    far = cut - stub if forward else cut + stub
    bar_low[axis], bar_high[axis] = min(cut, far), max(cut, far)
    shift = run * max(length * GAP, 2.0)
    lines = _broken(view, bar_low, bar_high, axis, ends=(forward, not forward))
    piece = _box(view, low + shift, high + shift, "blank")
    is_nearer = float((np.array(end) - np.array(start)) @ np.array(view.towards_viewer)) > 0.0
    return [*lines, *piece] if is_nearer else [*piece, *lines]


def _broken(view: View, low: Array, high: Array, axis: int, *, ends: tuple[bool, bool]) -> list[Line]:
    """A box whose ends, lower and higher along the axis, are broken off where told."""
    lines = []
    corners = box_corners(tuple(low), tuple(high))
    towards, middle = np.array(view.towards_viewer), corners.mean(axis=0)
    deep = 0.12 * float(high[axis] - low[axis])
    for side in BOX_SIDES:
        points = corners[list(side)]
        if float((points.mean(axis=0) - middle) @ towards) <= 1e-9:
            continue
        if np.ptp(points[:, axis]) < 1e-9:  # an end: broken ones are seen as the ragged rim of the sides alone
            is_low = abs(float(points[0, axis]) - float(low[axis])) < 1e-9
            if ends[0 if is_low else 1]:
                continue
        lines.append(Line(style="blank", points_mm=view.flat(_ragged(points, low, high, axis, ends, deep)),
                          is_closed=True))  # fmt: skip
    return lines


def _ragged(points: Array, low: Array, high: Array, axis: int, ends: tuple[bool, bool], deep: float) -> Array:
    """The outline of a side with its edge at each broken end drawn as a zigzag."""
    made: list[Array] = []
    for one, other in zip(points, np.roll(points, -1, axis=0), strict=True):
        made.append(one)
        at_low = abs(float(one[axis] - low[axis])) < 1e-9 and abs(float(other[axis] - low[axis])) < 1e-9
        at_high = abs(float(one[axis] - high[axis])) < 1e-9 and abs(float(other[axis] - high[axis])) < 1e-9
        if not ((at_low and ends[0]) or (at_high and ends[1])):
            continue
        for k, share in enumerate(BREAK[1:-1], start=1):
            point = one + (other - one) * k / (len(BREAK) - 1)
            point[axis] += share * deep
            made.append(point)
    return np.array(made)


def _sizes(writer: Writer, view: View) -> list[Line]:
    """Size lines along three edges of the part's box that meet the paper's rim: how it is measured, without figures."""
    low, high = (np.array(corner) for corner in part_box(writer.plan))
    flat = view.flat(box_corners(tuple(low), tuple(high)))
    middle = flat.mean(axis=0)
    lines: list[Line] = []
    for axis in range(3):
        best: tuple[float, Array] | None = None
        for corner in range(8):
            other = corner ^ (1 << axis)
            if other < corner:
                continue
            edge = flat[[corner, other]]
            off = float(np.linalg.norm(edge.mean(axis=0) - middle))
            if float(np.linalg.norm(edge[1] - edge[0])) > 1e-6 and (best is None or off > best[0] + 1e-9):
                best = (off, edge)
        if best is None:
            continue
        edge = best[1]
        along = (edge[1] - edge[0]) / float(np.linalg.norm(edge[1] - edge[0]))
        side = np.array([-along[1], along[0]])
        side = side if float(side @ (edge.mean(axis=0) - middle)) > 0.0 else -side
        moved = edge + side * ROOM_MM
        tick = (side + along) * 0.35 * ROOM_MM
        lines += [Line(style="size", points_mm=moved)]
        lines += [Line(style="size", points_mm=np.array([end - tick, end + tick])) for end in moved]
        lines += [Line(style="size", points_mm=np.array([edge[k], moved[k] + side * 1.0])) for k in range(2)]
    return lines
