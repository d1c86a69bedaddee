"""The numbered drawing beside a job file: every hole and face with its balloon, in the view that shows it best."""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Noun
from proveout.model.solid import Drawing, Point, Solid
from proveout.model.work import Hole, Survey
from proveout.quantities.errors import InternalError
from proveout.sheets.svg import Fit, Paper
from proveout.sheets.two_columns import COLUMNS_COUNT, row_heights, two_columns
from proveout.sheets.visible import Sight, look, seen_faces

Array = NDArray[np.float64]
COLUMN_MM = 148.0
ROW_MM = 118.0  # at most
NAME_MM = 9.0  # below a view, for its name
MARGIN_MM = 17.0  # around a view, for its balloons
CLOSE_MM, BARE_MM = 11.5, 6.0  # in a narrower drawing: with balloons, and without
RADIUS_MM = 3.3
SPACING_MM = 2.0 * RADIUS_MM + 0.5
HEAD_MM = 16.0
ENOUGH_MM = 1.5  # a patch this roomy is seen well: then a square view is taken rather than a slanted one
SLANT_SHARE = 0.6
HAIR_MM = 0.05
RIM_HAIR_MM = 0.3  # an inclined face rises this much between rim and cell
RIM_POINTS = 12
FACING_LEAST = 0.3
LETTERS_A_LINE = 120
SIDES = ("left", "right", "top", "bottom")


class NumberedView(Noun, frozen=True, kw_only=True):
    """One view of the numbered drawing: view_direction from the viewer to the part, up the page's up."""

    name: str
    view_direction: Point
    up: Point
    is_slanted: bool = False


NUMBERED_VIEWS = (
    NumberedView(name="from above (+z)", view_direction=(0.0, 0.0, -1.0), up=(0.0, 1.0, 0.0)),
    NumberedView(name="from below (-z)", view_direction=(0.0, 0.0, 1.0), up=(0.0, 1.0, 0.0)),
    NumberedView(name="from the front (-y)", view_direction=(0.0, 1.0, 0.0), up=(0.0, 0.0, 1.0)),
    NumberedView(name="from behind (+y)", view_direction=(0.0, -1.0, 0.0), up=(0.0, 0.0, 1.0)),
    NumberedView(name="from the left (-x)", view_direction=(1.0, 0.0, 0.0), up=(0.0, 0.0, 1.0)),
    NumberedView(name="from the right (+x)", view_direction=(-1.0, 0.0, 0.0), up=(0.0, 0.0, 1.0)),
    NumberedView(
        name="slantwise from above", view_direction=(-0.55, 0.65, -0.52), up=(0.0, 0.0, 1.0), is_slanted=True
    ),
    NumberedView(
        name="slantwise from below, from behind", view_direction=(0.55, -0.65, 0.52), up=(0.0, 0.0, 1.0),
        is_slanted=True,
    ),
    NumberedView(
        name="slantwise from above, from behind", view_direction=(0.55, -0.65, -0.52), up=(0.0, 0.0, 1.0),
        is_slanted=True,
    ),
    NumberedView(
        name="slantwise from below, from the front", view_direction=(-0.55, 0.65, 0.52), up=(0.0, 0.0, 1.0),
        is_slanted=True,
    ),
)  # fmt: skip


@dataclass(frozen=True)
class PartViews:
    """A solid with its drawings, one for each of NUMBERED_VIEWS in that order."""

    solid: Solid
    drawings: tuple[Drawing, ...]


@dataclass(frozen=True)
class Mark:
    """A balloon in a view. at_mm: the end of its leader on the view's page, in mm of the part."""

    number: int
    at_mm: tuple[float, float]
    goodness: float


def numbered_svg(
    solid: Solid,
    survey: Survey,
    *,
    drawings: Sequence[Drawing],
    only: frozenset[int] | None = None,
    column_mm: float = COLUMN_MM,
    row_mm: float = ROW_MM,
    is_headed: bool = True,
) -> str:
    """The numbered drawing as an SVG of its own; as numbered_svgs, all in one however tall."""
    return numbered_svgs(
        solid, survey, drawings=drawings, only=only, column_mm=column_mm, row_mm=row_mm, is_headed=is_headed
    )[0]


def numbered_svgs(
    solid: Solid,
    survey: Survey,
    *,
    drawings: Sequence[Drawing],
    only: frozenset[int] | None = None,
    column_mm: float = COLUMN_MM,
    row_mm: float = ROW_MM,
    is_headed: bool = True,
    height_mm: float = math.inf,
) -> list[str]:
    """The numbered drawing, in as many SVGs as keep to height_mm.

    only: the balloons wanted, None for all.   column_mm, row_mm: of one view, two views side by side.

    drawings: of the solid, one for each of NUMBERED_VIEWS in that order. Each balloon stands once, in the view that
    shows its face or hole best; a view with more balloons than stand around it is drawn again with the rest, and one
    without is left out unless it is the first or the slanted one from above. What shows in no view is named in a line
    below.
    """
    if len(drawings) != len(NUMBERED_VIEWS):
        raise InternalError("The numbered drawing needs one drawing for each view", value=str(len(drawings)))
    placed = _placed(solid, survey)
    if only is not None:
        placed = {i: [mark for mark in marks if mark.number in only] for i, marks in placed.items()}
    kept = [i for i, view in enumerate(NUMBERED_VIEWS) if placed[i] or i == 0 or view.name == "slantwise from above"]
    every = {n.balloon for n in survey.faces if not n.hole_id} | {h.balloon for h in survey.holes}
    asked = sorted(every if only is None else every & only)
    shown = {mark.number for marks in placed.values() for mark in marks}
    missing = [number for number in asked if number not in shown]
    letters = int(LETTERS_A_LINE * column_mm / COLUMN_MM)
    notes = textwrap.wrap(f"Shows in none of these views: {', '.join(map(str, missing))}", letters) if missing else []
    size = (column_mm, row_mm)
    panels = [panel for i in kept for panel in _panels(i, drawings[i], placed[i], size)]
    head, foot = HEAD_MM if is_headed else 0.0, 5.0 * len(notes) + 4.0
    alt = f"The part in {len(panels)} views; {len(shown)} of {len(asked)} holes and faces carry their balloon."
    made = []
    groups = _pages(panels, room_mm=height_mm - head - foot)
    for number, group in enumerate(groups):
        own = notes if number == len(groups) - 1 else []
        made.append(_sheet(group, own, column_mm=column_mm, is_headed=is_headed, alt=alt))
    return made


@dataclass(frozen=True)
class _Panel:
    """One view with the balloons that stand around it."""

    index: int
    drawing: Drawing
    marks: list[Mark]
    fit: Fit


def _panels(index: int, drawing: Drawing, marks: list[Mark], size_mm: tuple[float, float]) -> list[_Panel]:
    """The view, as often as its balloons need: those that lie side by side stay together."""
    fit = _fit(drawing, marks, size_mm)
    most = sum(room_around(around(fit, np.zeros(2))).values())
    count = max(1, math.ceil(len(marks) / most))
    sorted_marks = sorted(marks, key=lambda mark: (mark.at_mm, mark.number))
    each = math.ceil(len(marks) / count)
    shares = [sorted_marks[k * each : (k + 1) * each] for k in range(count)]
    return [_Panel(index, drawing, share, fit) for share in shares]


def _pages(panels: list[_Panel], *, room_mm: float) -> list[list[_Panel]]:
    """Panels in pairs, as many pairs a page as it has room for; one pair at least."""
    pages: list[list[_Panel]] = [[]]
    used = 0.0
    for row, tall in enumerate(row_heights([panel.fit for panel in panels], name_mm=NAME_MM)):
        if pages[-1] and used + tall > room_mm:
            pages.append([])
            used = 0.0
        pages[-1].extend(panels[row * COLUMNS_COUNT : (row + 1) * COLUMNS_COUNT])
        used += tall
    return pages


def _sheet(panels: list[_Panel], notes: list[str], *, column_mm: float, is_headed: bool, alt: str) -> str:
    spots, end = two_columns(
        [panel.fit for panel in panels], column_mm=column_mm, name_mm=NAME_MM, head_mm=HEAD_MM if is_headed else 0.0
    )
    height = end + 5.0 * len(notes) + 4.0
    paper = Paper(width_mm=2.0 * column_mm, height_mm=height)
    paper.path(
        np.array([[0.0, 0.0], [2.0 * column_mm, 0.0], [2.0 * column_mm, height], [0.0, height]]),
        fill="#fff", width_mm=0.0, closed=True,
    )  # fmt: skip
    if is_headed:
        paper.words("Numbered holes and faces", 6.0, 7.0, anchor="start", strong=True)
        paper.words("The numbers are those of the job file. Views are not to one scale.", 6.0, 12.4, anchor="start")
    for panel, spot in zip(panels, spots, strict=True):
        _view(paper, panel.drawing, panel.marks, panel.fit, spot.shift_mm)
        paper.words(NUMBERED_VIEWS[panel.index].name, spot.middle_mm, spot.foot_mm + 3.5, strong=True)
    for n, line in enumerate(notes):
        paper.words(line, 6.0, end + 5.0 * (n + 1) - 1.0, anchor="start")
    return paper.text(alt=alt, ids="n")


def _placed(solid: Solid, survey: Survey) -> dict[int, list[Mark]]:
    """By view, the balloons that stand in it."""
    best: dict[int, tuple[float, int, Mark]] = {}
    for index, view in enumerate(NUMBERED_VIEWS):
        sight = look(solid, view_direction=view.view_direction, up=view.up)
        for mark in _marks(solid, survey, sight):
            goodness = min(mark.goodness, ENOUGH_MM) * (SLANT_SHARE if view.is_slanted else 1.0)
            goodness += 1e-3 * min(mark.goodness, 50.0)
            if mark.number not in best or goodness > best[mark.number][0] + 1e-9:
                best[mark.number] = (goodness, index, mark)
    placed: dict[int, list[Mark]] = {i: [] for i in range(len(NUMBERED_VIEWS))}
    for _, index, mark in best.values():
        placed[index].append(mark)
    return placed


def _marks(solid: Solid, survey: Survey, sight: Sight) -> list[Mark]:
    seen = seen_faces(solid, sight)
    marks = [
        Mark(number=note.balloon, at_mm=seen[note.index].at_mm, goodness=seen[note.index].room_mm)
        for note in survey.faces
        if not note.hole_id and note.index in seen
    ]
    for hole in survey.holes:
        found = hole_mark(hole, sight)
        if found is not None:
            marks.append(found)
    return marks


def hole_mark(hole: Hole, sight: Sight) -> Mark | None:
    """The leader ends in the mouth of the hole, or in the other end of a through hole, where its rim shows."""
    out = np.array(hole.outward)
    ends = [(np.array(hole.entry_mm), out, hole.steps[0].diameter_mm)]
    if hole.is_through:
        ends.append((np.array(hole.entry_mm) - out * hole.depth_mm, -out, hole.steps[-1].diameter_mm))
    best: Mark | None = None
    for number, (centre, outward, diameter) in enumerate(ends):
        facing = float(np.dot(outward, sight.towards))
        if facing < FACING_LEAST:
            continue
        page = sight.page(centre[None])[0]
        goodness = diameter * facing * _rim_share(centre, outward, diameter, sight) / (2.0 + number)
        if goodness > (best.goodness if best else 0.0):
            best = Mark(number=hole.balloon, at_mm=(float(page[0]), float(page[1])), goodness=goodness)
    return best


def rim_points(centre: Array, outward: Array, *, radius_mm: float, count: int) -> Array:
    """(count, 3) places of the part evenly around a circle about `centre`, square to `outward`."""
    aside = np.cross(outward, np.eye(3)[int(np.argmin(np.abs(outward)))])
    aside /= float(np.linalg.norm(aside))
    other = np.cross(outward, aside)
    turns = np.linspace(0.0, 2.0 * np.pi, count, endpoint=False)[:, None]
    return np.asarray(centre + radius_mm * (np.cos(turns) * aside + np.sin(turns) * other), np.float64)


def _rim_share(centre: Array, outward: Array, diameter_mm: float, sight: Sight) -> float:
    """How much of the rim of a hole shows; nothing when its middle does not."""
    rim = rim_points(centre, outward, radius_mm=diameter_mm / 2.0 + HAIR_MM, count=RIM_POINTS)
    shown = [sight.shows((float(x), float(y), float(z)), hair_mm=RIM_HAIR_MM) for x, y, z in np.vstack([centre, rim])]
    return sum(shown[1:]) / RIM_POINTS if shown[0] else 0.0


def _fit(drawing: Drawing, marks: list[Mark], size_mm: tuple[float, float]) -> Fit:
    points = np.vstack([*drawing.visible_mm, *(np.array([m.at_mm]) for m in marks)])
    margin = MARGIN_MM if size_mm[0] >= COLUMN_MM else CLOSE_MM if marks else BARE_MM
    return Fit(points, width_mm=size_mm[0], height_mm=size_mm[1] - NAME_MM, margin_mm=margin, largest=6.0)


def _view(paper: Paper, drawing: Drawing, marks: list[Mark], fit: Fit, shift: Array) -> None:
    paper.strokes([fit.to_paper(line) + shift for line in drawing.visible_mm], width_mm=0.3)
    box = around(fit, shift)
    ends = {m.number: fit.to_paper(np.array([m.at_mm]))[0] + shift for m in marks}
    balloons = spread_balloons(ends, box)
    for number, centre in sorted(balloons.items()):
        draw_leader(paper, ends[number], centre)
    for number, centre in sorted(balloons.items()):
        draw_balloon(paper, str(number), centre)


def around(fit: Fit, shift: Array) -> Array:
    """(2, 2) low and high corner of what is drawn, on the paper, y down."""
    low, high = fit.to_paper(np.array([fit.low]))[0] + shift, fit.to_paper(np.array([fit.high]))[0] + shift
    return np.array([[low[0], high[1]], [high[0], low[1]]])


def room_around(box: Array) -> dict[str, int]:
    """How many balloons stand along each side of a box."""
    size = box[1] - box[0] + 2.0 * (RADIUS_MM + 2.5)
    return {s: max(1, int(size[1 if s in ("left", "right") else 0] / SPACING_MM) - 1) for s in SIDES}


def spread_balloons(ends: dict[int, Array], box: Array) -> dict[int, Array]:
    """Centres of balloons around a box so that none overlap, each on the side nearest to the end of its leader.

    ends: (2,) paper places by number.  box: (2, 2) low and high corner.  A side that is full hands its farthest
    ends on to the next nearest; where all four are full they run on beyond the corners.
    """
    low, high = box[0] - RADIUS_MM - 2.5, box[1] + RADIUS_MM + 2.5
    sides, room = SIDES, room_around(box)

    def distance(end: Array, side: str) -> float:
        by = {"left": end[0] - box[0][0], "right": box[1][0] - end[0], "top": end[1] - box[0][1]}
        return float(by.get(side, box[1][1] - end[1]))

    taken: dict[str, list[int]] = {s: [] for s in sides}
    wishes = sorted((distance(end, s), number, s) for number, end in ends.items() for s in sides)
    done: set[int] = set()
    for _, number, side in wishes:
        if number not in done and len(taken[side]) < room[side]:
            taken[side].append(number)
            done.add(number)
    for number in sorted(set(ends) - done):
        taken[min(sides, key=lambda s: (len(taken[s]) - room[s], s))].append(number)
    centres: dict[int, Array] = {}
    for side, numbers in taken.items():
        along = 1 if side in ("left", "right") else 0
        numbers.sort(key=lambda n: (float(ends[n][along]), n))
        wanted = np.array([float(ends[n][along]) for n in numbers])
        for number, value in zip(numbers, _spread(wanted, float(low[along]), float(high[along])), strict=True):
            across = float((low if side in ("left", "top") else high)[1 - along])
            centres[number] = np.array([across, value] if along else [value, across])
    return centres


def _spread(wanted: Array, low: float, high: float) -> Array:
    """Ascending places at least a balloon apart, as near to the wanted ones as pushing along allows."""
    if len(wanted) == 0:
        return wanted
    first, last = low + SPACING_MM, high - SPACING_MM
    steps = np.arange(len(wanted), dtype=np.float64) * SPACING_MM
    free = np.maximum(wanted - steps, first)
    ahead = np.maximum.accumulate(free) + steps
    over = max(0.0, float(ahead[-1]) - max(last, first + float(steps[-1])))
    if over > 0.0:
        return np.asarray(np.minimum(ahead, ahead[-1] - over - steps[::-1]), np.float64)
    # a run pushed to the far side is moved back by half of its push, as far as the run before it allows
    out = ahead.copy()
    start = 0
    while start < len(out):
        end = start
        while end + 1 < len(out) and out[end + 1] - out[end] <= SPACING_MM + 1e-9:
            end += 1
        push = float((out[start : end + 1] - wanted[start : end + 1]).mean())
        least = first if start == 0 else float(out[start - 1]) + SPACING_MM
        out[start : end + 1] -= min(max(push, 0.0), max(0.0, float(out[start]) - least))
        start = end + 1
    return out


def draw_leader(paper: Paper, end: Array, centre: Array) -> None:
    """A line from the balloon at `centre` to a dot at `end`, with a paper-coloured rim."""
    away = centre - end
    length = float(np.linalg.norm(away))
    foot = centre - away / max(length, 1e-9) * RADIUS_MM
    paper.path(np.array([end, foot]), fill="none", width_mm=0.6)
    paper.parts[-1] = paper.parts[-1].replace('stroke="#000"', 'stroke="#fff"')
    paper.path(np.array([end, foot]), fill="none", width_mm=0.2)
    paper.parts.append(f'<circle cx="{end[0]:.2f}" cy="{end[1]:.2f}" r="0.55" fill="#000"/>')


def draw_balloon(paper: Paper, text: str, centre: Array) -> None:
    """A circle with a number or letter in it."""
    paper.parts.append(
        f'<circle class="balloon" cx="{centre[0]:.2f}" cy="{centre[1]:.2f}" r="{RADIUS_MM}" fill="#fff" '
        'stroke="#000" stroke-width="0.3"/>'
    )
    paper.words(text, float(centre[0]), float(centre[1]) + 1.25)
