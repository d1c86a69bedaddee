"""Small solids with answers that can be counted by hand, made with the kernel and measured by our own reader."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)

from __future__ import annotations

import math
from typing import Any

import numpy as np

from proveout.model.fact import Fact
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.quantities.units import rad_per_s_from_rpm


def box(x: float, y: float, z: float) -> Any:
    """A block with one corner at the origin."""
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox

    return BRepPrimAPI_MakeBox(x, y, z).Solid()


def drilled(
    shape: Any, *, at: tuple[float, float, float], along: tuple[float, float, float], dia: float, deep: float
) -> Any:
    """The shape less a flat-ended cylinder that starts at `at` and goes `deep` along `along`."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeCylinder
    from OCP.gp import gp_Ax2, gp_Dir, gp_Pnt

    axis = gp_Ax2(gp_Pnt(*at), gp_Dir(*along))
    return BRepAlgoAPI_Cut(shape, BRepPrimAPI_MakeCylinder(axis, dia / 2.0, deep).Shape()).Shape()


def cut_box(shape: Any, low: tuple[float, float, float], high: tuple[float, float, float]) -> Any:
    """The shape less a box given by two corners."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt

    return BRepAlgoAPI_Cut(shape, BRepPrimAPI_MakeBox(gp_Pnt(*low), gp_Pnt(*high)).Solid()).Shape()


def solid_of(shape: Any, name: str = "test") -> Solid:
    """As our reader measures it."""
    from proveout.solids.measure import solid_from_shape
    from proveout.solids.shapes import sub_shapes

    found = sub_shapes(shape, "solid")[0]
    return solid_from_shape(found, name=name, unit_declared="mm", deflection_mm=0.01)


def target_of(solid: Solid) -> Target:
    """The target without a coat: the solid itself."""
    return Target(
        vertices_mm=solid.vertices_mm, triangles=solid.triangles, triangle_face=solid.triangle_face,
        face_ids=tuple(f.id for f in solid.faces), face_offset_mm=np.zeros(len(solid.faces)),
        volume_mm3=solid.volume_mm3, mesh_deflection_mm=solid.mesh_deflection_mm, mesh_is_closed=solid.mesh_is_closed,
    )  # fmt: skip


def fact(low: float, nominal: float, high: float, unit: str = "") -> Fact:
    """An invented fact, as if somebody had measured it."""
    said = "shop-file: invented for this test"
    return Fact(low=low, nominal=nominal, high=high, unit=unit, source=said, strength="measured here")


def cutter(id: str, kind: str, dia: float, flute: float, out: float, **more: Any) -> Cutter:
    """An invented cutter."""
    given: dict[str, Any] = {
        "corner_radius_mm": 0.0, "flutes_count": 3, "shank_diameter_mm": dia, "holder_diameter_mm": max(28.0, dia),
        "holder_length_mm": 50.0, "tip_angle_rad": math.pi, "tip_diameter_mm": 0.0, "pitch_mm": 0.0,
        "speed_max_rad_per_s": rad_per_s_from_rpm(15000.0), "cutting_speed_mm_per_s": 5000.0, "tooth_feed_mm": 0.06,
        "life_s": None, "price": 30.0, **more,
    }  # fmt: skip
    return Cutter(id=id, name=id, kind=kind, diameter_mm=dia, flute_length_mm=flute, stick_out_mm=out, **given)  # type: ignore[arg-type]


POINT_RAD = math.radians(118.0)
CUTTERS = (
    cutter("face 50", "face mill", 50.0, 8.0, 40.0, holder_diameter_mm=40.0, shank_diameter_mm=30.0),
    cutter("mill 12", "end mill", 12.0, 26.0, 38.0),
    cutter("mill 6", "end mill", 6.0, 18.0, 25.0),
    cutter("mill 4", "end mill", 4.0, 14.0, 20.0),
    cutter("spot", "spot", 10.0, 8.0, 30.0, tip_angle_rad=math.pi / 2.0),
    cutter("drill 5", "drill", 5.0, 40.0, 50.0, tip_angle_rad=POINT_RAD, flutes_count=2),
    cutter("drill 6.6", "drill", 6.6, 45.0, 55.0, tip_angle_rad=POINT_RAD, flutes_count=2),
)
MILL = Machine(
    id="mill", name="3-axis mill", kind="3-axis", travel_mm=(600.0, 450.0, 400.0),
    speed_max_rad_per_s=rad_per_s_from_rpm(10000.0), power_mw=7.5e6, rapid_mm_per_s=300.0, feed_max_mm_per_s=200.0,
    accel_mm_per_s2=3000.0, cutter_change_s=6.0, pockets_count=20, vises_count=1, has_probe=False, rate_per_h=90.0,
    setup_s=2400.0, resolution_mm=0.001,
)  # fmt: skip
VISE = Vise(
    id="vise", machines=("mill",), opening_max_mm=150.0, jaw_length_mm=125.0, jaw_height_mm=40.0,
    preload_n=fact(15000.0, 17500.0, 20000.0, "N"), rating_n=30000.0, torque_n_mm=60000.0,
    chart_torques_n_mm=(12000.0, 720000.0), chart_forces_n=(3500.0, 210000.0),  # invented: in proportion
)  # fmt: skip
TOOTHED = Jaws(
    id="toothed", kind="toothed", grip_mm=3.0, friction_ratio=fact(0.25, 0.35, 0.43), for_surface="raw", make_s=0.0,
    price=0.0,
)  # fmt: skip
SMOOTH = Jaws(
    id="smooth", kind="smooth", grip_mm=3.0, friction_ratio=fact(0.0665, 0.1, 0.15), for_surface="finished", make_s=0.0,
    price=0.0,
)  # fmt: skip
SOFT = Jaws(
    id="soft", kind="soft", grip_mm=10.0, friction_ratio=fact(0.15, 0.2, 0.25), for_surface="finished", make_s=1800.0,
    price=20.0,
)  # fmt: skip
LOAD = fact(20.0, 30.0, 45.0, "s")
