"""Invented clampings, loads and vises for the tests of holding."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
from shapes import CUTTERS, MILL, TOOTHED, VISE, fact

from proveout.geometry.frames import Frame
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.move_loads import MoveLoads
from proveout.model.moves import Moves
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.shop import Jaws, Machine, Rotary, Vise
from proveout.model.work import Clamping, Pass, PassPlan, Tilt
from proveout.stages import holding
from proveout.stages.holding.gripping import Hold
from proveout.stages.holding.squeeze import Work

NAME = "c1/t/mill 12/rough/levels"
FRAME = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
YIELD = fact(240.0, 260.0, 276.0, "MPa")
PRESSURE = fact(600.0, 700.0, 900.0, "MPa")
CLAMPING = Clamping(
    id="c1", number=1, machine_id="mill", vise_id="vise", jaws_id="toothed", surface="raw", frame=FRAME,
    tilts=(Tilt(id="t", frame=FRAME, a_rad=0.0, c_rad=0.0),), jaw_top_mm=3.0,
    patch_length_mm=fact(80.0, 80.0, 80.0, "mm"), patch_height_mm=fact(20.0, 20.0, 20.0, "mm"),
    gap_mm=40.0, grip_faces=(), seat_text="", zero_text="", makes_faces=(), makes_holes=(), removes_grip=False,
    jaw_middle_mm=40.0,
)  # fmt: skip
BLOCK = Work(
    blank_low_mm=(0.0, -40.0, -20.0), blank_high_mm=(80.0, 0.0, 20.0), part_low_mm=(0.0, -40.0, -17.0),
    part_high_mm=(80.0, 0.0, 19.0), elastic_mpa=fact(66e3, 70e3, 72e3, "MPa"),
)  # fmt: skip
LOAD = PassLoad(
    pass_id=NAME, clamping_id="c1", is_tilted=False, tangential_n=500.0, plane_n=600.0, axial_n=200.0,
    torque_n_mm=3000.0, power_mw=1e6, height_mm=28.0, along_mm=20.0, across_mm=10.0, radial_mm=3.6, axial_mm=6.0,
)  # fmt: skip
ROTARY = Rotary(
    a_low_rad=-0.5, a_high_rad=1.9, c_is_continuous=True, pivot_in_machine_mm=(300.0, -225.0, -350.0),
    pivot_error_mm=None, brake_torque_n_mm=fact(420e3, 500e3, 560e3, "N mm"), tilt_s=3.0,
)  # fmt: skip


def held(
    load: PassLoad = LOAD, *, kind: str = "rough", vise: Vise = VISE, jaws: Jaws = TOOTHED, machine: Machine = MILL,
    clamping: Clamping = CLAMPING, limits: Limits | None = None, yield_mpa: Fact = YIELD,
    more: dict[str, PassLoad] | None = None, moves: tuple[MoveLoads, ...] | None = None,
    work: Work | None = None,
) -> Decision[tuple[Hold, ...]]:  # fmt: skip
    """One pass in one clamping, or several of one kind in `more`, by cutter; "mill 12/2" is another of mill 12."""
    still = Moves(points=np.zeros((2, 3)), feed_mm_per_s=np.zeros(2))
    loads = {"mill 12": load, **(more or {})}
    passes = tuple(
        Pass(
            id=one.pass_id, kind=kind, clamping_id="c1", tilt_id="t", cutter_id=name.split("/")[0], feature="",  # type: ignore[arg-type] - a kind as text
            face_ids=(), speed_rad_per_s=300.0, tooth_feed_mm=0.06, radial_mm=3.6, axial_mm=6.0,
            moves_digest=still.digest, moves_count=2, cut_length_mm=1.0,
        )
        for name, one in loads.items()
    )  # fmt: skip
    placed = msgspec.structs.replace(clamping, jaws_id=jaws.id)
    return holding.decide(
        plan=PassPlan(passes=passes, not_cut=(), moves={still.digest: still}), loads=tuple(loads.values()),
        clampings=(placed,), vises=(vise,), jaws=(jaws,), machines=(machine,), cutters=CUTTERS, yield_mpa=yield_mpa,
        pressure_mpa=PRESSURE, limits=limits or Limits(), moves=moves, work=work, run=Run(),
    )  # fmt: skip


def proof(found: Decision[Any], ending: str) -> Proof:
    """The first proof whose id ends so."""
    return next(p for p in found.proofs if p.id.endswith(ending))


def small_patch(height_low_mm: float) -> Clamping:
    """A patch of 3 x 40 mm that may lose 2 mm of its length and some of its height."""
    return msgspec.structs.replace(
        CLAMPING, patch_length_mm=fact(38.0, 40.0, 40.0, "mm"), patch_height_mm=fact(height_low_mm, 3.0, 3.0, "mm"),
        jaw_middle_mm=20.0,
    )  # fmt: skip


def rotary_mill(**changed: Any) -> Machine:
    """A 3+2 mill whose rotary axes are as above but for what is changed."""
    rotary = msgspec.structs.replace(ROTARY, **changed)
    return msgspec.structs.replace(MILL, kind="3+2", rotary=rotary)
