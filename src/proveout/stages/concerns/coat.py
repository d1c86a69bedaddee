"""Outside edges that a coat burns or chips at: it wants a radius, and a chamfer is none."""

from __future__ import annotations

from proveout.model.features import Feature
from proveout.model.job import Coat
from proveout.model.solid import Solid
from proveout.stages.concerns.measured import Measured, no_less

RADIUS_PER_COAT = 10.0
HARD_RADIUS_MM = 0.030 * 25.4
SHARP_RAD = 0.35
"""An edge that turns by less than this (20 degrees) is none to a coat. Common practice, no source."""
SOURCES = ("iso_10074_text", "hard_coat_edges")


def edge_radius_mm(*, thickness_mm: float, is_hard: bool) -> float:
    """Least radius of an outside edge under a coat.

    Formula:  10 t; of a hard coat the larger of that and 0.030 in   (t thickness of the coat)
    Args:     thickness_mm: t, >= 0.   is_hard: the coat is a hard one.
    Returns:  mm, >= 0.
    Valid:    anodic coats on aluminium; where both rules are known, the larger.
    Source:   iso_10074_text, as quoted; hard_coat_edges, as quoted.   Departs: nothing.
    Checked:  tests/stages/concerns/test_concerns.py
    """
    return max(RADIUS_PER_COAT * thickness_mm, HARD_RADIUS_MM if is_hard else 0.0)


def measure_edges(
    solid: Solid, features: tuple[Feature, ...], *, coat: Coat, coated: frozenset[str], edge_break_mm: float | None
) -> list[Measured]:
    """Radius of sharp edges, of chamfers and of outside fillets between coated faces, against what the coat wants."""
    is_hard = "hard" in coat.process.lower()
    limit = round(edge_radius_mm(thickness_mm=coat.thickness_mm.high, is_hard=is_hard), 6)
    source = SOURCES[1] if is_hard and limit <= HARD_RADIUS_MM + 1e-6 else SOURCES[0]
    chamfered = {id for f in features if f.kind == "chamfer" for id in f.face_ids}
    change = (
        f"round the edges with R{no_less(limit)} or more on the drawing, or agree with the finisher to break them so"
    )
    broken = "" if not edge_break_mm else f" The bench breaks edges by {edge_break_mm:g}."
    out: list[Measured] = []

    def said(subject: str, face_ids: tuple[str, ...], radius_mm: float, text: str) -> Measured:
        return Measured(
            kind="coat edge", subject=subject, face_ids=face_ids, found=round(radius_mm, 6), limit=limit,
            sense="at least", unit="mm", text=text, change=change, source=source,
        )  # fmt: skip

    sharp = [
        edge
        for edge in solid.edges
        if edge.convexity == "convex"
        and edge.turn_rad >= SHARP_RAD
        and all(solid.faces[i].id in coated and solid.faces[i].id not in chamfered for i in edge.faces)
    ]
    if sharp:
        length = sum(edge.length_mm for edge in sharp)
        faces = tuple(sorted({solid.faces[i].id for edge in sharp for i in edge.faces}))
        text = f"{len(sharp)} outside edges under the coat, {length:.0f} mm together, are drawn sharp.{broken}"
        out.append(said("sharp edges", faces, 0.0, text))
    for feature in features:
        if not set(feature.face_ids) <= coated:
            continue
        if feature.kind == "chamfer":
            text = f"{feature.name[:1].upper()}{feature.name[1:]}: a chamfer is no radius, both its edges stay sharp."
            out.append(said(feature.name, feature.face_ids, 0.0, text + broken))
        elif feature.kind == "fillet" and feature.form == "outside":
            radius = feature.sizes_mm["radius_mm"]
            text = f"{feature.name[:1].upper()}{feature.name[1:]} under the coat."
            out.append(said(feature.name, feature.face_ids, radius, text))
    return out
