"""Small work in soft jaws, and the forms planned for it; the figures can be counted by hand."""

from __future__ import annotations

from functools import cache
from typing import Any

import msgspec
import numpy as np
from shapes import CUTTERS, MILL, SOFT, VISE, fact

from proveout.geometry.frames import Frame
from proveout.model.jaw_form import JawForm
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws
from proveout.model.target import Target
from proveout.model.work import Clamping, Tilt
from proveout.stages.passes import FormedJaws, decide_form
from proveout.stages.passes.jaw_forms import form_with_cutter
from proveout.stages.passes.jaw_outline import outline_of

HIGH_MM = 30.0
BLOCK_MM = (60.0, 20.0, HIGH_MM)
JAWS = msgspec.structs.replace(SOFT, blank_thickness_mm=25.0, blank_height_mm=40.0)


def clamping(*, length_mm: float, gap_mm: float, patch_mm: float, top_mm: float = 10.0) -> Clamping:
    """Work that stands on z 0 between y 0 and -gap, its left end at x 0."""
    frame = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
    return Clamping(
        id="c2-z-", number=2, machine_id="mill", vise_id="vise", jaws_id="soft", surface="finished", frame=frame,
        tilts=(Tilt(id="a0-c0", frame=frame, a_rad=0.0, c_rad=0.0),), jaw_top_mm=top_mm,
        patch_length_mm=fact(patch_mm - 1.0, patch_mm, patch_mm, "mm"), patch_height_mm=fact(9.0, 9.5, 9.5, "mm"),
        gap_mm=gap_mm, grip_faces=(), seat_text="", zero_text="", makes_faces=(), makes_holes=(), removes_grip=False,
        needs_form=True, jaw_middle_mm=length_mm / 2.0,
    )  # fmt: skip


BLOCK = clamping(length_mm=60.0, gap_mm=20.0, patch_mm=59.0)


def body_box(low: tuple[float, float, float], high: tuple[float, float, float]) -> Any:
    """A box of the boolean library."""
    import manifold3d

    return manifold3d.Manifold.cube(tuple(np.subtract(high, low))).translate(low)


def block() -> Any:
    """60 x 20 x 30 between the jaws."""
    return body_box((0.0, -20.0, 0.0), (60.0, 0.0, HIGH_MM))


def round_work(diameter_mm: float) -> Any:
    """A standing round between the jaws, its left end at x 0."""
    import manifold3d

    radius = diameter_mm / 2.0
    return manifold3d.Manifold.cylinder(HIGH_MM, radius, radius, 720).translate((radius, -radius, 0.0))


def target_from(body: Any) -> Target:
    """A body of the boolean library as a target of one face."""
    mesh = body.to_mesh64()
    triangles = np.asarray(mesh.tri_verts, dtype=np.int32)
    return Target(
        vertices_mm=np.asarray(mesh.vert_properties, dtype=np.float64)[:, :3], triangles=triangles,
        triangle_face=np.zeros(len(triangles), dtype=np.int32), face_ids=("all",), face_offset_mm=np.zeros(1),
        volume_mm3=float(body.volume()), mesh_deflection_mm=0.0, mesh_is_closed=True,
    )  # fmt: skip


def shaped(body: Any, held: Clamping, *, jaws: Jaws = JAWS, cutters: tuple[Cutter, ...] = CUTTERS) -> JawForm:
    """The form for finished work in a clamping, its passes not laid."""
    outline = outline_of(work=body, target=body, clamping=held)
    return form_with_cutter(held, outline, body, jaws, VISE, cutters)


def planned(
    body: Any, held: Clamping, *, jaws: Jaws = JAWS, cutters: tuple[Cutter, ...] = CUTTERS
) -> Decision[FormedJaws]:  # fmt: skip
    """The form with its passes."""
    return decide_form(
        clamping=held, outline=outline_of(work=body, target=body, clamping=held), target=target_from(body), jaws=jaws,
        vise=VISE, machine=MILL, cutters=cutters, run=Run(),
    )  # fmt: skip


@cache
def of_block() -> Decision[FormedJaws]:
    """The block's form with its passes, planned once."""
    return planned(block(), BLOCK)
