"""Whether a cutter chatters: by its response, or not shown with a cut in scrap that a person can make."""

from __future__ import annotations

import math
import re
from typing import Any

import msgspec
import numpy as np
import pytest
from semi_discretisation import Spring
from shapes import CUTTERS, MILL, SMOOTH, TOOTHED, VISE, fact

from proveout.geometry.frames import Frame
from proveout.model.fact import Fact, exact_fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.measured import Response, ScrapCut
from proveout.model.move_loads import MoveLoads
from proveout.model.moves import Moves
from proveout.model.plan import ClampForce
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Vise
from proveout.model.trial_cut import TrialCut
from proveout.model.work import Blank, Clamping, Pass, PassKind, PassPlan, Tilt
from proveout.quantities.units import rad_per_s_from_rpm
from proveout.stages import stability
from proveout.stages.stability.decide import feeds_rad

FRAME = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
CLAMPING = Clamping(
    id="c1", number=1, machine_id="mill", vise_id="vise", jaws_id="toothed", surface="raw", frame=FRAME,
    tilts=(Tilt(id="t", frame=FRAME, a_rad=0.0, c_rad=0.0),), jaw_top_mm=4.0,
    patch_length_mm=fact(78.0, 80.0, 80.0, "mm"), patch_height_mm=fact(4.0, 4.0, 4.0, "mm"), gap_mm=40.0,
    grip_faces=(), seat_text="", zero_text="", makes_faces=(), makes_holes=(), removes_grip=False, jaw_middle_mm=40.0,
)  # fmt: skip
BLANK = Blank(
    bar_id="45x20", length_axis=0, low_mm=(0.0, -45.0, 0.0), high_mm=(80.0, 0.0, 20.0), cut_length_mm=80.0,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=30, bar_length_mm=3000.0, material_price_each=1.0, mass_kg=0.2,
)  # fmt: skip
MOVES = Moves(
    points=np.array([[0.0, 0.0, 5.0], [40.0, 0.0, 5.0], [40.0, 30.0, 5.0]]), feed_mm_per_s=np.array([0.0, 20.0, 20.0])
)
PRESSURE = fact(760.0, 800.0, 840.0, "MPa")
STIFF, SOFT = Spring(900.0, 0.04, 5.0e4), Spring(900.0, 0.02, 1.0e3)


def response(
    spring: Spring, *, stick_out_mm: float = 38.0, cutter_id: str = "mill 12", from_hz: float = 100.0,
    to_hz: float = 4000.0,
) -> Response:  # fmt: skip
    hz = np.arange(from_hz, to_hz + 1.0, 2.0)
    g = spring.response(hz)
    rows = tuple(
        (float(f), float(v.real), float(v.imag), float(v.real), float(v.imag)) for f, v in zip(hz, g, strict=True)
    )
    return Response(
        machine_id="mill", cutter_id=cutter_id, stick_out_mm=stick_out_mm, measured="2026-01-05", file="r.csv",
        error_ratio=exact_fact(0.1, "ratio", "shop-file", "assumed"),
        frequency_error_ratio=exact_fact(0.01, "ratio", "shop-file", "assumed"), rows=rows,
    )  # fmt: skip


def cut_as(*pairs: tuple[float, float], name: str = "p0") -> MoveLoads:
    """Moves of one pass, each of (axial, radial)."""
    none, flat = np.zeros(len(pairs)), np.zeros((len(pairs), 3))
    return MoveLoads(
        pass_id=name, clamping_id="c1", rows=np.arange(len(pairs)), force_low_n=flat, force_high_n=flat,
        couple_n_mm=none, axis=np.array([0.0, 0.0, 1.0]), at_low_mm=flat, at_high_mm=flat, cut_low_mm=flat,
        cut_high_mm=flat, torque_n_mm=none, power_mw=none, scale_share=1.0, deflection_mm=none,
        tooth_feed_mm=none + 0.05, radial_mm=np.array([wide for _, wide in pairs]),
        axial_mm=np.array([deep for deep, _ in pairs]),
    )  # fmt: skip


def decided(
    *responses: Response, axial_mm: float = 6.0, radial_mm: float = 4.8, cutter_id: str = "mill 12",
    clamping: Clamping = CLAMPING, kind: PassKind = "rough", blank: Blank | None = BLANK, pressure: Fact = PRESSURE,
    rpm: float = 9000.0, cutters: tuple[Cutter, ...] = CUTTERS, more: tuple[tuple[float, float], ...] = (),
    moves: tuple[MoveLoads, ...] | None = None, vise: Vise = VISE, jaws: Jaws = TOOTHED,
    hardest_mm: float | None = None, heard: tuple[ScrapCut, ...] = (),
) -> Decision[tuple[TrialCut, ...]]:  # fmt: skip
    """One pass, and further ones of (axial, radial) in `more`; each of one move unless told.

    hardest_mm: width at which the passes push hardest, as wide as they are planned unless told.
    """
    sizes = ((axial_mm, radial_mm), *more)
    if moves is None:
        moves = tuple(cut_as(size, name=f"p{k}") for k, size in enumerate(sizes))
    passes = tuple(
        Pass(
            id=f"p{k}", kind=kind, clamping_id="c1", tilt_id="t", cutter_id=cutter_id, feature="", face_ids=(),
            speed_rad_per_s=rad_per_s_from_rpm(rpm), tooth_feed_mm=0.05, radial_mm=wide, axial_mm=deep,
            moves_digest=MOVES.digest, moves_count=3, cut_length_mm=70.0,
        )
        for k, (deep, wide) in enumerate(sizes)
    )  # fmt: skip
    loads = tuple(
        PassLoad(
            pass_id=f"p{k}", clamping_id="c1", is_tilted=False, tangential_n=10.0 * deep * wide,
            plane_n=10.0 * deep * wide,
            axial_n=50.0, torque_n_mm=3000.0, power_mw=1e6, height_mm=20.0, along_mm=20.0, across_mm=10.0,
            radial_mm=wide if hardest_mm is None else hardest_mm, axial_mm=deep,
        )
        for k, (deep, wide) in enumerate(sizes)
    )  # fmt: skip
    return stability.decide(
        plan=PassPlan(passes=passes, not_cut=(), moves={MOVES.digest: MOVES}), loads=loads, clampings=(clamping,),
        cutters=cutters, machines=(MILL,), responses=responses, pressure_mpa=pressure, exponent_ratio=0.25, blank=blank,
        moves=moves, vises=(vise,), jaws=(jaws,), yield_mpa=fact(240.0, 260.0, 276.0, "MPa"),
        forces=(ClampForce(clamping_id="c1", ratio=1.0, torque_n_mm=None, force_n=vise.preload_n),),
        limits=Limits(), test_cuts=heard, alloys=("6061-T6",), run=Run(),
    )  # fmt: skip


STRONG = msgspec.structs.replace(VISE, preload_n=fact(58_000.0, 60_000.0, 62_000.0, "N"))
"""Stronger than any: the grip on the scrap is nowhere what bounds the cut."""


def test_without_a_response_it_is_not_shown_does_not_block_and_names_the_test_cut() -> None:
    found = decided()
    (proof,) = found.proofs
    assert (proof.id, proof.verdict, proof.blocks_release) == ("stability:mill:mill 12", "not shown", False)
    assert "test cut" in proof.decides
    assert proof.limit == 6.0
    assert [t.proof_id for t in found.value] == [proof.id]


def test_a_stiff_tool_holds_and_needs_no_test_cut() -> None:
    found = decided(response(STIFF), axial_mm=1.0)
    (proof,) = found.proofs
    assert proof.verdict == "holds"
    assert proof.found_low is not None
    assert proof.found_low > 1.0
    assert found.value == ()
    assert {"k_c1.1", "K_t", "error of the response", "n", "a_e"} <= set(proof.basis.inputs)


def test_a_soft_tool_fails_blocks_release_and_is_tightened() -> None:
    assert decided(response(SOFT), moves=()).proofs[0].verdict == "fails"
    (proof,) = decided(response(SOFT)).proofs
    assert (proof.verdict, proof.blocks_release) == ("fails", True)
    assert proof.tighten is not None
    assert (proof.tighten.quantity, proof.tighten.subject) == ("axial_ratio", "c1/mill 12")
    assert proof.tighten.bound < 0.5
    assert "mm at this speed" in proof.remedy


def test_the_worst_pass_is_the_one_with_the_least_reserve() -> None:
    found = decided(response(STIFF), axial_mm=0.5, more=((2.0, 4.8), (1.0, 12.0)))
    (proof,) = found.proofs
    alone = [
        decided(response(STIFF), axial_mm=deep, radial_mm=wide).proofs[0] for deep, wide in ((2.0, 4.8), (1.0, 12.0))
    ]
    reserves = [p.found_low / p.limit for p in alone if p.found_low is not None and p.limit is not None]
    assert proof.subject == ("p1" if reserves[0] < reserves[1] else "p2")
    assert proof.found_low in [p.found_low for p in alone]


def test_a_wider_shallower_stretch_is_judged_with_its_own_depth() -> None:
    """The hardest move is 4.8 mm wide; a slot of the same pass is as deep as only the narrower cut bears."""
    narrow, slot = (decided(response(STIFF), axial_mm=1.0, radial_mm=w).proofs[0].found_low for w in (4.8, 12.0))
    assert narrow is not None
    assert slot is not None
    assert slot < narrow
    deep = round((narrow + slot) / 2.0, 2)
    both = cut_as((narrow - 0.01, 4.8), (deep, 12.0), (0.01, 11.9), (0.0, 6.0))
    (proof,) = decided(response(STIFF), axial_mm=narrow - 0.01, moves=(both,)).proofs
    assert proof.verdict == "not shown"
    assert (proof.limit, proof.basis.inputs["a_e"].high) == (deep, 12.0)
    shallow = cut_as((narrow - 0.01, 4.8), (slot - 0.01, 12.0))
    assert decided(response(STIFF), axial_mm=narrow - 0.01, moves=(shallow,)).proofs[0].verdict == "holds"


def test_a_cut_that_no_move_makes_does_not_fail() -> None:
    """Both lie in one step of width: their widest with their deepest is no move's own."""
    (proof,) = decided(response(SOFT), moves=(cut_as((6.0, 4.8), (0.01, 5.9)),)).proofs
    assert (proof.verdict, proof.limit) == ("not shown", 6.0)
    (deeper,) = decided(response(SOFT), axial_mm=7.0, moves=(cut_as((6.0, 4.8)),)).proofs
    assert (deeper.verdict, deeper.limit) == ("not shown", 7.0)
    (own,) = decided(response(SOFT), moves=(cut_as((6.0, 4.8), (0.01, 4.8)),)).proofs
    assert own.verdict == "fails"


def test_a_better_speed_is_named_and_is_quiet() -> None:
    """A depth between the least limits of two speeds: the named speed holds where the own one does not."""
    tool = response(Spring(600.0, 0.02, 1.2e4))
    own = decided(tool, axial_mm=0.01).proofs[0].found_low
    assert own is not None
    (proof,) = decided(tool, axial_mm=1.02 * own).proofs
    assert proof.verdict == "not shown"
    assert not proof.blocks_release
    named = re.match(r"(\d+) 1/min in place of 9000, the nearest speed that is quiet", proof.remedy)
    assert named
    (there,) = decided(tool, axial_mm=1.02 * own, rpm=float(named[1])).proofs
    assert there.verdict == "holds"


def test_narrow_cuts_are_not_judged_by_lobes() -> None:
    """Worked: a fifth of 12 mm is 2.4 mm."""
    found = decided(response(STIFF), axial_mm=1.0, radial_mm=2.5, more=((1.0, 2.3),))
    assert [(p.id, p.verdict) for p in found.proofs] == [
        ("stability:mill:mill 12", "holds"), ("stability:mill:mill 12:beyond lobes", "not shown"),
    ]  # fmt: skip
    assert [(t.proof_id, t.pass_id) for t in found.value] == [("stability:mill:mill 12:beyond lobes", "p1")]
    (only,) = decided(response(STIFF), axial_mm=1.0, radial_mm=2.3).proofs
    assert (only.id, only.verdict) == ("stability:mill:mill 12", "not shown")


@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"stick_out_mm": 40.0}, "stick-out in use, 38 mm: the one in the shop file is of 40 mm"),
        ({"cutter_id": "mill 6"}, "[[response]]"),
    ],
)
def test_a_response_of_another_setting_is_not_used(given: dict[str, Any], says: str) -> None:
    (proof,) = decided(response(STIFF, **given), axial_mm=0.5).proofs
    assert proof.verdict == "not shown"
    assert says in proof.decides


@pytest.mark.parametrize(
    ("given", "rpm", "to_hz"),
    [({"from_hz": 104.0}, 9000.0, 4000), ({"to_hz": 3900.0}, 9000.0, 4000), ({}, 30000.0, 4500)],
)
def test_a_band_that_leaves_modes_out_never_holds(given: dict[str, Any], rpm: float, to_hz: int) -> None:
    """Worked: three teeth at 30000 1/min pass 1500 times a second, three times that is 4500 Hz."""
    assert decided(response(STIFF), axial_mm=0.5).proofs[0].verdict == "holds"
    found = decided(response(STIFF, **given), axial_mm=0.5, rpm=rpm)
    (proof,) = found.proofs
    assert (proof.verdict, proof.blocks_release, proof.found_low, proof.remedy) == ("not shown", False, 0.0, "")
    assert f"a response measured from at most 100 Hz to at least {to_hz} Hz" in proof.decides
    assert [t.proof_id for t in found.value] == [proof.id]


def test_chatter_within_a_narrow_band_is_chatter() -> None:
    (proof,) = decided(response(SOFT, from_hz=300.0, to_hz=2600.0)).proofs
    assert (proof.verdict, proof.blocks_release) == ("fails", True)
    assert proof.remedy.startswith("less depth; and a response measured from at most 100 Hz")


def test_edges_that_push_along_the_axis_are_not_judged() -> None:
    (proof,) = decided(response(STIFF, cutter_id="face 50", stick_out_mm=40.0), cutter_id="face 50", kind="face").proofs
    assert proof.verdict == "not shown"
    assert "square end mills only" in proof.decides
    assert decided(kind="drill", cutter_id="drill 5").proofs == ()


def test_a_rounded_corner_counts_as_square_in_a_deep_cut_alone() -> None:
    """Worked: four times 0.5 mm is 2 mm."""
    rounded = tuple(
        msgspec.structs.replace(c, corner_radius_mm=0.5) if c.id == "mill 12" else c for c in CUTTERS
    )  # fmt: skip
    deep = decided(response(STIFF), axial_mm=2.1, cutters=rounded).proofs[0]
    assert deep.found_low == decided(response(STIFF), axial_mm=2.1).proofs[0].found_low
    shallow = decided(response(STIFF), axial_mm=1.9, cutters=rounded).proofs[0]
    assert shallow.verdict == "not shown"
    assert "rounded corner" in shallow.decides


def test_an_edge_that_no_straight_cut_in_scrap_stands_for_has_none() -> None:
    found = decided(cutter_id="spot", kind="break edge", axial_mm=0.3, radial_mm=0.3)
    assert found.value == ()
    assert found.proofs[0].verdict == "not shown"
    assert "first piece" in found.proofs[0].decides


def test_the_test_cut_is_what_a_hand_would_write() -> None:
    """Worked: z 3 at 9000 1/min and 0.05 mm: 22.5 mm/s and 450 Hz; depth 6 mm at 5 degrees: 69 mm of way, of which a
    quarter lies 17.25 mm apart; level for 0.8 s: 18 mm; scrap 69 + 18 + 12 = 99 mm; it starts 9 mm to the right.
    """
    (cut,) = decided(vise=STRONG).value
    assert cut.feed_mm_per_s == pytest.approx(22.5)
    assert cut.tooth_hz == pytest.approx(450.0)
    assert cut.depths_mm == (1.5, 3.0, 4.5, 6.0)
    assert math.ceil(6.0 / math.tan(math.radians(5.0))) == 69
    assert (cut.scrap_mm, cut.start_mm, cut.ramp_mm) == (99.0, 108.0, 99.0)
    assert cut.x_mm == pytest.approx((81.75, 64.5, 47.25, 30.0))
    assert cut.end_mm == pytest.approx(12.0)
    assert cut.y_mm == pytest.approx(-1.2)  # 4.8 mm of 12 in the work
    assert (cut.grip_mm, cut.top_mm) == (4.0, 16.0)
    assert cut.is_whole
    assert not cut.is_slot


def test_a_test_cut_is_never_deeper_than_the_pass_the_flutes_or_the_jaws_allow() -> None:
    long = msgspec.structs.replace(STRONG, jaw_length_mm=260.0)
    (deep,) = decided(axial_mm=14.0, vise=long).value
    assert deep.depths_mm[-1] == 13.0  # 16 mm of scrap above the jaws less 3
    assert not deep.is_whole
    (slot,) = decided(radial_mm=12.0, axial_mm=3.0, vise=long).value
    assert (slot.is_slot, slot.y_mm) == (True, 0.0)
    assert (slot.ramp_mm - slot.x_mm[-1]) >= 3.0 / math.tan(math.radians(2.0))
    (fine,) = decided(radial_mm=0.3, axial_mm=9.0, vise=long).value
    assert fine.is_narrow
    assert fine.y_mm == pytest.approx(-5.7)


def test_scrap_is_never_put_into_jaws_that_are_cut_to_the_work() -> None:
    formed = msgspec.structs.replace(CLAMPING, needs_form=True)
    found = decided(clamping=formed)
    assert found.value == ()
    assert "no test cut in scrap can be made: no clamping on this machine" in found.proofs[0].decides
    assert decided(blank=None).value == ()


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"vise": msgspec.structs.replace(VISE, preload_n=fact(1000.0, 1100.0, 1200.0, "N"))}, "bears 0."),
        ({"vise": msgspec.structs.replace(VISE, preload_n=None)}, "the jaw force of vise is not known"),
        ({"jaws": msgspec.structs.replace(TOOTHED, friction_ratio=None)}, "the friction of toothed is not known"),
        (
            {
                "jaws": msgspec.structs.replace(
                    TOOTHED, friction_ratio=exact_fact(0.3, "ratio", "tests", "common practice")
                )
            },
            "the friction of toothed is not known",
        ),
        ({"jaws": msgspec.structs.replace(SMOOTH, id="toothed")}, "no clamping on this machine holds a raw bar"),
        ({"vise": msgspec.structs.replace(VISE, jaw_length_mm=60.0)}, "too short"),
        ({"blank": msgspec.structs.replace(BLANK, length_axis=1)}, "does not lie along the jaws"),
    ],
)
def test_scrap_that_is_not_sure_to_stay_is_not_cut(given: dict[str, Any], why: str) -> None:
    found = decided(**given)
    assert found.value == ()
    assert why in found.proofs[0].decides
    assert "the test cut of this plan" not in found.proofs[0].decides


def test_scrap_is_never_longer_than_the_jaws() -> None:
    """Worked: jaws of 105 mm less 5 to either side and 1: 94; less 18 level and 12 of the cutter: 64 mm of way."""
    (cut,) = decided(vise=msgspec.structs.replace(STRONG, jaw_length_mm=105.0)).value
    assert cut.scrap_mm <= 94.0
    assert cut.depths_mm[-1] == pytest.approx(math.floor(6400.0 * math.tan(math.radians(5.0))) / 100.0)
    assert not cut.is_whole


def test_a_test_cut_goes_as_deep_as_the_grip_on_its_scrap_bears() -> None:
    """Shallower where the vise is weaker or the scrap stands taller; the depth at this vise is frozen."""
    (own,) = decided().value
    assert own.depths_mm[-1] == 5.4
    assert 1.0 <= own.reserve_low < 1.15
    assert not own.is_whole
    (weaker,) = decided(vise=msgspec.structs.replace(VISE, preload_n=fact(9000.0, 10_000.0, 11_000.0, "N"))).value
    (tall,) = decided(blank=msgspec.structs.replace(BLANK, high_mm=(80.0, 0.0, 23.0))).value
    assert weaker.depths_mm[-1] < own.depths_mm[-1]
    assert tall.depths_mm[-1] < own.depths_mm[-1]
    assert min(weaker.reserve_low, tall.reserve_low) >= 1.0
    (careful,) = decided(vise=msgspec.structs.replace(VISE, grip_reserve_ratio=1.8)).value
    assert careful.depths_mm[-1] < own.depths_mm[-1]
    assert careful.reserve_low >= 1.8


def test_a_pass_that_pushes_hardest_where_it_is_narrow_is_judged_as_wide_as_it_is_planned() -> None:
    narrow: dict[str, Any] = {"hardest_mm": 0.6, "moves": (cut_as((6.0, 0.6)),)}
    assert decided(vise=STRONG, **narrow).value[0].radial_mm == 4.8
    plain, judged = decided(response(SOFT)).proofs[0], decided(response(SOFT), **narrow).proofs[0]
    assert judged.found_low == plain.found_low


def test_the_feeds_of_a_pass_are_its_own() -> None:
    assert feeds_rad(MOVES) == pytest.approx((0.0, math.pi / 2.0))
    back = Moves(points=MOVES.points[::-1].copy(), feed_mm_per_s=MOVES.feed_mm_per_s.copy())
    assert feeds_rad(back) == pytest.approx((0.0, math.pi / 2.0))
    down = Moves(points=np.array([[0.0, 0.0, 5.0], [0.0, 0.0, 0.0]]), feed_mm_per_s=np.array([0.0, 5.0]))
    assert len(feeds_rad(down)) == 12
