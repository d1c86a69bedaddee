"""The shop that cuts the blocks of loading_cases.py: a mill with a probe or without, two vises, end mills; invented."""

from __future__ import annotations

import math

import msgspec

from proveout.geometry.frames import Frame
from proveout.model.fact import Fact
from proveout.model.moves import Moves
from proveout.model.shop import Cutter, Machine, Probe, Vise
from proveout.model.work import Blank, Clamping, Pass, Tilt

JAW_TOP_MM, OPENING_MM, JAWS_MM = 4.0, 45.0, 40.0
PROBE = Probe(
    error_mm=Fact(low=0.002, nominal=0.005, high=0.01, unit="mm", source="invented", strength="measured here"),
    ball_mm=2.0, stylus_mm=60.0, body_mm=12.0,
)  # fmt: skip


def cutter_of(size: float) -> Cutter:
    """An end mill of that diameter."""
    return Cutter(
        id=f"mill {size}", name=f"mill {size}", kind="end mill", diameter_mm=size, corner_radius_mm=0.0, flutes_count=3,
        flute_length_mm=60.0, stick_out_mm=70.0, shank_diameter_mm=size, holder_diameter_mm=28.0, holder_length_mm=50.0,
        tip_angle_rad=math.pi, tip_diameter_mm=0.0, pitch_mm=0.0, speed_max_rad_per_s=None, cutting_speed_mm_per_s=4e3,
        tooth_feed_mm=0.05, life_s=None, price=30.0,
    )  # fmt: skip


def pass_of(id: str, clamping_id: str, cutter_id: str, moves: Moves) -> Pass:
    """A pass of two moves."""
    return Pass(
        id=id, kind="bore", clamping_id=clamping_id, tilt_id="a0-c0", cutter_id=cutter_id, feature="", face_ids=(),
        speed_rad_per_s=500.0, tooth_feed_mm=0.05, radial_mm=1.0, axial_mm=1.0, moves_digest=moves.digest,
        moves_count=2, cut_length_mm=10.0,
    )  # fmt: skip


def clamping_of(id: str, number: int, frame: Frame, wide_mm: float) -> Clamping:
    """Upright, on the seat, at the fixed jaw and the stop; the second one in the vise that opens."""
    whole = Fact(low=1.0, nominal=1.0, high=1.0, unit="mm", source="invented", strength="assumed")
    return Clamping(
        id=id, number=number, machine_id="mill", vise_id="vise" if number == 2 else "first", jaws_id="smooth",
        surface="finished", frame=frame,
        tilts=(Tilt(id="a0-c0", frame=frame, a_rad=0.0, c_rad=0.0),), jaw_top_mm=JAW_TOP_MM, patch_length_mm=whole,
        patch_height_mm=whole, gap_mm=wide_mm, grip_faces=(), seat_text="", zero_text="", makes_faces=(),
        makes_holes=(), removes_grip=False, jaw_middle_mm=JAWS_MM / 2.0 + 1.0,
    )  # fmt: skip


def blank_of(size_mm: tuple[float, float, float]) -> Blank:
    """A bare box."""
    return Blank(
        bar_id="", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=size_mm, cut_length_mm=size_mm[0],
        grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
        mass_kg=1.0,
    )  # fmt: skip


def vise_of(id: str, opening_mm: float) -> Vise:
    """The first clamping's opens too little for anything: nothing is asked about it."""
    return Vise(
        id=id, machines=("mill",), opening_max_mm=opening_mm, jaw_length_mm=JAWS_MM, jaw_height_mm=40.0,
        preload_n=None, rating_n=None, torque_n_mm=None,
    )  # fmt: skip


def machine_of(has_probe: bool) -> Machine:  # noqa: FBT001 - one flag, named by the function
    """The mill."""
    made = Machine(
        id="mill", name="mill", kind="3-axis", travel_mm=(600.0, 450.0, 400.0), speed_max_rad_per_s=1000.0,
        power_mw=7.5e6, rapid_mm_per_s=300.0, feed_max_mm_per_s=200.0, accel_mm_per_s2=3000.0, cutter_change_s=6.0,
        pockets_count=20, vises_count=1, has_probe=has_probe, rate_per_h=90.0, setup_s=2400.0, resolution_mm=0.001,
    )  # fmt: skip
    return msgspec.structs.replace(made, probe=PROBE) if has_probe else made
