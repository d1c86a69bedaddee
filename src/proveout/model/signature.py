"""What suffices to know the faces of a solid again after another export, a turn, a move or another unit."""

from __future__ import annotations

import math

import numpy as np

from proveout.geometry.rigid_match import Marks
from proveout.model.shop import Noun
from proveout.model.solid import Face, Point, Solid
from proveout.model.work import Survey

NOWHERE: Point = (0.0, 0.0, 0.0)


class FaceSign(Noun, frozen=True, kw_only=True):
    """One face as it lay when the job was drafted.

    label: kind and side, as "cylinder in".   sizes_mm: radius, or radius and tube's; of a cone tan of its half angle.
    origin_mm: a point of its surface, or of its axis.   axis: zero where it has none.   balloon: its number.
    group: one number for the touching faces that lie on one surface, such as the halves of a hole.
    """

    id: str
    balloon: int
    group: int
    label: str
    sizes_mm: tuple[float, float]
    area_mm2: float
    centroid_mm: Point
    origin_mm: Point
    axis: Point


def signs_of(solid: Solid, survey: Survey) -> tuple[FaceSign, ...]:
    """Every face of a solid, with the numbers of its survey."""
    balloons = {note.face_id: note.balloon for note in survey.faces}
    return tuple(_sign(face, balloons.get(face.id, 0)) for face in solid.faces)


def _sign(face: Face, balloon: int) -> FaceSign:
    surface = face.surface
    side = "" if surface.kind in ("plane", "other") else " in" if face.inward else " out"
    first = math.tan(surface.half_angle_rad) if surface.kind == "cone" else surface.radius_mm
    return FaceSign(
        id=face.id, balloon=balloon, group=face.surface_group, label=f"{surface.kind}{side}",
        sizes_mm=(first, surface.minor_radius_mm),
        area_mm2=face.area_mm2, centroid_mm=face.centroid_mm,
        origin_mm=face.centroid_mm if surface.kind in ("plane", "other") else surface.origin_mm,
        axis=NOWHERE if surface.kind in ("sphere", "other") else surface.axis,
    )  # fmt: skip


def pieces_of(signs: tuple[FaceSign, ...]) -> tuple[tuple[FaceSign, ...], ...]:
    """The faces by the piece of surface that they make up together: another export may cut it elsewhere, or not."""
    pieces: dict[int, list[FaceSign]] = {}
    for sign in signs:
        pieces.setdefault(sign.group, []).append(sign)
    return tuple(tuple(piece) for _, piece in sorted(pieces.items()))


def marks_of(pieces: tuple[tuple[FaceSign, ...], ...]) -> Marks:
    """Pieces of surface as arrays: areas summed, middles weighed by them."""
    areas = np.array([sum(sign.area_mm2 for sign in piece) for piece in pieces], dtype=np.float64)
    middles = np.array(
        [np.average([s.centroid_mm for s in piece], axis=0, weights=[s.area_mm2 for s in piece]) for piece in pieces],
        dtype=np.float64,
    ).reshape(-1, 3)
    first = [piece[0] for piece in pieces]
    return Marks(
        labels=np.array([sign.label for sign in first], dtype=np.str_),
        sizes=np.array([sign.sizes_mm for sign in first], dtype=np.float64).reshape(-1, 2),
        areas=areas,
        points=middles,
        origins=np.array([sign.origin_mm for sign in first], dtype=np.float64).reshape(-1, 3),
        axes=np.array([sign.axis for sign in first], dtype=np.float64).reshape(-1, 3),
        signed=np.array([sign.label.split(" ", 1)[0] in ("plane", "cone") for sign in first], dtype=np.bool_),
    )
