"""T-slot and undercut cutters: the faces that a bent and tilted head leaves, and whether its neck bears its cuts."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from shapes import cutter, fact
from stages.loads.test_loads import bound, proof
from stages.loads.test_moves import loaded, moves_of

from proveout.cutting.stepped_beam import most_give_mm
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.loads import Loads
from proveout.model.proof import Decision
from proveout.model.shop import Cutter

SLOTTER = cutter(
    "TS16", "T-slot", 16.0, 3.5, 30.0, flutes_count=6, tooth_feed_mm=0.03, shank_diameter_mm=12.0,
    neck_diameter_mm=7.0, neck_length_mm=12.0,
)  # fmt: skip
UP, ASIDE = (0.0, 0.0, -1.0), (0.0, 1.0, 0.0)
STRONG = fact(3000.0, 3500.0, 4000.0, "MPa")
WIDTHS = {"f": 0.2}


def cut(tool: Cutter = SLOTTER, **more: Any) -> Decision[Loads]:
    """Two moves with the head 3.2 wide in a wall."""
    given = {"radial_mm": 3.2, "axial_mm": 3.5, "deep": 3.5, "tooth_feed_mm": 0.03, "kind": "undercut", **more}
    return loaded([11.2, 5.6], tool=tool, **given)


def strong(strength: Fact | None = STRONG, **more: Any) -> Cutter:
    return msgspec.structs.replace(SLOTTER, bending_strength_mpa=strength, **more)


def pushes(found: Decision[Loads]) -> tuple[float, float, float]:
    """F across, F_a along and T of the hardest move, as the pass is told."""
    (one,) = found.value.pushes
    return one.across_n, one.axial_n, one.torque_n_mm


def by_hand(found: Decision[Loads]) -> tuple[float, float]:
    """Aside and along at the worst end: head of 12.8 up to 3.5, neck of 7 up to 15.5, shank of 12 up to 30; 210 GPa."""
    across, axial, _ = pushes(found)
    sums = [0.0, 0.0, 0.0]
    for low, high, d in ((0.0, 3.5, 12.8), (3.5, 15.5, 7.0), (15.5, 30.0, 12.0)):
        stiff = 210_000.0 * math.pi * d**4 / 64.0
        sums = [s + (high ** (n + 1) - low ** (n + 1)) / (n + 1) / stiff for n, s in enumerate(sums)]
    stretch = sum(long / (210_000.0 * math.pi * d * d / 4.0) for long, d in ((3.5, 12.8), (12.0, 7.0), (14.5, 12.0)))
    aside = across * sums[2] + axial * 8.0 * sums[1]
    along = 8.0 * (across * sums[1] + axial * 8.0 * sums[0]) + axial * stretch
    return 3.0 * aside, 3.0 * along


def test_a_wall_is_off_by_the_bending_and_a_ceiling_by_the_tilt() -> None:
    found = cut(widths=WIDTHS, normals={"f": ASIDE})
    aside, along = by_hand(found)
    assert proof(found, "face error").found_high == pytest.approx(aside, rel=1e-3)
    found = cut(widths=WIDTHS, normals={"f": UP})
    assert proof(found, "face error").found_high == pytest.approx(along, rel=1e-3)
    lean = (0.0, math.cos(math.radians(20.0)), -math.sin(math.radians(20.0)))
    both = aside * lean[1] - along * lean[2]
    assert proof(cut(widths=WIDTHS, normals={"f": lean}), "face error").found_high == pytest.approx(both, rel=1e-3)
    # of a face that looks every way, as far as both can take it
    assert proof(cut(widths=WIDTHS), "face error").found_high == pytest.approx(math.hypot(aside, along), rel=1e-3)


def test_the_axis_of_a_tilted_cutter_counts() -> None:
    """At 45 degrees about x: a face along y then looks half along the axis."""
    found = cut(widths=WIDTHS, normals={"f": ASIDE}, tilt="leaning")
    aside, along = by_hand(found)
    assert proof(found, "face error").found_high == pytest.approx((aside + along) * math.sqrt(0.5), rel=1e-3)


@pytest.mark.parametrize(("share", "verdict"), [(2.1, "holds"), (1.9, "not shown"), (0.001, "not shown")])
def test_it_is_held_against_half_the_narrowest_size_and_never_said_to_fail(share: float, verdict: str) -> None:
    """Where the head leaves the face it may bend along it: no bending is sure to leave an error."""
    aside, _ = by_hand(cut())
    found = cut(widths={"f": share * aside, "other": 1e-6}, normals={"f": ASIDE})
    one = proof(found, "face error")
    assert (one.verdict, one.blocks_release, one.found_low) == (verdict, True, 0.0)
    assert (one.tighten is None) == (verdict == "holds")
    assert "worst is the face f" in one.claim
    assert not any(p.id.endswith("face error") for p in cut(normals={"f": ASIDE}).proofs)


def test_of_two_faces_the_one_that_its_size_allows_least_is_told() -> None:
    aside, along = by_hand(cut())
    widths = {"f": 2.0 * aside / 0.5, "g": 2.0 * along / 0.9}
    found = cut(widths=widths, normals={"f": ASIDE, "g": UP}, face_ids=("f", "g"))
    one = proof(found, "face error")
    assert one.found_high == pytest.approx(along, rel=1e-3)
    assert "worst is the face g" in one.claim


def test_its_feed_is_eased_first_and_then_its_width() -> None:
    """Worked: far too much is found, so each step is the longest: to 0.3, and to 0.3 of 0.2."""
    narrow, face = {"f": 1e-3}, {"f": ASIDE}
    step = proof(cut(widths=narrow, normals=face), "face error").tighten
    assert step is not None
    assert (step.subject, step.quantity, step.bound) == ("c1/TS16", "feed_ratio", 0.3)
    slow = Limits(feed_ratio={"c1/TS16": 0.3})
    step = proof(cut(widths=narrow, normals=face, limits=slow), "face error").tighten
    assert step is not None
    assert (step.quantity, step.bound) == ("radial_ratio", 0.06)
    least = Limits(feed_ratio={"c1/TS16": 0.3}, radial_ratio={"c1/TS16": 0.05})
    assert proof(cut(widths=narrow, normals=face, limits=least), "face error").tighten is None


def test_a_neck_of_unknown_strength_is_not_shown_and_says_what_decides_it() -> None:
    one = proof(cut(), ":neck")
    assert (one.verdict, one.blocks_release, one.limit) == ("not shown", True, None)
    assert "bending_strength" in one.decides
    assert one.tighten is None
    assert one.found_high is not None


def test_the_stress_of_the_neck_is_that_of_a_bar_times_notch_over_what_is_endured() -> None:
    """By hand at the end of the neck, 15.5 over the tip: bending of F and of F_a at the rim, pull and torsion."""
    found = cut(strong())
    across, axial, torque = pushes(found)
    moment = across * 15.5 + axial * 8.0
    pull = 32.0 * moment / (math.pi * 343.0) + 4.0 * axial / (math.pi * 49.0)
    twist = 16.0 * torque / (math.pi * 343.0)
    one = proof(found, ":neck")
    assert one.found_high == pytest.approx(3.0 / 0.3 * math.sqrt(pull**2 + 4.0 * twist**2), rel=1e-3)
    assert one.limit == 3000.0
    assert one.basis.inputs["z, over the tip"].nominal == 15.5
    assert one.basis.move is not None


@pytest.mark.parametrize(("share", "verdict"), [(1.01, "holds"), (0.99, "not shown"), (1e-3, "fails")])
def test_a_neck_holds_when_its_maker_says_that_much(share: float, verdict: str) -> None:
    most = proof(cut(), ":neck").found_high
    assert most is not None
    found = cut(strong(fact(share * most, share * most, share * most, "MPa")))
    one = proof(found, ":neck")
    assert one.verdict == verdict
    assert (one.tighten is None) == (verdict == "holds")


def test_a_pass_that_nobody_measured_is_judged_as_a_whole() -> None:
    """As if its head were in metal all round: the neck is asked for, a face is not."""
    found = bound(strong(), kind="undercut", section=None, radial_mm=3.2, axial_mm=3.5)
    one = proof(found, ":neck")
    assert one.found_high is not None
    measured = proof(cut(strong()), ":neck").found_high
    assert measured is not None
    assert one.found_high > measured
    assert one.basis.move is None


def test_other_cutters_have_no_neck_to_ask_for() -> None:
    found = loaded([21.6, 10.0], kind="finish wall", widths={"f": 0.4})
    assert not any(p.id.endswith((":neck", "face error")) for p in found.proofs)


def test_what_a_pass_is_told_to_bend_is_that_of_its_head() -> None:
    found = cut()
    across, axial, _ = pushes(found)
    most = most_give_mm(SLOTTER, across_n=np.array([across]), axial_n=np.array([axial]))
    assert float(moves_of(found).deflection_mm.max()) == pytest.approx(float(most.across_mm[0]), rel=1e-3)


def test_the_chip_of_a_head_that_is_eased_too_far_rubs() -> None:
    """Worked: a feed of 0.1 um a tooth cuts nothing thicker, and a sharp edge is round by 5."""
    path = [(10.0, -20.0, 10.0, 0.0), (40.0, -20.0, 10.0, 0.03), (70.0, -20.0, 10.0, 0.03)]
    assert proof(cut(path=path), "thinnest chip").verdict == "fails"
    assert proof(cut(), "thinnest chip").verdict == "holds"
