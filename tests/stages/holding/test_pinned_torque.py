"""A torque that the owner pinned is kept, also where the work or the vise does not bear it, and the proofs say so."""

from __future__ import annotations

import msgspec
import pytest
from shapes import VISE, fact
from stages.gripped import CLAMPING, held, proof

from proveout.jobs.rounds import kept_limits
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.plan import ClampForce, Round
from proveout.model.proof import Proof, Tighten
from proveout.model.shop import Vise
from proveout.model.work import Clamping
from proveout.stages.holding import clamp_forces, closed_with, torque_pin_proof

USUAL_N_MM = 60_000.0
MEASURED = Fact(low=15e3, nominal=17.5e3, high=20e3, unit="N", source="shop-file: cell", strength="measured here")
KNOWN = msgspec.structs.replace(VISE, torque_n_mm=USUAL_N_MM, preload_n=MEASURED, rating_n=30e3)


def force_of(vise: Vise) -> Fact:
    assert vise.preload_n is not None
    return vise.preload_n


def test_force_goes_with_the_torque_by_the_chart() -> None:
    """Worked, the chart in proportion: 1.5 times 15, 17.5 and 20 kN are 22.5, 26.25 and 30 kN."""
    force = force_of(closed_with(KNOWN, 1.5 * USUAL_N_MM))
    assert (force.low, force.nominal, force.high) == pytest.approx((22.5e3, 26.25e3, 30e3))
    assert closed_with(KNOWN, USUAL_N_MM) == KNOWN


def test_a_torque_that_takes_the_vise_beyond_its_rating_fails_only_when_even_the_low_end_is_beyond() -> None:
    """Worked: at 1.6 times the low end is 24 and the high 32 kN, at 2.1 times 31.5 and 42; 30 kN are allowed."""
    ratings = [
        proof(held(vise=closed_with(KNOWN, share * USUAL_N_MM)), "vise rating").verdict for share in (1.0, 1.6, 2.1)
    ]
    assert ratings == ["holds", "not shown", "fails"]


def test_a_torque_that_crushes_the_work_fails() -> None:
    """Worked: 10 times 15 kN on 80 x 4 mm are 469 MPa, above the yield of at least 240 MPa."""
    thin = msgspec.structs.replace(CLAMPING, patch_height_mm=fact(4.0, 4.0, 4.0, "mm"))
    crush = [
        proof(held(vise=closed_with(KNOWN, share * USUAL_N_MM), clamping=thin), "bearing").verdict
        for share in (1.0, 10.0)
    ]
    assert crush == ["holds", "fails"]


def test_what_nobody_backed_is_not_backed_at_another_torque_either() -> None:
    bare = msgspec.structs.replace(MEASURED, source="shop-file", strength="owner's guess")
    vise = closed_with(msgspec.structs.replace(KNOWN, preload_n=bare), 1.5 * USUAL_N_MM)
    assert not force_of(vise).is_backed
    assert proof(held(vise=vise), "vise rating").verdict == "not shown"


@pytest.mark.parametrize("torques", [(), (30_000.0, 70_000.0)])
def test_a_torque_that_no_chart_reaches_leaves_the_force_unknown(torques: tuple[float, ...]) -> None:
    """1.5 times the usual 60 N m: without a chart, and beyond one that ends at 70, nothing of it is shown."""
    forces = tuple(torque / 4.0 for torque in torques)
    vise = msgspec.structs.replace(KNOWN, chart_torques_n_mm=torques, chart_forces_n=forces)
    pinned = closed_with(vise, 1.5 * USUAL_N_MM)
    assert (pinned.preload_n, pinned.torque_n_mm) == (None, 90_000.0)
    for name in ("grip", "bearing", "vise rating"):
        found = proof(held(vise=pinned), name)
        assert found.verdict == "not shown"
        assert "at 90 N m, by load cell or the vise maker's chart" in found.decides


def test_closed_beyond_the_chart_s_end_it_presses_with_no_less_than_there() -> None:
    """Worked. 15 kN at least at 60 N m, a chart of 16 kN there and 40 at 140: 37.5 kN at least at 150, over 30.

    On 80 x 4 mm that is 117 MPa, on 80 x 1.5 mm 312.5, over 240. Of a chart that ends at 20 kN nothing is known to be
    too much.
    """
    vise = msgspec.structs.replace(KNOWN, chart_torques_n_mm=(30e3, 60e3, 140e3), chart_forces_n=(8e3, 16e3, 40e3))
    rating = proof(held(vise=closed_with(vise, 150e3)), "vise rating")
    assert (rating.verdict, rating.found_low) == ("fails", pytest.approx(37_500.0))
    assert "at the upper end of its maker's chart" in rating.basis.formula
    crush = {
        height: proof(held(vise=closed_with(vise, 150e3), clamping=high(height)), "bearing") for height in (4.0, 1.5)
    }
    assert [crush[height].verdict for height in (4.0, 1.5)] == ["not shown", "fails"]
    assert crush[1.5].found_low == pytest.approx(312.5)
    assert proof(held(vise=closed_with(vise, 150e3)), "grip").verdict == "not shown"
    weak = msgspec.structs.replace(vise, chart_forces_n=(8e3, 16e3, 20e3))
    assert proof(held(vise=closed_with(weak, 150e3)), "vise rating").verdict == "not shown"
    bare = msgspec.structs.replace(
        vise, preload_n=msgspec.structs.replace(MEASURED, source="shop-file", strength="owner's guess")
    )
    assert proof(held(vise=closed_with(bare, 150e3)), "vise rating").verdict == "not shown"


def high(height_mm: float) -> Clamping:
    """The grip that high."""
    return msgspec.structs.replace(CLAMPING, patch_height_mm=fact(height_mm, height_mm, height_mm, "mm"))


def test_without_a_usual_torque_no_force_is_known() -> None:
    vise = closed_with(msgspec.structs.replace(KNOWN, torque_n_mm=None), 90_000.0)
    assert vise.preload_n is None
    assert vise.torque_n_mm == 90_000.0


def test_a_vise_closed_by_hand_keeps_its_force_and_the_pin_is_refused() -> None:
    vise = msgspec.structs.replace(KNOWN, is_hand_tight=True)
    assert closed_with(vise, 90_000.0) == vise
    refused = torque_pin_proof(90_000.0, clampings=(CLAMPING,), vises=(vise,), forces=closed(vise))
    assert (refused.verdict, refused.blocks_release) == ("fails", False)
    assert "closed by hand" in refused.basis.formula


USUAL = Limits()


def closed(vise: Vise, limits: Limits = USUAL) -> tuple[ClampForce, ...]:
    return clamp_forces(clampings=(CLAMPING,), vises=(vise,), limits=limits)


def kept(forces: tuple[ClampForce, ...]) -> Proof:
    return torque_pin_proof(90_000.0, clampings=(CLAMPING,), vises=(KNOWN,), forces=forces)


def test_the_pin_is_kept_only_where_the_plan_closes_every_vise_with_it() -> None:
    """Worked: 0.7 of 90 N m are 63."""
    vise = closed_with(KNOWN, 90_000.0)
    assert kept(closed(vise)).verdict == "holds"
    softer = kept(closed(vise, Limits(preload_ratio={CLAMPING.id: 0.7})))
    assert (softer.verdict, softer.basis.formula) == ("fails", f"not closed with it: {CLAMPING.id}")
    assert kept(()).verdict == "fails"


def test_no_vise_stays_softer_than_the_pin_because_an_earlier_plan_closed_it_softer() -> None:
    eased = Tighten(subject=CLAMPING.id, quantity="preload_ratio", bound=0.7, unit="of the usual")
    slower = Tighten(subject=CLAMPING.id, quantity="feed_ratio", bound=0.8, unit="of the usual")
    rounds = (Round(number=1, tightened=(eased, slower), failing=(), piece_s=0.0),)
    assert kept_limits(rounds, keeps_torque=False) == Limits(
        preload_ratio={CLAMPING.id: 0.7}, feed_ratio={CLAMPING.id: 0.8}
    )
    assert kept_limits(rounds, keeps_torque=True) == Limits(feed_ratio={CLAMPING.id: 0.8})
