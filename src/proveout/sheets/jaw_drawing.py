"""The pair of soft jaws with the pocket cut, seen from above and in section, with the sizes to cut it by."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.model.jaw_form import JawForm
from proveout.sheets.svg import Fit, Paper, dimension

Array = NDArray[np.float64]
WIDTH_MM, HEIGHT_MM, MARGIN_MM = 180.0, 150.0, 26.0
SIDE_MM = 26.0  # height of the section below the view from above
GAP_MM, WORDS_MM = 18.0, 6.0


def jaw_drawing(form: JawForm, *, title: str) -> str:
    """SVG of one form; the frame is that of the clamping: X along the jaws, Y to the fixed jaw, Z 0 at the step.

    Sizes in mm. Above: outlines of both jaws, the pocket, dashed the slug, and a cross where each relief ends.
    """
    fixed, moving = (_box(*bounds) for bounds in form.jaw_bounds_mm)
    fit = Fit(np.vstack([fixed, moving]), width_mm=WIDTH_MM, height_mm=HEIGHT_MM, margin_mm=MARGIN_MM, largest=1.0)
    foot = fit.height_mm
    paper = Paper(width_mm=WIDTH_MM, height_mm=foot + SIDE_MM + GAP_MM + WORDS_MM)
    for jaw in (fixed, moving):
        paper.path(fit.to_paper(jaw), fill="hatch", width_mm=0.4, closed=True)
    for ring in form.outline_mm:
        paper.path(fit.to_paper(np.array(ring)), fill="#fff", width_mm=0.5, closed=True)
    slug = _box(form.low_mm, form.bite_mm - form.gap_mm, form.high_mm, -form.bite_mm)
    paper.path(fit.to_paper(slug), fill="none", width_mm=0.22, dash="1.6 1.0", closed=True)
    for one in form.reliefs:
        x, y = fit.to_paper(np.array([one.to_mm]))[0]
        arm = form.cutter_radius_mm * fit.scale
        paper.strokes([np.array([[x - arm, y], [x + arm, y]]), np.array([[x, y - arm], [x, y + arm]])], width_mm=0.2)
    _sizes(paper, fit, form)
    _section(paper, fit, form, foot)
    middle = WIDTH_MM / 2.0
    paper.words(title, middle, 5.0, strong=True)
    for name, jaw in (("fixed jaw", fixed), ("moving jaw", moving)):
        x, y = fit.to_paper(jaw).mean(axis=0)
        paper.words(name, float(x), float(y) + (-2.5 if jaw is fixed else 5.0))
    return paper.text(alt=f"{title}: pocket seen from above and in section", ids="j")


def _box(x_low: float, y_low: float, x_high: float, y_high: float) -> Array:
    return np.array([[x_low, y_low], [x_high, y_low], [x_high, y_high], [x_low, y_high]])


def _sizes(paper: Paper, fit: Fit, form: JawForm) -> None:
    """Along the jaws: their length and where the pocket's ends lie; across: gap, bite and thickness."""
    thick, bite, gap = form.thickness_mm, form.bite_mm, form.gap_mm
    points = np.vstack([np.array(ring) for ring in form.outline_mm])
    x_low, x_high = float(points[:, 0].min()), float(points[:, 0].max())
    low, high = form.low_mm, form.high_mm

    def at(x: float, y: float) -> Array:
        return fit.to_paper(np.array([[x, y]]))[0]

    below = bite - gap - thick
    dimension(paper, start=at(low, below), end=at(high, below), text=f"{high - low:.1f}", aside_mm=14.0, upright=False)
    if x_low > low:
        stops = f"{x_low - low:.2f}" + (" to the stop" if form.stop else "")
        dimension(paper, start=at(low, below), end=at(x_low, below), text=stops, aside_mm=3.5, upright=False)
    if x_high < high:
        length = f"{x_high - max(x_low, low):.2f}"
        dimension(
            paper, start=at(max(x_low, low), below), end=at(x_high, below), text=length, aside_mm=3.5, upright=False
        )
    dimension(paper, start=at(high, -gap), end=at(high, 0.0), text=f"{gap:.2f}", aside_mm=3.0, upright=True)
    dimension(paper, start=at(high, 0.0), end=at(high, -bite), text="", aside_mm=15.0, upright=True)
    paper.words(f"{bite:.2f}", float(at(high, 0.0)[0]) + 18.0, float(at(high, -bite / 2.0)[1]) - 2.0, anchor="start")
    dimension(paper, start=at(low, -bite), end=at(low, thick - bite), text=f"{thick:.1f}", aside_mm=-3.0, upright=True)


def _section(paper: Paper, fit: Fit, form: JawForm, foot_mm: float) -> None:
    """Across the jaws at half their length, step and pocket: the fixed jaw on the right."""
    thick, bite, gap = form.thickness_mm, form.bite_mm, form.gap_mm
    depth, below = form.depth_mm, form.below_mm
    outlines = []
    for sign, face in ((1.0, -bite), (-1.0, bite - gap)):
        # from the face that closes on the slug outwards; the pocket takes `bite` of it down to the step
        u = [0.0, bite, bite, thick, thick, 0.0]
        z = [0.0, 0.0, depth, depth, -below, -below]
        outlines.append(np.column_stack([face + sign * np.array(u), z]))
    slug = _box(bite - gap, -below, -bite, -form.slug_below_mm)
    side = Fit(np.vstack(outlines), width_mm=WIDTH_MM, height_mm=SIDE_MM + GAP_MM, margin_mm=4.0, largest=fit.scale)

    def down(points: Array) -> Array:
        return side.to_paper(points) + np.array([0.0, foot_mm])

    for outline in outlines:
        paper.path(down(outline), fill="hatch", width_mm=0.4, closed=True)
    paper.path(down(slug), fill="none", width_mm=0.22, dash="1.6 1.0", closed=True)
    edge = down(np.array([[thick - bite, 0.0], [thick - bite, depth]]))
    dimension(paper, start=edge[0], end=edge[1], text=f"{depth:.2f}", aside_mm=3.0, upright=True)
    left = down(np.array([[bite - gap - thick, -below], [bite - gap - thick, 0.0]]))
    dimension(paper, start=left[0], end=left[1], text=f"{below:.2f}", aside_mm=-3.0, upright=True)
    x, y = down(np.array([[-gap / 2.0, -below]]))[0]
    paper.words(f"slug {form.slug_width_mm:.2f}", float(x), float(y) + 5.0)
    for name, outline in (("fixed", outlines[0]), ("moving", outlines[1])):
        x, y = down(outline).mean(axis=0)
        paper.words(name, float(down(outline)[3:5, 0].mean()) + (-9.0 if name == "fixed" else 9.0), float(y) + 8.0)
