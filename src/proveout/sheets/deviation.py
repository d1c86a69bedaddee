"""The finished part with what was left on its faces and what was cut too deep, as a picture and a table below it.

Within limits a face is plain; left-over is single hatch, a gouge cross-hatch, each with its signed mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.model.work import Survey
from proveout.sheets import html_parts as h
from proveout.sheets.names import shape_words
from proveout.sheets.numbered import NUMBERED_VIEWS, PartViews, hole_mark
from proveout.sheets.svg import Fit, Paper
from proveout.sheets.visible import Sight, hatch_lines, look, seen_faces

Array = NDArray[np.float64]
COLUMN_MM, ROW_MM, NAME_MM = 152.0, 118.0, 9.0
SIDE_MM, ABOVE_MM = 40.0, 7.0  # beside a view for its labels, above and below it for air
LABEL_MM, LABEL_TALL_MM = 4.0, 5.2
HATCH_MM, HATCH_WIDTH_MM, CROSS_WIDTH_MM = 1.7, 0.14, 0.2
ACCENT = "#9e2b1a"
SLANT_SHARE, ENOUGH_MM = 0.6, 1.5
PLAIN = "slantwise from above"
BANNER = (
    "Planning aid. What moves or lines leave is reckoned on a grid of rays; what is narrower than the grid can be "
    "missed. Measure the first piece."
)


@dataclass(frozen=True)
class FaceRow:
    """One face: left-over and gouge in mm, both >= 0, and the line that left the deepest gouge where one is known."""

    face_id: str
    leftover_mm: float
    gouge_mm: float
    line: int | None = None


@dataclass(frozen=True)
class Deviations:
    """What is shown.  leftover_limit_mm, gouge_limit_mm: within them a face is plain."""

    title: str
    words: tuple[str, ...]
    faces: tuple[FaceRow, ...]
    leftover_limit_mm: float
    gouge_limit_mm: float

    def is_gouged(self, row: FaceRow) -> bool:
        """Whether more was cut away than the limit."""
        return row.gouge_mm > self.gouge_limit_mm

    def is_left(self, row: FaceRow) -> bool:
        """Whether more was left over than the limit."""
        return row.leftover_mm > self.leftover_limit_mm

    def value(self, row: FaceRow) -> str:
        """The signed worst of a face: a gouge below zero before left-over above it; empty within both limits."""
        if self.is_gouged(row):
            return f"{MINUS}{row.gouge_mm:.3f} mm"
        return f"+{row.leftover_mm:.3f} mm" if self.is_left(row) else ""


MINUS = "\u2212"


@dataclass(frozen=True)
class _Spot:
    """Where a face is pointed at in a view, and how well it is seen there."""

    at_mm: tuple[float, float]
    goodness: float


def deviation_html(shown: Deviations, *, views: PartViews, survey: Survey) -> str:
    """The page as text: the part from every direction that is needed, and the table of all faces below it."""
    balloons = {note.face_id: note.balloon for note in survey.faces}
    drawn = h.tag("figure", deviation_svg(shown, views=views, survey=survey))
    head = ["face", "kind, size and place", "left-over, mm", "gouge, mm", "deepest from line"]
    rows = [
        [
            str(balloons.get(row.face_id, "")), shape_words(row.face_id), _signed("+", row.leftover_mm),
            _signed(MINUS, row.gouge_mm), "" if row.line is None else str(row.line),
        ]
        for row in worst_first(shown)
    ]  # fmt: skip
    limits = (
        f"Left-over above {shown.leftover_limit_mm:g} mm is single hatch, a gouge deeper than {shown.gouge_limit_mm:g} "
        "mm is cross-hatch, whatever is left over beside it; a face within both is plain. Before the mm stands the "
        "number of the face. Each view has its own scale."
    )
    body = "".join(h.text("p", words) for words in (*shown.words, limits))
    faces = h.table("Faces, the worst first", head, rows, numeric={2, 3, 4})
    return h.frame(
        title=shown.title, header=h.text("h1", shown.title) + body, main=drawn + faces, foot=BANNER,
        style="svg { width: 100%; height: auto; }",
    )  # fmt: skip


def _signed(sign: str, size_mm: float) -> str:
    """A size with its sign, none before a zero."""
    text = f"{size_mm:.3f}"
    return text if float(text) == 0.0 else f"{sign}{text}"


def worst_first(shown: Deviations) -> list[FaceRow]:
    """Gouged faces by depth, then those with metal left over by height, then the rest by id."""
    return sorted(
        shown.faces,
        key=lambda r: (
            not shown.is_gouged(r), -r.gouge_mm if shown.is_gouged(r) else 0.0, not shown.is_left(r),
            -r.leftover_mm if shown.is_left(r) else 0.0, r.face_id,
        ),
    )  # fmt: skip


def deviation_svg(shown: Deviations, *, views: PartViews, survey: Survey) -> str:
    """The views alone.  views: of the finished part, one drawing for each of NUMBERED_VIEWS."""
    solid = views.solid
    index_of = {face.id: face.index for face in solid.faces}
    beyond = {index_of[r.face_id]: r for r in shown.faces if r.face_id in index_of and shown.value(r)}
    sights = [look(solid, view_direction=v.view_direction, up=v.up) for v in NUMBERED_VIEWS]
    spots = _spots(beyond, views, survey, sights)
    plain = next(i for i, view in enumerate(NUMBERED_VIEWS) if view.name == PLAIN)
    kept = sorted({index for index, _ in spots.values()} | {plain})
    fits = {i: _fit(views.drawings[i].visible_mm, sights[i]) for i in kept}
    rows = [kept[first : first + 2] for first in range(0, len(kept), 2)]
    tops = [0.0]
    for row in rows:
        tops.append(tops[-1] + max(fits[i].height_mm for i in row) + NAME_MM)
    height = tops[-1]
    missing = [r for i, r in beyond.items() if i not in spots]
    balloons = {note.face_id: note.balloon for note in survey.faces}
    notes = [f"Shows in none of these views: {balloons.get(r.face_id, r.face_id)}: {shown.value(r)}" for r in missing]
    paper = Paper(width_mm=2.0 * COLUMN_MM, height_mm=height + 5.5 * len(notes) + 2.0)
    edge = np.array([[0.0, 0.0], [paper.width_mm, 0.0], [paper.width_mm, paper.height_mm], [0.0, paper.height_mm]])
    paper.path(edge, fill="#fff", width_mm=0.0, closed=True)
    for at, row in enumerate(rows):
        for place, i in enumerate(row):
            spare = tops[at + 1] - tops[at] - NAME_MM - fits[i].height_mm
            shift = np.array([place * COLUMN_MM, tops[at] + spare / 2.0])
            labels = {
                index: (spot, f"{balloons.get(beyond[index].face_id, '')}: {shown.value(beyond[index])}")
                for index, (view, spot) in spots.items() if view == i
            }  # fmt: skip
            _view(paper, shown, views.drawings[i].visible_mm, sights[i], beyond, labels, fits[i], shift)
            name = NUMBERED_VIEWS[i].name
            paper.words(name, (place + 0.5) * COLUMN_MM, tops[at + 1] - NAME_MM + 4.5, strong=True)
    for n, note in enumerate(notes):
        paper.words(note, 6.0, height + 5.5 * (n + 1) - 1.0, anchor="start")
    alt = (
        f"The finished part in {len(kept)} views; {sum(map(shown.is_gouged, beyond.values()))} faces are cross-hatched "
        f"as gouged, {sum(map(shown.is_left, beyond.values()))} hatched as left over."
    )
    return paper.text(alt=alt, ids="d")


def _fit(lines: Sequence[Array], sight: Sight) -> Fit:
    """A view with room for labels at its sides and little above and below."""
    off = SIDE_MM - ABOVE_MM
    fit = Fit(
        np.vstack([*lines, _ends(sight)]), width_mm=COLUMN_MM, height_mm=ROW_MM - NAME_MM + 2.0 * off,
        margin_mm=SIDE_MM, largest=6.0,
    )  # fmt: skip
    fit.height_mm -= 2.0 * off
    fit.shift = fit.shift - np.array([0.0, off])
    return fit


def _ends(sight: Sight) -> Array:
    """Two corners of what a view shows."""
    rows, columns = np.nonzero(sight.owner >= 0)
    cells = np.array([[columns.min(), rows.min()], [columns.max() + 1, rows.max() + 1]], dtype=np.float64)
    return sight.low_mm + cells * sight.cell_mm


def _spots(
    beyond: dict[int, FaceRow], views: PartViews, survey: Survey, sights: Sequence[Sight]
) -> dict[int, tuple[int, _Spot]]:
    """By face index the view that shows it best, and where; a face within a hole is pointed at in the hole's mouth."""
    holes = {face_id: hole for hole in survey.holes for step in hole.steps for face_id in step.face_ids}
    best: dict[int, tuple[float, int, _Spot]] = {}
    for number, (view, sight) in enumerate(zip(NUMBERED_VIEWS, sights, strict=True)):
        seen = seen_faces(views.solid, sight) if beyond else {}
        for index, row in beyond.items():
            spot = _Spot(seen[index].at_mm, seen[index].room_mm) if index in seen else None
            if spot is None and row.face_id in holes:
                mark = hole_mark(holes[row.face_id], sight)
                spot = None if mark is None else _Spot(mark.at_mm, 0.01 * mark.goodness)
            if spot is None:
                continue
            goodness = min(spot.goodness, ENOUGH_MM) * (SLANT_SHARE if view.is_slanted else 1.0)
            goodness += 1e-3 * min(spot.goodness, 50.0)
            if index not in best or goodness > best[index][0] + 1e-9:
                best[index] = (goodness, number, spot)
    return {index: (number, spot) for index, (_, number, spot) in best.items()}


def _view(
    paper: Paper, shown: Deviations, lines: Sequence[Array], sight: Sight, beyond: dict[int, FaceRow],
    labels: dict[int, tuple[_Spot, str]], fit: Fit, shift: Array,
) -> None:  # fmt: skip
    for index, row in sorted(beyond.items()):
        step = HATCH_MM / fit.scale
        if shown.is_gouged(row):
            both = [
                *hatch_lines(sight, index, step_mm=step, slope=1),
                *hatch_lines(sight, index, step_mm=step, slope=-1),
            ]
            paper.strokes([fit.to_paper(line) + shift for line in both], width_mm=CROSS_WIDTH_MM, ink=ACCENT)
        else:
            single = hatch_lines(sight, index, step_mm=step, slope=1)
            paper.strokes([fit.to_paper(line) + shift for line in single], width_mm=HATCH_WIDTH_MM)
    paper.strokes([fit.to_paper(line) + shift for line in lines], width_mm=0.35)
    ends = {i: fit.to_paper(np.array([spot.at_mm]))[0] + shift for i, (spot, _) in labels.items()}
    box = fit.to_paper(np.array([fit.low, fit.high])) + shift
    for index, place in label_places(ends, box).items():
        end = ends[index]
        paper.strokes([np.array([place, end])], width_mm=0.9, ink="#fff")
        paper.strokes([np.array([place, end])], width_mm=0.18)
        paper.parts.append(f'<circle cx="{end[0]:.2f}" cy="{end[1]:.2f}" r="0.6" fill="#000"/>')
        is_left = place[0] < (box[0][0] + box[1][0]) / 2.0
        paper.words(
            labels[index][1], float(place[0]) + (-0.8 if is_left else 0.8), float(place[1]) + 1.3,
            anchor="end" if is_left else "start", strong=shown.is_gouged(beyond[index]),
        )  # fmt: skip


def label_places(ends: dict[int, Array], box: Array) -> dict[int, Array]:
    """Where the labels of leaders stand: in a column on either side of a view, none over another.

    ends: (2,) paper places by number.  box: (2, 2) two corners of the view on the paper.
    """
    left, right = float(box[:, 0].min()), float(box[:, 0].max())
    top, bottom = float(box[:, 1].min()), float(box[:, 1].max())
    room = max(1, math.ceil(len(ends) / 2), int((bottom - top) / LABEL_TALL_MM) + 1)
    order = sorted(ends, key=lambda i: (float(ends[i][0]), i))
    nearer = sum(float(ends[i][0]) < (left + right) / 2.0 for i in order)
    first = min(max(nearer, len(order) - room), room)  # as many on the left, unless one side is full
    sides = {i: left - LABEL_MM if k < first else right + LABEL_MM for k, i in enumerate(order)}
    places: dict[int, Array] = {}
    for x in sorted(set(sides.values())):
        own = sorted((i for i in sides if sides[i] == x), key=lambda i: (float(ends[i][1]), i))
        step = LABEL_TALL_MM
        y = np.array([float(ends[i][1]) for i in own])
        for k in range(1, len(y)):
            y[k] = max(y[k], y[k - 1] + step)
        y += min(0.0, max(bottom, top + step * (len(y) - 1)) - float(y[-1]))
        places.update({i: np.array([x, v]) for i, v in zip(own, y.tolist(), strict=True)})
    return places
