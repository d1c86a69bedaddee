"""The outlook on a block with a step and a hole, reckoned by hand; moves by rapid take no time on its machine."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import MILL, POINT_RAD, box, cut_box, cutter, drilled, fact, solid_of, target_of

from proveout.geometry.frames import Frame
from proveout.model.choice import CutterChoice, CutterUse, Role
from proveout.model.fact import exact_fact
from proveout.model.outlook import Outlook
from proveout.model.shop import Machine
from proveout.model.target import Target
from proveout.model.work import Blank, Clamping, Hole, HoleStep, Survey, Tilt
from proveout.stages.outlook.decide import FITTED, decide
from proveout.stages.timing.cycle import foreseen_cycle

UPRIGHT = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
CHANGE_S = 5.0
QUICK = msgspec.structs.replace(MILL, rapid_mm_per_s=1e9, accel_mm_per_s2=1e12, cutter_change_s=CHANGE_S)
# 5000 mm/s: Ø50 at 200 rad/s, Ø10 at 1000 rad/s; three teeth of 0.06 mm
FACE_MILL, MILL_10 = cutter("FM50", "face mill", 50.0, 8.0, 40.0), cutter("EM10", "end mill", 10.0, 20.0, 30.0)
DRILL = cutter("D5", "drill", 5.0, 40.0, 50.0, tip_angle_rad=POINT_RAD, flutes_count=2)
FACE_FEED, MILL_FEED = 0.18 * 200.0 / (2.0 * math.pi), 0.18 * 1000.0 / (2.0 * math.pi)
MILL_PLUNGE = 0.3 * MILL_FEED
# 60 x 40 x 20 with the half beyond x = 30 cut down to z = 12, out of 66 x 46 x 28
BLANK = Blank(
    bar_id="b", length_axis=0, low_mm=(-3.0, -3.0, -5.0), high_mm=(63.0, 43.0, 23.0), cut_length_mm=66.0,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0, mass_kg=0.2,
)  # fmt: skip
HOLE = Hole(
    id="hole 1", balloon=1, entry_mm=(15.0, 20.0, 20.0), outward=(0.0, 0.0, 1.0), is_through=False, bottom="flat",
    steps=(HoleStep(kind="cylinder", diameter_mm=5.0, depth_low_mm=0.0, depth_high_mm=10.0, face_ids=("f",)),),
)  # fmt: skip


def step_block() -> Target:
    block = cut_box(box(60.0, 40.0, 20.0), (30.0, -1.0, 12.0), (61.0, 41.0, 21.0))
    return target_of(solid_of(drilled(block, at=(15.0, 20.0, 20.0), along=(0.0, 0.0, -1.0), dia=5.0, deep=10.0)))


def face_at(target: Target, axis: int, at_mm: float) -> str:
    """The flat face square to an axis at a place."""
    for index, face_id in enumerate(target.face_ids):
        used = target.vertices_mm[np.unique(target.triangles[target.triangle_face == index])]
        if np.ptp(used[:, axis]) < 1e-6 and abs(used[0, axis] - at_mm) < 1e-6:
            return face_id
    raise AssertionError


def looked(machine: Machine = QUICK, **more: Any) -> Outlook:
    """The outlook with a face mill, one end mill and a drill."""
    target = step_block()
    clamping = Clamping(
        id="c1", number=1, machine_id="mill", vise_id="v", jaws_id="j", surface="raw", frame=UPRIGHT,
        tilts=(Tilt(id="a0", frame=UPRIGHT, a_rad=0.0, c_rad=0.0),), jaw_top_mm=-2.0,
        patch_length_mm=fact(60.0, 60.0, 60.0, "mm"), patch_height_mm=fact(3.0, 3.0, 3.0, "mm"), gap_mm=46.0,
        grip_faces=(), seat_text="", zero_text="", makes_faces=(), makes_holes=(), removes_grip=False,
    )  # fmt: skip

    def use(role: Role, cutter_id: str, *subjects: str) -> CutterUse:
        return CutterUse(
            clamping_id="c1", tilt_id="a0", role=role, subjects=subjects, cutter_id=cutter_id, why=""
        )  # fmt: skip

    floor, wall, top = face_at(target, 2, 12.0), face_at(target, 0, 30.0), face_at(target, 2, 20.0)
    uses = (
        use("face", "FM50", top), use("rough", "EM10"), use("finish", "EM10", floor, wall), use("drill", "D5", "hole 1")
    )  # fmt: skip
    given: dict[str, Any] = {
        "survey": Survey(faces=(), holes=(HOLE,), directions=(), access=(), unreached=()), "clampings": (clamping,),
        "target": target, "blank": BLANK, "choice": CutterChoice(uses=uses, tilt_of={}, without=()),
        "cutters": (FACE_MILL, MILL_10, DRILL), "machines": (machine,),
        "pressure_mpa": exact_fact(800.0, "MPa", "shop-file: invented", "measured here"), "exponent_ratio": 0.25,
        **more,
    }  # fmt: skip
    return decide(**given).value


def nominal(outlook: Outlook) -> dict[str, float]:
    return {cut.work.kind: cut.seconds.nominal for cut in outlook.cuts}


def test_facing_is_lines_over_the_blank_in_stages() -> None:
    """Worked: 3 mm over the top are a skim of 0.3 and two stages; 46 mm are two lines of 66 + 50 + 2 x 2 mm, and 23 mm
    between them at three times the feed; each stage is entered over 2 mm at 0.3 of the feed."""
    stage = 2.0 * 120.0 / FACE_FEED + 23.0 / (3.0 * FACE_FEED) + 2.0 / (0.3 * FACE_FEED)
    assert nominal(looked())["face"] == pytest.approx(FITTED["face"] * 3.0 * stage, rel=1e-4)


def test_floors_walls_and_holes_by_area_length_and_depth() -> None:
    """Worked: the floor's 30 x 40 mm2 over 6 mm; the wall's 40 mm once, as 8 mm are less than 0.95 of 20 mm of flute;
    the drill goes 10 mm and its point's 2.5 / tan 59 deg = 1.502 mm down, from 1 mm above, at its feed."""
    found = nominal(looked())
    assert found["finish floor"] == pytest.approx(3.0 * (200.0 / MILL_FEED + 2.0 / MILL_PLUNGE), rel=1e-3)
    assert FITTED["finish floor"] == 3.0
    assert found["finish wall"] == pytest.approx(1.5 * (40.0 / MILL_FEED + 2.0 / MILL_PLUNGE), rel=1e-3)
    assert FITTED["finish wall"] == 1.5
    drill_feed = 0.12 * min(2000.0, MILL.speed_max_rad_per_s) / (2.0 * math.pi)
    assert found["drill"] == pytest.approx((10.0 + 1.5022 + 1.0) / drill_feed, rel=1e-3)


def test_roughing_is_the_area_of_every_level_over_the_width_of_a_loop() -> None:
    """Worked: from 20 to 12.2 (the floor and its 0.2 mm) two levels of 66 x 46 - 30 x 40 = 1836 mm2; from there to 11
    (the wall and its 1 mm) the rim of 66 x 46 - 60 x 40 = 636 mm2, and 0.2 / 1.2 of the step's 1200 mm2 with it. Loops
    are 0.4 x 10 = 4 mm wide. The points find areas within a tenth."""
    path = (2.0 * 1836.0 + 636.0 + 200.0) / 4.0
    by_hand = 3.0 * (path / MILL_FEED + 3.0 * 2.0 / MILL_PLUNGE)
    assert nominal(looked())["rough"] == pytest.approx(by_hand, rel=0.10)
    assert FITTED["rough"] == 3.0


def test_a_weak_spindle_slows_roughing_and_facing_alone() -> None:
    strong, weak = nominal(looked()), nominal(looked(msgspec.structs.replace(QUICK, power_mw=1e5)))
    assert weak["rough"] > 1.2 * strong["rough"]
    assert weak["face"] > 1.2 * strong["face"]
    assert weak["finish wall"] == strong["finish wall"]


def test_every_time_runs_from_half_to_twice_its_nominal() -> None:
    found = looked()
    for seconds in (cut.seconds for cut in found.cuts):
        assert seconds.low == pytest.approx(0.5 * seconds.nominal, abs=1e-6)
        assert seconds.high == pytest.approx(2.0 * seconds.nominal, abs=1e-6)
        assert seconds.nominal > 0.0


def test_a_cycle_is_its_cuts_and_changes_as_the_timing_counts_them() -> None:
    """Worked: three cutters, of which the last gives way to the first: facing, end mill, drill, end mill again: 4."""
    found = looked()
    by_hand = sum(nominal(found).values()) + 4 * CHANGE_S
    clamping: Any = type("C", (), {"id": "c1", "number": 1})()
    cycle = foreseen_cycle(clamping=clamping, machine=QUICK, outlook=found)
    assert cycle.cutter_changes_count == 4
    assert cycle.seconds == pytest.approx(by_hand, abs=1e-2)


def test_the_same_part_has_the_same_outlook() -> None:
    assert msgspec.json.encode(looked()) == msgspec.json.encode(looked())


def test_nothing_is_foreseen_of_a_part_that_is_not_held() -> None:
    found = looked(clampings=())
    assert found.cuts == ()


def test_a_ceiling_is_gone_over_in_runs_as_wide_as_a_t_slot_cutter_takes() -> None:
    """Worked: a ceiling of 60 x 4 mm2 in runs of 0.2 x 14 mm, and two diameters to come and go."""
    block = cut_box(box(60.0, 40.0, 20.0), (-1.0, 17.0, 8.0), (61.0, 23.0, 21.0))
    target = target_of(solid_of(cut_box(block, (-1.0, 13.0, 8.0), (61.0, 27.0, 12.0))))
    head = cutter("TS14", "T-slot", 14.0, 3.9, 30.0, shank_diameter_mm=5.0)
    use = CutterUse(
        clamping_id="c1", tilt_id="a0", role="undercut", subjects=(face_at(target, 2, 12.0),), cutter_id="TS14", why=""
    )  # fmt: skip
    found = looked(target=target, choice=CutterChoice(uses=(use,), tilt_of={}, without=()), cutters=(head,))
    (one,) = [cut.work for cut in found.cuts if cut.work.kind == "undercut"]
    assert one.cut_length_mm == pytest.approx(240.0 / 2.8 + 28.0, abs=1e-3)
    assert (one.radial_mm, one.axial_mm) == pytest.approx((2.8, 3.9))
