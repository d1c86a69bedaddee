"""What stands between two lines of a ball, against the height that the job allows."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from proveout.cutting.scallop import scallop_height_mm
from proveout.model.fact import exact_fact
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Cutter
from proveout.model.target import CUSP_MM
from proveout.model.work import Pass

FORMULA = (
    "h = R - sqrt(R^2 - s^2 / 4), R the ball's radius, s from line to line on a flat; on a face that bulges by 1 / r "
    "lines lie closer, as for a ball of 1 / (1 / R + 1 / r), and in a hollow less stands"
)


def ridge_proof(
    *, clamping_id: str, passes: Iterable[Pass], cutters: Mapping[str, Cutter], cusp_mm: float
) -> Proof | None:
    """Of the ball's passes over sloping and curved faces of one clamping, the highest ridge; None without such.

    A job that writes none allows CUSP_MM. What was left in fact is measured apart, by the replay.
    """
    heights = [
        (scallop_height_mm(radius_mm=radius, step_over_mm=one.radial_mm), one, radius)
        for one in passes if one.kind == "finish surface" and cutters[one.cutter_id].kind == "ball"
        for radius in (0.5 * cutters[one.cutter_id].diameter_mm,)
    ]  # fmt: skip
    if not heights:
        return None
    height, worst, radius = max(heights, key=lambda found: (found[0], found[1].id))
    is_usual = cusp_mm == CUSP_MM
    return prove(
        id=f"passes/{clamping_id}/ridges", stage="passes", subject=worst.id,
        claim="the ridges a ball leaves between its lines are no higher than the cusp height allowed", sense="at most",
        found_low=0.0, found_high=round(height, 9), limit=cusp_mm, unit="mm", blocks_release=True,
        basis=Basis(
            formula=FORMULA, source="scallop_geometry",
            inputs={
                "s, from line to line": exact_fact(round(worst.radial_mm, 6), "mm", "own-algorithm", "assumed"),
                "R, radius": exact_fact(radius, "mm", "shop-file", "owner's guess"),
                "cusp height allowed": exact_fact(
                    cusp_mm, "mm", "usual; cusp_mm in the job file says another" if is_usual else "job-file",
                    "common practice" if is_usual else "owner's guess",
                ),
            },
        ),
        remedy="write a larger cusp_mm in the job file, where the part allows it",
    )  # fmt: skip
