"""What the owner fixes is kept, or refused with the face that it would lose; blanks tell ways up apart by money."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
from shapes import CUTTERS, LOAD, MILL, SOFT, TOOTHED, VISE, box, cut_box, drilled, solid_of, target_of
from tilting import TILTING, TILTING_VISE

from proveout.model.choice_of_clampings import ClampingChoice
from proveout.model.job import Pin
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.shop import Machine
from proveout.model.work import Vector
from proveout.quantities.errors import BadInput
from proveout.stages import clampings, survey

Z_UP, Z_DOWN = (0.0, 0.0, 1.0), (0.0, 0.0, -1.0)


def block() -> Any:
    """A block with a pocket on top, a hole through and a blind hole in its -y side."""
    shape = cut_box(box(60.0, 40.0, 20.0), (10, 10, 12), (40, 30, 21))
    shape = drilled(shape, at=(50, 20, -1), along=(0, 0, 1), dia=6.6, deep=30)
    return drilled(shape, at=(30, 0, 6), along=(0, 1, 0), dia=5, deep=9)


def chosen(
    shape: Any, *machines: Machine, blanks: tuple[tuple[Vector, float | None], ...] = (), **pins: str
) -> Decision[ClampingChoice]:
    solid = solid_of(shape)
    return clampings.decide(
        solid=solid, target=target_of(solid), survey=survey.decide(solid=solid, run=Run()).value, machines=machines,
        vises=(VISE, TILTING_VISE), jaws=(TOOTHED, SOFT), cutters=CUTTERS, quantity=50, load_s=LOAD, blanks=blanks,
        pins=tuple(Pin(quantity=k, value=v) for k, v in pins.items()), run=Run(),  # type: ignore[arg-type] - as typed
    )  # fmt: skip


def pin_proof(decision: Decision[ClampingChoice], quantity: str) -> Proof:
    return next(p for p in decision.proofs if p.id == f"clampings:pin:{quantity}")


def test_the_three_told_differ_in_ways_up_or_machines() -> None:
    for machines in ((MILL, TILTING), (MILL,)):
        found = chosen(block(), *machines).value.sequences
        assert len(found) > 1
        assert len({tuple((h.up, h.machine_id) for h in s.holds) for s in found}) == len(found)


def test_pinned_ways_up_are_kept_in_their_order() -> None:
    decision = chosen(block(), MILL, ups="-z\n+z\n-y")
    best = decision.value.sequences[0]
    assert [h.up for h in best.holds] == [Z_DOWN, Z_UP, (0.0, -1.0, 0.0)]
    assert pin_proof(decision, "ups").verdict == "holds"
    assert [h.up for h in chosen(block(), MILL).value.sequences[0].holds] == [Z_UP, Z_DOWN, (0.0, -1.0, 0.0)]


def test_machines_are_pinned_one_a_clamping() -> None:
    best = chosen(block(), MILL, TILTING, machines="tilting\nmill").value.sequences[0]
    assert [h.machine_id for h in best.holds] == ["tilting", "mill"]


def test_without_tilts_a_side_hole_costs_a_clamping() -> None:
    """Free, the tilting mill drills the side hole by one tilt; with no tilts it takes a third clamping."""
    free = chosen(block(), TILTING).value.sequences[0]
    assert sorted(len(h.directions) for h in free.holds) == [1, 2]
    none = chosen(block(), TILTING, tilts="none").value.sequences[0]
    assert [h.directions for h in none.holds] == [(h.up,) for h in none.holds]
    assert len(none.holds) == 3


def test_a_pin_that_hides_a_face_is_refused_with_the_face() -> None:
    """Two clampings on a 3-axis mill never look at the side hole: planned without the pin, and the hole is named."""
    decision = chosen(block(), MILL, ups="+z\n-z", vise="vise")
    proof = pin_proof(decision, "ups")
    assert proof.verdict == "fails"
    assert not proof.blocks_release
    assert "cylinder in d5.000" in proof.basis.formula
    assert "no cutter reaches it from +z, -z" in proof.basis.formula
    assert pin_proof(decision, "vise").verdict == "holds"
    assert len(decision.value.sequences[0].holds) == 3


def test_a_pin_that_holds_nothing_is_refused() -> None:
    """A vise that opens 25 mm takes the block on edge only, which stands too high for it either way."""
    narrow = msgspec.structs.replace(VISE, id="narrow", opening_max_mm=15.0)
    solid = solid_of(block())
    decision = clampings.decide(
        solid=solid, target=target_of(solid), survey=survey.decide(solid=solid, run=Run()).value, machines=(MILL,),
        vises=(VISE, narrow), jaws=(TOOTHED, SOFT), cutters=CUTTERS, quantity=50, load_s=LOAD,
        pins=(Pin(quantity="vise", value="narrow"),), run=Run(),
    )  # fmt: skip
    proof = pin_proof(decision, "vise")
    assert proof.verdict == "fails"
    assert "no clamping can be held" in proof.basis.formula
    assert decision.value.sequences[0].unreached == ()


@pytest.mark.parametrize(
    ("pins", "words"),
    [
        ({"ups": "+z\n+z"}, "pinned twice"), ({"ups": "+z\nup"}, r"pinned ups is not"),
        ({"up": "+z", "ups": "+z\n-z"}, "Both up and ups"), ({"tilts": "+q"}, r"pinned tilts is not"),
        ({"machines": "mill\nlathe"}, r"pinned machines is not"),
    ],
)  # fmt: skip
def test_pins_that_make_no_sense_are_refused_with_the_key(pins: dict[str, str], words: str) -> None:
    with pytest.raises(BadInput, match=words):
        chosen(block(), MILL, **pins)  # type: ignore[arg-type] - blanks are none of them


def test_the_dearer_blank_turns_the_part_over() -> None:
    """A plain block with a hole through it may begin either way up: the cheaper blank decides."""
    shape = drilled(box(60.0, 40.0, 20.0), at=(10, 20, -1), along=(0, 0, 1), dia=6.6, deep=30)
    dear = dict.fromkeys(survey.decide(solid=solid_of(shape), run=Run()).value.directions[:6], 9.0)
    for cheap in (Z_UP, Z_DOWN):
        best = chosen(shape, MILL, blanks=tuple({**dear, cheap: 4.0}.items())).value.sequences[0]
        assert best.holds[0].up == tuple(-v + 0.0 for v in cheap)


def test_a_way_up_whose_blank_no_bar_covers_comes_last() -> None:
    shape = drilled(box(60.0, 40.0, 20.0), at=(10, 20, -1), along=(0, 0, 1), dia=6.6, deep=30)
    blanks: tuple[tuple[Vector, float | None], ...] = ((Z_UP, 40.0), (Z_DOWN, None))
    found = chosen(shape, MILL, blanks=blanks).value.sequences
    # whole ones only: a strip that stays on is worse than a bar that must be bought
    assert [s.holds[0].up for s in found if not s.unreached] == [Z_DOWN, Z_UP]
