"""Undercut cutters under the leaning planes of real parts, judged twice: as the planner does, and whole.

For a plane that leans under a tilt a cutter of its angle is drawn with any other sizes. By brute force the whole cutter
goes down beside the lip, and with its flank on the point asked about shank and holder stand free of every triangle; the
holder keeps the air that passes keep. What a cutter OVER_MM larger and one PIXEL_MM smaller are told unlike is out.
"""

from __future__ import annotations

import math

import msgspec
import numpy as np
from reach_drills import holes_of
from reach_triples import OVER_MM, PIXEL_MM, Part, Tally
from whole_cutters import Body, body_of, meets_quickly, whole_of

from proveout.model.cutter import Piece
from proveout.model.shop import Cutter
from proveout.model.work import Vector
from proveout.reach.reaching import look_frame
from proveout.reach.standing import Look
from proveout.stages.clampings.covering import HOLDER_AIR_MM, Samples, special_reach

LEAN_RAD = (math.radians(5.0), math.radians(60.0))
LONG_MM = 500.0


def drawn_cutter(draw: np.random.Generator, lean_rad: float, tall_mm: float) -> Cutter:
    """An undercut cutter of an angle, widest at its tip, whose flutes are as tall as the plane or a little shorter."""
    flute = max(0.3, tall_mm * float(draw.uniform(0.9, 2.0)))
    neck = float(draw.uniform(1.0, 6.0))
    radius = flute * math.tan(lean_rad) + neck * float(draw.uniform(1.0, 1.5))
    return Cutter(
        id="u", name="u", kind="undercut", diameter_mm=2.0 * radius, corner_radius_mm=0.0, flutes_count=4,
        flute_length_mm=flute, stick_out_mm=flute + float(draw.uniform(0.5, 60.0)), shank_diameter_mm=2.0 * neck,
        holder_diameter_mm=max(float(draw.uniform(12.0, 50.0)), 2.0 * neck), holder_length_mm=60.0,
        tip_angle_rad=lean_rad, tip_diameter_mm=2.0 * radius, pitch_mm=0.0, speed_max_rad_per_s=None,
        cutting_speed_mm_per_s=1.0, tooth_feed_mm=0.1, life_s=None, price=1.0,
    )  # fmt: skip


def grown_body(cutter: Cutter, grown_mm: float) -> tuple[Piece, ...]:
    """Shank and holder, wider by as much on every side and lower by it; the holder by the air that passes keep too."""
    out = []
    for piece in cutter.body:
        wide = grown_mm + (HOLDER_AIR_MM if piece.z_low_mm >= cutter.stick_out_mm - 1e-9 else 0.0)
        out.append(
            msgspec.structs.replace(
                piece, z_low_mm=piece.z_low_mm - grown_mm, z_high_mm=piece.z_high_mm + LONG_MM,
                r_low_mm=piece.r_low_mm + wide, r_high_mm=piece.r_high_mm + wide,
            )
        )  # fmt: skip
    return tuple(out)


def is_free(
    body: Body, cutter: Cutter, beside: np.ndarray, along: np.ndarray, away: np.ndarray, *, grown_mm: float
) -> bool:  # fmt: skip
    """Whether a cutter so much larger goes down beside the lip, and its body is free with the flank on the point.

    It touches lip, floor and flank by what it is: a larger one stands by as much farther off them, a smaller one where
    the asked one would.
    """
    off = np.array([*(max(grown_mm, 0.0) * away), max(grown_mm, 0.0)])
    whole = [
        msgspec.structs.replace(
            p, z_low_mm=p.z_low_mm - grown_mm, r_low_mm=p.r_low_mm + grown_mm, r_high_mm=p.r_high_mm + grown_mm
        )
        for p in whole_of(cutter) if p.z_high_mm > p.z_low_mm - grown_mm
    ]  # fmt: skip
    return not meets_quickly(body, tuple(whole), beside + off) and not meets_quickly(
        body, grown_body(cutter, grown_mm), along + off
    )


def leaning(part: Part, samples: Samples) -> list[tuple[int, Vector, float]]:
    """Planes of a part that lean under one of its directions: face, direction, lean."""
    found = []
    for face in part.solid.faces:
        rows = np.flatnonzero(samples.face == face.index)
        if face.surface.kind != "plane" or not len(rows):
            continue
        for d in part.directions:
            lean = -math.asin(max(-1.0, min(1.0, float(samples.normals[rows[0]] @ d))))
            if LEAN_RAD[0] < lean < LEAN_RAD[1]:
                found.append((face.index, (float(d[0]), float(d[1]), float(d[2])), lean))
    return found


def compare_under(part: Part, draw: np.random.Generator, count: int, tally: Tally) -> None:
    """Judge `count` points of leaning planes twice and add to the tally; nothing where a part has none."""
    samples = holes_of(part).samples
    planes = leaning(part, samples)
    while planes and count > 0:
        face, direction, lean = planes[int(draw.integers(len(planes)))]
        frame = look_frame(direction)
        seen = frame.into(part.fine.reshape(-1, 3)).reshape(-1, 3, 3)
        body = body_of(seen, within_mm=part.within_mm, true=part.true, true_mm=part.true_mm)
        mesh = np.ascontiguousarray(frame.into(part.target.vertices_mm)[part.target.triangles])
        corners = mesh[part.target.triangle_face == face]
        foot, top = float(corners[:, :, 2].min()), float(corners[:, :, 2].max())
        cutter = drawn_cutter(draw, lean, top - foot)
        rooms = samples.rooms_from(direction, (cutter,))
        asked = samples.face == face
        look = Look(frame, mesh, rooms, (cutter,), pitch_mm=PIXEL_MM, names=True)
        _, mask = special_reach(direction, look=look, held=None, samples=samples, cutters=(cutter,))
        radius, tan = cutter.diameter_mm / 2.0, math.tan(lean)
        for row in np.flatnonzero(asked)[:count]:
            count -= 1
            point, normal = rooms.points[row], rooms.normals[row]
            away = normal[:2] / float(np.linalg.norm(normal[:2]))
            beside = np.array([*(point[:2] + away * (radius + (top - point[2]) * tan)), foot])
            along = np.array([*(point[:2] + away * (radius - (point[2] - foot) * tan)), foot])
            fits = top - foot <= cutter.flute_length_mm + 1e-6
            harder = fits and is_free(body, cutter, beside, along, away, grown_mm=OVER_MM)
            easier = harder or (fits and is_free(body, cutter, beside, along, away, grown_mm=-PIXEL_MM))
            tally.asked += 1
            if harder != easier:
                tally.left_out += 1
                continue
            tally.reached += harder
            if bool(mask[row]) != harder:
                tally.wrong.append(
                    f"{part.name} {part.solid.faces[face].id} from {np.round(direction, 4).tolist()} at "
                    f"{np.round(point, 3).tolist()}: undercut D {cutter.diameter_mm:.3f} flutes "
                    f"{cutter.flute_length_mm:.2f} out {cutter.stick_out_mm:.2f} shank {cutter.shank_diameter_mm:.2f} "
                    f"holder {cutter.holder_diameter_mm:.2f}: planner {bool(mask[row])}, by brute force {harder}"
                )  # fmt: skip
