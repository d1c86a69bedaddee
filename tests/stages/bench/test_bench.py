"""Which edges a machine breaks and which the bench, on blocks whose edges are counted by hand."""

from __future__ import annotations

import math
from typing import Any

import build123d as bd
import pytest
from shapes import box, drilled, fact, solid_of

from proveout.model.bench import BenchPlan
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Bench
from proveout.model.work import Pass
from proveout.stages import survey
from proveout.stages.bench.decide import decide, letter_of

HAND = fact(30.0, 60.0, 90.0, "s")


def bench(speed: Any = None) -> Bench:
    return Bench(
        load_s=HAND, blow_off_s=HAND, gauging_s=HAND, deburr_s=HAND, blast_s=HAND, plug_s=HAND, kit_s=HAND,
        programming_s=HAND, prove_out_s=HAND, rate_per_h=45.0, hand_edge_mm_per_s=speed,
    )  # fmt: skip


def cut(id: str, *face_ids: str) -> Pass:
    return Pass(
        id=id, kind="break edge", clamping_id="c1", tilt_id="", cutter_id="", feature="", face_ids=face_ids,
        speed_rad_per_s=1.0, tooth_feed_mm=0.1, radial_mm=1.0, axial_mm=1.0, moves_digest="", moves_count=1,
        cut_length_mm=1.0,
    )  # fmt: skip


def decided(shape: Any, *, speed: Any = None, passes: tuple[Pass, ...] = ()) -> Decision[BenchPlan]:
    solid = solid_of(getattr(shape, "wrapped", shape))
    found = survey.decide(solid=solid, run=Run()).value
    return decide(solid=solid, survey=found, passes=passes, clampings=(), bench=bench(speed), break_mm=0.3)


def test_the_edges_of_a_block_are_one_run_by_hand() -> None:
    (run,) = decided(box(40, 30, 20)).value.edges
    assert (run.letter, run.manner, len(run.edge_ids)) == ("A", "hand", 12)
    assert run.length_mm == pytest.approx(4 * (40 + 30 + 20))


def test_mouths_of_like_holes_are_one_run() -> None:
    shape = box(60, 30, 20)
    for x in (15, 30):
        shape = drilled(shape, at=(x, 15, 20), along=(0, 0, -1), dia=6.0, deep=20.0)
    shape = drilled(shape, at=(45, 15, 20), along=(0, 0, -1), dia=8.0, deep=10.0)
    found = decided(shape).value
    mouths = {round(run.length_mm, 3): run for run in found.edges if run.hole_ids}
    # two through holes have two mouths each, the blind one has one; its bottom is an inside corner
    assert mouths[round(4 * math.pi * 6.0, 3)].runs_count == 4
    assert mouths[round(math.pi * 8.0, 3)].runs_count == 1
    assert found.hand_mm == pytest.approx(440.0 + 24.0 * math.pi + 8.0 * math.pi, abs=2e-3)


def test_an_inside_corner_is_no_edge_to_break() -> None:
    step = bd.Solid.make_box(40, 30, 20) - bd.Solid.make_box(20, 30, 10, bd.Plane((20, 0, 10)))
    found = decided(step).value
    # the outline of either side, 2 x (40 + 20), and six edges of 30 across, one of them an inside corner
    assert found.hand_mm == pytest.approx(2 * 120.0 + 5 * 30.0)


def test_a_chamfer_that_is_cut_is_the_machines_and_one_that_is_not_is_the_benchs() -> None:
    block = bd.Solid.make_box(40, 30, 20)
    top = [edge for edge in block.edges() if edge.center().Z > 19.9]
    shape = bd.chamfer(top, 1.0)
    uncut = decided(shape).value
    assert {run.manner for run in uncut.edges} == {"hand"}
    solid = solid_of(shape.wrapped)
    slanted = [face.id for face in solid.faces if 0.1 < abs(face.normal[2]) < 0.9]
    assert len(slanted) == 4
    found = decided(shape, passes=(cut("edges", *slanted),)).value
    machine = [run for run in found.edges if run.manner == "machine"]
    # the strips are 2 x (40 + 30) long outside and 2 x (38 + 28) inside
    assert sum(run.length_mm for run in machine) == pytest.approx((140.0 + 132.0) / 2.0)
    assert all(run.pass_ids == ("edges",) for run in machine)
    # what is left for the bench: the upright edges, 19 each, and the bottom; where a chamfer meets the next it is blunt
    assert found.hand_mm == pytest.approx(4 * 19.0 + 140.0)


def test_seconds_come_from_the_measured_speed_and_are_held_against_those_planned() -> None:
    """Worked: 360 mm of edges; 30 to 90 s are planned, and only the 30 are sure."""
    found = decided(box(40, 30, 20), speed=fact(15.0, 18.0, 20.0, "mm/s"))
    assert found.value.hand_s is not None
    assert (found.value.hand_s.low, found.value.hand_s.high) == (pytest.approx(18.0), pytest.approx(24.0))
    assert found.value.edges[0].seconds == found.value.hand_s
    assert (found.proofs[0].verdict, found.proofs[0].limit) == ("holds", 30.0)
    slow = decided(box(40, 30, 20), speed=fact(10.0, 12.0, 15.0, "mm/s")).proofs[0]
    assert slow.verdict == "not shown"  # 24 to 36 s
    assert decided(box(40, 30, 20), speed=fact(5.0, 6.0, 8.0, "mm/s")).proofs[0].verdict == "fails"  # 45 to 72 s


def test_nobody_measured_how_fast_an_edge_is_broken() -> None:
    proof = decided(box(40, 30, 20)).proofs[0]
    assert proof.verdict == "not shown"
    assert "hand_edge" in proof.decides
    assert not proof.blocks_release


@pytest.mark.parametrize(("place", "letter"), [(0, "A"), (25, "Z"), (26, "AA"), (27, "AB"), (701, "ZZ"), (702, "AAA")])
def test_letters_run_on_after_z(place: int, letter: str) -> None:
    assert letter_of(place) == letter
