"""A torque that the owner pinned is kept, also where the work or the vise does not bear it, and the proofs say so."""

from __future__ import annotations

import msgspec
from shapes import VISE, fact
from stages.gripped import CLAMPING, held, proof

from proveout.model.fact import Fact
from proveout.model.shop import Vise
from proveout.stages.holding import closed_with, torque_pin_proof

USUAL_N_MM = 60_000.0
MEASURED = Fact(low=15e3, nominal=17.5e3, high=20e3, unit="N", source="shop-file: cell", strength="measured here")
KNOWN = msgspec.structs.replace(VISE, torque_n_mm=USUAL_N_MM, preload_n=MEASURED, rating_n=30e3)


def force_of(vise: Vise) -> Fact:
    assert vise.preload_n is not None
    return vise.preload_n


def test_force_goes_with_the_torque_in_proportion() -> None:
    """Worked: 1.5 times 15, 17.5 and 20 kN are 22.5, 26.25 and 30 kN."""
    force = force_of(closed_with(KNOWN, 1.5 * USUAL_N_MM))
    assert (force.low, force.nominal, force.high) == (22.5e3, 26.25e3, 30e3)
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


def test_without_a_usual_torque_no_force_is_known() -> None:
    vise = closed_with(msgspec.structs.replace(KNOWN, torque_n_mm=None), 90_000.0)
    assert vise.preload_n is None
    assert vise.torque_n_mm == 90_000.0


def test_a_vise_closed_by_hand_keeps_its_force_and_the_pin_is_refused() -> None:
    vise = msgspec.structs.replace(KNOWN, is_hand_tight=True)
    assert closed_with(vise, 90_000.0) == vise
    refused = torque_pin_proof(90_000.0, clampings=(CLAMPING,), vises=(vise,))
    assert (refused.verdict, refused.blocks_release) == ("fails", False)
    assert torque_pin_proof(90_000.0, clampings=(CLAMPING,), vises=(KNOWN,)).verdict == "holds"
