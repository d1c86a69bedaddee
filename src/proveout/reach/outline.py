"""A cutter's end, and the whole of it with shank and holder, as reach sees them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Cutter

Floats = NDArray[np.float64]
TipKind = Literal["flat", "ball", "corner", "cone"]
MILLS = ("face mill", "end mill", "ball")
POINTED = ("spot", "edge break")
FLANK_SHARES = (0.05, 0.1625, 0.275, 0.3875, 0.5, 0.6125, 0.725, 0.8375, 0.95)
"""Places along a cone's flank, from its end, that are tried."""
PIECES = {"frustum": 0.0, "ball": 1.0, "round corner": 2.0}


@dataclass(frozen=True)
class Tip:
    """A cutter's end. corner_mm: radius of the rounding, 0 when sharp, radius_mm of a ball.

    half_rad: of a cone, between flank and axis; ring_mm: radius at which the flank touches.   flat_mm: radius of the
    flat at the end.
    """

    kind: TipKind
    radius_mm: float
    corner_mm: float = 0.0
    flat_mm: float = 0.0
    half_rad: float = math.pi / 2.0
    ring_mm: float = 0.0

    def curves(self, across: Floats, *, is_wall: NDArray[np.bool_]) -> tuple[Floats, Floats]:
        """(n,) the end's curvature round the axis and along its outline, 1/mm, where it meets normals of a lean.

        across: the level part of each unit normal; 0 for a floor, 1 for a wall. inf stands for a sharp edge.
        """
        if self.kind == "ball":
            round_way = np.full(len(across), 1.0 / self.radius_mm)
            return round_way, np.where(is_wall, 0.0, 1.0 / self.radius_mm)
        floor = across < 1e-9
        if self.kind == "corner":
            ring = self.radius_mm - self.corner_mm + self.corner_mm * across
            return np.where(floor, 0.0, across / ring), np.where(floor | is_wall, 0.0, 1.0 / self.corner_mm)
        if self.kind == "cone":
            return across / max(self.ring_mm, 1e-9), np.zeros(len(across))
        return across / self.radius_mm, np.where(floor | is_wall, 0.0, np.inf)


def tip_of(cutter: Cutter) -> Tip:
    """The end of a cutter; a cutter whose widest place is not its end has a flat one of that width."""
    radius = cutter.diameter_mm / 2.0
    if cutter.kind == "ball":
        return Tip("ball", radius, corner_mm=radius)
    if cutter.kind in (*POINTED, "drill"):
        return Tip(
            "cone", radius, flat_mm=cutter.tip_diameter_mm / 2.0, half_rad=cutter.tip_angle_rad / 2.0
        )  # fmt: skip
    corner = min(cutter.corner_radius_mm, radius) if cutter.kind in ("end mill", "face mill") else 0.0
    if corner > 0.0:
        return Tip("corner", radius, corner_mm=corner, flat_mm=radius - corner)
    return Tip("flat", radius, flat_mm=radius)


def along_flank(tip: Tip) -> tuple[Tip, ...]:
    """The end itself; of a cone one for each place along its flank with which it may touch, the narrow first."""
    if tip.kind != "cone":
        return (tip,)
    wide = tip.radius_mm - tip.flat_mm
    return tuple(replace(tip, ring_mm=tip.flat_mm + share * wide) for share in FLANK_SHARES)


def stacked(cutter: Cutter) -> Floats:
    """(p, 5) every piece of the cutter, its shank and holder: code of PIECES, z_low, z_high, r_low, r_high in mm."""
    rows = [
        (PIECES[p.kind], p.z_low_mm, p.z_high_mm, p.r_low_mm, p.r_high_mm) for p in (*cutter.cutting, *cutter.body)
    ]  # fmt: skip
    return np.array(rows, dtype=np.float64)


def lowest_at(pieces: Floats, radii_mm: Floats) -> Floats:
    """(n,) height over the tip at which the whole cutter begins, at each distance from its axis; inf beyond it."""
    out = np.full(len(radii_mm), np.inf)
    for code, z_low, z_high, r_low, r_high in pieces:
        if code == 0.0:
            share = np.clip((radii_mm - r_low) / max(r_high - r_low, 1e-12), 0.0, 1.0)
            begins = np.where(
                radii_mm <= r_low, z_low, np.where(radii_mm <= r_high, z_low + share * (z_high - z_low), np.inf)
            )
        else:
            half = 0.5 * (z_high - z_low)
            off = np.maximum(radii_mm - (r_low if code == 2.0 else 0.0), 0.0)
            begins = np.where(off <= half, 0.5 * (z_low + z_high) - np.sqrt(np.maximum(half**2 - off**2, 0.0)), np.inf)
        out = np.minimum(out, begins)
    return out
