"""A 3-axis mill with two vises, and a clamping with passes of three cutters that may lie in either; all invented."""

from __future__ import annotations

import math

import foreign_program as given
import msgspec
import numpy as np

from proveout.geometry.frames import Frame
from proveout.model.fact import Fact
from proveout.model.moves import Moves
from proveout.model.plan import ClampForce
from proveout.model.shop import Jaws, Machine, Vise
from proveout.model.work import Blank, Clamping, Pass, PassPlan, Tilt

CUTTERS = {"mill": given.table().cutters[2], "drill": given.table().cutters[3], "tap": given.table().cutters[4]}
CUTTER_LIST = tuple(msgspec.structs.replace(cutter, id=name) for name, cutter in CUTTERS.items())
NUMBERS = {"mill": 3, "drill": 7, "tap": 12}
STYLE = msgspec.structs.replace(
    given.STYLE, opening=("G21 G17 G40 G49 G80 G90 G94",), closing=("G53 G0 Y0", "M30"),
    before_change=("G53 G0 Z0", "M5"), tilted_plane=None, clamp_a="", unclamp_a="", clamp_c="", unclamp_c="",
)  # fmt: skip
MILL = msgspec.structs.replace(
    given.machine(), kind="3-axis", rotary=None, program=STYLE, vises_count=2, cutter_change_s=7.0, setup_s=1800.0,
    setup_more_s=600.0,
)  # fmt: skip
VISE = Vise(
    id="vise", machines=("mill",), opening_max_mm=150.0, jaw_length_mm=120.0, jaw_height_mm=40.0, preload_n=None,
    rating_n=None, torque_n_mm=None, stands_mm=(200.0, -200.0, -300.0), more_stand_mm=((380.0, -200.5, -301.0),),
)  # fmt: skip
DOUBLE = msgspec.structs.replace(
    VISE, more_stand_mm=(), has_middle_jaw=True, middle_jaw_mm=30.0, kind_count=1
)  # fmt: skip
UNMEASURED = msgspec.structs.replace(VISE, stands_mm=None, more_stand_mm=())
FRAME = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
BLANK = Blank(
    bar_id="b", length_axis=0, low_mm=(0.0, -42.0, 0.0), high_mm=(60.0, 0.0, 25.0), cut_length_mm=60.0,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=40, bar_length_mm=3000.0, material_price_each=2.0, mass_kg=0.2,
)  # fmt: skip
SOFT = Jaws(id="soft", kind="soft", grip_mm=5.0, friction_ratio=None, for_surface="finished", make_s=1200.0, price=40.0)
JAWS = (msgspec.structs.replace(SOFT, id="toothed", kind="toothed", make_s=0.0), SOFT)


def fact(value: float) -> Fact:
    return Fact(low=value, nominal=value, high=value, unit="mm", source="a test", strength="assumed")


def clamping(number: int, *, jaws: str = "toothed", machine: str = "mill") -> Clamping:
    return Clamping(
        id=f"c{number}", number=number, machine_id=machine, vise_id="vise", jaws_id=jaws, surface="raw", frame=FRAME,
        tilts=(Tilt(id="upright", frame=FRAME, a_rad=0.0, c_rad=0.0),), jaw_top_mm=3.0, patch_length_mm=fact(60.0),
        patch_height_mm=fact(3.0), gap_mm=42.0, grip_faces=(), seat_text="", zero_text="X0 left end at the stop",
        makes_faces=(), makes_holes=(), removes_grip=False, jaw_middle_mm=30.0,
    )  # fmt: skip


MILLED = Moves(
    points=np.array(
        [
            [-12.0, -5.001, 45.0], [-12.0, -5.001, 24.345], [72.003, -5.001, 24.345], [72.003, -37.777, 24.345],
            [5.5, -37.777, 24.345], [9.0, -37.777, 45.0],
        ]
    ),
    feed_mm_per_s=np.array([0.0, 0.0, 21.7, 21.7, 21.7, 0.0]),
)  # fmt: skip
DRILLED = Moves(
    points=np.array([[10.5, -14.25, 45.0], [10.5, -14.25, 25.801], [10.5, -14.25, 8.299], [10.5, -14.25, 45.0]]),
    feed_mm_per_s=np.array([0.0, 0.0, 3.151, 0.0]),
)
BORED = Moves(
    points=np.array(
        [[22.5, -14.25, 45.0], [22.5, -14.25, 26.0], [22.5, -14.25, 24.5], [22.5, -14.25, 22.037], [22.5, -14.25, 45.0]]
    ),
    feed_mm_per_s=np.array([0.0, 0.0, 3.0, 4.0, 0.0]),
    arcs=np.array([[0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [0.0, 0.0, 0.0], [1.0, -2.0, 0.0], [0.0, 0.0, 0.0]]),
)  # fmt: skip
MOVES = {"rough": MILLED, "drill": DRILLED, "bore": BORED}


def one_pass(number: int, kind: str, cutter: str) -> Pass:
    moves = MOVES[kind]
    return Pass(
        id=f"c{number}/upright/{cutter}/{kind}/x", kind=kind, clamping_id=f"c{number}", tilt_id="upright",  # type: ignore[arg-type]
        cutter_id=cutter, feature="x", face_ids=(), speed_rad_per_s=9000.0 * math.pi / 30.0, tooth_feed_mm=0.05,
        radial_mm=1.0, axial_mm=1.0, moves_digest=moves.digest, moves_count=len(moves.points), cut_length_mm=1.0,
    )  # fmt: skip


def plan_of(*rows: tuple[int, str, str]) -> PassPlan:
    """Passes by number of the clamping, kind and cutter."""
    passes = tuple(one_pass(*row) for row in rows)
    return PassPlan(passes=passes, not_cut=(), moves={m.digest: m for m in MOVES.values()})


ONE = plan_of((1, "rough", "mill"), (1, "drill", "drill"), (1, "bore", "mill"))
TWO = plan_of(
    (1, "rough", "mill"), (1, "drill", "drill"), (1, "bore", "mill"), (2, "rough", "mill"), (2, "drill", "drill")
)
FORCES = tuple(
    ClampForce(clamping_id=f"c{n}", ratio=1.0, torque_n_mm=None, force_n=None) for n in (1, 2, 3)
)  # fmt: skip


def mill(**more: object) -> Machine:
    return msgspec.structs.replace(MILL, **more)
