"""Holes and faces that a question is about: hatched, with their numbers, in as few views as show them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from proveout.model.work import Hole, Survey
from proveout.sheets.few_views import few_views
from proveout.sheets.numbered import (
    CLOSE_MM,
    NUMBERED_VIEWS,
    Mark,
    PartViews,
    around,
    draw_balloon,
    draw_leader,
    hole_mark,
    rim_points,
    spread_balloons,
)
from proveout.sheets.svg import Array, Fit, Paper, hatched
from proveout.sheets.two_columns import two_columns
from proveout.sheets.visible import Sight, hatch_lines, look, seen_faces

COLUMN_MM, ROW_MM = 100.0, 92.0
NAME_MM = 6.0
HATCH_MM, THIN_MM, RIM_WIDTH_MM = 1.8, 0.22, 0.6
RIM_POINTS = 36
WELL_SHARE = 0.35  # of the best view's patch, below which a view does not count as showing something


@dataclass(frozen=True)
class _Shown:
    """What is asked about and shows in one view: marks by number, faces to hatch, mouths of holes."""

    marks: dict[int, Mark]
    faces: dict[int, tuple[int, ...]]
    mouths: dict[int, Array]


def asked_svg(views: PartViews, survey: Survey, *, numbers: Sequence[int]) -> str:
    """The part with the holes and faces of these balloons hatched; a number that shows nowhere is named below.

    One view where one shows them all, else as many as are needed.  A number that the survey does not have is left out.
    """
    wanted = frozenset(numbers)
    sights = [look(views.solid, view_direction=v.view_direction, up=v.up) for v in NUMBERED_VIEWS]
    shown = _well_shown([_shown(views, survey, sight, wanted) for sight in sights])
    chosen = few_views([{number: mark.goodness for number, mark in one.marks.items()} for one in shown])
    best = {
        number: max(chosen, key=lambda i: (shown[i].marks[number].goodness if number in shown[i].marks else -1.0, -i))
        for number in {number for i in chosen for number in shown[i].marks}
    }
    fits = {i: _fit(views, i) for i in chosen}
    spots, end = two_columns([fits[i] for i in chosen], column_mm=COLUMN_MM, name_mm=NAME_MM, head_mm=0.0)
    known = {hole.balloon for hole in survey.holes} | {note.balloon for note in survey.faces if not note.hole_id}
    missing = sorted(wanted & known - set(best))
    width = COLUMN_MM if len(chosen) == 1 else 2.0 * COLUMN_MM
    paper = Paper(width_mm=width, height_mm=end + (6.0 if missing else 1.0))
    for index, spot in zip(chosen, spots, strict=True):
        own = {number for number, view in best.items() if view == index}
        _draw(paper, views, index, sights[index], shown[index], own, fits[index], spot.shift_mm)
        paper.words(NUMBERED_VIEWS[index].name, spot.middle_mm, spot.foot_mm + 3.6)
    if missing:
        words = f"Shows in none of these views: {', '.join(map(str, missing))}"
        paper.words(words, width / 2.0, end + 4.0)
    told = ", ".join(map(str, sorted(best))) or "none"
    return paper.text(alt=f"The part in {len(chosen)} views; hatched and numbered: {told}.", ids="asked")


def _shown(views: PartViews, survey: Survey, sight: Sight, wanted: frozenset[int]) -> _Shown:
    seen = seen_faces(views.solid, sight)
    marks: dict[int, Mark] = {}
    faces: dict[int, list[int]] = {}
    mouths: dict[int, Array] = {}
    for note in survey.faces:
        if note.hole_id or note.balloon not in wanted or note.index not in seen:
            continue
        faces.setdefault(note.balloon, []).append(note.index)
        one = seen[note.index]
        if note.balloon not in marks or one.room_mm > marks[note.balloon].goodness:
            marks[note.balloon] = Mark(number=note.balloon, at_mm=one.at_mm, goodness=one.room_mm)
    for hole in survey.holes:
        if hole.balloon in wanted and (mark := hole_mark(hole, sight)) is not None:
            marks[hole.balloon] = mark
            mouths[hole.balloon] = _mouth(hole, sight)
    return _Shown(marks, {number: tuple(own) for number, own in faces.items()}, mouths)


def _well_shown(views: list[_Shown]) -> list[_Shown]:
    """The views without what shows much better in another."""
    most: dict[int, float] = {}
    for view in views:
        for number, mark in view.marks.items():
            most[number] = max(most.get(number, 0.0), mark.goodness)
    return [
        replace(view, marks={n: mark for n, mark in view.marks.items() if mark.goodness >= WELL_SHARE * most[n]})
        for view in views
    ]


def _mouth(hole: Hole, sight: Sight) -> Array:
    """The rim of the end of a hole that looks at the viewer, on the view's page."""
    out = np.array(hole.outward)
    centre, step = np.array(hole.entry_mm), hole.steps[0]
    if hole.is_through and float(out @ sight.towards) < 0.0:
        centre, step = centre - out * hole.depth_mm, hole.steps[-1]
    return sight.page(rim_points(centre, out, radius_mm=step.diameter_mm / 2.0, count=RIM_POINTS))


def _fit(views: PartViews, index: int) -> Fit:
    points = np.vstack(views.drawings[index].visible_mm)
    return Fit(points, width_mm=COLUMN_MM, height_mm=ROW_MM, margin_mm=CLOSE_MM, largest=6.0)


def _draw(
    paper: Paper, views: PartViews, index: int, sight: Sight, shown: _Shown, own: set[int], fit: Fit, shift: Array
) -> None:
    step = HATCH_MM / fit.scale
    lines = [
        line
        for number in sorted(own)
        for face in shown.faces.get(number, ())
        for line in hatch_lines(sight, face, step_mm=step, slope=1)
    ]
    if lines:
        paper.strokes([fit.to_paper(line) + shift for line in lines], width_mm=THIN_MM)
    paper.strokes([fit.to_paper(line) + shift for line in views.drawings[index].visible_mm], width_mm=0.3)
    for number in sorted(own & shown.mouths.keys()):
        rim = fit.to_paper(shown.mouths[number]) + shift
        paper.path(rim, fill="#fff", width_mm=RIM_WIDTH_MM, closed=True)
        paper.strokes(hatched(rim, spacing_mm=HATCH_MM / 1.5, slope=1.0), width_mm=THIN_MM)
    ends = {number: fit.to_paper(np.array([shown.marks[number].at_mm]))[0] + shift for number in sorted(own)}
    centres = spread_balloons(ends, around(fit, shift))
    for number, centre in sorted(centres.items()):
        draw_leader(paper, ends[number], centre)
    for number, centre in sorted(centres.items()):
        draw_balloon(paper, str(number), centre)
