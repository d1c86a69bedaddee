"""A half-made piece put in turned round: refused by nothing, and cut wrong unless the part looks the same so."""

from __future__ import annotations

from typing import Any

import pytest
from shapes import CUTTERS, LOAD, MILL, SOFT, TOOTHED, VISE, box, cut_box, drilled, solid_of, target_of

from proveout.model.job import Pin
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.work import Blank, Clamping
from proveout.stages import clampings, survey

BLANK = Blank(
    bar_id="none", length_axis=0, low_mm=(-1.0, -1.0, -4.5), high_mm=(61.0, 41.0, 21.0), cut_length_mm=62.0,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0, mass_kg=0.1,
)  # fmt: skip


def laid(shape: Any, *ups: str) -> list[tuple[Clamping, Proof]]:
    """Every later clamping of the block of 60 x 40 x 20 as it is chosen, with its proof."""
    solid = solid_of(shape)
    target = target_of(solid)
    choice = clampings.decide(
        solid=solid, target=target, survey=survey.decide(solid=solid, run=Run()).value, machines=(MILL,),
        vises=(VISE,), jaws=(TOOTHED, SOFT), cutters=CUTTERS, quantity=50, load_s=LOAD,
        pins=(Pin(quantity="ups", value="\n".join(ups)),) if ups else (), run=Run(),
    ).value  # fmt: skip
    found = clampings.place(
        sequence=choice.sequences[0], blank=BLANK, target=target, machines=(MILL,), vises=(VISE,),
        jaws=(TOOTHED, SOFT), bars=(),
    )  # fmt: skip
    proofs = {p.id: p for p in found.proofs}
    assert f"clampings:{found.value.clampings[0].id}:wrong load" not in proofs
    return [(c, proofs[f"clampings:{c.id}:wrong load"]) for c in found.value.clampings[1:]]


def through(x: float, y: float) -> Any:
    """The block with one hole through it."""
    return drilled(box(60.0, 40.0, 20.0), at=(x, y, -1.0), along=(0, 0, 1), dia=6.6, deep=30)


def test_a_part_that_looks_the_same_turned_round_can_be_loaded_either_way() -> None:
    ((clamping, proof),) = laid(through(30.0, 20.0))
    assert (proof.verdict, proof.found_high) == ("holds", 0.0)
    assert "mark" not in clamping.seat_text


@pytest.mark.parametrize("at", [(10.0, 20.0), (30.0, 8.0), (29.0, 20.0)])
def test_a_hole_off_the_middle_tells_a_piece_that_is_turned_end_for_end(at: tuple[float, float]) -> None:
    ((clamping, proof),) = laid(through(*at))
    assert (proof.verdict, proof.found_high, proof.blocks_release) == ("not shown", 1.0, False)
    assert "a pin, mark or stop" in proof.decides
    assert clamping.seat_text.endswith("it also fits turned end for end: mark its top at the stop")


def test_what_lies_below_all_that_is_cut_may_differ() -> None:
    """A pocket of the first clamping looks down while only the strip comes off: turned round, that is cut alike."""
    ((_, proof),) = laid(cut_box(box(60.0, 40.0, 20.0), (10, 10, 12), (30, 30, 21)))
    assert proof.verdict == "holds"
    ((_, proof),) = laid(cut_box(box(60.0, 40.0, 20.0), (10, 10, -1), (30, 30, 21)))
    assert proof.verdict == "not shown"


def test_once_both_ends_are_finished_a_piece_also_fits_upside_down() -> None:
    """The third clamping drills one side: the opposite side is as flat, and every half turn puts the hole elsewhere."""
    shape = drilled(box(60.0, 40.0, 20.0), at=(20, 0, 6), along=(0, 1, 0), dia=5, deep=9)
    (_, third) = laid(shape, "+z", "-z", "-y")
    assert third[0].frame.z == (0.0, -1.0, 0.0)
    assert third[1].found_high == 2.0
    assert "it also fits turned end for end or upside down: mark" in third[0].seat_text
