"""The pocket in a pair of soft jaws replayed on the jaws, and the passes on the work held against the jaws as cut."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from proveout.geometry.frames import Frame
from proveout.model.checking import Obstacle
from proveout.model.cutter_pieces import body_pieces, cutting_pieces
from proveout.model.jaw_form import JawForm
from proveout.model.moves import Moves
from proveout.model.proof import Basis, MoveAt, Proof, Sense, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.target import Target
from proveout.model.work import Clamping, Pass
from proveout.removal.comparing import deviation
from proveout.removal.fields import Fields
from proveout.removal.meshing import mesh_fields
from proveout.removal.sweeping import overlap_mm
from proveout.stages.removal_check.course import GOUGE_LIMIT_MM
from proveout.stages.removal_check.decide import LEFTOVER_LIMIT_MM
from proveout.stages.removal_check.legs import BODY_CHORD_MM
from proveout.stages.removal_check.near import may_meet
from proveout.stages.removal_check.replay import TOUCH_MM, replay_pass

STAGE = "jaw forms"
CELLS_MOST = 600
PITCH_LEAST_MM = 0.1
SHOWN_BELOW_MM = 2.0
"""So much of the jaws below the step is in the replay."""
QUARTER_SEGMENTS = 64
STEP_MM = 1e-9
UPRIGHT = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))


def jaw_blanks(form: JawForm) -> Fields:
    """Both jaws before they are cut, down to a little below the step, in the clamping's frame."""
    body = _blocks(form)
    low, high, pitch = _grid(form)
    mesh = body.to_mesh64()
    points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    return mesh_fields(points, np.asarray(mesh.tri_verts), low_mm=low, high_mm=high, pitch_mm=pitch)


def jaws_as_wanted(form: JawForm) -> Target:
    """Both jaws less the work's outline and the reliefs, over the pocket's depth; made from these alone."""
    import manifold3d
    import shapely

    rings = [np.array(ring) for ring in form.outline_mm]
    lines = [shapely.LineString([one.from_mm, one.to_mm]) for one in form.reliefs]
    dips = shapely.get_parts(shapely.buffer(lines, form.cutter_radius_mm, quad_segs=QUARTER_SEGMENTS))
    rings += [np.asarray(shapely.geometry.polygon.orient(dip).exterior.coords)[:-1] for dip in dips]
    area = manifold3d.CrossSection(rings, manifold3d.FillRule.Positive)
    body = _blocks(form) - manifold3d.Manifold.extrude(area, form.depth_mm + 1.0)
    mesh = body.to_mesh64()
    triangles = np.asarray(mesh.tri_verts, dtype=np.int32)
    return Target(
        vertices_mm=np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3], triangles=triangles,
        triangle_face=np.zeros(len(triangles), dtype=np.int32), face_ids=("jaws",), face_offset_mm=np.zeros(1),
        volume_mm3=float(body.volume()), mesh_deflection_mm=0.0, mesh_is_closed=True,
    )  # fmt: skip


def slug_box(form: JawForm) -> Obstacle:
    """The slug between the jaws, as long as they are: whoever puts a shorter one in has more air."""
    gap, bite = form.gap_mm, form.bite_mm
    return Obstacle(
        name="slug",
        low_mm=(form.low_mm, bite - gap, -form.below_mm),
        high_mm=(form.high_mm, -bite, -form.slug_below_mm),
    )


def prove_form(
    form: JawForm, *, moves: Mapping[str, Moves], held: Clamping, passes: Sequence[tuple[Pass, Moves]],
    cutters: Mapping[str, Cutter], run: Run,
) -> tuple[Proof, ...]:  # fmt: skip
    """What the replay says of one form.

    Args:     moves: of the form's own passes, by digest.   held: the clamping that the jaws hold the work in.   passes:
              those of that clamping on the work, with their moves.
    """
    fields = jaw_blanks(form)
    rapid_mm, body_mm, below_count = 0.0, 0.0, 0
    rapid_at = body_at = below_at = None
    for one in form.passes:
        run.check(STAGE, one.id)
        its = moves[one.moves_digest]
        found, _ = replay_pass(fields, one=one, moves=its, frame=UPRIGHT, cutter=cutters[one.cutter_id])
        if found.rapid_mm > rapid_mm:
            rapid_mm, rapid_at = found.rapid_mm, MoveAt(pass_id=one.id, row=found.rapid_row)
        if found.body_mm > body_mm:
            body_mm, body_at = found.body_mm, MoveAt(pass_id=one.id, row=found.body_row)
        below = np.flatnonzero(its.points[:, 2] < -STEP_MM)
        below_count += len(below)
        if len(below) and below_at is None:
            below_at = MoveAt(pass_id=one.id, row=int(below[0]))
    struck = _strikes(fields, held, passes, cutters)
    wanted = jaws_as_wanted(form)
    surface = deviation(
        fields, vertices=wanted.vertices_mm, triangles=wanted.triangles, triangle_face=wanted.triangle_face,
        face_offset_mm=wanted.face_offset_mm,
    )  # fmt: skip
    left = max(0.0, float(surface.deviation_mm.max()))
    gouged = max(0.0, -float(surface.deviation_mm.min()))
    seen = (
        f"replay of the moves on both jaws, three fields of intervals {float(fields.pitch_mm.max()):.3g} mm apart; "
        "their ends against the jaws less outline and reliefs"
    )
    proofs: list[Proof] = []

    def add(
        slug: str, claim: str, sense: Sense, found: float, limit: float, unit: str, formula: str, remedy: str,
        move: MoveAt | None = None,
    ) -> None:  # fmt: skip
        proofs.append(
            prove(
                id=f"{STAGE}:{form.clamping_id}:{slug}", stage=STAGE,
                subject=f"clamping {held.number}, jaws{'' if move is None else f': {move.pass_id}, move {move.row}'}",
                claim=claim, sense=sense, found_low=found, found_high=found, limit=limit, unit=unit,
                blocks_release=True, basis=Basis(formula=formula, source="own-algorithm", move=move), remedy=remedy,
            )
        )  # fmt: skip

    add("pocket", "the pocket is cut: no metal of the jaws stands where the work will", "at most", round(left, 6),
        LEFTOVER_LIMIT_MM, "mm", seen, "a cutter that reaches all of the pocket")  # fmt: skip
    add("beyond", "nothing of the jaws is taken beyond the pocket and its reliefs", "at most", round(gouged, 6),
        GOUGE_LIMIT_MM, "mm", seen, "a pass that keeps to the outline")  # fmt: skip
    if form.passes:
        add("seat", "no move ends below the step that carries the work", "at most", float(below_count), 0.0, "ways",
            "the tip's heights at the ends of all moves", "keep every pass above the step", below_at)  # fmt: skip
        add("rapid", "no rapid move meets metal of the jaws", "at most", round(rapid_mm, 6), TOUCH_MM, "mm",
            "longest metal on a ray inside the sweep of a rapid move", "retract higher before it",
            rapid_at)  # fmt: skip
        add("shank and holder", "shank and holder meet nothing of the jaws", "at most", round(body_mm, 6), TOUCH_MM,
            "mm", "longest metal on a ray inside the sweep of shank and holder", "a longer stick-out",
            body_at)  # fmt: skip
    add("work", "no pass on the work meets the jaws as they are cut", "at most", float(len(struck)), 0.0, "strikes",
        "sweep of each move of cutter, shank and holder against the jaws as the replay leaves them",
        struck[0][0] if struck else "", struck[0][1] if struck else None)  # fmt: skip
    return tuple(proofs)


def _strikes(
    fields: Fields, held: Clamping, passes: Sequence[tuple[Pass, Moves]], cutters: Mapping[str, Cutter]
) -> list[tuple[str, MoveAt]]:  # fmt: skip
    """What passes on the work meet of the jaws, each with its longest meeting and the move that makes it."""
    frames = {tilt.id: tilt.frame for tilt in held.tilts}
    struck: list[tuple[str, MoveAt]] = []
    for one, moves in passes:
        frame, cutter = frames[one.tilt_id], cutters[one.cutter_id]
        straight, owner = moves.divided(within_mm=BODY_CHORD_MM)
        points = held.frame.into(frame.out_of(straight.points))
        axis = held.frame.turn @ np.array(frame.z)
        axis = axis / np.linalg.norm(axis)
        pieces = (*cutting_pieces(cutter), *body_pieces(cutter))
        rows = np.flatnonzero(may_meet(pieces, axis, points[:-1], points[1:], fields.low_mm, fields.high_mm))
        if not len(rows):
            continue
        depth = overlap_mm(fields, pieces=pieces, axis=axis, starts_mm=points[rows], ends_mm=points[rows + 1])
        if float(depth.max()) > TOUCH_MM:
            at = MoveAt(pass_id=one.id, row=int(owner[int(rows[int(depth.argmax())]) + 1]))
            struck.append((f"{one.id}: the soft jaws met over {float(depth.max()):.2f} mm at move {at.row}", at))
    return struck


def _blocks(form: JawForm) -> Any:
    import manifold3d

    low_z = -min(form.below_mm, SHOWN_BELOW_MM)
    size = (form.high_mm - form.low_mm, form.thickness_mm, form.depth_mm - low_z)
    block = manifold3d.Manifold.cube(size)
    fixed = block.translate((form.low_mm, -form.bite_mm, low_z))
    return fixed + block.translate((form.low_mm, form.bite_mm - form.gap_mm - form.thickness_mm, low_z))


def _grid(form: JawForm) -> tuple[np.ndarray, np.ndarray, float]:
    low = np.array([form.low_mm, form.bite_mm - form.gap_mm - form.thickness_mm, -min(form.below_mm, SHOWN_BELOW_MM)])
    high = np.array([form.high_mm, form.thickness_mm - form.bite_mm, form.depth_mm])
    return low, high, round(max(PITCH_LEAST_MM, float((high - low).max()) / CELLS_MOST), 3)
