"""Slugs: told once, with the pass that sets them free, their size and place."""

from __future__ import annotations

import math

import pytest
from shapes import box, cutter, solid_of, target_of
from stages.removal_check.test_removal_check import BLANK, CLAMPING, HELD, MACHINE, Move, Program, planned

from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.work import RemovalCheck
from proveout.stages import removal_check

MILL_2 = cutter("mill 2", "end mill", 2.0, 20.0, 40.0)


GROOVE: list[Move] = [(-10, 18, 30, 0), (-10, 18, 8, 0), (40, 18, 8, 20), (40, 18, 30, 0)]


def ring(z: float) -> list[Move]:
    """Round (10, 10) with the middle of the cutter 5 mm away, from above."""
    turn = [(10 + 5 * math.cos(a), 10 + 5 * math.sin(a)) for a in (2 * math.pi * k / 72 for k in range(73))]
    x, y = turn[0]
    return [(x, y, 30, 0), (x, y, 12, 0), (x, y, z, 5), *((x, y, z, 20) for x, y in turn), (x, y, 30, 0)]


def checked(program: Program, *, coarse: float = 1.0) -> Decision[RemovalCheck]:
    found = removal_check.decide(
        blank=BLANK, target=target_of(solid_of(box(30, 20, 10))), clampings=(CLAMPING,), plan=planned(program),
        cutters=(MILL_2,), vises=(HELD,), machines=(MACHINE,), coarse_ratio=coarse, run=Run(),
    )  # fmt: skip
    return Decision(value=found.value.check, proofs=found.proofs)


def test_a_slug_is_told_once_with_the_pass_that_frees_it() -> None:
    """Worked: inside a ring of radius 5 by a Ø2 cutter a round of radius 4 is left, 11 high: 552.9 mm³ at (10, 10)."""
    found = checked([("rough", "mill 2", ring(5.0)), ("rough", "mill 2", ring(-0.5)), ("rough", "mill 2", GROOVE)])
    (slug,) = found.value.loose
    assert slug.pass_id.endswith("rough/1")
    assert slug.volume_mm3 == pytest.approx(math.pi * 16.0 * 11.0, rel=5e-3)
    assert slug.size_mm == pytest.approx((11.0, 8.0, 8.0), abs=0.05)
    # the clamping's zero lies at (0, 20, 0) of the part's frame
    assert slug.at_mm == pytest.approx((10.0, -10.0, 5.5), abs=0.05)
    (proof,) = (p for p in found.proofs if p.id == "removal check:loose pieces")
    assert (proof.verdict, proof.blocks_release, proof.found_high) == ("fails", False, 1.0)
    assert "c1/t1/mill 2/rough/1: a piece of 11.0 x 8.0 x 8.0 mm about X 10.0 Y -10.0 Z 5.5" in proof.basis.formula


def test_a_skin_keeps_it_and_the_proof_holds() -> None:
    found = checked([("rough", "mill 2", ring(0.3))])
    (proof,) = (p for p in found.proofs if p.id == "removal check:loose pieces")
    assert proof.verdict == "holds"


def test_a_coarse_replay_says_nothing_of_loose_pieces() -> None:
    found = checked([("rough", "mill 2", ring(-0.5))], coarse=3.0)
    assert not [p for p in found.proofs if p.id == "removal check:loose pieces"]
