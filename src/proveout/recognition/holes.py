"""Round holes with their coaxial steps, from inward cylinders and cones that share an axis and touch."""

from __future__ import annotations

import math
from dataclasses import dataclass

import msgspec
import numpy as np

from proveout.geometry.frames import triple
from proveout.geometry.mesh import is_inside
from proveout.model.solid import Face, Solid
from proveout.model.work import HOLE_ID, Hole, HoleStep, Vector

TOUCH_MM = 2e-3
BESIDE_MM = 0.02


@dataclass(frozen=True)
class _Ring:
    """One surface about an axis: extent t_low..t_high along `axis` from the foot of the part origin."""

    kind: str
    axis: Vector
    foot: Vector
    t_low: float
    t_high: float
    r_low: float
    r_high: float
    faces: tuple[Face, ...]


def find_holes(solid: Solid) -> tuple[Hole, ...]:
    """All round holes, sorted by place; a hole is closed round (a full turn) in each of its steps."""
    rings = _rings(solid)
    holes: list[Hole] = []
    for chain in _chains(rings):
        hole = _hole_of(chain, solid)
        if hole is not None:
            holes.append(hole)
    return tuple(sorted(holes, key=lambda h: (h.outward, h.entry_mm, h.id)))


def _rings(solid: Solid) -> list[_Ring]:
    groups: dict[int, list[Face]] = {}
    for face in solid.faces:
        if face.surface.kind in ("cylinder", "cone") and face.inward:
            groups.setdefault(face.surface_group, []).append(face)
    rings: list[_Ring] = []
    for members in groups.values():
        if sum(f.turn_rad for f in members) < 2.0 * math.pi - 0.02:
            continue
        surface = members[0].surface
        axis = np.array(surface.axis)
        # one sense per line, as for cylinders, so that rings of one hole compare
        sign = _sense(axis) if surface.kind == "cone" else 1.0
        origin = np.array(surface.origin_mm)
        along_low = min(f.along_low_mm for f in members)
        along_high = max(f.along_high_mm for f in members)
        if surface.kind == "cone":
            slope = math.tan(surface.half_angle_rad)
            r_low, r_high = along_low * slope, along_high * slope
        else:
            r_low = r_high = surface.radius_mm
        line = axis * sign
        shift = float(np.dot(origin, line))
        t_ends = sorted((shift + sign * along_low, shift + sign * along_high))
        if sign < 0.0:
            r_low, r_high = r_high, r_low
        rings.append(
            _Ring(
                kind=surface.kind,
                axis=triple(line),
                foot=triple(origin - line * shift),
                t_low=t_ends[0],
                t_high=t_ends[1],
                r_low=r_low,
                r_high=r_high,
                faces=tuple(members),
            )
        )
    return rings


def _sense(axis: np.ndarray) -> float:
    for value in axis[::-1]:
        if abs(value) > 1e-9:
            return 1.0 if value > 0.0 else -1.0
    return 1.0


def _chains(rings: list[_Ring]) -> list[list[_Ring]]:
    lines: dict[tuple[int, ...], list[_Ring]] = {}
    for ring in rings:
        key = tuple(round(v * 1e4) for v in ring.axis) + tuple(round(v * 2e2) for v in ring.foot)
        lines.setdefault(key, []).append(ring)
    chains: list[list[_Ring]] = []
    for members in lines.values():
        members.sort(key=lambda r: (r.t_low, r.t_high))
        chain = [members[0]]
        for ring in members[1:]:
            if ring.t_low <= max(r.t_high for r in chain) + TOUCH_MM:
                chain.append(ring)
            else:
                chains.append(chain)
                chain = [ring]
        chains.append(chain)
    return chains


def _hole_of(chain: list[_Ring], solid: Solid) -> Hole | None:
    if not any(r.kind == "cylinder" for r in chain):
        return None
    axis, foot = np.array(chain[0].axis), np.array(chain[0].foot)
    t_low, t_high = min(r.t_low for r in chain), max(r.t_high for r in chain)
    probe = np.array([foot + axis * (t_low - BESIDE_MM), foot + axis * (t_high + BESIDE_MM)])
    closed_low, closed_high = (bool(v) for v in is_inside(probe, solid.vertices_mm, solid.triangles))
    if closed_low and closed_high:
        return None
    width_low = next(r for r in chain if r.t_low <= t_low + TOUCH_MM).r_low
    width_high = next(r for r in reversed(chain) if r.t_high >= t_high - TOUCH_MM).r_high
    is_through = not closed_low and not closed_high
    if not is_through and _has_core(chain, solid, axis=axis, foot=foot, t_low=t_low, t_high=t_high, at_low=closed_low):
        return None
    from_high = closed_low or (is_through and width_high >= width_low - 1e-6)
    outward = axis if from_high else -axis
    entry = foot + axis * (t_high if from_high else t_low)
    steps: list[HoleStep] = []
    for ring in sorted(chain, key=lambda r: -r.t_high if from_high else r.t_low):
        low = t_high - ring.t_high if from_high else ring.t_low - t_low
        high = t_high - ring.t_low if from_high else ring.t_high - t_low
        steps.append(
            HoleStep(
                kind="cylinder" if ring.kind == "cylinder" else "cone",
                diameter_mm=round(2.0 * max(ring.r_low, ring.r_high), 6),
                depth_low_mm=round(low, 6),
                depth_high_mm=round(high, 6),
                face_ids=tuple(sorted(f.id for f in ring.faces)),
            )
        )
    last = chain[0] if from_high else chain[-1]
    end_r = last.r_low if from_high else last.r_high
    bottom = "open" if is_through else ("cone" if last.kind == "cone" and end_r < 0.05 else "flat")
    if bottom == "flat":
        steps[-1] = msgspec.structs.replace(
            steps[-1], face_ids=tuple(sorted({*steps[-1].face_ids, *_floor_of(solid, last, axis, end_r)}))
        )
    size = min((s.diameter_mm for s in steps if s.kind == "cylinder"), default=steps[0].diameter_mm)
    place = ",".join(f"{v:.3f}" for v in triple(entry))
    name = f"{HOLE_ID}{direction_name(triple(outward))} dia {size:.3f} at {place}"
    return Hole(
        id=name, balloon=0, entry_mm=triple(np.round(entry, 6)), outward=triple(outward), steps=tuple(steps),
        is_through=is_through, bottom=bottom,
    )  # fmt: skip


def _has_core(
    chain: list[_Ring], solid: Solid, *, axis: np.ndarray, foot: np.ndarray, t_low: float, t_high: float, at_low: bool
) -> bool:
    """A flat bottom with metal standing on its middle is that of a groove round a core, which no drill makes."""
    last = chain[0] if at_low else chain[-1]
    if last.kind != "cylinder":
        return False
    near = min(BESIDE_MM, 0.25 * (last.t_high - last.t_low))
    point = foot + axis * (t_low + near if at_low else t_high - near)
    return bool(is_inside(np.array([point]), solid.vertices_mm, solid.triangles)[0])


def _floor_of(solid: Solid, ring: _Ring, axis: np.ndarray, radius_mm: float) -> list[str]:
    """The flat bottom that the last ring ends on, when it is no wider than the hole."""
    walls = {f.index for f in ring.faces}
    beside = {i for e in solid.edges if walls & set(e.faces) for i in e.faces} - walls
    return [
        solid.faces[i].id
        for i in sorted(beside)
        if solid.faces[i].surface.kind == "plane"
        and abs(float(np.dot(solid.faces[i].normal, axis))) > 1.0 - 1e-6
        and solid.faces[i].area_mm2 <= 1.02 * math.pi * radius_mm**2
    ]


def direction_name(direction: Vector) -> str:
    """+x, -z, ... or the components of an odd direction."""
    for i, letter in enumerate("xyz"):
        if abs(abs(direction[i]) - 1.0) < 1e-6:
            return ("+" if direction[i] > 0.0 else "-") + letter
    return "(" + " ".join(f"{v:.4f}" for v in direction) + ")"
