"""Pictures as SVG text: ink lines whose widths and letters are set in millimetres of paper."""

from __future__ import annotations

import itertools
import math
from html import escape
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from proveout.model.sawing import BarPattern
from proveout.sheets.derived import PatternSheet
from proveout.sheets.ink import Ink
from proveout.sheets.picture import Line, Picture

Array = NDArray[np.float64]
LETTER_MM = 3.7  # 10.5 points
ARROW_MM = 13.0  # of the zero mark
HEAD_MM = 2.4  # of an arrow
LEAST_SEEN = 0.15  # share of an axis that must lie in the picture for its arrow to be drawn
SIDE_MM = 3.6  # a letter moves aside by
CLEAR_MM = 2.0  # from the middle of a letter to any arrow, at least
TIP_MM = 4.6  # from the end of an arrow's shaft to the middle of its letter
TOP_MM = 1.0  # clear paper above the highest sign
LEAST_WIDTH_MM = 52.0  # labels and caption of the operator's picture fit
HATCHES = {"hatch": (2.6, 1.0, 0.16), "lining": (1.8, -1.0, 0.32)}  # spacing, slope, width of the strokes, mm
BUNDLE_MM = 86.0  # the picture of a bundle, two to a row
FLAT_MM = 5.0  # bars drawn lower than this hold no letter
LABEL_MM = 19.0  # width of "moving jaw"
FONT = "Libertinus Serif, Georgia, serif"
STROKES = {
    "work": ("none", 0.5, ""),
    "hidden": ("none", 0.22, "1.6 1.0"),
    "blank": ("#fff", 0.5, ""),
    "strip": ("hatch", 0.3, ""),
    "jaw": ("#fff", 0.3, ""),
    "jaw cut": ("lining", 0.5, ""),
    "bed": ("none", 0.25, ""),
    "mask": ("#fff", 0.0, ""),
    "zero": ("none", 0.4, ""),
    "size": ("none", 0.2, ""),
    "ring": ("none", 0.9, "2.2 1.2"),
}


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


class Paper:
    """Gathers SVG elements on a sheet of paper-millimetres, y down, and writes the whole picture."""

    def __init__(self, *, width_mm: float, height_mm: float) -> None:
        self.width_mm, self.height_mm = width_mm, height_mm
        self.parts: list[str] = []

    def path(self, points: Array, *, fill: str, width_mm: float, dash: str = "", closed: bool = False) -> None:
        """A polyline or outline in paper-millimetres."""
        steps = "L".join(f"{_n(float(x))} {_n(float(y))}" for x, y in points)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        stroke = f'stroke="#000" stroke-width="{_n(width_mm)}"' if width_mm else 'stroke="none"'
        tint = "#fff" if fill in HATCHES else fill
        if fill in HATCHES:
            spacing, slope, thin = HATCHES[fill]
            self.parts.append(f'<path d="M{steps}Z" fill="#fff" stroke="none"/>')
            self.strokes(hatched(points, spacing_mm=spacing, slope=slope), width_mm=thin)
            tint = "none"
        self.parts.append(f'<path d="M{steps}{"Z" if closed else ""}" fill="{tint}" {stroke}{dashes}/>')

    def strokes(self, lines: list[Array], *, width_mm: float, dash: str = "", ink: str = "#000") -> None:
        """Many open polylines of one kind as one element."""
        steps = "".join("M" + "L".join(f"{_n(float(x))} {_n(float(y))}" for x, y in line) for line in lines)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        self.parts.append(f'<path d="{steps}" fill="none" stroke="{ink}" stroke-width="{_n(width_mm)}"{dashes}/>')

    def words(self, text: str, x_mm: float, y_mm: float, *, anchor: str = "middle", strong: bool = False) -> None:
        """Words with a paper-coloured rim, so that lines behind them do not cross the letters."""
        weight = ' font-weight="bold"' if strong else ""
        common = f'x="{_n(x_mm)}" y="{_n(y_mm)}" text-anchor="{anchor}"{weight}'
        self.parts.append(
            f'<text {common} fill="#fff" stroke="#fff" stroke-width="1.1" stroke-linejoin="round" aria-hidden="true" '
            f'class="rim">{escape(text)}</text><text {common}>{escape(text)}</text>'
        )

    def text(self, *, alt: str, ids: str) -> str:
        """The SVG; alt becomes its title. `ids` keeps the titles of several pictures on one page apart."""
        body = "\n".join(self.parts)
        size = f"{_n(self.width_mm)} {_n(self.height_mm)}"
        return (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" aria-labelledby="t{ids}" viewBox="0 0 {size}" '
            f'width="{_n(self.width_mm)}mm" height="{_n(self.height_mm)}mm" font-family="{FONT}" '
            f'font-size="{_n(LETTER_MM)}"><title id="t{ids}">{escape(alt)}</title>'
            f"\n{body}\n</svg>\n"
        )


def hatched(outline: Array, *, spacing_mm: float, slope: float) -> list[Array]:
    """Strokes at 45 degrees inside a closed outline (n, 2), spacing_mm apart; slope 1 or -1 of the paper (y down)."""
    along = outline @ np.array([1.0, slope])
    across = outline @ np.array([-slope, 1.0])
    step = spacing_mm * math.sqrt(2.0)
    strokes: list[Array] = []
    for c in np.arange(math.ceil(float(across.min()) / step), math.floor(float(across.max()) / step) + 1) * step:
        meets: list[float] = []
        for i in range(len(outline)):
            j = (i + 1) % len(outline)
            if (across[i] < c) != (across[j] < c):
                share = (c - across[i]) / (across[j] - across[i])
                meets.append(float(along[i] + share * (along[j] - along[i])))
        meets.sort()
        for start, end in zip(meets[::2], meets[1::2], strict=True):
            ends = np.array([start, end])
            strokes.append(np.column_stack([(ends - slope * c) / 2.0, (slope * ends + c) / 2.0]))
    return strokes


def svg_width_mm(svg: str) -> float:
    """The width of a picture that a Paper wrote."""
    return float(svg.split('width="', 1)[1].split("mm", 1)[0])


class Placing(Protocol):
    """Takes a picture's millimetres to those of the paper."""

    def to_paper(self, points: Array) -> Array:
        """(n, 2) of the picture on the paper, y down."""
        ...


def paint(paper: Paper, lines: tuple[Line, ...], fit: Placing) -> None:
    """The lines in their order; open ones of one style that follow each other as one element."""
    for (style, is_closed), run in itertools.groupby(lines, key=lambda line: (line.style, line.is_closed)):
        fill, stroke, dash = STROKES[style]
        if is_closed or fill != "none":
            for line in run:
                paper.path(fit.to_paper(line.points_mm), fill=fill, width_mm=stroke, dash=dash, closed=is_closed)
        else:
            paper.strokes([fit.to_paper(line.points_mm) for line in run], width_mm=stroke, dash=dash)


class Fit:
    """Fits a picture into a frame of paper: `to_paper` takes its millimetres to paper-millimetres."""

    def __init__(
        self, points: Array, *, width_mm: float, height_mm: float, margin_mm: float, largest: float = 2.0
    ) -> None:
        low, high = points.min(axis=0), points.max(axis=0)
        size = np.maximum(high - low, 1e-6)
        room = np.array([width_mm - 2.0 * margin_mm, height_mm - 2.0 * margin_mm])
        self.scale = min(largest, float((room / size).min()))
        self.low, self.high = low, high
        used = size * self.scale
        self.height_mm = min(height_mm, float(used[1]) + 2.0 * margin_mm)
        self.shift = (np.array([width_mm, self.height_mm]) - used) / 2.0

    def to_paper(self, points: Array) -> Array:
        """(n, 2) of the picture on the paper, y down."""
        moved = (np.asarray(points, dtype=np.float64).reshape(-1, 2) - self.low) * self.scale + self.shift
        return np.column_stack([moved[:, 0], self.height_mm - moved[:, 1]])


def _zero_mark(paper: Paper, at: Array, picture: Picture) -> None:
    """The arrows of the axes, then their names: a name never lies on an arrow, not even on that of another axis."""
    x, y = float(at[0]), float(at[1])
    arrows: list[tuple[str, Array, Array]] = []  # name, way along the paper, end of the shaft
    for name, dx, dy in picture.axes:
        size = float(np.hypot(dx, dy))
        if size >= LEAST_SEEN:
            arrows.append((name, np.array([dx, -dy]) / size, np.array([x + dx * ARROW_MM, y - dy * ARROW_MM])))
    for _, (ux, uy), (ex, ey) in arrows:
        paper.path(np.array([[x, y], [ex, ey]]), fill="none", width_mm=1.3)
        paper.parts[-1] = paper.parts[-1].replace('stroke="#000"', 'stroke="#fff"')
        paper.path(np.array([[x, y], [ex, ey]]), fill="none", width_mm=0.45)
        head = np.array(
            [[ex + ux * HEAD_MM, ey + uy * HEAD_MM], [ex - uy * 0.9, ey + ux * 0.9], [ex + uy * 0.9, ey - ux * 0.9]]
        )
        paper.path(head, fill="#000", width_mm=0.0, closed=True)
    tips = [end + way * HEAD_MM for _, way, end in arrows]
    named: list[Array] = []
    for name, way, end in arrows:
        middle = _clear_place(end + way * TIP_MM, way, start=np.array([x, y]), tips=tips, named=named)
        named.append(middle)
        paper.words(name, float(middle[0]), float(middle[1]) + 1.3, strong=True)
    _disc(paper, x, y, 1.9)


def _clear_place(middle: Array, way: Array, *, start: Array, tips: list[Array], named: list[Array]) -> Array:
    """Where an axis's name stands: behind its tip, else beside it, to the right first, clear of arrows and names."""
    across = np.array([-way[1], way[0]])
    aside = across * (SIDE_MM if (across[0], -across[1]) > (0.0, 0.0) else -SIDE_MM)
    places = [middle + k * aside for k in (0, 1, -1, 2, -2)]
    clear = (
        place
        for place in places
        if all(_from_line_mm(place, start, tip) >= CLEAR_MM for tip in tips)
        and all(float(np.hypot(*(place - other))) >= SIDE_MM - 0.1 for other in named)
    )
    return next(clear, middle)


def _from_line_mm(point: Array, start: Array, end: Array) -> float:
    """How far a point is from a straight piece of line; both ends may be one."""
    along = end - start
    share = float(np.clip((point - start) @ along / max(float(along @ along), 1e-12), 0.0, 1.0))
    return float(np.hypot(*(point - start - share * along)))


def _disc(paper: Paper, x: float, y: float, r: float) -> None:
    """The quartered disc that marks a zero point on drawings."""
    paper.parts.append(f'<circle cx="{_n(x)}" cy="{_n(y)}" r="{r}" fill="#fff" stroke="#000" stroke-width="0.35"/>')
    for a, b in (((r, 0), (0, -r)), ((-r, 0), (0, r))):
        start, end = f"{_n(x + a[0])} {_n(y + a[1])}", f"{_n(x + b[0])} {_n(y + b[1])}"
        paper.parts.append(f'<path d="M{_n(x)} {_n(y)}L{start}A{r} {r} 0 0 0 {end}Z" fill="#000"/>')


def picture_svg(picture: Picture, *, width_mm: float, height_mm: float, ids: str, margin_mm: float = 6.5) -> str:
    """A picture drawn to fit a frame of paper; the zero mark on top, labels last."""
    everything = np.vstack([line.points_mm for line in picture.lines])
    fit = Fit(everything, width_mm=width_mm, height_mm=height_mm, margin_mm=margin_mm)
    fit.height_mm += max(0.0, TOP_MM - _highest(picture, fit))
    paper = Paper(width_mm=width_mm, height_mm=fit.height_mm)
    paint(paper, picture.lines, fit)
    if picture.axes:
        _zero_mark(paper, fit.to_paper(np.array([picture.zero_mm]))[0], picture)
    for label in picture.labels:
        x, y = fit.to_paper(np.array([[label.x_mm, label.y_mm]]))[0]
        drop = 0.0 - label.rise_mm if label.rise_mm else 1.2
        paper.words(label.text, float(x), float(y) + drop, anchor=label.anchor)
    return paper.text(alt=picture.alt, ids=ids)


def _highest(picture: Picture, fit: Fit) -> float:
    """Where on the paper the highest sign of arrows and labels begins, mm from the top."""
    if not picture.axes and not picture.labels:
        return TOP_MM
    zero = fit.to_paper(np.array([picture.zero_mm]))[0]
    tops = [float(zero[1]) - dy * ARROW_MM - TIP_MM - LETTER_MM / 2.0 for _, _, dy in picture.axes if dy > 0.0]
    tops += [
        float(fit.to_paper(np.array([[label.x_mm, label.y_mm]]))[0][1]) - label.rise_mm - LETTER_MM
        for label in picture.labels
    ]
    return min(tops, default=TOP_MM)


def natural_width_mm(picture: Picture, *, height_mm: float, most_mm: float, margin_mm: float = 6.5) -> float:
    """The paper's width at which a picture fills a height, at most most_mm."""
    everything = np.vstack([line.points_mm for line in picture.lines])
    wide, tall = (float(v) for v in everything.max(axis=0) - everything.min(axis=0))
    scale = min(2.0, (height_mm - 2.0 * margin_mm) / max(tall, 1e-6))
    return min(most_mm, max(wide * scale + 2.0 * margin_mm, LEAST_WIDTH_MM))


def part_svg(lines: tuple[Array, ...], *, alt: str, width_mm: float, height_mm: float, ids: str) -> str:
    """The part alone in ink lines, polylines (k, 2) in mm with y up."""
    fit = Fit(np.vstack(lines), width_mm=width_mm, height_mm=height_mm, margin_mm=1.0, largest=4.0)
    paper = Paper(width_mm=width_mm, height_mm=fit.height_mm)
    paper.strokes([fit.to_paper(line) for line in lines], width_mm=0.35)
    return paper.text(alt=alt, ids=ids)


def dimension(paper: Paper, *, start: Array, end: Array, text: str, aside_mm: float, upright: bool) -> None:
    """A size line with end ticks between two paper points; aside_mm moves it off to the side."""
    shift = np.array([aside_mm, 0.0]) if upright else np.array([0.0, aside_mm])
    a, b = start + shift, end + shift
    away = shift / max(abs(aside_mm), 1e-9)
    for p, q in ((start, a), (end, b)):
        paper.path(np.array([p + away * 0.8, q + away * 1.2]), fill="none", width_mm=0.18)
    paper.path(np.array([a, b]), fill="none", width_mm=0.25)
    slant = np.array([0.7, -0.7])
    for p in (a, b):
        paper.path(np.array([p - slant, p + slant]), fill="none", width_mm=0.4)
    middle = (a + b) / 2.0
    if upright:
        anchor = "start" if aside_mm > 0 else "end"
        off = 1.8 if float(np.abs(b - a).max()) > LETTER_MM else 2.6  # ticks close together stand beside the words
        paper.words(text, float(middle[0]) + (off if aside_mm > 0 else -off), float(middle[1]) + 1.2, anchor=anchor)
    else:
        paper.words(text, float(middle[0]), float(middle[1]) + (4.2 if aside_mm > 0 else -1.6))


def end_svg(picture: Picture, *, ink: Ink, index: int, width_mm: float, height_mm: float, ids: str) -> str:
    """The cut across the jaws with its sizes: grip height, gap between the jaws, height of the work above the jaws."""
    clamping = ink.at("plan", "clampings", index)
    above = ink.at("derived", "clampings", clamping.id, "above_jaw_mm")
    crown = np.array([[picture.zero_mm[0], picture.zero_mm[1] + clamping.jaw_top_mm + above]])  # metal may reach there
    everything = np.vstack([*(line.points_mm for line in picture.lines), crown])
    fit = Fit(everything, width_mm=width_mm - 26.0, height_mm=height_mm - 14.0, margin_mm=1.0)
    fit.shift = fit.shift + np.array([13.0, 6.0])
    fit.height_mm += 14.0
    paper = Paper(width_mm=width_mm, height_mm=fit.height_mm)
    paint(paper, picture.lines, fit)
    zx, zy = picture.zero_mm
    top, gap = clamping.jaw_top_mm, clamping.gap_mm
    jaw_right = fit.to_paper(everything.max(axis=0))[0][0]
    jaw_left = fit.to_paper(everything.min(axis=0))[0][0]
    level = {
        name: fit.to_paper(np.array([[zx, zy + z]]))[0][1]
        for name, z in (("seat", 0.0), ("jaw", top), ("top", top + above))
    }
    dimension(
        paper,
        start=np.array([jaw_right, level["jaw"]]),
        end=np.array([jaw_right, level["top"]]),
        aside_mm=2.5,
        text=ink.number("derived", "clampings", clamping.id, "above_jaw_mm", digits=1),
        upright=True,
    )
    dimension(
        paper,
        start=np.array([jaw_left, level["seat"]]),
        end=np.array([jaw_left, level["jaw"]]),
        aside_mm=-2.5,
        text=ink.number("plan", "clampings", index, "jaw_top_mm", digits=1),
        upright=True,
    )
    left, right = fit.to_paper(np.array([[zx - gap, zy + top + above], [zx, zy + top + above]]))
    dimension(
        paper,
        start=left,
        end=right,
        aside_mm=-3.0,
        text=ink.number("plan", "clampings", index, "gap_mm", digits=1),
        upright=False,
    )
    base = float(fit.to_paper(everything.min(axis=0))[0][1])
    inner_left, inner_right = float(left[0]), float(right[0])
    paper.words("moving jaw", max(LABEL_MM, min(inner_left + 4.0, inner_right - 12.0)), base + 4.4, anchor="end")
    paper.words(
        "fixed jaw", min(width_mm - LABEL_MM, max(inner_right - 4.0, LABEL_MM + 3.0)), base + 4.4, anchor="start"
    )
    x, y = fit.to_paper(np.array([picture.zero_mm]))[0]
    _disc(paper, float(x), float(y), 1.5)
    return paper.text(alt=picture.alt, ids=ids)


def bundle_svg(*, bar_mm: tuple[float, float], sheet: PatternSheet, pattern: BarPattern, ids: str) -> str:
    """The end of a bundle as it stands against the saw's fence.

    Bars that are measured are marked: the first at the fence, the last beside it, the last on top.
    """
    width, height = bar_mm
    across = sheet.across_count
    letters = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    unit = min(26.0 / max(width, height), (BUNDLE_MM - 8.0) / (across * width), 34.0 / (sheet.layers_count * height))
    w, h = width * unit, height * unit
    is_flat = h < FLAT_MM  # its letters stand above and below the bundle
    x0, y0 = 3.0, 6.5 if is_flat else 2.0
    paper = Paper(width_mm=BUNDLE_MM, height_mm=h * sheet.layers_count + y0 + 7.0)
    floor = y0 + h * sheet.layers_count
    for place in range(pattern.bundle_count):
        row, column = divmod(place, across)
        x, y = x0 + column * w, floor - (row + 1) * h
        outer = place in (0, min(across, pattern.bundle_count) - 1, pattern.bundle_count - 1)
        box = np.array([[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
        paper.path(box, fill="#fff", width_mm=0.7 if outer else 0.35, closed=True)
        if outer:
            flat = floor + 5.0 if row == 0 else y - 1.5
            paper.words(letters[place % 26], x + w / 2.0, flat if is_flat else y + h / 2.0 + 1.3, strong=True)
    paper.path(
        np.array([[x0 - 2.0, y0 - 1.0], [x0 - 2.0, floor], [x0 + across * w + 3.0, floor]]), fill="none", width_mm=0.9
    )
    paper.words("fence", x0 - 2.0, floor + 5.0, anchor="start")
    alt = "End view of the bundle against the fence of the saw; the lettered outer bars are measured."
    return paper.text(alt=alt, ids=ids)
