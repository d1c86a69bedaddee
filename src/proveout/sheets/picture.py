"""The work as it lies in the vise, as flat styled lines: the operator's view, and a cut across the jaws."""

from __future__ import annotations

import math
from typing import Any, Literal

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.solid import Drawing
from proveout.model.work import Clamping
from proveout.sheets.boxes import part_box, strip_box

Array = NDArray[np.float64]
Style = Literal["work", "hidden", "blank", "strip", "jaw", "jaw cut", "bed", "mask", "zero", "size", "ring"]
LOOK_DOWN_RAD = math.radians(40.0)  # a standing person looks down on a vise at about this angle
JAW_PLATE_MM = 18.0  # drawn thickness of a jaw: a picture, nothing is reckoned from it
LABEL_BELOW_MM = 4.4  # a label below the picture
LABEL_RISE_MM = 2.0  # a label above a line stands this far off it on paper
LEDGE_MM = 3.0  # drawn depth of the step under the work
LEADER_MM = 3.0  # how far inside the end of the jaw its label's leader comes down
JAW_BELOW_MM = 14.0  # how much of a jaw is drawn below the step


class Line(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """One polyline or, when closed, one outline. points_mm (k, 2) float64, x right, y up."""

    style: Style
    points_mm: Array
    is_closed: bool = False


class Label(msgspec.Struct, frozen=True, kw_only=True):
    """Words at a place in the picture, rise_mm above it on paper. anchor: which end of the words stands there."""

    text: str
    x_mm: float
    y_mm: float
    anchor: Literal["start", "middle", "end"] = "middle"
    rise_mm: float = 0.0


class Picture(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Lines in painting order (later ones cover earlier ones), labels, and where the work zero stands.

    axes: arrow ends of the zero mark, by name, as offsets in the picture for an arrow of length 1.
    caption: what is drawn, for people.
    """

    lines: tuple[Line, ...]
    labels: tuple[Label, ...]
    zero_mm: tuple[float, float]
    axes: tuple[tuple[str, float, float], ...]
    alt: str
    caption: str


class ClampingDrawings(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """Hidden-line drawings of the part, made for `operator_view` and `end_view`; None leaves the part out."""

    operator: Drawing | None = None
    end: Drawing | None = None


class View(msgspec.Struct, frozen=True, kw_only=True):
    """A direction of sight in the part frame, unit vectors: from the work towards the eye, and up on the paper."""

    towards_viewer: tuple[float, float, float]
    up: tuple[float, float, float]

    def flat(self, points_in_part_mm: Any) -> Array:
        """Part points (n, 3) on the paper (n, 2), as model.solid.Drawing does it: right = up x towards_viewer."""
        right = np.cross(self.up, self.towards_viewer)
        return np.asarray(points_in_part_mm, dtype=np.float64) @ np.column_stack([right, self.up])


def _view(clamping: Clamping, towards: tuple[float, float, float], up: tuple[float, float, float]) -> View:
    turn = clamping.frame.turn.T
    return View(
        towards_viewer=tuple(float(v) + 0.0 for v in turn @ np.array(towards)),  # type: ignore[arg-type]
        up=tuple(float(v) + 0.0 for v in turn @ np.array(up)),  # type: ignore[arg-type]
    )


def operator_view(clamping: Clamping) -> View:
    """From where the operator stands: in front of the moving jaw, looking down on the work, x to the right."""
    down, level = math.sin(LOOK_DOWN_RAD), math.cos(LOOK_DOWN_RAD)
    return _view(clamping, (0.0, -level, down), (0.0, down, level))


def end_view(clamping: Clamping) -> View:
    """Along the jaws from the operator's right: the fixed jaw to the right, the operator to the left, z up."""
    return _view(clamping, (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))


def hull(points: Array) -> Array:
    """Corners (k, 2) of the smallest convex outline round points (n, 2), counter-clockwise; n >= 1."""
    order = sorted({(round(float(x), 6), round(float(y), 6)) for x, y in points})
    if len(order) < 3:
        return np.array(order, dtype=np.float64)

    def half(run: list[tuple[float, float]]) -> list[tuple[float, float]]:
        kept: list[tuple[float, float]] = []
        for p in run:
            while len(kept) > 1:
                (ax, ay), (bx, by) = kept[-2], kept[-1]
                if (bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax) > 0.0:
                    break
                kept.pop()
            kept.append(p)
        return kept[:-1]

    return np.array(half(order) + half(order[::-1]), dtype=np.float64)


def _box_faces(low: tuple[float, ...], high: tuple[float, ...]) -> list[Array]:
    """The faces of a box that the operator sees, far ones first: top, then front. (4, 3) each, clamping frame."""
    (x0, y0, z0), (x1, y1, z1) = low, high
    top = np.array([[x0, y0, z1], [x1, y0, z1], [x1, y1, z1], [x0, y1, z1]])
    front = np.array([[x0, y0, z0], [x1, y0, z0], [x1, y0, z1], [x0, y0, z1]])
    return [top, front]


class Scene:
    """Boxes of one clamping in its own frame, and how they fall on the paper."""

    def __init__(self, *, plan: Plan, shop: Shop, clamping: Clamping, view: View) -> None:
        self.clamping, self.view = clamping, view
        chosen = plan.blank.chosen
        self.blank = self._boxed(box_corners(chosen.low_mm, chosen.high_mm))
        self.part = self._boxed(box_corners(*part_box(plan)))
        strip = strip_box(plan, clamping)
        self.strip = None if strip is None else self._boxed(box_corners(*strip))
        vise = next((v for v in shop.vises if v.id == clamping.vise_id), None)
        length = vise.jaw_length_mm if vise else (self.blank[1][0] - self.blank[0][0])
        held = self.blank if clamping.surface == "raw" else self.part
        middle = (held[0][0] + held[1][0]) / 2.0
        self.jaw_x = (middle - length / 2.0, middle + length / 2.0)

    def _boxed(self, points_in_part: Array) -> tuple[Array, Array]:
        moved = self.clamping.frame.into(points_in_part)
        return moved.min(axis=0), moved.max(axis=0)

    def is_nearer(self, box: tuple[Array, Array], other: tuple[Array, Array]) -> bool:
        """Whether one box lies nearer to the eye than another, by their middles."""
        towards = self.clamping.frame.turn @ np.array(self.view.towards_viewer)
        return float(((box[0] + box[1]) - (other[0] + other[1])) @ towards) > 0.0

    def flat(self, points_in_clamping: Any) -> Array:
        """Points (n, 3) of the clamping's frame on the paper."""
        return self.view.flat(self.clamping.frame.out_of(points_in_clamping))

    def outline(self, box: tuple[Array, Array]) -> Array:
        """The outline of a box on the paper."""
        return hull(self.flat(box_corners(tuple(box[0]), tuple(box[1]))))

    def seen_edges(self, box: tuple[Array, Array], style: Style) -> list[Line]:
        """The faces of a box that the operator sees."""
        faces = _box_faces(tuple(box[0]), tuple(box[1]))
        return [Line(style=style, points_mm=self.flat(face), is_closed=True) for face in faces]


def _drawn(drawing: Drawing | None) -> list[Line]:
    if drawing is None:
        return []
    hidden = [Line(style="hidden", points_mm=line) for line in drawing.hidden_mm]
    return hidden + [Line(style="work", points_mm=line) for line in drawing.visible_mm]


def _axes(scene: Scene) -> tuple[tuple[float, float], tuple[tuple[str, float, float], ...]]:
    zero = scene.flat([[0.0, 0.0, 0.0]])[0]
    ends = scene.flat(np.eye(3)) - zero
    arrows = tuple((name, float(x), float(y)) for name, (x, y) in zip("XYZ", ends, strict=True))
    return (float(zero[0]), float(zero[1])), arrows


def operator_picture(*, plan: Plan, shop: Shop, clamping: Clamping, part: Drawing | None) -> Picture:
    """What the operator sees: fixed jaw behind, the work, the moving jaw before it. `part` made for operator_view."""
    scene = Scene(plan=plan, shop=shop, clamping=clamping, view=operator_view(clamping))
    (left, right), top, gap = scene.jaw_x, clamping.jaw_top_mm, clamping.gap_mm
    lines = scene.seen_edges((np.array([left, 0.0, -JAW_BELOW_MM]), np.array([right, JAW_PLATE_MM, top])), "jaw")
    ledge = (np.array([left, -LEDGE_MM, -JAW_BELOW_MM]), np.array([right, 0.0, 0.0]))
    lines += scene.seen_edges(ledge, "jaw")
    drawn = _drawn(part)
    if clamping.surface == "raw":
        lines += scene.seen_edges(scene.blank, "blank")
        lines += [
            Line(style="hidden" if line.style == "work" else line.style, points_mm=line.points_mm)
            for line in drawn
            if line.style == "work"
        ]
    else:
        strip = [] if scene.strip is None else scene.seen_edges(scene.strip, "strip")
        is_before = scene.strip is not None and scene.is_nearer(scene.strip, scene.part)
        lines += [] if is_before else strip
        if drawn:
            seen = [line.points_mm for line in drawn if line.style == "work"]
            if seen:
                lines.append(Line(style="mask", points_mm=hull(np.vstack(seen)), is_closed=True))
            lines += drawn
        else:
            lines += scene.seen_edges(scene.part, "work")
        lines += strip if is_before else []
    back = scene.flat([[right, JAW_PLATE_MM, top]])[0]
    above = max(float(line.points_mm[:, 1].max()) for line in lines)  # the label stands clear of work and jaw
    leader_x = float(back[0]) - LEADER_MM
    if above > float(back[1]) + LEADER_MM:
        lines.append(Line(style="size", points_mm=np.array([[leader_x, above], [leader_x, float(back[1])]])))
    moving = (np.array([left, -gap - JAW_PLATE_MM, -JAW_BELOW_MM]), np.array([right, -gap, top]))
    lines += scene.seen_edges(moving, "jaw")
    front = scene.flat([[(left + right) / 2.0, -gap - JAW_PLATE_MM, (top - JAW_BELOW_MM) / 2.0]])[0]
    below = min(float(line.points_mm[:, 1].min()) for line in lines)
    labels = [
        Label(text="moving jaw", x_mm=float(front[0]), y_mm=float(front[1])),
        Label(text="you stand here", x_mm=float(front[0]), y_mm=float(below), rise_mm=-LABEL_BELOW_MM),
        Label(text="fixed jaw", x_mm=float(back[0]), y_mm=above, anchor="end", rise_mm=LABEL_RISE_MM),
    ]
    zero, axes = _axes(scene)
    what = "the sawn blank, with the finished part dashed inside it," if clamping.surface == "raw" else "the work"
    alt = (
        f"Line drawing from where the operator stands: {what} lies between the fixed jaw at the back and the "
        f"moving jaw in front. {clamping.seat_text}. The work zero is marked."
    )
    caption = f"From where you stand. {_caption(clamping, scene)}"
    return Picture(lines=tuple(lines), labels=tuple(labels), zero_mm=zero, axes=axes, alt=alt, caption=caption)


def _caption(clamping: Clamping, scene: Scene) -> str:
    """What is drawn in words: it is not always the work as it is at that moment."""
    if clamping.surface == "raw":
        return "The sawn blank, the finished part dashed in it."
    return "Drawn with all cuts made" + ("." if scene.strip is None else "; hatched: the strip still on it.")


def end_picture(*, plan: Plan, shop: Shop, clamping: Clamping, part: Drawing | None) -> Picture:
    """A cut across the jaws, seen along them: both jaws section-lined, then the work. `part` made for end_view."""
    scene = Scene(plan=plan, shop=shop, clamping=clamping, view=end_view(clamping))
    top, gap = clamping.jaw_top_mm, clamping.gap_mm
    fixed = np.array(
        [
            [0, 0, top],
            [0, JAW_PLATE_MM, top],
            [0, JAW_PLATE_MM, -JAW_BELOW_MM],
            [0, -LEDGE_MM, -JAW_BELOW_MM],
            [0, -LEDGE_MM, 0],
            [0, 0, 0],
        ],
        dtype=np.float64,
    )
    moving = fixed * np.array([1.0, -1.0, 1.0]) - np.array([0.0, gap, 0.0])
    lines = [Line(style="jaw cut", points_mm=scene.flat(outline), is_closed=True) for outline in (fixed, moving)]
    drawn = _drawn(part)
    if clamping.surface == "raw":
        lines.append(Line(style="blank", points_mm=scene.outline(scene.blank), is_closed=True))
        lines += [Line(style="hidden", points_mm=line.points_mm) for line in drawn if line.style == "work"] or [
            Line(style="hidden", points_mm=scene.outline(scene.part), is_closed=True)
        ]
    else:
        if scene.strip is not None:
            lines.append(Line(style="strip", points_mm=scene.outline(scene.strip), is_closed=True))
        lines += drawn or [Line(style="work", points_mm=scene.outline(scene.part), is_closed=True)]
    zero, axes = _axes(scene)
    held = "blank" if clamping.surface == "raw" else "work"
    alt = (
        f"Cut across the jaws seen from the operator's right: fixed jaw on the right, moving jaw on the left, both "
        f"section-lined; the {held} stands on the jaw steps."
    )
    caption = "Cut across the jaws, from your right, mm."
    caption += " These jaws are cut to the shape of the work." if clamping.needs_form else ""
    return Picture(lines=tuple(lines), labels=(), zero_mm=zero, axes=axes, alt=alt, caption=caption)
