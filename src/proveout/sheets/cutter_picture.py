"""Cutters as they hang in the spindle, drawn to scale: flutes, shank, holder and stick-out; and a changer's places."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from proveout.model.cutter import Piece
from proveout.model.shop import Cutter
from proveout.quantities.units import MM_PER_INCH
from proveout.sheets.svg import Array, Fit, Paper, dimension

WIDTH_MM, HEIGHT_MM = 120.0, 130.0
SIDE_MM, HEAD_MM, FOOT_MM = 34.0, 3.0, 14.0  # clear of the cutter, for its sizes
ARC_POINTS = 13
THREAD_LEAST_MM = 0.6  # of paper between two strokes of a thread
CELL_WIDTH_MM, CELL_HEIGHT_MM = 24.0, 46.0
CELLS_A_ROW = 8
WORDS_MM = 11.0  # of a cell, for place and id


def cutter_svg(cutter: Cutter, *, is_inch: bool, ids: str) -> str:
    """One cutter with its sizes, in the system that the shop types."""
    shapes = _shapes(cutter)
    fit = Fit(np.vstack([points for _, points in shapes]), width_mm=WIDTH_MM - 2.0 * SIDE_MM,
              height_mm=HEIGHT_MM - HEAD_MM - FOOT_MM, margin_mm=1.0, largest=3.0)  # fmt: skip
    shift = np.array([SIDE_MM, HEAD_MM])
    paper = Paper(width_mm=WIDTH_MM, height_mm=fit.height_mm + HEAD_MM + FOOT_MM)
    _draw(paper, cutter, shapes, fit, shift)

    def at(r_mm: float, z_mm: float) -> Array:
        return np.asarray(fit.to_paper(np.array([[r_mm, z_mm]]))[0] + shift, np.float64)

    def words(value_mm: float) -> str:
        return length_words(value_mm, is_inch=is_inch)

    wide = max(float(np.abs(points[:, 0]).max()) for _, points in shapes)
    dimension(paper, start=at(wide, cutter.stick_out_mm), end=at(wide, 0.0), aside_mm=4.0, upright=True,
              text=words(cutter.stick_out_mm))  # fmt: skip
    dimension(paper, start=at(-wide, cutter.flute_length_mm), end=at(-wide, 0.0), aside_mm=-4.0, upright=True,
              text=words(cutter.flute_length_mm))  # fmt: skip
    radius = cutter.diameter_mm / 2.0
    dimension(paper, start=at(-radius, 0.0), end=at(radius, 0.0), aside_mm=3.5, upright=False,
              text=f"Ø{words(cutter.diameter_mm)}")  # fmt: skip
    end = end_words(cutter, is_inch=is_inch)
    if end:
        paper.words(end, WIDTH_MM / 2.0, fit.height_mm + HEAD_MM + FOOT_MM - 1.5)
    return paper.text(alt=_alt(cutter, is_inch=is_inch), ids=ids)


def end_words(cutter: Cutter, *, is_inch: bool) -> str:
    """What the end of a cutter is like: corner radius, angle of its point, pitch; empty where nothing is to be said."""
    degrees = f"{math.degrees(cutter.tip_angle_rad):.4g}°"
    if cutter.kind in ("drill", "spot", "edge break"):
        flat = f", flat of {length_words(cutter.tip_diameter_mm, is_inch=is_inch)}" if cutter.tip_diameter_mm else ""
        return f"point {degrees}{flat}"
    if cutter.kind == "undercut":
        return f"flank {degrees} to the axis"
    if cutter.pitch_mm:
        return f"pitch {length_words(cutter.pitch_mm, is_inch=is_inch)}"
    if cutter.kind == "ball":
        return "round end"
    radius = cutter.corner_radius_mm
    return f"corner radius {length_words(radius, is_inch=is_inch)}" if radius else "sharp corner"


def length_words(value_mm: float, *, is_inch: bool) -> str:
    """A length in the system that the shop types, with its unit."""
    return f"{value_mm / MM_PER_INCH:.4g} in" if is_inch else f"{value_mm:.4g} mm"


def changer_svg(places: Sequence[str], *, cutters: Sequence[Cutter], ids: str) -> str:
    """The places of a changer that hold cutters for good, all cutters to one scale.

    places: ids from the first place on, "" where none stands.  A cutter that the shop does not have is left empty.
    """
    known = {cutter.id: cutter for cutter in cutters}
    held = [(str(number), known[id]) for number, id in enumerate(places, start=1) if id in known]
    told = ", ".join(f"{number} {cutter.id}" for number, cutter in held) or "none"
    return _side_by_side(held, alt=f"Places of the changer that hold a cutter for good, to one scale: {told}.", ids=ids)


def crib_svg(cutters: Sequence[Cutter], *, ids: str) -> str:
    """Every cutter to one scale."""
    told = ", ".join(cutter.id for cutter in cutters)
    return _side_by_side([("", cutter) for cutter in cutters], alt=f"Cutters to one scale: {told}.", ids=ids)


def _side_by_side(cells: Sequence[tuple[str, Cutter]], *, alt: str, ids: str) -> str:
    columns = min(CELLS_A_ROW, max(1, len(cells)))
    shapes = [_shapes(cutter) for _, cutter in cells]
    tall = max((float(points[:, 1].max()) for one in shapes for _, points in one), default=1.0)
    wide = max((float(np.abs(points[:, 0]).max()) for one in shapes for _, points in one), default=1.0)
    frame = np.array([[-wide, 0.0], [wide, tall]])
    fit = Fit(frame, width_mm=CELL_WIDTH_MM, height_mm=CELL_HEIGHT_MM - WORDS_MM, margin_mm=1.5)
    high = fit.height_mm + WORDS_MM
    paper = Paper(width_mm=columns * CELL_WIDTH_MM, height_mm=max(1, math.ceil(len(cells) / columns)) * high)
    for index, (words, cutter) in enumerate(cells):
        left, top = (index % columns) * CELL_WIDTH_MM, (index // columns) * high
        _draw(paper, cutter, shapes[index], fit, np.array([left, top + 5.0]))
        if words:
            paper.words(words, left + CELL_WIDTH_MM / 2.0, top + 4.0, strong=True)
        paper.words(cutter.id, left + CELL_WIDTH_MM / 2.0, top + high - 2.0)
    return paper.text(alt=alt, ids=ids)


def _alt(cutter: Cutter, *, is_inch: bool) -> str:
    sizes = {
        "diameter": cutter.diameter_mm, "length that cuts": cutter.flute_length_mm, "shank": cutter.shank_diameter_mm,
        "stick-out": cutter.stick_out_mm, "holder": cutter.holder_diameter_mm,
    }  # fmt: skip
    if cutter.neck_diameter_mm is not None:
        sizes["neck"] = cutter.neck_diameter_mm
    told = ", ".join(f"{name} {length_words(value, is_inch=is_inch)}" for name, value in sizes.items())
    return f"{cutter.id}, {cutter.kind}, to scale: {told}; {end_words(cutter, is_inch=is_inch)}."


def _shapes(cutter: Cutter) -> list[tuple[str, Array]]:
    """Closed outlines, (n, 2) radius and height in mm, with what each is."""
    cutting = _mirrored([point for piece in cutter.cutting for point in _profile(piece)])
    rest = [_mirrored(_profile(piece)) for piece in cutter.body]
    names = ["holder"] if cutter.holder_length_mm > 0.0 else []
    necks = ["neck"] if cutter.neck_diameter_mm is not None else []
    names = [*necks, *["shank"] * (len(rest) - len(names) - len(necks)), *names]
    return [*zip(names, rest, strict=True), ("flutes", cutting)]


def _profile(piece: Piece) -> list[tuple[float, float]]:
    """Radius and height from the lowest point up; of what is round only up to its widest."""
    if piece.kind == "frustum":
        return [(piece.r_low_mm, piece.z_low_mm), (piece.r_high_mm, piece.z_high_mm)]
    corner = piece.corner_mm
    flat = 0.0 if piece.kind == "ball" else piece.r_low_mm
    turns = np.linspace(0.0, math.pi / 2.0, ARC_POINTS)
    return [(flat + corner * math.sin(a), piece.z_low_mm + corner * (1.0 - math.cos(a))) for a in turns]


def _mirrored(right: list[tuple[float, float]]) -> Array:
    return np.array([*right, *((-r, z) for r, z in reversed(right))])


def _draw(paper: Paper, cutter: Cutter, shapes: list[tuple[str, Array]], fit: Fit, shift: Array) -> None:
    for name, points in shapes:
        fill = "hatch" if name == "flutes" else "#fff"
        paper.path(fit.to_paper(points) + shift, fill=fill, width_mm=0.5 if name == "flutes" else 0.3, closed=True)
    step = cutter.pitch_mm
    if step * fit.scale < THREAD_LEAST_MM:
        return
    radius = cutter.diameter_mm / 2.0
    levels = np.arange(step / 2.0, cutter.flute_length_mm, step)
    paper.strokes(
        [fit.to_paper(np.array([[-radius, z - step / 4.0], [radius, z + step / 4.0]])) + shift for z in levels],
        width_mm=0.25,
    )
