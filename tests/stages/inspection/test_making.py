"""Whether a hole's window fits the way it is made: values of common practice, worked against classes of ISO 286."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from proveout.model.plan import Window
from proveout.model.proof import Proof
from proveout.model.work import Hole, HoleStep, Pass
from proveout.stages.inspection.making import making_proofs

HOLE = Hole(
    id="h", balloon=7, entry_mm=(0.0, 0.0, 0.0), outward=(0.0, 0.0, 1.0), is_through=True, bottom="open",
    steps=(
        HoleStep(kind="cylinder", diameter_mm=6.6, depth_low_mm=0.0, depth_high_mm=8.0, face_ids=("wall",)),
    ),
)  # fmt: skip


def window(width: float, **more: Any) -> Window:
    given: dict[str, Any] = {
        "balloon": 7, "text": "H8", "kind": "hole", "finished_low_mm": 6.6, "finished_high_mm": 6.6 + width,
        "is_masked": False, "is_critical": False, "face_ids": ("wall",), **more,
    }  # fmt: skip
    return Window(before_low_mm=6.6, before_high_mm=6.6 + width, width_mm=width, **given)


def made(kind: Any, *, faces: tuple[str, ...] = ("wall",), cutter: str = "C1") -> Pass:
    return Pass(
        id=f"c1/t/{cutter}/{kind}/h", kind=kind, clamping_id="c1", tilt_id="t", cutter_id=cutter, feature="h",
        face_ids=faces, speed_rad_per_s=300.0, tooth_feed_mm=0.05, radial_mm=1.0, axial_mm=1.0, moves_digest="0",
        moves_count=2, cut_length_mm=1.0,
    )  # fmt: skip


def only(width: float, *passes: Pass, **more: Any) -> Proof:
    (proof,) = making_proofs(windows=(window(width, **more),), passes=passes, holes=(HOLE,))
    return proof


def test_a_drilled_h8_fails_and_says_to_ream_or_bore() -> None:
    """Worked: H8 of 6.6 is 0.022 wide and a drill spreads over 0.100 at best."""
    proof = only(0.022, made("drill", cutter="DR6.6"))
    assert (proof.verdict, proof.blocks_release, proof.id) == ("fails", True, "inspection:7:made-as-it-can-be-held")
    assert (proof.found_low, proof.found_high, proof.limit) == (0.1, 0.2, 0.022)
    assert "a reamer of this size and a drill 0.1 to 0.5 mm smaller" in proof.remedy
    assert "drilled with DR6.6" in proof.claim
    assert proof.basis.inputs["spread of holes drilled"].strength == "common practice"


@pytest.mark.parametrize(
    ("kind", "width", "verdict"),
    [
        ("drill", 0.220, "holds"),  # H13 of 6.6
        ("peck", 0.150, "not shown"),  # H12: a new drill may, a worn one may not
        ("peck", 0.090, "fails"),  # H11
        ("bore", 0.033, "holds"),  # 20 H8, milled round: inside by a tenth of the window
        ("bore", 0.021, "not shown"),  # 20 H7
        ("finish wall", 0.013, "fails"),  # 20 H6
        ("ream", 0.015, "holds"),  # 6.6 H7
        ("ream", 0.009, "fails"),  # 6.6 H6
    ],
)
def test_what_each_way_of_making_holds(kind: str, width: float, verdict: str) -> None:
    assert only(width, made(kind)).verdict == verdict


def test_the_pass_that_leaves_the_wall_counts() -> None:
    """A hole drilled first and milled round after it is a milled one; the other way round it would not be."""
    assert only(0.033, made("drill"), made("bore")).verdict == "holds"
    assert only(0.033, made("bore"), made("drill")).verdict == "fails"
    assert only(0.033, made("drill", faces=("elsewhere",)), made("bore")).verdict == "holds"


def test_a_hole_without_a_pass_is_not_shown_and_threads_and_shafts_are_not_asked() -> None:
    proof = only(0.5, made("drill", faces=("elsewhere",)), made("rough"))
    assert (proof.verdict, proof.found_low) == ("not shown", None)
    assert "no pass makes it" in proof.decides
    others = (window(0.1, kind="shaft"), window(0.1, kind="length"))
    assert making_proofs(windows=others, passes=(made("drill"),), holes=(HOLE,)) == ()


@pytest.mark.parametrize("kind", ["tap", "mill thread"])
def test_an_inside_thread_is_made_by_the_pass_in_its_hole(kind: str) -> None:
    proof = only(0.1, made("drill"), made(kind, faces=()), kind="thread", text="M6 6H", is_inside=True)
    assert (proof.id, proof.verdict) == ("inspection:7:a-pass-makes-the-thread", "holds")
    assert f"{kind} with C1" in proof.claim


def test_a_thread_that_no_pass_cuts_is_not_shown_and_blocks() -> None:
    for passes in ((made("drill"),), (msgspec.structs.replace(made("tap", faces=()), feature="another hole"),)):
        proof = only(0.1, *passes, kind="thread", text="M6 6H", is_inside=True)
        assert (proof.verdict, proof.blocks_release) == ("not shown", True)
        assert "a tap or thread mill that fits it" in proof.decides


def test_an_outside_thread_is_made_by_nothing_here() -> None:
    proof = only(0.1, made("finish wall"), made("tap", faces=()), kind="thread", text="M30x2 6g")
    assert (proof.verdict, proof.blocks_release) == ("not shown", True)
    assert "how M30x2 6g is made: another machine or hand" in proof.decides


def test_a_window_that_rests_on_what_nobody_said_is_not_held_by_any_way() -> None:
    proof = only(0.220, made("drill"), is_decided=False)
    assert (proof.verdict, proof.limit, proof.blocks_release) == ("not shown", None, True)
    assert "window before the coat" not in proof.basis.inputs
