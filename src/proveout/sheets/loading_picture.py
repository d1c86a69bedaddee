"""Wrongly loaded work in the vise, drawn as the operator sees it, and the place to look at ringed."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.model.loading import Loading, WrongLoad
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.solid import Drawing
from proveout.model.work import Clamping
from proveout.sheets.boxes import part_box, strip_box
from proveout.sheets.picture import (
    JAW_BELOW_MM,
    JAW_PLATE_MM,
    LEDGE_MM,
    Line,
    Picture,
    Scene,
    Style,
    View,
    hull,
    operator_view,
)

Array = NDArray[np.float64]
DRAWN_MAX = 6
"""Wrong loads drawn on a card, those that are hardest to tell; the others are named."""
RING_MM = 5.0
BOX_SIDES = ((0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3))
BARE = ("the raw blank",)
WITH_STRIP = ("the work", "a left-hand piece")
DRAWN = (*BARE, *WITH_STRIP, "a finished piece", "a finished left-hand piece")
"""Bodies whose shape a plan can draw; work after some other operation and other parts are told in words."""


def wrong_name(clamping_id: str, place: int) -> str:
    """Under which name the drawing of a look is kept beside those of the clampings."""
    return f"{clamping_id} wrong {place}"


def drawn_looks(loading: Loading) -> list[int]:
    """Places of the looks that a card draws."""
    firsts = [loading.wrong[look.loads[0]] for look in loading.looks]
    return [at for at, load in enumerate(firsts) if load.what in DRAWN and not load.part][:DRAWN_MAX]


def wrong_view(clamping: Clamping, load: WrongLoad) -> View | None:
    """From where the operator sees wrongly loaded work, in the part's frame; None where no part of this job is drawn.

    Of a left-hand piece the drawing comes out mirrored and is turned over by `wrong_picture`.
    """
    if load.what in BARE or load.part:
        return None
    page = _page(clamping)
    into = clamping.frame.turn.T @ _mirror(load) @ np.array(load.pose.turn).T
    towards, up = (into @ row for row in (page[2], page[1]))
    return View(
        towards_viewer=tuple(float(v) + 0.0 for v in towards),  # type: ignore[arg-type]
        up=tuple(float(v) + 0.0 for v in up),  # type: ignore[arg-type]
    )


def ringed(picture: Picture, clamping: Clamping, load: WrongLoad) -> Picture:
    """The picture of rightly loaded work with a ring where a wrong load looks different."""
    if load.look_mm is None:
        return picture
    at = operator_view(clamping).flat(clamping.frame.out_of([load.look_mm]))[0]
    return _with(picture, [_ring(at)])


def wrong_picture(
    *, plan: Plan, shop: Shop, clamping: Clamping, load: WrongLoad, drawing: Drawing | None, title: str
) -> Picture:
    """A wrong load as the operator sees it: fixed jaw behind, the work, the moving jaw before it."""
    scene = Scene(plan=plan, shop=shop, clamping=clamping, view=operator_view(clamping))
    (left, right), top, gap = scene.jaw_x, clamping.jaw_top_mm, load.pose.gap_mm
    lines = scene.seen_edges((np.array([left, 0.0, -JAW_BELOW_MM]), np.array([right, JAW_PLATE_MM, top])), "jaw")
    lines += scene.seen_edges(
        (np.array([left, -LEDGE_MM, -JAW_BELOW_MM]), np.array([right, 0.0, 0.0])), "jaw"
    )  # fmt: skip
    turn, shift = np.array(load.pose.turn) @ _mirror(load), np.array(load.pose.shift_mm)

    def posed(points_in_part: Any) -> Array:
        return clamping.frame.into(points_in_part) @ turn.T + shift

    strip = strip_box(plan, clamping) if load.what in WITH_STRIP else None
    if load.what in BARE or (load.what in WITH_STRIP and clamping.surface == "raw"):
        chosen = plan.blank.chosen
        lines += _box(scene, posed(box_corners(chosen.low_mm, chosen.high_mm)), "blank")
    else:
        body = posed(box_corners(*part_box(plan)))
        before = None if strip is None else posed(box_corners(*strip))
        work = _work(scene, clamping, drawing, turn, shift, body, is_mirrored=load.is_mirrored)
        if before is not None and _nearer(clamping, before, body):
            lines += [*work, *_box(scene, before, "strip")]
        else:
            lines += [*([] if before is None else _box(scene, before, "strip")), *work]
    lines += scene.seen_edges(
        (np.array([left, -gap - JAW_PLATE_MM, -JAW_BELOW_MM]), np.array([right, -gap, top])), "jaw"
    )  # fmt: skip
    if load.look_mm is not None:
        lines.append(_ring(scene.flat([load.look_mm])[0]))
    zero = scene.flat([[0.0, 0.0, 0.0]])[0]
    alt = f"Line drawing from where the operator stands, loaded WRONG: {title}."
    return Picture(
        lines=tuple(lines), labels=(), zero_mm=(float(zero[0]), float(zero[1])), axes=(), alt=alt, caption=title
    )


def as_bare(picture: Picture) -> Picture:
    """The picture without the arrows of the zero, which a card has no use for."""
    labels = tuple(label for label in picture.labels if label.text != "you stand here")
    return Picture(
        lines=picture.lines, labels=labels, zero_mm=picture.zero_mm, axes=(), alt=picture.alt, caption=picture.caption
    )


def _work(
    scene: Scene, clamping: Clamping, drawing: Drawing | None, turn: Array, shift: Array, body: Array, *,
    is_mirrored: bool,
) -> list[Line]:  # fmt: skip
    if drawing is None or not drawing.visible_mm:
        return _box(scene, body, "work")
    page, origin = _page(clamping), np.array(clamping.frame.origin_mm)
    # the drawing has the part's origin at its own; the picture has the right work's part frame there
    move = page[:2] @ (shift - turn @ clamping.frame.turn @ origin) + page[:2] @ (clamping.frame.turn @ origin)
    sign = np.array([-1.0 if is_mirrored else 1.0, 1.0])
    shown = [line * sign + move for line in drawing.visible_mm]
    mask = Line(style="mask", points_mm=hull(np.vstack(shown)), is_closed=True)
    return [mask, *(Line(style="work", points_mm=line) for line in shown)]


def _page(clamping: Clamping) -> Array:
    """Rows: to the right, up the page and towards the eye, in the clamping's frame."""
    view = operator_view(clamping)
    up, towards = (clamping.frame.turn @ np.array(v) for v in (view.up, view.towards_viewer))
    return np.array([np.cross(up, towards), up, towards])


def _mirror(load: WrongLoad) -> Array:
    return np.diag([-1.0 if load.is_mirrored else 1.0, 1.0, 1.0])


def _box(scene: Scene, points: Array, style: Style) -> list[Line]:
    """The faces of a posed box that look at the eye; points (8, 3), its corners in the clamping's frame, in order."""
    towards = _page(scene.clamping)[2]
    middle = points.mean(axis=0)
    lines = []
    for side in BOX_SIDES:
        face = points[list(side)]
        outward = face.mean(axis=0) - middle
        if float(outward @ towards) > 1e-9:
            lines.append(Line(style=style, points_mm=scene.flat(face), is_closed=True))
    return lines


def _nearer(clamping: Clamping, one: Array, other: Array) -> bool:
    return float((one.mean(axis=0) - other.mean(axis=0)) @ _page(clamping)[2]) > 0.0


def _ring(at: Array) -> Line:
    angles = np.linspace(0.0, 2.0 * math.pi, 33)[:-1]
    points = at + RING_MM * np.column_stack([np.cos(angles), np.sin(angles)])
    return Line(style="ring", points_mm=points, is_closed=True)


def _with(picture: Picture, more: list[Line]) -> Picture:
    return Picture(
        lines=(*picture.lines, *more), labels=picture.labels, zero_mm=picture.zero_mm, axes=picture.axes,
        alt=picture.alt, caption=picture.caption,
    )  # fmt: skip
