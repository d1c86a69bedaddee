"""Where the jaws hold finished faces in a later clamping, so that all that it is to make is still reached."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from proveout.model.choice_of_clampings import Grip
from proveout.model.shop import Jaws, Machine, Vise
from proveout.model.work import Vector
from proveout.stages.clampings.grips import grips_for, round_grips, solid_heights
from proveout.stages.clampings.looking import Bools, Cover
from proveout.stages.clampings.obstacles import later_obstacles
from proveout.stages.clampings.offers import fits_travel

LOST_SHARE = 0.02
STRIP_MM = 5.0
"""A strip of contact lower than this is a weak hold: deeper soft jaws are tried first. Common practice, no source."""
JAW_FLOOR_MM = 12.0
"""Left of a soft jaw's height under its step, at least. Common practice, no source."""
GRIPS_MAX = 2
CLEAR_MM = 1.0
"""Jaw tops stay so much below all that is cut, or a look past them says what they hide."""


def grips_later(
    cover: Cover, *, up: Vector, machine: Machine, vise: Vise, soft: Jaws, new: Bools, finished: frozenset[str]
) -> list[Grip]:
    """Grips for this way up on one vise, the best of each way across, at most GRIPS_MAX; weak strips only alone.

    Args:     new: samples that only this clamping is left to make.   finished: faces that may have been made before.
    """
    low, high = solid_heights(cover.target, up)
    outside = new & ~np.array([int(f) in cover.samples.hole_of for f in cover.samples.face], dtype=bool)
    heights = cover.samples.points @ np.array(up) - low
    lowest = float(heights[outside].min()) if outside.any() else high - low
    size = cover.target.vertices_mm.max(axis=0) - cover.target.vertices_mm.min(axis=0)
    if not fits_travel(machine, size, up):
        return []
    # jaws below all that is cut are free of it; higher ones only where a look past them finds nothing lost. Where the
    # sides begin high above the seat the soft jaws are cut deeper than usual, so that a strip worth holding is left
    deep = vise.jaw_height_mm - JAW_FLOOR_MM if soft.kind == "soft" else 0.0
    limits = [
        min(soft.grip_mm, lowest - CLEAR_MM), min(soft.grip_mm, high - low - CLEAR_MM), min(deep, lowest - CLEAR_MM),
        min(deep, high - low - CLEAR_MM),
    ]  # fmt: skip
    weak: Grip | None = None
    for limit in dict.fromkeys(v for v in limits if v >= 1.0):
        firm: list[Grip] = []
        for grip in _grips(cover, up=up, vise=vise, limit_mm=limit, finished=finished, soft=soft):
            if any(abs(float(np.dot(grip.across, g.across))) > 0.99999 for g in firm):
                continue
            if limit <= lowest - CLEAR_MM or _keeps_clear(cover, up, grip, vise, new, heights):
                if grip.patch_height_mm >= STRIP_MM:
                    firm.append(grip)
                else:
                    weak = weak or grip
        if firm:
            return firm[:GRIPS_MAX]
    return [weak] if weak else []


def _grips(
    cover: Cover, *, up: Vector, vise: Vise, limit_mm: float, finished: frozenset[str], soft: Jaws
) -> tuple[Grip, ...]:
    """Those that stand on a flat face with the largest patch first; a round only where no two flats serve."""
    key = (up, vise.id, round(limit_mm, 6), finished)
    if key not in cover.grips:
        found = grips_for(
            up, solid=cover.solid, target=cover.target, vise=vise, height_limit_mm=limit_mm, made=finished
        )  # fmt: skip
        if not found and soft.kind == "soft":
            found = round_grips(
                up, solid=cover.solid, target=cover.target, vise=vise, height_limit_mm=limit_mm, made=finished
            )  # fmt: skip
        cover.grips[key] = tuple(
            sorted(found, key=lambda g: (not g.seat_faces, -g.patch_length_mm * g.patch_height_mm, g.across))
        )
    return cover.grips[key]


def reached_past(cover: Cover, up: Vector, grip: Grip, vise: Vise) -> Bools:
    """What is reached straight down in this grip: well above the jaw tops as if there were none, else past them."""
    bare = cover.bare(up)
    top = grip.low_mm + grip.patch_height_mm
    low, _ = solid_heights(cover.target, up)
    high_up = cover.samples.points @ np.array(up) - low >= top + CLEAR_MM
    if not np.any(bare & ~high_up):
        return bare
    return bare & (high_up | cover.tilted(up, ("later", grip, vise.id), later_obstacles(up, grip, cover.target, vise)))


def _keeps_clear(cover: Cover, up: Vector, grip: Grip, vise: Vise, new: Bools, heights_mm: NDArray[np.float64]) -> bool:
    """Whether all that this clamping is to make is still reached past its jaws."""
    top = grip.low_mm + grip.patch_height_mm
    if grip.is_round and _stands_beyond(cover, up, grip, new & (heights_mm < top + CLEAR_MM)):
        return False
    obstacles = later_obstacles(up, grip, cover.target, vise)
    seen = cover.tilted(up, ("later", grip, vise.id), obstacles)
    return int((new & ~seen).sum()) <= LOST_SHARE * int(new.sum())


def _stands_beyond(cover: Cover, up: Vector, grip: Grip, low: Bools) -> bool:
    """Whether anything cut low down lies at the edge of the round that the jaws wrap."""
    if not low.any():
        return False
    z = np.array(up)
    origin = np.array(cover.solid.face(grip.faces[0]).surface.origin_mm)
    beside = cover.samples.points[low] - origin
    return bool((np.linalg.norm(beside - np.outer(beside @ z, z), axis=1) > grip.gap_mm / 2.0 - 1.0).any())
