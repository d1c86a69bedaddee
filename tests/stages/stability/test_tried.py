"""What a cut in scrap says once it was made and listened to."""

from __future__ import annotations

from typing import Any

import pytest
from stages.stability.test_stability import SOFT, STIFF, decided, response

from proveout.model.measured import ScrapCut
from proveout.quantities.units import rad_per_s_from_rpm

NAME = "stability:mill:mill 12"


def heard(quiet_mm: float = 6.0, howled_mm: float | None = None, **more: Any) -> ScrapCut:
    """As the pass of these tests: 9000 1/min, 0.05 mm an edge, 4.8 mm wide, 38 mm out."""
    given: dict[str, Any] = {
        "machine_id": "mill", "cutter_id": "mill 12", "alloy": "6061-t6", "stick_out_mm": 38.0,
        "speed_rad_per_s": rad_per_s_from_rpm(9000.0), "tooth_feed_mm": 0.05, "radial_mm": 4.8, "date": "2026-01-12",
    }  # fmt: skip
    return ScrapCut(quiet_mm=quiet_mm, howled_mm=howled_mm, **{**given, **more})


def test_a_pass_no_deeper_than_a_quiet_cut_holds_and_needs_no_other() -> None:
    found = decided(heard=(heard(),))
    (proof,) = found.proofs
    assert (proof.id, proof.verdict, proof.limit, proof.found_low) == (NAME, "holds", 6.0, 6.0)
    assert found.value == ()
    assert "in scrap" in proof.claim
    assert "other ways of the feed" in proof.basis.formula
    assert proof.basis.inputs["quiet in scrap down to"].strength == "measured here"


def test_a_quiet_cut_told_in_hundredths_counts_for_the_pass_it_was_made_for() -> None:
    """A pass of 6.004 gets a cut down to 6.00, that told it is as deep as the pass; 6.02 is deeper."""
    (proof,) = decided(heard=(heard(6.0),), axial_mm=6.004).proofs
    assert (proof.verdict, proof.limit, proof.found_low) == ("holds", 6.004, 6.004)
    assert proof.basis.inputs["quiet in scrap down to"].nominal == 6.0
    (proof,) = decided(heard=(heard(6.0),), axial_mm=6.02).proofs
    assert proof.verdict == "not shown"


def test_a_pass_deeper_than_what_was_quiet_is_not_shown_and_gets_its_cut_again() -> None:
    """Quiet down to 4, no howl: at 6 nobody knows. Quiet to 4, a howl at 6.5: the limit lies between."""
    for one in (heard(4.0), heard(4.0, 6.5)):
        found = decided(heard=(one,))
        (proof,) = found.proofs
        assert (proof.verdict, proof.blocks_release, proof.found_low) == ("not shown", False, 4.0)
        assert [t.proof_id for t in found.value] == [NAME]


def test_a_howl_no_deeper_than_the_pass_fails_blocks_and_asks_for_less_depth() -> None:
    for one in (heard(4.0, 6.0), heard(4.0, 5.0), heard(0.0, 0.5)):
        (proof,) = decided(heard=(one,)).proofs
        assert (proof.verdict, proof.blocks_release) == ("fails", True), one
        assert proof.found_low == one.quiet_mm
        assert proof.tighten is not None
        assert proof.tighten.quantity == "axial_ratio"


@pytest.mark.parametrize(
    "more",
    [
        {"machine_id": "other"}, {"cutter_id": "mill 6"}, {"alloy": "7075-T6"}, {"stick_out_mm": 39.0},
        {"speed_rad_per_s": rad_per_s_from_rpm(9060.0)}, {"tooth_feed_mm": 0.052}, {"radial_mm": 4.7},
    ],
    ids=["machine", "cutter", "alloy", "stick-out", "speed", "feed", "narrower"],
)  # fmt: skip
def test_a_quiet_cut_of_anything_else_shows_nothing(more: dict[str, Any]) -> None:
    found = decided(heard=(heard(**more),))
    (proof,) = found.proofs
    assert (proof.verdict, proof.found_low) == ("not shown", None)
    assert "test cut" in proof.decides
    assert len(found.value) == 1


def test_a_wider_cut_that_howls_says_nothing_of_a_narrower_pass() -> None:
    (proof,) = decided(heard=(heard(0.0, 2.0, radial_mm=9.0),)).proofs
    assert proof.verdict == "not shown"
    (proof,) = decided(heard=(heard(0.0, 2.0, radial_mm=4.0),)).proofs
    assert proof.verdict == "fails"


def test_a_later_cut_that_stays_quiet_does_not_drown_a_howl() -> None:
    """Quiet down to 8 one day and a howl at 5 on another: the howl counts."""
    (proof,) = decided(heard=(heard(8.0, date="2026-02-01"), heard(4.0, 5.0))).proofs
    assert proof.verdict == "fails"


def test_every_pass_of_the_cutter_must_be_no_deeper() -> None:
    found = decided(heard=(heard(),), more=((7.0, 4.0),))
    (proof,) = found.proofs
    assert (proof.verdict, proof.subject, proof.limit) == ("not shown", "p1", 7.0)
    assert [t.pass_id for t in found.value] == ["p1"]
    (proof,) = decided(heard=(heard(7.0),), more=((7.0, 4.0),)).proofs
    assert proof.verdict == "holds"


def test_lobes_that_hold_stand_beside_a_howl_that_blocks() -> None:
    quiet = decided(response(STIFF), axial_mm=1.0, heard=(heard(1.0),))
    assert [(p.id, p.verdict) for p in quiet.proofs] == [(NAME, "holds")]
    assert "in scrap" not in quiet.proofs[0].claim
    loud = decided(response(STIFF), axial_mm=1.0, heard=(heard(0.2, 0.8),))
    assert [(p.id, p.verdict, p.blocks_release) for p in loud.proofs] == [
        (NAME, "holds", False), (f"{NAME}:test cut", "fails", True)
    ]  # fmt: skip


def test_lobes_that_fail_are_not_made_good_by_a_quiet_cut() -> None:
    found = decided(response(SOFT), axial_mm=6.0, heard=(heard(6.0),))
    assert [(p.id, p.verdict) for p in found.proofs] == [(NAME, "fails")]
    assert "in scrap" not in found.proofs[0].claim
