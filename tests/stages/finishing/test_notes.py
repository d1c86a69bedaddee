"""Radii, angles, textures and edges written at balloons; classes and threads beyond H, h and 6H, through the stage."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from stages.coated_parts import bore, box_part, coat, job_of, only_window, proof, ring_part

from proveout.model.job import Coat, Size
from proveout.model.plan import SizeNote
from proveout.model.proof import Decision
from proveout.model.solid import Edge, Solid
from proveout.model.work import Survey
from proveout.stages.finishing.decide import FinishingResult, decide


def only_note(decision: Decision[FinishingResult]) -> SizeNote:
    (note,) = decision.value.finishing.notes
    assert decision.value.finishing.windows == ()
    return note


def outside(text: str, some: Coat | None = None, **more: object) -> Decision[FinishingResult]:
    solid, survey = ring_part()
    return decide(solid=solid, survey=survey, job=job_of(Size(balloon=3, text=text), coat=some, **more))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("text", "low", "high"),
    [
        # printed or remembered deviations on 20 mm: G7 +7 to +28, JS7 +-10.5, N7 -28 to -7 (as 25)
        ("G7", 20.007, 20.028), ("20 JS7", 19.9895, 20.0105), ("N7", 19.972, 19.993), ("F8", 20.020, 20.053),
    ],
)  # fmt: skip
def test_holes_of_other_letters_get_their_limits(text: str, low: float, high: float) -> None:
    window = only_window(bore(text=text))
    assert (window.finished_low_mm, window.finished_high_mm) == pytest.approx((low, high), abs=1e-9)
    assert proof(bore(text=text), "finishing:1:window-is-open").basis.source == "iso_286_deviations"


def test_shafts_of_other_letters_get_their_limits() -> None:
    """From memory: 30 g6 is -7 to -20."""
    window = only_window(outside("g6"))
    assert (window.finished_low_mm, window.finished_high_mm) == pytest.approx((29.980, 29.993), abs=1e-9)


def test_a_unified_thread_under_a_coat_wants_the_tap_that_the_table_names() -> None:
    """Worked: 1/4-20 2B and a coat of 0.002 in +-20 % at an exact half: H11 is the first inside 0.2223 to 0.2256."""
    inch = 25.4
    some = coat(0.5, 0.5)
    thick = msgspec.structs.replace(some.thickness_mm, low=0.0016 * inch, nominal=0.002 * inch, high=0.0024 * inch)
    some = msgspec.structs.replace(some, thickness_mm=thick)
    window = only_window(bore(text="1/4-20 UNC-2B", coat=some))
    assert (window.before_low_mm / inch, window.before_high_mm / inch) == pytest.approx((0.2223, 0.2256), abs=1e-6)
    assert "such as a tap H11" in window.ways_out[0].text
    for number, verdict in ((10, "fails"), (11, "holds")):
        stated = bore(text=f"1/4-20 UNC-2B H{number}", coat=some)
        assert proof(stated, "finishing:1:thread-takes-its-screw").verdict == verdict


def test_an_outside_thread_is_machined_smaller() -> None:
    """Worked: 30 - 0.649519 x 2 = 28.701, less 0.038 is 28.663; its tolerance 0.170. It grows 0.072 to 0.132.

    The 0.038 below the basic profile are left to the coat: it may end at 28.701.
    """
    bare = only_window(outside("M30x2 6g"))
    assert (bare.finished_low_mm, bare.finished_high_mm) == pytest.approx((28.493, 28.663), abs=1e-9)
    window = only_window(outside("M30x2 6g", coat()))
    assert (window.finished_low_mm, window.finished_high_mm) == pytest.approx((28.493, 28.701), abs=1e-9)
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((28.421, 28.569), abs=1e-9)
    assert "GO ring of pitch diameter 28.569 mm, -132 µm" in window.gauges
    assert "after it GO ring of pitch diameter 28.701 mm" in window.gauges
    taken = proof(outside("M30x2 6g", coat()), "finishing:3:thread-takes-its-screw")
    assert taken.verdict == "not shown"
    assert "28.421 to 28.569" in taken.decides
    assert "tap" not in taken.decides


def test_an_inch_screw_may_grow_into_its_allowance() -> None:
    """Worked: 3/4-10 2A: E 0.685, T 0.0059, allowance 0.0018: 0.6773 to 0.6832 bare, to 0.6850 once coated; 3A none."""
    inch = 25.4
    bare, coated = only_window(outside("3/4-10 UNC-2A")), only_window(outside("3/4-10 UNC-2A", coat()))
    assert (bare.finished_low_mm / inch, bare.finished_high_mm / inch) == pytest.approx((0.6773, 0.6832), abs=1e-4)
    assert coated.finished_low_mm == bare.finished_low_mm
    assert coated.finished_high_mm / inch == pytest.approx(0.6850, abs=1e-9)
    for some in (None, coat()):
        tight = only_window(outside("3/4-10 UNC-3A", some))
        assert tight.finished_high_mm / inch == pytest.approx(0.6850, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "verdict", "low", "high"),
    [("R15", "holds", 14.0, 16.0), ("R15.1 ±0.2", "holds", 14.9, 15.3), ("R15.3 ±0.2", "fails", 15.1, 15.5)],
)
def test_a_radius_is_held_against_the_solid(text: str, verdict: str, low: float, high: float) -> None:
    """From memory: above 6 mm a radius may differ by 1 (class m)."""
    decision = outside(text)
    note = only_note(decision)
    assert (note.kind, note.unit, note.low, note.high) == ("radius", "mm", pytest.approx(low), pytest.approx(high))
    assert proof(decision, "finishing:3:drawn-as-written").verdict == verdict


def test_a_coated_radius_is_machined_smaller_outside_and_larger_inside() -> None:
    """Worked: it grows by 0.018 to 0.033 outside, and closes by as much inside."""
    note = only_note(outside("R15 ±0.2", coat()))
    assert (note.before_low, note.before_high) == pytest.approx((14.782, 15.167), abs=1e-9)
    note = only_note(bore(text="R10 ±0.2", coat=coat()))
    assert (note.before_low, note.before_high) == pytest.approx((9.833, 10.218), abs=1e-9)
    note = only_note(bore(text="R10 ±0.2", coat=coat(), masked=(1,)))
    assert (note.before_low, note.before_high) == pytest.approx((9.8, 10.2), abs=1e-9)


@pytest.mark.parametrize(
    ("half_mm", "is_open", "is_held"),
    [(0.007, "fails", "fails"), (0.008, "holds", "fails"), (0.012, "holds", "fails"), (0.013, "holds", "holds")],
)
def test_a_coated_radius_without_a_window_fails_and_blocks(half_mm: float, is_open: str, is_held: str) -> None:
    """Worked: the coat of one face varies by 0.033 - 0.018 = 0.015 of twice the half; 0.010 must be left."""
    decision = outside(f"R15 ±{half_mm}", coat())
    opened, held = (proof(decision, f"finishing:3:window-{name}") for name in ("is-open", "can-be-held"))
    assert (opened.verdict, opened.blocks_release) == (is_open, True)
    assert (held.verdict, held.blocks_release) == (is_held, True)
    assert held.found_low == pytest.approx(2.0 * half_mm - 0.015, abs=1e-9)


def test_a_radius_that_rests_on_an_unsaid_etch_has_no_ends_before_the_coat() -> None:
    """Worked: 0.040 less 0.015 leaves 0.025 without an etch and nothing with one of 0 to 0.025."""
    unsaid = msgspec.structs.replace(coat(), etch_mm=None)
    decision = outside("R15 ±0.02", unsaid)
    note = only_note(decision)
    assert (note.before_low, note.before_high) == (None, None)
    held = proof(decision, "finishing:3:window-can-be-held")
    assert (held.verdict, held.blocks_release) == ("not shown", True)
    assert only_note(outside("R15 ±0.2", unsaid)).before_low == pytest.approx(14.8 - 0.018 + 0.025, abs=1e-9)


def leaning(turn_deg: float) -> tuple[Solid, Survey]:
    """The box whose -y face is said to lean, with its edge to the bottom written down; names matter here, not metal."""
    solid, survey = box_part()
    turn = math.radians(turn_deg)
    side = msgspec.structs.replace(
        solid.faces[2],
        normal=(0.0, -math.cos(turn), -math.sin(turn)),
        low_mm=(0.0, 0.0, 0.0),
        high_mm=(0.0, 20.0, 30.0),
    )
    edge = Edge(
        id="e", index=0, faces=(2, 4), kind="line", length_mm=10.0, convexity="convex", turn_rad=0.5 * math.pi - turn,
        points_mm=np.array([[0.0, 0.0, 0.0], [10.0, 0.0, 0.0]]),
    )  # fmt: skip
    faces = (*solid.faces[:2], side, *solid.faces[3:])
    return msgspec.structs.replace(solid, faces=faces, edges=(edge,)), survey


@pytest.mark.parametrize(
    ("turn_deg", "text", "verdict", "half"),
    [
        # from memory: a leg over 10 up to 50 mm may lean 30 minutes off
        (20.4, "20°", "holds", 0.5),
        (20.6, "20°", "fails", 0.5),
        (20.6, "20° ±0.7°", "holds", 0.7),
        # the same face as its drawing may tell it: 70 to the bottom
        (20.4, "70°", "holds", 0.5),
    ],
)
def test_an_angle_is_held_against_the_face_beside_it(turn_deg: float, text: str, verdict: str, half: float) -> None:
    solid, survey = leaning(turn_deg)
    decision = decide(solid=solid, survey=survey, job=job_of(Size(balloon=3, text=text)))
    drawn = proof(decision, "finishing:3:drawn-as-written")
    assert (drawn.verdict, drawn.limit) == (verdict, pytest.approx(half))
    assert only_note(decision).unit == "°"


@pytest.mark.parametrize(("text", "kind", "high"), [("Ra 1.6", "texture", 1.6), ("edge -0.3", "edge", None)])
def test_texture_and_edges_are_kept_and_never_claimed(text: str, kind: str, high: float | None) -> None:
    decision = outside(text)
    note = only_note(decision)
    assert (note.kind, note.high, note.text) == (kind, high, text)
    kept = proof(decision, f"finishing:3:{kind}-is-as-written")
    assert (kept.verdict, kept.blocks_release) == ("not shown", False)


@pytest.mark.parametrize(
    ("balloon", "text", "do"),
    [(4, "R5", "type R5 at a round face"), (3, "20°", "type 20° at a flat face"), (9, "R5", "there is no balloon 9")],
)
def test_what_stands_at_the_wrong_face_blocks(balloon: int, text: str, do: str) -> None:
    solid, survey = ring_part()
    decision = decide(solid=solid, survey=survey, job=job_of(Size(balloon=balloon, text=text)))
    unclear = proof(decision, f"finishing:{balloon}:size-is-understood")
    assert (unclear.verdict, unclear.blocks_release) == ("not shown", True)
    assert do in unclear.decides


def test_a_radius_without_limits_asks_for_a_general_tolerance() -> None:
    told = proof(outside("R15", general=None), "finishing:3:size-is-understood")
    assert "general tolerance" in told.decides
