"""The places of one machine's table from above, as the operator stands: vises, pieces, stops and zeros."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.model.table_load import TableLoad, zero_at
from proveout.model.work import Clamping
from proveout.sheets.boxes import part_box
from proveout.sheets.svg import Fit, Paper, hatched
from proveout.sheets.writer import Writer

Array = NDArray[np.float64]
BESIDE_MM = 60.0
"""Between vises that nobody measured, in the picture alone."""
LABEL_ROOM_MM, STANDING_MM = 12.0, 6.0
"""Paper for the names of the places, and for where the operator stands."""
ARROW_MM = 9.0


def places_svg(writer: Writer, index: int, *, width_mm: float, height_mm: float, ids: str) -> str:
    """One table load from above: jaws, pieces, stop and work zero of each; to one scale."""
    load = writer.plan.table_loads[index]
    clampings = {clamping.id: clamping for clamping in writer.plan.clampings}
    zeros = _zeros(load, clampings, writer)
    outlines = [_outlines(writer, load, n, clampings, zeros[n]) for n in range(len(load.laid))]
    everything = np.vstack([points for own in outlines for _, points in own])
    fit = Fit(everything, width_mm=width_mm, height_mm=height_mm - STANDING_MM, margin_mm=LABEL_ROOM_MM)
    paper = Paper(width_mm=width_mm, height_mm=fit.height_mm + STANDING_MM)
    for own in outlines:
        for style, points in own:
            drawn = fit.to_paper(points)
            paper.path(drawn, fill="#fff", width_mm=0.4, closed=True)
            if style == "jaw":
                paper.strokes(hatched(drawn, spacing_mm=2.2, slope=-1.0), width_mm=0.18)
    for n, laid in enumerate(load.laid):
        clamping, sign = clampings[laid.clamping_id], -1.0 if laid.place.is_turned else 1.0
        stop = fit.to_paper(_stop(clamping, zeros[n], sign))
        paper.path(stop, fill="#000", width_mm=0.3, closed=True)
        at = fit.to_paper(np.array([zeros[n]]))[0]
        _axes(paper, float(at[0]), float(at[1]))
        # in front of the moving jaw, behind it where the work lies behind the fixed one
        jaw = fit.to_paper(outlines[n][1][1])
        middle = float(jaw[:, 0].mean())
        low = float(jaw[:, 1].min()) - 6.5 if laid.place.is_turned else float(jaw[:, 1].max()) + 5.0
        place = writer.ink.number("plan", "table_loads", index, "laid", n, "place", "number", digits=0)
        op = writer.op(next(i for i, c in enumerate(writer.plan.clampings) if c.id == laid.clamping_id))
        offset = writer.ink.words("plan", "table_loads", index, "laid", n, "work_offset")
        paper.words(f"place {place}", middle, low, strong=True)
        paper.words(f"{op}, {offset}" if offset else op, middle, low + 4.4)
    paper.words("you stand here", width_mm / 2.0, paper.height_mm - 2.0)
    return paper.text(
        alt="The vises on the table from above, with the piece in each place, its stop as a black wedge and its zero.",
        ids=ids,
    )


def _zeros(load: TableLoad, clampings: dict[str, Clamping], writer: Writer) -> list[tuple[float, float]]:
    """Where each work zero lies in the picture: as measured, else vises in a row and the sides of one in depth."""
    found = [zero_at(clampings[one.clamping_id], one.place) for one in load.laid]
    if all(zero is not None for zero in found):
        return [(zero[0], zero[1]) for zero in found if zero is not None]
    vises = {vise.id: vise for vise in writer.shop.vises}
    columns: dict[tuple[str, int], float] = {}
    right = 0.0
    drawn: list[tuple[float, float]] = []
    for one in load.laid:
        vise, clamping = vises[one.place.vise_id], clampings[one.clamping_id]
        key = vise.id, one.place.vise_number
        if key not in columns:
            columns[key] = right + vise.jaw_length_mm / 2.0
            right += vise.jaw_length_mm + BESIDE_MM
        middle, off = columns[key], clamping.jaw_middle_mm
        drawn.append((middle + off, vise.fixed_deep_mm) if one.place.is_turned else (middle - off, 0.0))
    return drawn


def _outlines(
    writer: Writer, load: TableLoad, n: int, clampings: dict[str, Clamping], zero: tuple[float, float]
) -> list[tuple[str, Array]]:  # fmt: skip
    """The fixed jaw, the moving one and the piece, sawn or finished, in painting order, as rectangles."""
    laid = load.laid[n]
    clamping = clampings[laid.clamping_id]
    vise = next(v for v in writer.shop.vises if v.id == laid.place.vise_id)
    middle, half = clamping.jaw_middle_mm, vise.jaw_length_mm / 2.0
    chosen = writer.plan.blank.chosen
    ends = (chosen.low_mm, chosen.high_mm) if clamping.surface == "raw" else part_box(writer.plan)
    seen = clamping.frame.into(box_corners(*ends))
    low, high = seen.min(axis=0), seen.max(axis=0)
    deep, gap = vise.jaw_deep_mm, clamping.gap_mm
    near, far = max(float(low[1]), -gap), min(float(high[1]), 0.0)  # what lies in the jaws is not seen from above
    boxes = [
        ("jaw", middle - half, 0.0, middle + half, vise.fixed_deep_mm),
        ("jaw", middle - half, -gap - deep, middle + half, -gap),
        ("piece", float(low[0]), near, float(high[0]), far),
    ]
    sign = -1.0 if laid.place.is_turned else 1.0
    return [(style, np.array([[a, b], [c, b], [c, d], [a, d]]) * sign + np.array(zero)) for style, a, b, c, d in boxes]


def _stop(clamping: Clamping, zero: tuple[float, float], sign: float) -> Array:
    """A wedge whose point touches the end of the work at the stop."""
    across = -0.5 * clamping.gap_mm
    wedge = np.array([[0.0, across], [-9.0, across + 5.0], [-9.0, across - 5.0]])
    return wedge * sign + np.array(zero)


def _axes(paper: Paper, x: float, y: float) -> None:
    """The zero with machine X to the right and machine Y away from the operator."""
    for name, end, at in (("X", (x + ARROW_MM, y), (2.4, 1.2)), ("Y", (x, y - ARROW_MM), (0.0, -1.2))):
        paper.path(np.array([[x, y], end]), fill="none", width_mm=0.5)
        paper.words(name, end[0] + at[0], end[1] + at[1], strong=True)
    paper.parts.append(f'<circle cx="{x:.2f}" cy="{y:.2f}" r="1.3" fill="#000"/>')
