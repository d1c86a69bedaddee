"""The pocket in a pair of soft jaws: its shape, the cutter that makes it, and its passes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import closed_mesh
from proveout.geometry.frames import Frame
from proveout.model.jaw_form import JawForm, Relief
from proveout.model.limits import Limits
from proveout.model.moves import Moves
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.target import Target
from proveout.model.work import Clamping, Pass
from proveout.stages.passes.areas import grown, shape_of
from proveout.stages.passes.decide import pass_of
from proveout.stages.passes.floors import finish_floors, finish_strips
from proveout.stages.passes.jaw_proofs import form_proofs, unknown_proof
from proveout.stages.passes.jaw_reliefs import reliefs_of, with_reliefs
from proveout.stages.passes.jaw_seating import seating_proof
from proveout.stages.passes.jaw_shape import area_of_form, shape_of_form
from proveout.stages.passes.roughing import FLOOR_MM, rough
from proveout.stages.passes.task import Task
from proveout.stages.passes.view import BODY_GAP_MM, JAW_GAP_MM, TiltView, box_body
from proveout.stages.passes.walls import finish_walls

Array = NDArray[np.float64]

CORRIDOR_MM = 0.005
"""Half of the room beside the axis on its way into a relief."""
WALL_FOUND_MM = 1e-3
PLACES = ("floor, fixed jaw", "floor, moving jaw", "wall, fixed jaw", "wall, moving jaw")


class FormedJaws(msgspec.Struct, frozen=True, kw_only=True):
    """The forms of a plan, and the moves of their passes by digest."""

    forms: tuple[JawForm, ...]
    moves: dict[str, Moves]


def decide_form(
    *, clamping: Clamping, outline: tuple[Array, ...], target: Target, jaws: Jaws, vise: Vise, machine: Machine,
    cutters: tuple[Cutter, ...], run: Run, general_class: str = "",
) -> Decision[FormedJaws]:  # fmt: skip
    """The pocket for one clamping whose jaws must be cut to the work, and its passes.

    Args:     outline: as the passes' plan tells it.   target: for what touches the step.   general_class: of
              ISO 2768-1, empty where none is written.
    Returns:  no form where the size of the soft jaws is not known: then that is not shown, and blocks nothing by
              itself.
    """
    body = closed_mesh(points_mm=target.vertices_mm, triangles=target.triangles)
    if jaws.blank_thickness_mm is None or jaws.blank_height_mm is None or not outline or body is None:
        return Decision(value=FormedJaws(forms=(), moves={}), proofs=(unknown_proof(clamping, jaws, outline),))
    form = form_with_cutter(clamping, outline, body, jaws, vise, cutters)
    cutter = next((c for c in cutters if c.id == form.cutter_id), None)
    if cutter is None:
        return Decision(value=FormedJaws(forms=(form,), moves={}), proofs=form_proofs(form))
    seats = seating_proof(form, outline, general_class)
    passes, moves = _passes(form, cutter, _first_cutter(form, cutter, cutters), machine, run)
    form = msgspec.structs.replace(form, passes=passes)
    return Decision(value=FormedJaws(forms=(form,), moves=moves), proofs=(*form_proofs(form), seats))


def form_with_cutter(
    clamping: Clamping, outline: tuple[Array, ...], body: Any, jaws: Jaws, vise: Vise, cutters: tuple[Cutter, ...]
) -> JawForm:  # fmt: skip
    """The form as it will be cut, with its reliefs and without its passes; no cutter named where none will do."""
    form = shape_of_form(clamping, outline, body, jaws, vise)
    chosen = _cutter_for(form, cutters)
    if chosen is None:
        return form
    cutter, reliefs = chosen
    return msgspec.structs.replace(
        form, cutter_id=cutter.id, cutter_radius_mm=cutter.diameter_mm / 2.0, reliefs=reliefs
    )  # fmt: skip


def _is_mill(cutter: Cutter) -> bool:
    return cutter.kind == "end mill" and cutter.corner_radius_mm == 0.0


def _reaches(form: JawForm, cutter: Cutter) -> bool:
    """Flutes as long as the pocket is deep, and the holder clear of the jaw tops."""
    is_clear = cutter.holder_length_mm <= 0.0 or cutter.stick_out_mm >= form.depth_mm + BODY_GAP_MM
    return _is_mill(cutter) and cutter.flute_length_mm >= form.depth_mm and is_clear


def _cutter_for(form: JawForm, cutters: Sequence[Cutter]) -> tuple[Cutter, tuple[Relief, ...]] | None:
    """Of those that reach: the largest that needs no relief, else the one whose reliefs are fewest, then smallest."""
    import shapely

    outline = area_of_form(form)
    solid = shapely.union_all([shapely.box(*bounds) for bounds in form.jaw_bounds_mm])
    found: list[tuple[tuple[float, float, str], Cutter, tuple[Relief, ...]]] = []
    for cutter in sorted(cutters, key=lambda c: (-c.diameter_mm, c.id)):
        if not _reaches(form, cutter):
            continue
        reliefs = reliefs_of(outline=outline, jaws=solid, radius_mm=cutter.diameter_mm / 2.0)
        if reliefs is None:
            continue
        if not reliefs:
            return cutter, reliefs
        deepest = max(one.beyond_mm for one in reliefs)
        found.append(((float(len(reliefs)), deepest, cutter.id), cutter, reliefs))
    if not found:
        return None
    _, cutter, reliefs = min(found, key=lambda row: row[0])
    return cutter, reliefs


def _first_cutter(form: JawForm, last: Cutter, cutters: Sequence[Cutter]) -> Cutter:
    """The largest that reaches and comes into both jaws as far as half the bite."""
    import shapely

    halves = [shapely.box(a, b, c, d) for a, b, c, d in form.jaw_bounds_mm]
    outline = area_of_form(form)
    wanted = [shape_of(outline).intersection(half).area for half in halves]
    for cutter in sorted(cutters, key=lambda c: (-c.diameter_mm, c.id)):
        if cutter.diameter_mm <= last.diameter_mm or not _reaches(form, cutter):
            continue
        radius = cutter.diameter_mm / 2.0
        swept = shape_of(grown(grown(outline, -radius), radius))
        if all(swept.intersection(h).area >= 0.5 * w for h, w in zip(halves, wanted, strict=True)):
            return cutter
    return last


def _passes(
    form: JawForm, cutter: Cutter, first: Cutter, machine: Machine, run: Run
) -> tuple[tuple[Pass, ...], dict[str, Moves]]:
    """Rough, then floors and walls: the jaws are the work, and what stays of them beside the pocket is the target."""
    import manifold3d

    upright = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
    # with its seat so far below the step nothing goes below the step anywhere
    bed = msgspec.structs.replace(upright, origin_mm=(0.0, 0.0, -JAW_GAP_MM))
    tilt = msgspec.structs.replace(form.clamping.tilts[0], frame=upright)
    own = msgspec.structs.replace(form.clamping, frame=bed, jaw_top_mm=0.0, surface="finished", tilts=(tilt,))
    work = manifold3d.Manifold()
    for x_low, y_low, x_high, y_high in form.jaw_bounds_mm:
        work = work + box_body((x_low, y_low, -form.below_mm), (x_high, y_high, form.depth_mm))
    area = with_reliefs(area_of_form(form), form.reliefs, radius_mm=cutter.diameter_mm / 2.0, within_mm=CORRIDOR_MM)
    body = work - manifold3d.Manifold.extrude(area, form.depth_mm + 1.0)
    target = _target(body, area, form)
    view = TiltView(target=target, body=body, clamping=own, tilt=tilt, work=work)
    count = len(PLACES)
    task = Task(
        view=view, machine=machine, limits=Limits(), run=run, face_ids=target.face_ids,
        promised={k for k in range(count) if len(view.facets[k].rows)}, holes=(), done=set(), reasons={}, laid=[],
    )  # fmt: skip
    rough(task, cutters=(first, cutter) if first is not cutter else (cutter,), low_mm=FLOOR_MM)
    floors = finish_floors(task, cutter=cutter)
    finish_walls(task, cutter=cutter)
    finish_strips(task, cutter=cutter, facets=floors)
    passes: list[Pass] = []
    moves: dict[str, Moves] = {}
    for laid in task.laid:
        its = laid.track.moves()
        one = pass_of(laid, its, own, tilt, {p.id for p in passes})
        passes.append(one)
        moves[one.moves_digest] = its
    return tuple(passes), moves


def _target(body: Any, area: Any, form: JawForm) -> Target:
    """The jaws as they shall stand, their pocket's floors and walls told from all else."""
    import shapely

    mesh = body.to_mesh64()
    points = np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3]
    triangles = np.asarray(mesh.tri_verts, dtype=np.int32)
    corners = points[triangles]
    cross = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.maximum(np.linalg.norm(cross, axis=1), 1e-12)
    heights = corners[:, :, 2]
    is_floor = (np.abs(heights) < 1e-6).all(axis=1) & (cross[:, 2] > 0.5 * size)
    border = shape_of(area).boundary
    shapely.prepare(border)
    spots = np.concatenate([corners[:, :, :2], corners[:, :, :2].mean(axis=1, keepdims=True)], axis=1)
    near = shapely.dwithin(border, shapely.points(spots.reshape(-1, 2)), WALL_FOUND_MM).reshape(len(triangles), 4)
    is_wall = near.all(axis=1) & (np.abs(cross[:, 2]) < 1e-6 * size) & (heights.min(axis=1) > -1e-6)
    is_moving = corners[:, :, 1].mean(axis=1) < -0.5 * form.gap_mm
    face = np.full(len(triangles), len(PLACES), dtype=np.int32)
    face[is_floor] = is_moving[is_floor]
    face[is_wall] = 2 + is_moving[is_wall]
    return Target(
        vertices_mm=points, triangles=triangles, triangle_face=face, face_ids=(*PLACES, "the rest of the jaws"),
        face_offset_mm=np.zeros(len(PLACES) + 1), volume_mm3=float(body.volume()), mesh_deflection_mm=0.0,
        mesh_is_closed=True,
    )  # fmt: skip
