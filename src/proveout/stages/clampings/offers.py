"""Which machine, vise, jaws and cutter axes the shop offers for one way up."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.model.shop import Jaws, Machine, Vise
from proveout.model.target import Target
from proveout.model.work import Survey, Vector
from proveout.stages.clampings.looking import Shopfloor
from proveout.stages.clampings.rotary import can_tilt

SLENDER_MAX = 3.0


def raw_jaws(floor: Shopfloor, pinned: str) -> Jaws | None:
    """The pinned jaws; else toothed jaws for the raw bar, else whatever holds raw metal."""
    by_rank = sorted(floor.jaws, key=lambda j: (j.kind != "toothed", j.for_surface == "finished", j.id))
    for jaws in by_rank:
        if pinned in ("", jaws.id):
            return jaws
    return None


def soft_jaws(floor: Shopfloor) -> Jaws | None:
    """Soft jaws for finished faces, else smooth ones."""
    rank = {"soft": 0, "smooth": 1, "toothed": 2}
    found = sorted((j for j in floor.jaws if j.kind != "toothed"), key=lambda j: (rank[j.kind], j.id))
    return found[0] if found else None


def vise_on(floor: Shopfloor, machine: Machine, pinned: str = "") -> Vise | None:
    """The widest vise of a machine, or the pinned one."""
    found = [v for v in floor.vises if machine.id in v.machines and pinned in ("", v.id)]
    return max(found, key=lambda v: (v.opening_max_mm, v.id)) if found else None


def tilt_angle_rad(up: Vector, direction: Vector) -> float:
    """Angle between the clamping's up and the cutter axis."""
    return math.acos(max(-1.0, min(1.0, float(np.dot(up, direction)))))


def directions_for(machine: Machine, up: Vector, survey: Survey) -> tuple[Vector, ...]:
    """The cutter axes a machine can present in one clamping, `up` first."""
    if machine.kind == "3-axis" or machine.rotary is None:
        return (up,)
    found: list[Vector] = []
    for direction in survey.directions:
        angle = tilt_angle_rad(up, direction)
        if 1e-3 < angle <= math.pi / 2.0 + 1e-9 and can_tilt(machine.rotary, angle):
            found.append(direction)
    return (up, *found)


def name_of(direction: Vector) -> str:
    """Its side, as +x; empty for a direction that is none of the six sides."""
    for i, letter in enumerate("xyz"):
        if abs(abs(direction[i]) - 1.0) < 1e-6:
            return ("+" if direction[i] > 0.0 else "-") + letter
    return ""


def slenderness(target: Target, up: Vector) -> float:
    """Height over the narrower side when this way is up."""
    size = target.vertices_mm.max(axis=0) - target.vertices_mm.min(axis=0)
    axis = int(np.argmax(np.abs(up)))
    return float(size[axis] / min(size[i] for i in range(3) if i != axis))


def fits_travel(machine: Machine, size: NDArray[np.float64], up: Vector) -> bool:
    """Whether the part's box lies within the travels, its longer side along x."""
    axis = int(np.argmax(np.abs(up)))
    flat = sorted((float(size[i]) for i in range(3) if i != axis), reverse=True)
    return (
        flat[0] <= machine.travel_mm[0]
        and flat[1] <= machine.travel_mm[1]
        and float(size[axis]) <= machine.travel_mm[2]
    )
