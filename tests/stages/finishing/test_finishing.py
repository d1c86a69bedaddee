"""Finishing: windows before the coat, the way the target moves, and what is said when no size will do."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from stages.coated_parts import bore, box_part, coat, job_of, only_window, proof, ring_part

from proveout.geometry.mesh import mesh_volume_mm3
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Coat, Size
from proveout.model.proof import Decision, is_ready
from proveout.model.size_text import read_size
from proveout.model.solid import Solid
from proveout.model.work import HoleStep, Survey
from proveout.stages.finishing.decide import FinishingResult, decide

# worked: coat 0.050 mm +-20 % is 0.040 to 0.060; build-up 45 to 55 %. A bore closes by 2 t s: at least
# 2 x 0.040 x 0.45 = 0.036, at most 2 x 0.060 x 0.55 = 0.066. Finished 20 H8 is 20.000 to 20.033, so before the coat
# 20.000 + 0.066 = 20.066 to 20.033 + 0.036 = 20.069: 0.003 mm. At an exact half: 20.060 to 20.073: 0.013 mm.


MESH = "finishing:target:mesh-follows-the-offsets"


def test_20_h8_under_the_coat_leaves_13_micrometres_at_an_exact_half() -> None:
    window = only_window(bore(coat=coat(0.5, 0.5)))
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((20.060, 20.073), abs=1e-9)
    assert window.width_mm == pytest.approx(0.013, abs=1e-9)


def test_20_h8_under_the_coat_leaves_3_micrometres_at_45_to_55_percent_and_blocks_release() -> None:
    decision = bore(coat=coat())
    window = only_window(decision)
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((20.066, 20.069), abs=1e-9)
    assert window.width_mm == pytest.approx(0.003, abs=1e-9)
    held = proof(decision, "finishing:1:window-can-be-held")
    assert (held.verdict, held.blocks_release, held.limit) == ("fails", True, 0.01)
    assert not is_ready(decision.proofs)


def test_the_ways_out_come_in_order_with_their_numbers() -> None:
    """worked: spread 0.030, so limits 0.040 apart: H9 is 0.052, which leaves 0.022. Hone: at most
    20.000 + 0.036 - 0.010. Tighten: 2 x 0.05 x ((1 + x) 0.55 - (1 - x) 0.45) = 0.033 - 0.010 gives x = 0.13."""
    decision = bore(coat=coat())
    ways = [way.text for way in only_window(decision).ways_out]
    assert [way.split(":")[0] for way in ways] == [
        "loosen it",
        "plug or mask it",
        "hone after the coat",
        "tighten the coat to ±13 % of 0.050 mm",
    ]
    assert "0.040 mm apart, such as 20 H9, whose window is 22 µm wide" in ways[0]
    assert "20.000 to 20.033 mm, 33 µm wide" in ways[1]
    assert "at most 20.026 mm" in ways[2]
    told = [f"{ways[0]} (free: it is your drawing)", *(f"{way} (price not known: ask)" for way in ways[1:])]
    assert proof(decision, "finishing:1:window-can-be-held").remedy == "; or ".join(told)


def test_an_empty_window_has_a_negative_width_and_fails() -> None:
    """worked: H7 of 20 is 0.021 wide, less than the spread of 0.030: -0.009."""
    decision = bore(text="H7", coat=coat())
    assert only_window(decision).width_mm == pytest.approx(-0.009, abs=1e-9)
    assert proof(decision, "finishing:1:window-is-open").verdict == "fails"
    assert proof(decision, "finishing:1:target-in-window").verdict == "fails"


@pytest.mark.parametrize("how", ["balloon", "text", "size"])
def test_a_masked_bore_is_right_without_coat(how: str) -> None:
    """worked: middle of 20.000 to 20.033 is 20.0165, so the wall goes 0.00825 into the metal, the rest 0.025."""
    solid, survey = ring_part()
    size = Size(balloon=1, text="H8 mask" if how == "text" else "H8", is_masked=how == "size")
    job = job_of(size, coat=coat(), masked=(1,) if how == "balloon" else ())
    decision = decide(solid=solid, survey=survey, job=job)
    finishing = decision.value.finishing
    (window,) = finishing.windows
    assert (window.before_low_mm, window.before_high_mm, window.is_masked) == (20.0, 20.033, True)
    assert finishing.offset_mm == pytest.approx({"bore": 0.00825, "bottom": 0.025, "outside": 0.025, "top": 0.025})
    assert finishing.coated_area_mm2 == pytest.approx(2.0 * math.pi * 125.0 + math.pi * 240.0, abs=1e-3)
    assert finishing.plugs == ("1: H8, through: plug",)
    assert is_ready(decision.proofs)


def test_the_wall_of_a_hole_that_is_coated_counts_in_the_area() -> None:
    """worked: 2 pi 10 x 8 mm2 of the bore more than with the bore plugged; its faces and outside as above."""
    finishing = bore(coat=coat()).value.finishing
    assert finishing.coated_area_mm2 == pytest.approx(2.0 * math.pi * 125.0 + math.pi * (240.0 + 160.0), abs=1e-3)


def test_the_target_moves_by_the_build_up_and_the_window() -> None:
    """worked: unmasked bore: middle 20.0675, wall at 10.03375; ends 0.025 in: 7.95 high; outside at 14.975."""
    target = bore(coat=coat()).value.target
    radius = np.hypot(target.vertices_mm[:, 0], target.vertices_mm[:, 1])
    chord = 1.0 / math.cos(math.pi / 72)
    assert radius[:144] == pytest.approx(10.0 + 0.03375 * chord, abs=1e-9)
    assert radius[144:] == pytest.approx(15.0 - 0.025 * chord, abs=1e-9)
    assert np.ptp(target.vertices_mm[:, 2]) == pytest.approx(7.95, abs=1e-9)
    assert target.volume_mm3 == pytest.approx(mesh_volume_mm3(target.vertices_mm, target.triangles))
    assert not target.vertices_mm.flags.writeable


def test_without_coat_only_the_written_size_moves_to_its_middle() -> None:
    decision = bore()
    assert decision.value.finishing.offset_mm == pytest.approx(
        {"bore": 0.00825, "bottom": 0.0, "outside": 0.0, "top": 0.0}
    )
    assert decision.value.finishing.coated_area_mm2 == 0.0
    assert decision.value.finishing.plugs == ()


def test_a_shaft_is_machined_smaller() -> None:
    """worked: 30 h8 is 29.967 to 30; it grows 0.036 to 0.066: before 29.931 to 29.934, middle 29.9325,
    so the wall lies (30 - 29.9325) / 2 = 0.03375 inside."""
    solid, survey = ring_part()
    decision = decide(solid=solid, survey=survey, job=job_of(Size(balloon=3, text="h8"), coat=coat()))
    window = only_window(decision)
    assert window.kind == "shaft"
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((29.931, 29.934), abs=1e-9)
    assert decision.value.finishing.offset_mm["outside"] == pytest.approx(0.03375)


@pytest.mark.parametrize(
    ("masked", "low", "high", "offset_x_low", "offset_x_high"),
    [
        # both ends coated: grows 0.036 to 0.066: 9.95 - 0.036 = 9.914 to 10.05 - 0.066 = 9.984; middle 9.949
        ((), 9.914, 9.984, 0.0255, 0.0255),
        # one end masked: grows 0.018 to 0.033: 9.932 to 10.017; middle 9.9745; 0 and 0.025 each moved on by 0.00025
        ((2,), 9.932, 10.017, 0.02525, 0.00025),
    ],
)
def test_a_length_between_two_faces_counts_its_coated_ends(
    masked: tuple[int, ...], low: float, high: float, offset_x_low: float, offset_x_high: float
) -> None:
    solid, survey = box_part()
    size = Size(balloon=1, text="10 ±0.05", face_ids=("-x", "+x"))
    decision = decide(solid=solid, survey=survey, job=job_of(size, coat=coat(), masked=masked))
    window = only_window(decision)
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((low, high), abs=1e-9)
    offsets = decision.value.finishing.offset_mm
    assert (offsets["-x"], offsets["+x"]) == pytest.approx((offset_x_low, offset_x_high))
    assert is_ready(decision.proofs)


def stepped_part() -> tuple[Solid, Survey]:
    """The ring part whose outside is said to be a second, narrower step of its hole: names matter here, not metal."""
    solid, survey = ring_part()
    (hole,) = survey.holes
    narrow = HoleStep(kind="cylinder", diameter_mm=4.2, depth_low_mm=8.0, depth_high_mm=12.0, face_ids=("outside",))
    mouth = HoleStep(kind="cone", diameter_mm=21.0, depth_low_mm=0.0, depth_high_mm=0.5, face_ids=("top",))
    stepped = msgspec.structs.replace(hole, steps=(mouth, *hole.steps, narrow))
    return solid, msgspec.structs.replace(survey, holes=(stepped,))


def two_sizes(first: str, second: str, **more: object) -> Decision[FinishingResult]:
    solid, survey = stepped_part()
    sizes = (Size(balloon=1, text=first), Size(balloon=1, text=second, letter="b"))
    return decide(solid=solid, survey=survey, job=job_of(*sizes, coat=coat(), **more))  # type: ignore[arg-type]


def test_each_size_of_a_hole_goes_to_its_own_step() -> None:
    """Worked: M5 is tapped from 5 - 0.8 = 4.2 mm, which is the narrow step and not the bore of 20."""
    for texts in (("20 H11", "M5 6H"), ("M5 6H", "20 H11")):
        windows = {w.text: w for w in two_sizes(*texts).value.finishing.windows}
        assert windows["20 H11"].face_ids == ("bore",)
        assert windows["M5 6H"].face_ids == ("outside",)
    thread = proof(two_sizes("20 H11", "M5 6H"), "finishing:1b:thread-takes-its-screw")
    assert (thread.verdict, thread.subject) == ("not shown", "size 1b")


def test_a_mask_behind_one_size_leaves_the_other_to_the_coat() -> None:
    bore_only = two_sizes("20 H8 mask", "M5 6H")
    assert [w.is_masked for w in bore_only.value.finishing.windows] == [True, False]
    assert bore_only.value.finishing.plugs == ("1: 20 H8, part of the hole only: mask by hand",)
    assert proof(bore_only, "finishing:1b:thread-takes-its-screw").verdict == "not shown"
    thread_only = two_sizes("20 H8", "M5 6H mask")
    assert [w.is_masked for w in thread_only.value.finishing.windows] == [False, True]
    assert thread_only.value.finishing.plugs == ("1: M5 6H, part of the hole only: mask by hand",)
    both = two_sizes("20 H8 mask", "M5 6H mask")
    assert both.value.finishing.plugs == ("1: 20 H8, through: plug", "1: M5 6H, through: plug")
    assert both.value.finishing.offset_mm["top"] == 0.0  # the cone of the mouth is masked with its hole


def test_two_sizes_of_one_step_or_without_a_diameter_are_not_guessed() -> None:
    twice = proof(two_sizes("20 H8", "20.1 H8"), "finishing:1b:size-is-understood")
    assert twice.decides == "size 1 (20 H8) stands for the same Ø20"
    bare = proof(two_sizes("H8", "M5 6H"), "finishing:1:size-is-understood")
    assert bare.decides == "write the diameter before H8: the hole has Ø4.2, Ø20"


def test_a_length_typed_at_one_flat_face_finds_the_face_that_looks_the_other_way() -> None:
    solid, survey = box_part()
    decision = decide(solid=solid, survey=survey, job=job_of(Size(balloon=6, text="30 ±0.05", face_ids=("+z",))))
    window = only_window(decision)
    assert (window.kind, window.face_ids) == ("length", ("+z", "-z"))
    assert (window.finished_low_mm, window.finished_high_mm) == (29.95, 30.05)
    for text, do in (("31 ±0.05", "no flat face looks the other way about 31 mm from face 6"), ("±0.05", "write the")):
        decision = decide(solid=solid, survey=survey, job=job_of(Size(balloon=6, text=text)))
        assert do in proof(decision, "finishing:6:size-is-understood").decides


def test_two_faces_at_the_same_length_are_not_chosen_between() -> None:
    solid, survey = box_part()
    below = solid.faces[4]
    twice = msgspec.structs.replace(solid, faces=(*solid.faces, msgspec.structs.replace(below, id="-z too", index=4)))
    decision = decide(solid=twice, survey=survey, job=job_of(Size(balloon=6, text="30 ±0.05")))
    assert "2 flat faces lie 30 mm from face 6" in proof(decision, "finishing:6:size-is-understood").decides


def test_a_masked_number_that_stands_for_nothing_is_not_shown() -> None:
    solid, survey = ring_part()
    decision = decide(solid=solid, survey=survey, job=job_of(coat=coat(), masked=(1, 9)))
    assert "there is no balloon 9" in proof(decision, "finishing:9:size-is-understood").decides
    assert not is_ready(decision.proofs)


def test_two_sizes_that_pull_one_face_both_ways_are_found_out() -> None:
    """A size of 10 with both ends and a second one on the same faces 0.2 shorter cannot both be centred."""
    solid, survey = box_part()
    one = Size(balloon=1, text="10 ±0.01", face_ids=("-x", "+x"))
    other = Size(balloon=2, text="10 +0.00/-0.20", face_ids=("-x", "+x"))
    decision = decide(solid=solid, survey=survey, job=job_of(one, other))
    assert proof(decision, "finishing:1:target-in-window").verdict == "fails"
    assert proof(decision, "finishing:2:target-in-window").verdict == "holds"


def test_a_thread_under_a_coat_is_plugged_or_not_shown() -> None:
    """worked: M6 pitch diameter 5.350 to 5.500 shrinks by 4 t s, 0.072 to 0.132: a tap of 5.482 to 5.572."""
    solid, survey = ring_part()
    open_ = decide(solid=solid, survey=survey, job=job_of(Size(balloon=1, text="M6 6H"), coat=coat()))
    taken = proof(open_, "finishing:1:thread-takes-its-screw")
    assert (taken.verdict, taken.blocks_release) == ("not shown", True)
    assert "5.482 to 5.572 mm" in taken.decides
    assert [way.text.split(" mm")[0] for way in only_window(open_).ways_out] == [
        "oversize tap: pitch diameter 5.482 to 5.572",
        "plug or mask it: the window becomes 5.350 to 5.500",
    ]
    plugged = decide(solid=solid, survey=survey, job=job_of(Size(balloon=1, text="M6"), coat=coat(), masked=(1,)))
    assert proof(plugged, "finishing:1:thread-takes-its-screw").verdict == "holds"
    assert plugged.value.finishing.offset_mm["bore"] == 0.0
    assert plugged.value.finishing.plugs == ("1: M6, through: plug",)


@pytest.mark.parametrize(
    ("text", "do"),
    [
        ("V7", "This letter of a hole is not in the table"),
        ("h7", "does not go with a hole"),
        ("H3", "Tolerance grade is not in the table"),
        ("M7", "write the pitch of M7"),
        ("M6 6g", "a thread in a hole has a class such as 6H or 2B"),
        ("M60x7 6H", "This metric thread is not in the rules"),
        ("1/4-24", "This unified thread is not in the rules"),
        ("about 20", "write 'about 20' as"),
    ],
)
def test_a_text_that_cannot_be_read_is_not_shown_and_blocks(text: str, do: str) -> None:
    decision = bore(text=text)
    unclear = proof(decision, "finishing:1:size-is-understood")
    assert (unclear.verdict, unclear.blocks_release) == ("not shown", True)
    assert do in unclear.decides
    assert decision.value.finishing.windows == ()


def test_a_balloon_that_is_not_there_is_said() -> None:
    solid, survey = ring_part()
    for text in ("H8", "mask"):
        decision = decide(solid=solid, survey=survey, job=job_of(Size(balloon=9, text=text), coat=coat()))
        assert "there is no balloon 9" in proof(decision, "finishing:9:size-is-understood").decides


def test_a_solid_drawn_outside_its_written_limits_fails() -> None:
    """worked: 20.2 +0.05/0 against a drawn 20.0: middle 20.225, off by 0.225, half width 0.025."""
    drawn = proof(bore(text="20.2 +0.05/0"), "finishing:1:drawn-as-written")
    assert (drawn.verdict, drawn.found_high, drawn.limit) == ("fails", 0.225, 0.025)


def test_edges_must_be_broken_by_ten_times_the_coat() -> None:
    """H10, printed: ISO 10074 text, radius at least ten times the thickness: 0.5 mm for 0.050."""
    for edge, verdict in ((0.5, "holds"), (0.49, "fails")):
        found = proof(bore(coat=coat(), edge=edge), "finishing:edges:round-enough-for-the-coat")
        assert (found.verdict, found.limit) == (verdict, 0.5)


@given(
    st.floats(0.0, 0.1), st.floats(0.0, 0.1), st.floats(0.3, 0.5), st.floats(0.5, 0.7), st.integers(6, 12),
    st.sampled_from(("hole", "shaft")), st.floats(0.0, 1.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0),
)  # fmt: skip
def test_every_size_in_the_window_ends_within_limits_whatever_coat_comes(
    t0: float, t1: float, s0: float, s1: float, grade: int, kind: str, x: float, t: float, s: float
) -> None:  # fmt: skip
    low, high = sorted((t0, t1))
    some = Coat(
        process="coat",
        thickness_mm=Fact(low=low, nominal=high, high=high, unit="mm", source="t", strength="assumed"),
        build_up_ratio=Fact(low=s0, nominal=0.5, high=s1, unit="ratio", source="t", strength="assumed"),
        etch_mm=exact_fact(0.0, "mm", "t", "assumed"),
    )
    solid, survey = ring_part()
    size = Size(balloon=1, text=f"H{grade}") if kind == "hole" else Size(balloon=3, text=f"h{grade}")
    window = only_window(decide(solid=solid, survey=survey, job=job_of(size, coat=some)))
    if window.width_mm <= 0.0:
        return
    made = window.before_low_mm + x * window.width_mm
    growth = 2.0 * (low + t * (high - low)) * (s0 + s * (s1 - s0))
    finished = made - growth if kind == "hole" else made + growth
    assert window.finished_low_mm - 2e-6 <= finished <= window.finished_high_mm + 2e-6


@pytest.mark.parametrize(
    ("text", "manner", "nominal", "rest"),
    [
        ("H8", "class", None, ("H", 8)),
        ("20 H8", "class", 20.0, ("H", 8)),
        ("Ø20h7", "class", 20.0, ("h", 7)),
        ("20 +0.05/-0.02", "deviations", 20.0, (-0.02, 0.05)),
        ("+0,05/0", "deviations", None, (0.0, 0.05)),
        ("18 ±0.1", "deviations", 18.0, (-0.1, 0.1)),
        ("18 +/-0.1", "deviations", 18.0, (-0.1, 0.1)),
        ("M6", "thread", 6.0, None),
        ("M8x1.25 6H mask", "thread", 8.0, None),
        ("25.4", "plain", 25.4, None),
        ("mask", "mask", None, None),
        ("", "unknown", None, None),
        ("M6 4H", "thread", 6.0, ("H", 4)),
        ("M6-4g6g", "thread", 6.0, ("g", 4)),
        ("M10x1 7G D9", "thread", 10.0, ("G", 7)),
        ("M6 2H", "unknown", None, None),
        ("1/4-20 UNC-2B", "thread", 6.35, ("H", 0)),
        ("#10-32 UNF 3B H11", "thread", 4.826, ("H", 0)),
        ("10-24 UNC-2B", "thread", 4.826, ("H", 0)),
        ("1-8 UNC-2B", "thread", 25.4, ("H", 0)),
        ("1-12 UNF mask", "thread", 25.4, ("H", 0)),
        ("1-64 UNC-2B", "thread", 1.8542, ("H", 0)),
        ("No. 1-72", "thread", 1.8542, ("H", 0)),
        ("4-4 UNC", "thread", 101.6, ("H", 0)),
        ("12-32", "thread", 5.4864, ("H", 0)),
        ("#10-20", "thread", 4.826, ("H", 0)),
        ("2-20", "thread", 50.8, ("H", 0)),
        ("1-10", "unknown", None, None),
        ("5-4", "unknown", None, None),
        ("0-20", "unknown", None, None),
        ("#13-20", "unknown", None, None),
        ("1/0-20", "unknown", None, None),
        ("0/4-20", "unknown", None, None),
        ("1/4-0", "unknown", None, None),
        ("10-20 UNC", "unknown", None, None),
        ("#7-32", "unknown", None, None),
        ("#1/4-20", "unknown", None, None),
        ("20 js6", "class", 20.0, ("js", 6)),
        ("5 ±0.1 deep", "deviations", 5.0, (-0.1, 0.1)),
        ("R4 ±0.2", "radius", 4.0, None),
        ("20° ±0.5°", "angle", 20.0, None),
        ("20 deg", "angle", 20.0, None),
        ("Ra 1.6", "texture", 1.6, None),
        ("edge -0.3", "edge", None, None),
        ("ISO 13715 +0.1/-0.3", "edge", None, None),
    ],
)
def test_size_texts_are_read_as_the_trade_writes_them(
    text: str, manner: str, nominal: float | None, rest: tuple[object, object] | None
) -> None:
    found = read_size(text)
    assert (found.manner, found.nominal_mm) == (manner, nominal if nominal is None else pytest.approx(nominal))
    assert found.is_masked == text.endswith("mask")
    if manner in ("class", "thread") and rest is not None:
        assert (found.letter, found.grade) == rest
    if manner == "deviations":
        assert (found.low_deviation_mm, found.high_deviation_mm) == rest


def test_a_bare_size_takes_the_general_tolerance() -> None:
    """printed: ISO 2768-1 m, over 6 to 30: 0.2."""
    window = only_window(bore(text="20"))
    assert (window.finished_low_mm, window.finished_high_mm) == (19.8, 20.2)
    assert "general tolerance" in proof(bore(text="20", general=None), "finishing:1:size-is-understood").decides


def test_exact_thickness_of_nothing_leaves_the_limits_alone() -> None:
    none = Coat(
        process="none",
        thickness_mm=exact_fact(0.0, "mm", "job", "assumed"),
        build_up_ratio=exact_fact(0.5, "ratio", "job", "assumed"),
        etch_mm=exact_fact(0.0, "mm", "job", "assumed"),
    )
    window = only_window(bore(coat=none))
    assert (window.before_low_mm, window.before_high_mm) == (20.0, 20.033)


def test_a_target_that_cannot_follow_its_offsets_blocks_and_names_the_faces() -> None:
    """worked: of a box's mesh one coated face is said to be two faces in one plane, one masked: their seam moves by
    half of 0.025, so both are 0.0125 off."""
    solid, survey = box_part()
    owner = solid.triangle_face.copy()
    owner[2] = 0  # half of +x counts as the face -x, which is masked
    split = msgspec.structs.replace(solid, triangle_face=owner)
    found = proof(decide(solid=split, survey=survey, job=job_of(coat=coat(), masked=(1,))), MESH)
    assert (found.verdict, found.blocks_release) == ("fails", True)
    assert found.found_high == pytest.approx(0.0125, abs=1e-4)
    assert "off: -x, +x" in found.claim
    assert proof(decide(solid=solid, survey=survey, job=job_of(coat=coat(), masked=(1,))), MESH).verdict == "holds"
