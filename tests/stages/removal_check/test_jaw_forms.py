"""The replay of a pocket on the jaws: what was left, what was taken beyond, what was struck; seeded faults are seen."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest
from jaw_parts import BLOCK, of_block
from shapes import CUTTERS

from proveout.model.jaw_form import JawForm
from proveout.model.moves import Moves
from proveout.model.proof import MoveAt, Proof
from proveout.model.run import Run
from proveout.model.work import Pass
from proveout.stages.removal_check import prove_form
from proveout.stages.removal_check.jaw_forms import jaw_blanks, jaws_as_wanted

BY_ID = {c.id: c for c in CUTTERS}


def block_form() -> JawForm:
    (form,) = of_block().value.forms
    return form


def proofs_of(
    form: JawForm, moves: dict[str, Moves], passes: tuple[tuple[Pass, Moves], ...] = ()
) -> dict[str, Proof]:  # fmt: skip
    found = prove_form(form, moves=moves, held=BLOCK, passes=passes, cutters=BY_ID, run=Run())
    return {p.id.rpartition(":")[2]: p for p in found}


def moved(by_mm: tuple[float, float, float]) -> dict[str, Moves]:
    """The form's moves as from a zero that lies aside."""
    return {
        digest: Moves(points=its.points + np.array(by_mm), feed_mm_per_s=its.feed_mm_per_s, arcs=its.arcs)
        for digest, its in of_block().value.moves.items()
    }


def test_the_jaws_as_wanted_have_the_volume_of_blanks_less_outline_and_reliefs() -> None:
    form = msgspec.structs.replace(block_form(), reliefs=())
    # worked: two jaws 125 x 25 x 12 (10 deep and 2 shown below), less 60.5 x 3 x 10 in each
    assert jaws_as_wanted(form).volume_mm3 == pytest.approx(2 * (125 * 25 * 12 - 60.5 * 3 * 10), rel=1e-9)
    assert jaw_blanks(form).volume_mm3() == pytest.approx(2 * 125 * 25 * 12, rel=2e-3)


def test_the_pocket_as_planned_holds() -> None:
    proofs = proofs_of(block_form(), of_block().value.moves)
    assert {p.verdict for p in proofs.values()} == {"holds"}
    assert {"pocket", "beyond", "seat", "rapid", "shank and holder", "work"} == set(proofs)


def test_a_pass_left_out_leaves_metal() -> None:
    form = block_form()
    without_walls = msgspec.structs.replace(form, passes=form.passes[:-1])
    proof = proofs_of(without_walls, of_block().value.moves)["pocket"]
    assert proof.verdict == "fails"
    # roughing leaves 0.3 on walls
    assert proof.found_low is not None
    assert proof.found_low > 0.25


def test_no_pass_at_all_leaves_the_whole_bite() -> None:
    proofs = proofs_of(msgspec.structs.replace(block_form(), passes=()), {})
    assert (proofs["pocket"].verdict, proofs["pocket"].found_low) == ("fails", pytest.approx(3.0, abs=1e-6))
    assert "seat" not in proofs


def test_a_zero_aside_takes_metal_beyond_the_pocket() -> None:
    """Three hundredths towards the fixed jaw: its wall is cut too deep, and none is left over 0.05."""
    proofs = proofs_of(block_form(), moved((0.0, 0.03, 0.0)))
    assert (proofs["beyond"].verdict, proofs["pocket"].verdict) == ("fails", "holds")
    assert proofs["beyond"].found_low == pytest.approx(0.03, abs=0.006)


def test_a_zero_too_low_cuts_the_step() -> None:
    proofs = proofs_of(block_form(), moved((0.0, 0.0, -0.02)))
    assert proofs["seat"].verdict == "fails"
    at = proofs["seat"].basis.move
    assert at is not None
    assert at.pass_id in {one.id for one in block_form().passes}
    (one,) = (one for one in block_form().passes if one.id == at.pass_id)
    assert of_block().value.moves[one.moves_digest].points[at.row, 2] < 0.01
    assert proofs["beyond"].verdict == "fails"


def test_a_relief_that_is_not_told_is_metal_taken_beyond() -> None:
    """The list on the paper must hold every place where the jaws are cut beyond the work."""
    form = msgspec.structs.replace(block_form(), reliefs=block_form().reliefs[1:])
    proofs = proofs_of(form, of_block().value.moves)
    assert proofs["beyond"].verdict == "fails"


def test_a_pass_on_the_work_that_meets_the_jaws_as_cut_is_named() -> None:
    """Half a millimetre clear of a jaw that ends at the work's face, and in the metal of one that reaches over it."""
    one = msgspec.structs.replace(block_form().passes[-1], id="on the work", tilt_id="a0-c0", cutter_id="mill 4")

    def passed_at(x_mm: float, y_mm: float) -> tuple[tuple[Pass, Moves], ...]:
        points = np.array([[x_mm, y_mm, 40.0], [x_mm, y_mm, 5.0], [x_mm, y_mm, 40.0]])
        return ((one, Moves(points=points, feed_mm_per_s=np.array([0.0, 5.0, 0.0]))),)

    form, moves = block_form(), of_block().value.moves
    struck = proofs_of(form, moves, passed_at(-5.0, -2.5))["work"]
    assert (struck.verdict, struck.found_low) == ("fails", 1.0)
    assert struck.remedy.startswith("on the work: the soft jaws met over ")
    assert struck.remedy.endswith(" mm at move 1")
    assert struck.basis.move == MoveAt(pass_id=one.id, row=1)
    # the cut pocket is air: a cutter that stands in it meets nothing
    assert proofs_of(form, moves, passed_at(10.0, -2.5))["work"].verdict == "holds"


def test_a_holder_below_the_jaw_tops_is_seen() -> None:
    """The finishing cutter with a stick-out of 6 in a pocket 10 deep."""
    short = {**BY_ID, "mill 4": msgspec.structs.replace(BY_ID["mill 4"], flute_length_mm=5.0, stick_out_mm=6.0)}
    found = prove_form(block_form(), moves=of_block().value.moves, held=BLOCK, passes=(), cutters=short, run=Run())
    holder = next(p for p in found if p.id.endswith(":shank and holder"))
    assert holder.verdict == "fails"
    assert holder.basis.move is not None
    named = f"{holder.basis.move.pass_id}, move {holder.basis.move.row}"
    assert holder.subject.endswith(named)
    assert "mill 4" in named
    assert holder.basis.move.row > 0
