"""Empty vises beside the one that is worked in: boxes that a person could measure, and what meets them."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest
import two_places as given

from proveout.jobs.place_programs import load_standing
from proveout.jobs.programs import prove_program, standing_of
from proveout.model.bodies import Bed, Head
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.shop import Jaws, Vise
from proveout.model.table_load import Laid, TableLoad, idle_places, places_of, spare_places
from proveout.programs.writing.writing import write_program
from proveout.stages.removal_check.idle import Beside, empty_bodies, idle_beside, idle_proofs, jaw_tops_mm
from proveout.stages.removal_check.neighbours import OTHERS, others_about, struck_by

THREE = msgspec.structs.replace(
    given.VISE, kind_count=3, more_stand_mm=(*given.VISE.more_stand_mm, (560.0, -200.0, -300.0))
)
BED = Bed(length_mm=300.0, width_mm=110.0, behind_mm=60.0, below_mm=37.0, height_mm=60.0)
HIGH = (300.0, -210.0, -270.0)
"""30 above and 10 before the vise in which the work lies, jaws from 70 on in the work's X: in the way at 72."""


def beside(stands: tuple[float, float, float]) -> Vise:
    return msgspec.structs.replace(given.VISE, more_stand_mm=(stands,))


def proofs(vise: Vise, loads: tuple[TableLoad, ...] = ()) -> tuple[Proof, ...]:
    found = idle_proofs(
        clampings=(given.clamping(1),), loads=loads, machines=(given.MILL,), vises=(vise,), jaws=given.JAWS,
        plan=given.ONE, cutters=given.CUTTER_LIST,
    ).proofs  # fmt: skip
    return tuple(proof for proof in found if proof.id.endswith(":idle vises"))


def load_in(vise: Vise, count: int) -> TableLoad:
    laid = tuple(
        Laid(clamping_id="c1", place=place, work_offset=f"G5{4 + n}")
        for n, place in enumerate(places_of(given.MILL, (vise,))[:count])
    )
    return TableLoad(
        machine_id="mill", clamping_ids=("c1",), pieces_count=count, laid=laid, steps=(), clear_mm=-250.0, fillings=()
    )


def test_a_vise_is_idle_where_no_work_lies_in_either_of_its_sides() -> None:
    first, second = places_of(given.MILL, (given.VISE,))
    assert idle_places(given.MILL, (given.VISE,), (first,)) == (second,)
    assert idle_places(given.MILL, (given.VISE,), (first, second)) == ()
    two = msgspec.structs.replace(
        given.DOUBLE, kind_count=2, more_stand_mm=((500.0, -200.0, -300.0),)
    )  # fmt: skip
    sides = places_of(given.MILL, (two,))
    assert [p.number for p in idle_places(given.MILL, (two,), sides[:1])] == [3]
    tilting = msgspec.structs.replace(given.given.machine(), vises_count=2)
    assert idle_places(tilting, (given.VISE,), ()) == ()


def test_an_empty_vise_may_be_open_or_shut() -> None:
    """worked: jaws 120 along X, 40 deep, 5 above the seat, wide open at 150."""
    found = {body.name: body for body in empty_bodies(given.VISE, given.JAWS)}
    assert found["fixed jaw"].low_mm == (-60.0, 0.0, -40.0)
    assert found["fixed jaw"].high_mm == (60.0, 40.0, 5.0)
    assert found["fixed jaw"].is_sure
    assert (found["moving jaw"].low_mm[1], found["moving jaw"].high_mm[1]) == (-190.0, 0.0)
    assert not found["moving jaw"].is_sure


def test_soft_jaws_that_nobody_has_cut_stand_as_high_as_they_were_bought() -> None:
    """worked: 60 above a bed that lies 37 below the seat: 23 above it; toothed ones 5."""
    vise = msgspec.structs.replace(given.VISE, bed=BED)
    jaws: tuple[Jaws, ...] = (given.JAWS[0], msgspec.structs.replace(given.SOFT, blank_height_mm=60.0))
    assert jaw_tops_mm(vise, jaws) == (5.0, 23.0)
    fixed = [body for body in empty_bodies(vise, jaws) if body.name == "fixed jaw"]
    assert [(body.high_mm[2], body.is_sure) for body in fixed] == [(5.0, True), (23.0, False)]


@pytest.mark.parametrize(
    ("stands", "verdict"),
    [
        (given.VISE.more_stand_mm[0], "holds"),
        (HIGH, "fails"),
        # its fixed jaw stands 50 behind the other's: only the moving one could be met
        ((300.0, -150.0, -270.0), "not shown"),
    ],
)
def test_passes_are_held_against_the_vise_that_stands_idle(stands: tuple[float, float, float], verdict: str) -> None:
    (proof,) = proofs(beside(stands))
    assert proof.verdict == verdict
    assert proof.blocks_release
    assert proof.id == "removal check:c1:idle vises"
    assert (proof.basis.move is None) == (verdict == "holds")
    assert proof.basis.move is None or f"{proof.basis.move.pass_id}: " in proof.basis.formula
    assert proof.basis.move is None or f"deep at move {proof.basis.move.row}" in proof.basis.formula


def test_a_vise_that_stands_nobody_knows_where_is_said_and_not_taken_for_clear() -> None:
    (proof,) = proofs(given.UNMEASURED)
    assert proof.verdict == "not shown"
    assert proof.blocks_release
    assert "stands_x_mm" in proof.decides
    assert "idle_vises_off" in proof.decides
    beside = idle_beside(given.clamping(1), given.MILL, vises=(given.UNMEASURED,), jaws=given.JAWS)
    assert beside == Beside(unmeasured=("the idle vise in place 2",))


def test_where_idle_vises_are_taken_off_none_is_asked_for() -> None:
    off = given.mill(idle_vises_off=True)
    assert idle_places(off, (given.UNMEASURED,), ()) == ()
    assert len(spare_places(off, (given.UNMEASURED,), ())) == 2
    decided = idle_proofs(
        clampings=(given.clamping(1),), loads=(), machines=(off,), vises=(given.UNMEASURED,), jaws=given.JAWS,
        plan=given.ONE, cutters=given.CUTTER_LIST,
    )  # fmt: skip
    assert decided.proofs == ()


def test_work_that_shares_the_table_is_held_against_idle_vises_with_its_load() -> None:
    assert proofs(given.VISE, (load_in(given.VISE, 2),)) == ()  # none stands idle
    load, vises = load_in(THREE, 2), {"vise": THREE}
    about = others_about(
        load, 0, clampings={"c1": given.clamping(1)}, vises=vises, machine=given.MILL, blank=given.BLANK,
        jaws=given.JAWS,
    )  # fmt: skip
    assert about.unmeasured == ()
    idle = next(body for body in about.bodies if body.name == "fixed jaw of the idle vise in place 3")
    # worked: zero of the piece at 170, jaws from 560 - 60 on
    assert idle.low_mm == pytest.approx((330.0, 0.0, -40.0))
    close = msgspec.structs.replace(THREE, more_stand_mm=(THREE.more_stand_mm[0], HIGH))
    received: dict[str, Any] = {
        "clampings": {"c1": given.clamping(1)}, "machine": given.MILL, "blank": given.BLANK, "plan": given.ONE,
        "cutters": given.CUTTERS, "jaws": given.JAWS,
    }  # fmt: skip
    assert struck_by(load, vises=vises, **received) == ""
    assert "idle vise in place 3" in struck_by(load, vises={"vise": close}, **received)


def third_unmeasured(second: tuple[float, float, float]) -> Vise:
    """Two places of work that somebody measured, and a third vise that stands idle nobody knows where."""
    return msgspec.structs.replace(THREE, more_stand_mm=(second,))


@pytest.mark.parametrize(
    ("second", "is_met"), [(given.VISE.more_stand_mm[0], False), ((270.0, -200.0, -300.0), True)]
)  # fmt: skip
def test_an_idle_vise_that_nobody_measured_takes_no_measured_neighbour_away(
    second: tuple[float, float, float], *, is_met: bool
) -> None:
    vise = third_unmeasured(second)
    load = load_in(vise, 2)
    received: dict[str, Any] = {"clampings": {"c1": given.clamping(1)}, "vises": {"vise": vise}, "machine": given.MILL,
                "blank": given.BLANK, "jaws": given.JAWS}  # fmt: skip
    struck = struck_by(load, plan=given.ONE, cutters=given.CUTTERS, **received)
    assert ("of place 2 met" in struck) == is_met
    standing = load_standing(load, 0, **received)
    assert any(body.name == "piece of place 2" for body in standing.obstacles)
    assert "the idle vise in place 3" in standing.unlooked
    assert OTHERS not in standing.unlooked


@pytest.mark.parametrize(
    ("vise", "verdict"),
    [
        (THREE, "holds"),
        (third_unmeasured(given.VISE.more_stand_mm[0]), "not shown"),
        (msgspec.structs.replace(THREE, more_stand_mm=(given.VISE.more_stand_mm[0], HIGH)), "fails"),
    ],
)
def test_a_load_has_a_proof_of_the_vises_that_it_leaves_idle(vise: Vise, verdict: str) -> None:
    load = load_in(vise, 2)
    (proof,) = proofs(vise, (load,))
    assert (proof.id, proof.verdict) == (f"removal check:{load.id}:idle vises", verdict)
    assert proof.claim.endswith("in place 3")


@pytest.mark.parametrize("is_described", [False, True])
def test_no_bed_and_no_head_is_claimed_that_is_in_no_description(*, is_described: bool) -> None:
    vise = msgspec.structs.replace(given.VISE, bed=BED if is_described else None)
    machine = msgspec.structs.replace(
        given.MILL, head=Head(nose_diameter_mm=60.0, nose_length_mm=80.0) if is_described else None
    )
    proof, *more = idle_proofs(
        clampings=(given.clamping(1),), loads=(), machines=(machine,), vises=(vise,), jaws=given.JAWS,
        plan=given.ONE, cutters=given.CUTTER_LIST,
    ).proofs  # fmt: skip
    beside = idle_beside(given.clamping(1), machine, vises=(vise,), jaws=given.JAWS)
    if is_described:
        assert proof.claim == "no cutter, shank, holder or head meets jaws and bed of the empty vise in place 2"
        assert (more, beside.undescribed) == ([], ())
        return
    assert proof.verdict == "holds"
    assert proof.claim == "no cutter, shank or holder meets jaws of the empty vise in place 2"
    assert "bed" not in proof.basis.formula
    (rest,) = more
    assert (rest.id, rest.verdict, rest.blocks_release) == ("removal check:c1:idle bodies", "not shown", False)
    assert rest.claim.endswith("the bed of the idle vise in place 2, the spindle's head")
    standing = standing_of(given.clamping(1), machine, vise, vises=(vise,), jaws=given.JAWS)
    assert "the bed of the idle vise in place 2" in standing.unlooked


def test_one_idle_vise_that_nobody_measured_leaves_the_other_looked_at() -> None:
    """The second stands in the way; of the third nobody knows anything."""
    (proof,) = proofs(third_unmeasured(HIGH))
    assert proof.verdict == "fails"
    assert "idle vise in place 2 met" in proof.remedy
    (proof,) = proofs(third_unmeasured(given.VISE.more_stand_mm[0]))
    assert proof.verdict == "not shown"
    assert "the place of the idle vise in place 3" in proof.basis.formula


def test_the_program_of_work_that_lies_alone_meets_no_idle_vise() -> None:
    one = given.clamping(1)
    text = write_program(
        title="EX-1", clamping=one, machine=given.MILL, vise=given.VISE, passes=given.ONE.passes,
        moves=given.ONE.moves, cutters=given.CUTTERS, numbers=given.NUMBERS,
    ).text  # fmt: skip

    def verdict(vise: Vise) -> str:
        found = prove_program(
            text=text, clamping=one, machine=given.MILL, vise=vise, numbers=given.NUMBERS, blank=given.BLANK,
            passes=given.ONE, clampings=(one,), cutters=given.CUTTER_LIST, run=Run(), vises=(vise,), jaws=given.JAWS,
        )  # fmt: skip
        return next(p.verdict for p in found if p.id == "program:c1:strike")

    assert verdict(given.VISE) == "holds"
    assert verdict(beside(HIGH)) == "fails"
    unknown = standing_of(one, given.MILL, given.UNMEASURED, vises=(given.UNMEASURED,), jaws=given.JAWS)
    assert "the idle vise in place 2" in unknown.unlooked
