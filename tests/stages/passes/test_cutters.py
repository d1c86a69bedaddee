"""The choice of cutters on solids whose answer can be said by hand."""

from __future__ import annotations

from typing import Any

import manifold3d
import msgspec
import numpy as np
import pytest

from proveout.model.reach import ReachedBy
from proveout.model.work import HoleStep
from proveout.stages.cutters import decide as choose
from proveout.stages.cutters.decide import _most_of as most_of
from proveout.stages.cutters.drills import for_hole, thread_of


def uses_of(choice: Any, role: str) -> set[str]:
    return {u.cutter_id for u in choice.uses if u.role == role}


def test_a_pocket_corner_of_5_takes_no_cutter_above_8_mm(pocketed: Any) -> None:
    """Worked: 0.8 x 5 = 4 mm radius, Ø8 at most; Ø5 is wanted for the slot, so no further one. Outside keeps Ø12."""
    by_face = {f: u.cutter_id for u in pocketed.choice.uses if u.role == "finish" for f in u.subjects}
    assert {by_face[f] for f in by_face if f.startswith("corner")} == {"EM5"}
    assert by_face["plane -1.00+0.00+0.00 0.00"] == "EM12"


def test_a_slot_7_wide_takes_no_cutter_above_0_8_of_it(pocketed: Any) -> None:
    """Worked: 0.8 x 7 = 5.6: Ø5, because Ø6 would cut both walls at once."""
    by_face = {f: u.cutter_id for u in pocketed.choice.uses if u.role == "finish" for f in u.subjects}
    assert by_face["plane +1.00+0.00+0.00 38.00"] == "EM5"
    assert by_face["plane -1.00+0.00+0.00 -45.00"] == "EM5"


def test_every_use_says_why(pocketed: Any) -> None:
    assert all(u.why for u in pocketed.choice.uses)


def drilled(kit: Any, diameter_mm: float, cutters: Any, threads: dict[str, str] | None = None, **more: Any) -> Any:
    body = manifold3d.Manifold.cube((30.0, 30.0, 15.0)) - manifold3d.Manifold.cylinder(
        40.0, diameter_mm / 2.0, diameter_mm / 2.0, 96
    ).translate((15.0, 15.0, -5.0))

    def name(middle: Any, normal: Any) -> str:
        near = np.hypot(middle[0] - 15.0, middle[1] - 15.0) < diameter_mm / 2.0 + 0.1
        return "bore" if near and abs(normal[2]) < 0.5 else kit.by_plane(middle, normal)

    target = kit.target_of(body, name)
    hole = kit.hole_of("h", entry=(15.0, 15.0, 15.0), steps=(("cylinder", diameter_mm, 0.0, 15.0, "bore"),), **more)
    clamping = kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0), gap_mm=34.0, holes=("h",))
    return choose(
        survey=kit.survey_of(target, (hole,)), clampings=(clamping,), target=target, cutters=cutters,
        threads=threads,
    )  # fmt: skip


def test_a_thread_of_a_wider_step_is_not_tapped_into_the_narrowest(kit: Any) -> None:
    """Worked: M8 is tapped from 6.75 mm; a hole of 3.3 below it must never meet the tap. Nor do two threads guess."""
    wide = HoleStep(kind="cylinder", diameter_mm=6.8, depth_low_mm=0.0, depth_high_mm=8.0, face_ids=("a",))
    narrow = HoleStep(kind="cylinder", diameter_mm=3.3, depth_low_mm=8.0, depth_high_mm=15.0, face_ids=("b",))
    hole = kit.hole_of("h", entry=(15.0, 15.0, 15.0), steps=(("cylinder", 6.8, 0.0, 15.0, "bore"),))
    stepped = msgspec.structs.replace(hole, steps=(wide, narrow))
    clamping = kit.clamping_of(kit.upright(low=(0.0, 0.0, -4.5), high_y=32.0), gap_mm=34.0, holes=("h",))
    tap = next(c for c in kit.SHOP if c.kind == "tap")
    drill = msgspec.structs.replace(next(c for c in kit.SHOP if c.kind == "drill"), id="DR3.3", diameter_mm=3.3)
    shop = (*kit.SHOP, drill, msgspec.structs.replace(tap, id="M8 tap", diameter_mm=8.0, pitch_mm=1.25))

    def found(text: str) -> Any:
        return for_hole(
            hole=stepped, tilt=clamping.tilts[0], top_mm=20.0, cutters=shop,
            grow_mm=lambda _ids: 0.0, thread=text,
        )  # fmt: skip

    assert "M8 stands in the step Ø6.8 mm" in found("M8").reason
    assert "two threads in one hole" in found("M4; M8").reason
    assert not [u for text in ("M8", "M4; M8") for u in found(text).uses if u[0] == "tap"]


def test_a_drill_must_match_within_five_hundredths(kit: Any) -> None:
    assert uses_of(drilled(kit, 6.64, kit.SHOP).value, "drill") == {"DR6.6"}
    milled = drilled(kit, 6.7, kit.SHOP).value
    assert uses_of(milled, "drill") == set()
    assert uses_of(milled, "bore") == {"EM5"}


def test_a_hole_without_drill_or_end_mill_is_drilled_smaller_and_said_to_be_uncut(kit: Any) -> None:
    found = drilled(kit, 6.7, tuple(c for c in kit.SHOP if c.kind in ("drill", "spot")))
    assert uses_of(found.value, "drill") == {"DR6.6"}
    assert [n.subject for n in found.value.without] == ["h"]
    assert found.proofs[0].verdict == "not shown"
    assert found.proofs[0].blocks_release
    assert "h" in found.proofs[0].decides


def test_a_thread_is_tapped_only_when_the_tap_is_in_the_shop(kit: Any) -> None:
    assert uses_of(drilled(kit, 5.0, kit.SHOP, {"h": "M6 6H"}).value, "tap") == {"TM6"}
    assert uses_of(drilled(kit, 5.0, kit.SHOP).value, "tap") == set()
    without = drilled(kit, 5.0, tuple(c for c in kit.SHOP if c.kind != "tap"), {"h": "M6"}).value
    assert "no tap M6" in without.without[0].reason


def test_a_drill_that_is_too_short_is_not_chosen(kit: Any) -> None:
    stub = kit.cutter("DRstub", "drill", 6.6, tip_angle_rad=2.0, tip_diameter_mm=0.0, flute_length_mm=12.0)
    assert uses_of(drilled(kit, 6.6, (stub,)).value, "drill") == set()


@pytest.mark.parametrize(
    ("text", "size"),
    [
        ("M6", (6.0, 1.0)), ("M10x1.25", (10.0, 1.25)), ("M6 6H", (6.0, 1.0)), ("M6 6H mask", (6.0, 1.0)),
        ("1/4-20", (6.35, 1.27)), ("M7", None), ("M4; M8", None), ("M6 left", None), ("6 H7", None),
    ],
)  # fmt: skip
def test_threads_are_read_as_people_write_them(text: str, size: tuple[float, float] | None) -> None:
    assert thread_of(text) == size


def test_an_inch_thread_takes_the_tap_of_its_diameter_and_pitch(kit: Any) -> None:
    """Worked: 1/4-20 is full at 6.35 - 1.299 x 1.27 = 4.70 mm, 1/4-28 at 5.17 mm, so 5 mm is too narrow for it."""
    tap = next(c for c in kit.SHOP if c.kind == "tap")
    coarse = msgspec.structs.replace(tap, id="Q20", diameter_mm=6.35, pitch_mm=1.27)
    fine = msgspec.structs.replace(tap, id="A28", diameter_mm=6.35, pitch_mm=0.9071)
    found = drilled(kit, 5.0, (*kit.SHOP, fine, coarse), {"h": "1/4-20 UNC-2B"}).value
    assert uses_of(found, "tap") == {"Q20"}
    assert found.threads_mm["h"] == pytest.approx((6.35, 1.27))
    none = drilled(kit, 5.0, (*kit.SHOP, fine), {"h": "1/4-20 UNC-2B"}).value
    assert uses_of(none, "tap") == set()
    assert "no tap 1/4-20 UNC-2B" in none.without[0].reason
    narrow = drilled(kit, 5.0, (*kit.SHOP, fine, coarse), {"h": "1/4-28 UNF-2B"}).value
    assert uses_of(narrow, "tap") == set()
    assert "1/4-28 UNF-2B does not go into Ø5 mm" in narrow.without[0].reason


@pytest.mark.parametrize(("text", "hole_mm"), [("M8", 5.0), ("M6", 6.0), ("M6", 4.69)])
def test_a_thread_that_does_not_go_into_its_hole_is_not_tapped(kit: Any, text: str, hole_mm: float) -> None:
    """Worked: M8 x 1.25 is full at 8 - 1.299 x 1.25 = 6.376 mm, M6 x 1 at 4.701 mm; a hole of 6 leaves M6 no thread."""
    tap = next(c for c in kit.SHOP if c.kind == "tap")
    shop = (
        *kit.SHOP,
        kit.drill(4.7),
        kit.drill(6.0),
        msgspec.structs.replace(tap, id="T8", diameter_mm=8.0, pitch_mm=1.25),
    )
    found = drilled(kit, hole_mm, shop, {"h": text}).value
    assert uses_of(found, "tap") == set()
    assert f"{text} does not go into Ø{hole_mm:g} mm" in found.without[0].reason


def test_a_smaller_ball_is_taken_where_it_reaches_more(kit: Any) -> None:
    """The larger one stays where both reach alike, and where nothing was told."""
    large, small = kit.cutter("BM8", "ball", 8.0), kit.cutter("BM4", "ball", 4.0)

    def told(of_large: float, of_small: float) -> list[ReachedBy]:
        return [
            ReachedBy(
                clamping_number=1, direction=(0.0, 0.0, 1.0), cutter_id=c.id, manner="inclined", reached_ratio=ratio
            )
            for c, ratio in ((large, of_large), (small, of_small))
        ]

    assert most_of(told(0.3, 0.6), large, [large, small]) is small
    assert most_of(told(0.96, 0.96), large, [large, small]) is large
    assert most_of([], large, [large, small]) is large
