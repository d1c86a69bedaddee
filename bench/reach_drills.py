"""Drills over the holes of real parts, judged twice: as the planner does, and whole against every triangle.

A drill of a hole's own size is drawn with any flutes, shank, stick-out and holder, most of them near where brute force
changes its mind along the stick-out. By brute force the core of the flutes over the entry, the shank and the holder
stand free of every triangle with the point where the plan takes it; a holder keeps the air that passes keep. What a
drill OVER_MM larger and one PIXEL_MM smaller are told unlike is left out and counted, as with other cutters.
"""

from __future__ import annotations

import math
from functools import lru_cache

import msgspec
import numpy as np
from reach_triples import OVER_MM, PIXEL_MM, Part, Tally
from whole_cutters import Body, body_of, meets_quickly

from proveout.model.cutter import Piece
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.work import Hole, Vector
from proveout.reach.reaching import look_frame
from proveout.reach.standing import Look
from proveout.stages import survey
from proveout.stages.clampings.covering import ENTRY_MM, HOLDER_AIR_MM, THROUGH_MM, Samples, samples_of, special_reach

STICK_MM = (6.0, 160.0)
NEAR_MM, CLEAR_MM = 1.5, 0.22
SLIM_RATIO = 0.45
"""Of the hole's size: the core that must find nothing over the entry, but what a round or leaning face stands there."""


class Holes:
    """A part's holes, and the sample points of its faces as the planner has them."""

    def __init__(self, part: Part) -> None:
        found = survey.decide(solid=part.solid, run=Run()).value
        self.samples: Samples = samples_of(part.solid, part.target, found)
        self.ways: list[tuple[Hole, int, np.ndarray]] = []
        for hole in {h.id: h for h in self.samples.hole_of.values()}.values():
            self.ways.append((hole, 1, np.array(hole.entry_mm)))
            plain = len({round(s.diameter_mm, 3) for s in hole.steps if s.kind == "cylinder"}) == 1
            if hole.is_through and plain:
                self.ways.append((hole, -1, np.array(hole.entry_mm) - np.array(hole.outward) * hole.depth_mm))


@lru_cache(maxsize=16)
def holes_of(part: Part) -> Holes:
    """A part's holes, found once a process."""
    return Holes(part)


def drawn_drill(draw: np.random.Generator, hole: Hole) -> Cutter:
    """A drill of the hole's own size whose flutes are as long as its narrowest round at the least."""
    size = hole.diameter_mm
    own = [s for s in hole.steps if s.kind == "cylinder" and s.diameter_mm <= size + 1e-6] or list(hole.steps)
    least = max(s.depth_high_mm for s in own) - min(s.depth_low_mm for s in own)
    flute = least + float(draw.uniform(0.5, 30.0))
    shank = size * (1.0 if draw.random() < 0.5 else float(draw.uniform(0.8, 2.0)))
    return Cutter(
        id="d", name="d", kind="drill", diameter_mm=size, corner_radius_mm=0.0, flutes_count=2, flute_length_mm=flute,
        stick_out_mm=flute + float(draw.uniform(0.5, 60.0)), shank_diameter_mm=shank,
        holder_diameter_mm=max(float(draw.uniform(12.0, 50.0)), shank), holder_length_mm=60.0,
        tip_angle_rad=math.radians(float(draw.uniform(90.0, 140.0))), tip_diameter_mm=0.0, pitch_mm=0.0,
        speed_max_rad_per_s=None, cutting_speed_mm_per_s=1.0, tooth_feed_mm=0.1, life_s=None, price=1.0,
    )  # fmt: skip


def tip_at(hole: Hole, drill: Cutter, entry: np.ndarray) -> np.ndarray:
    """Where a drill's point ends, from an entry in the look frame: at the bottom, or out of a through hole."""
    point = 0.5 * drill.diameter_mm / math.tan(0.5 * drill.tip_angle_rad)
    return entry - [0.0, 0.0, hole.depth_mm + (point + THROUGH_MM if hole.is_through else 0.0)]


def is_free(body: Body, hole: Hole, drill: Cutter, entry: np.ndarray, *, grown_mm: float) -> bool:
    """Whether a drill so much larger goes in by brute force."""
    tip = tip_at(hole, drill, entry)
    over = entry[2] + 0.5 * max(s.diameter_mm for s in hole.steps) + ENTRY_MM - grown_mm - tip[2]
    slim = SLIM_RATIO * hole.diameter_mm
    pieces = [
        Piece(
            kind="frustum", z_low_mm=over, z_high_mm=over + 500.0, r_low_mm=slim + grown_mm, r_high_mm=slim + grown_mm
        )
    ]
    for piece in drill.body:
        air = HOLDER_AIR_MM if piece.z_low_mm >= drill.stick_out_mm - 1e-9 else 0.0
        pieces.append(
            msgspec.structs.replace(
                piece,
                z_low_mm=piece.z_low_mm - grown_mm,
                z_high_mm=piece.z_high_mm + 500.0,
                r_low_mm=piece.r_low_mm + air + grown_mm,
                r_high_mm=piece.r_high_mm + air + grown_mm,
            )
        )
    return not meets_quickly(body, tuple(pieces), tip)


def compare_drills(part: Part, draw: np.random.Generator, count: int, tally: Tally) -> None:
    """Judge `count` drills of a part twice and add to the tally; nothing where it has no hole."""
    holes = holes_of(part)
    for number in range(count if holes.ways else 0):
        hole, sign, entry = holes.ways[int(draw.integers(len(holes.ways)))]
        direction = (sign * hole.outward[0], sign * hole.outward[1], sign * hole.outward[2])
        frame = look_frame(direction)
        seen = frame.into(part.fine.reshape(-1, 3)).reshape(-1, 3, 3)
        body = body_of(seen, within_mm=part.within_mm, true=part.true, true_mm=part.true_mm)
        spot = frame.into(entry[None])[0]
        drill = msgspec.structs.replace(drawn_drill(draw, hole), id=f"d{number}")
        edge = _edge(body, hole, drill, spot)
        is_near = edge is not None and draw.random() < 0.75
        if is_near and edge is not None:
            off = CLEAR_MM + (NEAR_MM - CLEAR_MM) * draw.random()
            stick = edge + (off if draw.random() < 0.5 else -off)
            drill = _out(drill, max(stick, STICK_MM[0]))
        tally.asked += 1
        tally.near += is_near
        harder = is_free(body, hole, drill, spot, grown_mm=OVER_MM)
        easier = harder or is_free(body, hole, drill, spot, grown_mm=-PIXEL_MM)
        if harder != easier:
            tally.left_out += 1
            continue
        tally.reached += harder
        ours = _ours(part, holes, hole, direction, drill)
        if ours != harder:
            tally.wrong.append(
                f"{part.name} {hole.id} deep {hole.depth_mm:.3f} through {hole.is_through} "
                f"from {np.round(direction, 4).tolist()}: drill flutes {drill.flute_length_mm:.2f} out "
                f"{drill.stick_out_mm:.2f} shank {drill.shank_diameter_mm:.2f} holder {drill.holder_diameter_mm:.2f}: "
                f"planner {'goes in' if ours else 'not'}, by brute force {'goes in' if harder else 'not'}"
            )


def _edge(body: Body, hole: Hole, drill: Cutter, spot: np.ndarray) -> float | None:
    """The stick-out at which brute force changes its mind, to 0.02 mm; None where it never does."""
    low, high = STICK_MM
    first = is_free(body, hole, _out(drill, low), spot, grown_mm=0.0)
    if first == is_free(body, hole, _out(drill, high), spot, grown_mm=0.0):
        return None
    while high - low > 0.02:
        middle = 0.5 * (low + high)
        if is_free(body, hole, _out(drill, middle), spot, grown_mm=0.0) == first:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)


def _out(drill: Cutter, stick_mm: float) -> Cutter:
    """The drill with another stick-out; flutes end at the holder at the latest."""
    return msgspec.structs.replace(drill, stick_out_mm=stick_mm, flute_length_mm=min(drill.flute_length_mm, stick_mm))


def _ours(part: Part, holes: Holes, hole: Hole, direction: Vector, drill: Cutter) -> bool:
    own = holes.samples
    frame = look_frame(direction)
    rooms = own.rooms_from(direction, (drill,))
    mesh = np.ascontiguousarray(frame.into(part.target.vertices_mm)[part.target.triangles])
    faces = {face for face, owner in own.hole_of.items() if owner.id == hole.id}
    look = Look(frame, mesh, rooms, (drill,), pitch_mm=PIXEL_MM, asked=np.isin(own.face, sorted(faces)), names=True)
    best, _ = special_reach(direction, look=look, held=None, samples=own, cutters=(drill,))
    return any(face in best for face in faces)
