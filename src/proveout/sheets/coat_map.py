"""The mask and rack map: the part with its plugged holes, masked faces, rack points and faces no rack may touch."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.model.solid import Point
from proveout.model.work import Hole, Survey
from proveout.sheets.few_views import few_views
from proveout.sheets.numbered import (
    CLOSE_MM,
    FACING_LEAST,
    NUMBERED_VIEWS,
    PartViews,
    around,
    draw_balloon,
    draw_leader,
    rim_points,
    spread_balloons,
)
from proveout.sheets.svg import Fit, Paper, hatched
from proveout.sheets.two_columns import two_columns
from proveout.sheets.visible import Seen, Sight, hatch_lines, look, seen_faces

Array = NDArray[np.float64]
COLUMN_MM = 90.0  # of one view, two side by side
ROW_MM = 84.0  # at most
NAME_MM = 6.0
KEY_MM = 8.0  # the line that says what each mark means
SWATCH_MM = 2.1  # half of a mark in that line
HATCH_MM, CROSS_MM = 2.6, 1.5  # between strokes over faces that no rack may touch, and over masked ones
THIN_MM, CROSS_WIDTH_MM = 0.16, 0.28
RACK_MM = 1.9  # radius of the mark of a rack point
HAIR_MM = 0.3
RIM_POINTS = 24
RIM_LEAST = 0.7  # share of a plug's rim that must show for it to be drawn
ROOM_LEAST_MM = 0.15
PLUG, MASK, RACK, KEEP_OFF = "plug", "mask", "rack", "keep off"
MEANING = {
    PLUG: "plug", MASK: "mask, no coat here", RACK: "rack may hold here", KEEP_OFF: "rack may not touch",
}  # fmt: skip


@dataclass(frozen=True)
class CoatMarks:
    """What the map shows, by face ids and holes. plugs: wholly masked holes; by_hand: holes masked in part only."""

    plugs: tuple[Hole, ...]
    by_hand: tuple[Hole, ...]
    masked: frozenset[str]
    rack_may: tuple[str, ...]
    rack_not: tuple[str, ...]


@dataclass(frozen=True)
class CoatMap:
    """The drawing. alt: it in words.   height_mm: its height.   missing: ids of marked holes and faces not in it."""

    svg: str
    alt: str
    height_mm: float
    missing: tuple[str, ...]


@dataclass(frozen=True)
class _Disc:
    """The mouth of a masked hole in a view: its outline and middle on the view's page, and how much of it shows."""

    outline: Array
    at_mm: Array
    goodness: float


_Key = tuple[str, str]  # kind of mark, id of hole or face


@dataclass(frozen=True)
class _View:
    """What shows in one view."""

    sight: Sight
    seen: dict[str, Seen]
    discs: dict[str, _Disc]

    def shows(self, marks: CoatMarks) -> dict[_Key, float]:
        """Every mark that shows, and how well."""
        found = {(PLUG, id): disc.goodness for id, disc in self.discs.items()}
        for kind, ids in ((MASK, marks.masked), (RACK, marks.rack_may), (KEEP_OFF, marks.rack_not)):
            found |= {(kind, id): self.seen[id].room_mm for id in ids if id in self.seen}
        return found


def coat_marks(
    *, survey: Survey, coated_faces: Sequence[str], rack_may: tuple[str, ...], rack_not: tuple[str, ...]
) -> CoatMarks:
    """What is to be marked of a coated part: faces that take no coat are masked, holes without any coat plugged."""
    coated = set(coated_faces)
    plugs, by_hand, in_holes = [], [], set[str]()
    for hole in survey.holes:
        ids = {face for step in hole.steps for face in step.face_ids}
        if ids - coated:
            in_holes |= survey.faces_within(hole)
            (by_hand if ids & coated else plugs).append(hole)
    masked = frozenset(note.face_id for note in survey.faces) - coated - in_holes
    return CoatMarks(plugs=tuple(plugs), by_hand=tuple(by_hand), masked=masked, rack_may=rack_may, rack_not=rack_not)


def coat_map(marks: CoatMarks, *, survey: Survey, coated_faces: Sequence[str], views: PartViews) -> CoatMap:
    """The map in as few views as show every mark; each plug, masked face and rack point carries its number once."""
    holes = {hole.id: hole for hole in (*marks.plugs, *marks.by_hand)}
    coated = frozenset(coated_faces)
    seen = [_seen(views, index, tuple(holes.values()), coated) for index in range(len(NUMBERED_VIEWS))]
    shown = [view.shows(marks) for view in seen]
    chosen = few_views(shown)
    best = {
        key: max(chosen, key=lambda i: (shown[i].get(key, -1.0), -i))
        for key in {key for i in chosen for key in shown[i]}
        if key[0] != KEEP_OFF
    }
    numbers = {note.face_id: note.balloon for note in survey.faces} | {h.id: h.balloon for h in survey.holes}
    fits = {i: _fit(views, i) for i in chosen}
    spots, end = two_columns([fits[i] for i in chosen], column_mm=COLUMN_MM, name_mm=NAME_MM, head_mm=KEY_MM)
    paper = Paper(width_mm=2.0 * COLUMN_MM, height_mm=end + 1.0)
    wanted = {(PLUG, id) for id in holes} | {(MASK, id) for id in marks.masked} | {(RACK, i) for i in marks.rack_may}
    wanted |= {(KEEP_OFF, id) for id in marks.rack_not}
    _legend(paper, [kind for kind in MEANING if _has(kind, marks)])
    for index, spot in zip(chosen, spots, strict=True):
        own = sorted(key for key, view in best.items() if view == index)
        _draw(paper, views, index, seen[index], marks, own, numbers, fits[index], spot.shift_mm)
        paper.words(NUMBERED_VIEWS[index].name, spot.middle_mm, spot.foot_mm + 3.6)
    drawn = {key for i in chosen for key in shown[i]}
    missing = tuple(sorted({id for _, id in wanted - drawn}))
    told = "; ".join(
        f"{len(kept)} {words}"
        for words, kept in (
            ("holes plugged", marks.plugs), ("holes masked by hand", marks.by_hand), ("faces masked", marks.masked),
            ("rack points", marks.rack_may), ("faces that no rack may touch", marks.rack_not),
        )
    )  # fmt: skip
    alt = f"Mask and rack map of the part in {len(chosen)} views: {told}."
    return CoatMap(svg=paper.text(alt=alt, ids="m"), alt=alt, height_mm=paper.height_mm, missing=missing)


def _has(kind: str, marks: CoatMarks) -> bool:
    return {
        PLUG: bool(marks.plugs), MASK: bool(marks.masked or marks.by_hand), RACK: bool(marks.rack_may),
        KEEP_OFF: bool(marks.rack_not),
    }[kind]  # fmt: skip


def _seen(views: PartViews, index: int, holes: tuple[Hole, ...], coated: frozenset[str]) -> _View:
    view, solid = NUMBERED_VIEWS[index], views.solid
    sight = look(solid, view_direction=view.view_direction, up=view.up)
    seen = {
        solid.faces[place].id: one for place, one in seen_faces(solid, sight).items() if one.room_mm >= ROOM_LEAST_MM
    }
    discs = {hole.id: disc for hole in holes if (disc := _disc(hole, coated, sight)) is not None}
    return _View(sight=sight, seen=seen, discs=discs)


def _disc(hole: Hole, coated: frozenset[str], sight: Sight) -> _Disc | None:
    """The wider mouth of what is masked in a hole, or its other end where the hole is through and that shows."""
    steps = [step for step in hole.steps if set(step.face_ids) - coated and step.diameter_mm > 0.0]
    if not steps:
        return None
    out = np.array(hole.outward)
    first, last = min(steps, key=lambda s: s.depth_low_mm), max(steps, key=lambda s: s.depth_high_mm)
    ends = [(first.depth_low_mm, first.diameter_mm, out)]
    if hole.is_through:
        ends.append((last.depth_high_mm, last.diameter_mm, -out))
    found = [_mouth(np.array(hole.entry_mm) - deep * out, d / 2.0, outward, sight) for deep, d, outward in ends]
    return max((one for one in found if one is not None), key=lambda one: one.goodness, default=None)


def _mouth(centre: Array, radius_mm: float, outward: Array, sight: Sight) -> _Disc | None:
    facing = float(np.dot(outward, sight.towards))
    if facing < FACING_LEAST:
        return None
    within = rim_points(centre, outward, radius_mm=0.9 * radius_mm, count=RIM_POINTS)
    points: list[Point] = [(float(x), float(y), float(z)) for x, y, z in within]
    share = sum(sight.shows(point, hair_mm=HAIR_MM) for point in points) / RIM_POINTS
    if share < RIM_LEAST:
        return None
    rim = rim_points(centre, outward, radius_mm=radius_mm, count=RIM_POINTS)
    return _Disc(sight.page(rim), sight.page(centre[None])[0], radius_mm * facing * share)


def _fit(views: PartViews, index: int) -> Fit:
    points = np.vstack(views.drawings[index].visible_mm)
    return Fit(points, width_mm=COLUMN_MM, height_mm=ROW_MM, margin_mm=CLOSE_MM, largest=6.0)


def _draw(
    paper: Paper, views: PartViews, index: int, view: _View, marks: CoatMarks, own: list[_Key],
    numbers: dict[str, int], fit: Fit, shift: Array,
) -> None:  # fmt: skip
    places = {face.id: face.index for face in views.solid.faces}
    keep_off = [places[id] for id in marks.rack_not if id in view.seen and id not in marks.masked]
    _hatch(paper, view.sight, keep_off, fit, shift, slopes=(1,), step_mm=HATCH_MM, width_mm=THIN_MM)
    masked = sorted(places[id] for id in marks.masked if id in view.seen)
    _hatch(paper, view.sight, masked, fit, shift, slopes=(1, -1), step_mm=CROSS_MM, width_mm=CROSS_WIDTH_MM)
    paper.strokes([fit.to_paper(line) + shift for line in views.drawings[index].visible_mm], width_mm=0.3)
    by_hand = {hole.id for hole in marks.by_hand}
    for id, disc in sorted(view.discs.items()):
        _plug(paper, fit.to_paper(disc.outline) + shift, is_whole=id not in by_hand)
    ends: dict[int, Array] = {}
    for kind, id in own:
        at = view.discs[id].at_mm if kind == PLUG else np.array(view.seen[id].at_mm)
        # of several faces under one number one leader is enough, that of a plug or mask before that of a rack
        ends.setdefault(numbers[id], fit.to_paper(at[None])[0] + shift)
    centres = spread_balloons(ends, around(fit, shift))
    for number, centre in sorted(centres.items()):
        draw_leader(paper, ends[number], centre)
    for kind, id in own:
        if kind == RACK:
            _rack_point(paper, fit.to_paper(np.array([view.seen[id].at_mm]))[0] + shift)
    for number, centre in sorted(centres.items()):
        draw_balloon(paper, str(number), centre)


def _hatch(
    paper: Paper, sight: Sight, faces: list[int], fit: Fit, shift: Array, *, slopes: tuple[int, ...], step_mm: float,
    width_mm: float,
) -> None:  # fmt: skip
    step = step_mm / fit.scale
    lines = [line for face in faces for s in slopes for line in hatch_lines(sight, face, step_mm=step, slope=s)]
    if lines:
        paper.strokes([fit.to_paper(line) + shift for line in lines], width_mm=width_mm)


def _plug(paper: Paper, outline: Array, *, is_whole: bool) -> None:
    if is_whole:
        paper.path(outline, fill="#000", width_mm=0.3, closed=True)
        return
    paper.path(outline, fill="#fff", width_mm=0.4, closed=True)
    both = [line for slope in (1.0, -1.0) for line in hatched(outline, spacing_mm=CROSS_MM, slope=slope)]
    if both:
        paper.strokes(both, width_mm=CROSS_WIDTH_MM)


def _rack_point(paper: Paper, at: Array) -> None:
    paper.parts.append(
        f'<circle class="rack" cx="{at[0]:.2f}" cy="{at[1]:.2f}" r="{RACK_MM}" fill="#fff" stroke="#000" '
        f'stroke-width="0.6"/><circle cx="{at[0]:.2f}" cy="{at[1]:.2f}" r="0.75" fill="#000"/>'
    )


def _legend(paper: Paper, kinds: list[str]) -> None:
    """One mark of each kind with what it means, in a line."""
    turns = np.linspace(0.0, 2.0 * np.pi, RIM_POINTS, endpoint=False)
    circle = np.column_stack([np.cos(turns), np.sin(turns)]) * SWATCH_MM
    square = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]]) * SWATCH_MM
    for place, kind in enumerate(kinds):
        at = np.array([6.0 + place * 2.0 * COLUMN_MM / len(MEANING), KEY_MM / 2.0 - 0.5])
        if kind == PLUG:
            _plug(paper, circle + at, is_whole=True)
        elif kind == RACK:
            _rack_point(paper, at)
        else:
            slopes = (1.0,) if kind == KEEP_OFF else (1.0, -1.0)
            width, step = (THIN_MM, HATCH_MM / 1.5) if kind == KEEP_OFF else (CROSS_WIDTH_MM, CROSS_MM)
            paper.path(square + at, fill="#fff", width_mm=0.3, closed=True)
            lines = [line for slope in slopes for line in hatched(square + at, spacing_mm=step, slope=slope)]
            paper.strokes(lines, width_mm=width)
        paper.words(MEANING[kind], float(at[0]) + 4.0, float(at[1]) + 1.25, anchor="start")
