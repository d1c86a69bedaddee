"""A 3+2 mill with its vise, and one clamping on it looked at from directions given by hand."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
from shapes import MILL, TOOTHED, VISE

from proveout.model.choice_of_clampings import Hold, Placed, Sequence
from proveout.model.proof import Decision, Proof
from proveout.model.shop import Machine, Rotary, Vise
from proveout.model.target import Target
from proveout.model.work import Blank, Vector
from proveout.stages import clampings
from proveout.stages.clampings.ranges import tilt_proofs

ROTARY = Rotary(
    a_low_rad=math.radians(-30.0), a_high_rad=math.radians(110.0), c_is_continuous=True,
    pivot_in_machine_mm=(300.0, -225.0, -350.0), pivot_error_mm=None, brake_torque_n_mm=None, tilt_s=3.0,
)  # fmt: skip
TILTING = msgspec.structs.replace(MILL, id="tilting", kind="3+2", rotary=ROTARY)
TILTING_VISE: Vise = msgspec.structs.replace(VISE, id="tilting vise", machines=("tilting",))
UP: Vector = (0.0, 0.0, 1.0)


def tilting(*, a_deg: tuple[float, float] = (-30.0, 110.0), **more: Any) -> Machine:
    """The mill with other ends of A, and whatever else of its rotary axes."""
    rotary = msgspec.structs.replace(
        ROTARY, a_low_rad=math.radians(a_deg[0]), a_high_rad=math.radians(a_deg[1]), **more
    )
    return msgspec.structs.replace(TILTING, rotary=rotary)


def block() -> tuple[Blank, Target]:
    """A raw block of 60 x 40 x 25 whose clamping frame has the part's own axes."""
    corners = np.array([[x, y, z] for x in (0.0, 60.0) for y in (0.0, 40.0) for z in (0.0, 20.0)])
    target = Target(
        vertices_mm=corners, triangles=np.zeros((0, 3), dtype=np.int32), triangle_face=np.zeros(0, dtype=np.int32),
        face_ids=(), face_offset_mm=np.zeros(0), volume_mm3=0.0, mesh_deflection_mm=0.0, mesh_is_closed=False,
    )  # fmt: skip
    blank = Blank(
        bar_id="none", length_axis=0, low_mm=(0.0, 0.0, -4.0), high_mm=(60.0, 40.0, 21.0), cut_length_mm=60.0,
        grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
        mass_kg=0.1,
    )  # fmt: skip
    return blank, target


def laid(machine: Machine, *directions: Vector) -> Decision[Placed]:
    """The block held once, +z up, cut from above and from the directions, with the proofs of its tilts."""
    hold = Hold(
        up=UP, machine_id=machine.id, vise_id=TILTING_VISE.id, jaws_id=TOOTHED.id, grip=None,
        directions=(UP, *directions), makes_faces=(), makes_holes=(),
    )  # fmt: skip
    blank, target = block()
    found = clampings.place(
        sequence=Sequence(holds=(hold,), bound_each=0.0, reached_ratio=1.0, unreached=(), why=""), blank=blank,
        target=target, machines=(machine,), vises=(TILTING_VISE,), jaws=(TOOTHED,), bars=(),
    )  # fmt: skip
    return Decision(value=found.value, proofs=(*found.proofs, *tilt_proofs(found.value.clampings[0], machine)))


def of(found: Decision[Any], slug: str) -> Proof:
    """The one proof whose id ends so."""
    (proof,) = (p for p in found.proofs if p.id.endswith(slug))
    return proof
