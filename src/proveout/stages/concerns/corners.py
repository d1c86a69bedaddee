"""Inside corners and slots that no mill of the shop fits, and walls that only a long cutter reaches."""

from __future__ import annotations

import numpy as np

from proveout.model.features import Feature
from proveout.model.shop import Cutter
from proveout.model.solid import Solid
from proveout.stages.concerns.measured import Measured, label, no_less, no_more

LONG_RATIO = 4.0
"""Depth over diameter of the widest mill that fits, from which it bends and sings. Common practice, no source."""
SQUARE = 1e-4
LEVEL_MM = 1e-3
ENCLOSED = {("pocket", "closed"), ("slot", "closed"), ("slot", "through"), ("window", "through")}
NARROW = (*ENCLOSED, ("slot", "ends"), ("slot", "open"))


def corner_radii_mm(solid: Solid, feature: Feature) -> float | None:
    """Least radius of the upright corners of an enclosed recess, 0 for a sharp one; None for one without corners.

    A recess that opens at a side can have its corners cut from there, so it is not asked.
    """
    if (feature.kind, feature.form) not in ENCLOSED:
        return None
    own, opens = set(feature.face_ids), np.array(feature.opens)
    for edge in solid.edges:
        a, b = (solid.faces[i] for i in edge.faces)
        if edge.convexity != "concave" or edge.kind != "line" or not {a.id, b.id} <= own:
            continue
        way = edge.points_mm[-1] - edge.points_mm[0]
        if float(np.linalg.norm(np.cross(way / np.linalg.norm(way), opens))) < SQUARE:
            return 0.0
    return feature.sizes_mm.get("corner_radius_mm")


def reach_mm(cutter: Cutter) -> float:
    """How deep an end mill goes beside a wall: to its holder when its shank is no wider, else to its flutes' end."""
    return cutter.stick_out_mm if cutter.shank_diameter_mm <= cutter.diameter_mm + 1e-6 else cutter.flute_length_mm


def full_depth_mm(feature: Feature, others: tuple[Feature, ...]) -> float:
    """Depth below the outermost mouth: its own and that of each recess whose floor its mouth lies in."""
    depth, opens, top = feature.sizes_mm["depth_mm"], np.array(feature.opens), np.array(feature.place_mm)
    if feature.form == "through":  # the place of what goes through is in its middle
        top = top + opens * depth / 2.0
    for other in others:
        if other.id == feature.id or other.kind not in ("pocket", "slot", "step") or "depth_mm" not in other.sizes_mm:
            continue
        mouth = np.array(other.place_mm)
        floor = float(mouth @ opens) - other.sizes_mm["depth_mm"]
        apart = (top - mouth) - opens * float((top - mouth) @ opens)
        is_under = float(np.linalg.norm(apart)) < other.sizes_mm.get("length_mm", 0.0) / 2.0
        if float(np.array(other.opens) @ opens) > 1.0 - SQUARE and abs(floor - float(top @ opens)) < LEVEL_MM:
            depth += other.sizes_mm["depth_mm"] if is_under else 0.0
    return depth


def measure_corners(solid: Solid, features: tuple[Feature, ...], cutters: tuple[Cutter, ...]) -> list[Measured]:
    """Corner radius of each recess against the least mill of the shop that reaches as deep."""
    out: list[Measured] = []
    for feature in features:
        radius = corner_radii_mm(solid, feature)
        if radius is None:
            continue
        depth = full_depth_mm(feature, features)
        fits = [c.diameter_mm / 2.0 for c in cutters if c.kind == "end mill" and reach_mm(c) >= depth - 1e-6]
        least = min(fits, default=None)
        widest = f"the widest cutter that fits its corners is Ø{2.0 * radius:g}" if radius else "it has sharp corners"
        smallest = "no mill of the shop reaches as deep" if least is None else (
            f"the narrowest mill of the shop that reaches as deep is Ø{2.0 * least:g}"
        )  # fmt: skip
        change = "make it less deep" if least is None else f"make the corners R{no_less(least * 1.1)} or larger"
        out.append(
            Measured(
                kind="corner", subject=label(feature), face_ids=feature.face_ids, found=round(radius, 6), limit=least,
                sense="at least", unit="mm", change=f"{change}, or let them be relieved sideways",
                text=f"Corners of {feature.name}: {depth:.4g} deep, {widest}; {smallest}.", source="shop-file",
            )
        )  # fmt: skip
    return out


def measure_long(solid: Solid, features: tuple[Feature, ...]) -> list[Measured]:
    """Depth of each recess over the widest mill that fits it."""
    out: list[Measured] = []
    for feature in features:
        if (feature.kind, feature.form) not in NARROW:
            continue
        radius = corner_radii_mm(solid, feature)
        widest = min(v for v in (2.0 * radius if radius else None, feature.sizes_mm["width_mm"]) if v is not None)
        depth = full_depth_mm(feature, features)
        out.append(
            Measured(
                kind="long cutter", subject=label(feature), face_ids=feature.face_ids, found=round(depth / widest, 4),
                limit=LONG_RATIO, sense="at most", unit="x its diameter",
                text=f"{feature.name[:1].upper()}{feature.name[1:]}: {depth:.4g} deep, and the widest mill that fits "
                f"is Ø{widest:.4g}.",
                change=f"make it {no_more(LONG_RATIO * widest)} deep or less, or wide enough for "
                f"Ø{no_less(depth / LONG_RATIO)}",
            )
        )  # fmt: skip
    return out
