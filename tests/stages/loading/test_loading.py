"""Wrong loads against brute force: blocks with planted near-symmetries, judged by exact bodies and rays."""

from __future__ import annotations

from functools import cache
from types import SimpleNamespace
from typing import Any

import manifold3d
import numpy as np
import pytest
from loading_cases import (
    PROBE,
    SISTER,
    SLOPS_MM,
    Brute,
    Case,
    case_of,
    decided,
    judged,
    most_told_mm,
    off_mm,
    readings_mm,
    shaped_case_of,
)
from loading_sides import best_beside_mm

from proveout.model.cutter import Piece
from proveout.model.loading import Loading, Sister, Touch
from proveout.model.proof import Proof
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut
from proveout.stages.loading import narrow
from proveout.stages.loading.decide import AFTER, AHEAD, BACK, RAW, is_unmarked
from proveout.stages.loading.proofs import prove_marks
from proveout.stages.loading.readings import Shape, shape_of_fields
from proveout.stages.loading.sites import UNSURE_MM, Doubt, Posed
from proveout.stages.loading.touches import plan_touches

EVEN = ((10.0, 9.0), (50.0, 21.0))
BORE = Piece(kind="frustum", z_low_mm=0.0, z_high_mm=40.0, r_low_mm=2.1, r_high_mm=2.1)
MIDDLE = ((30.0, 15.0, 5.0, 20.0),)


def block(offset_mm: float, *, has_probe: bool = True, hole_mm: float = 5.0) -> Case:
    """60 x 30 x 14 with two holes alike under a half turn, but for one that lies off along x."""
    before = tuple((x + aside, y, hole_mm, 20.0) for (x, y), aside in zip(EVEN, (offset_mm, 0.0), strict=True))
    return Case(size_mm=(60.0, 30.0, 14.0), before=before, now=MIDDLE, offset_mm=offset_mm, has_probe=has_probe)


@cache
def known(case: Case) -> tuple[Loading, Proof]:
    """What is decided of a block, worked out once for all tests that ask for no more than that."""
    return decided(case)


@pytest.mark.parametrize("seed", range(10))
def test_no_escape_is_missed_and_none_is_a_false_alarm(seed: int) -> None:
    missed, alarms, poses, _ = judged(case_of(seed))
    assert missed == []
    assert alarms == []
    assert poses > 20


@pytest.mark.parametrize("seed", range(4))
def test_pockets_steps_and_a_sister_are_judged_right_with_a_probe_and_without(seed: int) -> None:
    """Two pockets or two steps nearly alike, a left-hand piece of each kind, and on every other block a sister."""
    missed, alarms, poses, _ = judged(shaped_case_of(seed))
    assert missed == []
    assert alarms == []
    assert poses > 70


def test_a_true_half_turn_is_harmless_and_a_raw_blank_is_not() -> None:
    found, proof = known(block(0.0))
    assert proof.verdict == "holds"
    assert "the work turned end for end" in found.harmless
    assert "a finished piece the right way round" in found.harmless
    raw = [one for one in found.wrong if one.what == "the raw blank"]
    assert raw
    assert all(one.caught_by == "touch" for one in raw)
    assert found.decided_by == "the probe"


def test_what_is_below_the_probe_and_the_eye_escapes_and_fails() -> None:
    """A hole that lies 0.1 mm aside: twice probe, slop and part variation make 0.18 mm (worked)."""
    found, proof = known(block(0.1))
    escaping = {one.way for one in found.wrong if one.caught_by == "none" and one.what == "the work"}
    assert escaping == {"turned end for end"}
    assert proof.verdict == "fails"
    assert proof.blocks_release
    assert "cut a notch" in proof.remedy


def test_a_probe_tells_half_a_millimetre_and_the_eye_does_not() -> None:
    with_probe, holds = known(block(0.5))
    assert holds.verdict == "holds"
    assert len(with_probe.touches) in (1, 2)
    without, fails = decided(block(0.5, has_probe=False, hole_mm=8.0))
    assert fails.verdict == "fails"
    assert without.touches == ()
    hard = [one for one in without.wrong if one.caught_by == "none"]
    assert {one.way for one in hard if one.what == "the work"} == {"turned end for end"}
    assert all(one.seen_mm < 2.0 for one in hard)


def test_the_card_alone_decides_where_there_is_no_probe() -> None:
    """A hole of 8 mm that lies 12 mm aside is seen from where the operator stands, 8 sin 40° = 5.1 mm high (worked)."""
    found, proof = decided(block(12.0, has_probe=False, hole_mm=8.0))
    turned = [one for one in found.wrong if one.way == "turned end for end" and one.what == "the work"]
    assert [one.caught_by for one in turned] == ["look"]
    assert turned[0].seen_mm >= 2.0
    assert turned[0].place
    is_told = all(one.caught_by == "look" for one in found.wrong if not one.is_mirrored)
    assert proof.verdict == ("holds" if is_told else "fails")


def test_the_owners_mark_tells_what_nothing_else_does_but_no_left_hand_piece() -> None:
    """The half turn of 0.1 mm that escapes above is told by the mark; a left-hand piece carries the same mark."""
    words = "pen stroke on the top, at the stop"
    found, proof = decided(block(0.1), marks=((2, words),))
    turned = [one for one in found.wrong if one.way == "turned end for end" and one.what == "the work"]
    assert [one.caught_by for one in turned] == ["mark"]
    assert (found.decided_by, found.mark, proof.verdict) == ("the mark", words, "holds")
    assert f"nothing but the mark tells {sum(one.caught_by == 'mark' for one in found.wrong)}" in proof.claim
    assert words in proof.claim
    alike = [one for one in found.wrong if one.is_mirrored and one.seen_mm < 2.0]
    assert alike
    assert all(one.caught_by != "mark" for one in found.wrong if one.is_mirrored)
    assert any("the mark tells it" in look.words for look in found.looks)
    other, fails = decided(block(0.1), marks=((1, words),))
    assert (other.mark, fails.verdict) == ("", "fails")


def test_work_from_one_clamping_back_carries_that_clampings_mark() -> None:
    marks = ((1, "a stroke"), (2, "a notch"))
    assert is_unmarked(RAW, 1, marks)
    assert is_unmarked(BACK, 2, marks)
    assert not is_unmarked(RAW, 1, marks[1:])
    assert not is_unmarked(BACK, 1, marks[1:])


@pytest.mark.parametrize("what", [AHEAD, f"{AFTER} 3"])
def test_work_that_has_been_through_here_carries_the_mark_already(what: str) -> None:
    assert is_unmarked(what, 1, ((2, "a notch"),))
    assert not is_unmarked("the work", 1, ((2, "a notch"),))


def test_work_that_has_been_through_a_clamping_is_put_in_again() -> None:
    """The first clamping's jaws open 1 mm: everything is refused there, by name."""
    found, _ = decided(block(0.5), number=1)
    assert AHEAD in found.refused


def test_nothing_is_shown_of_jaws_that_nobody_planned() -> None:
    planned, holds = known(block(0.5))
    unplanned, unknown = decided(block(0.5), needs_form=True)
    assert (planned.decided_by, holds.verdict) == ("the probe", "holds")
    assert (unplanned.decided_by, unknown.verdict) == ("nothing", "not shown")
    assert "blank_thickness_mm" in unknown.decides


def test_a_mark_of_no_clamping_is_told() -> None:
    kept, lost = prove_marks(((2, "a stroke"),), 2), prove_marks(((2, "a stroke"), (3, "a notch")), 2)
    assert [p.verdict for p in (*kept, *lost)] == ["holds", "fails"]
    assert "no clamping 3 of 2" in lost[0].claim
    assert prove_marks((), 2) == ()


def test_left_hand_and_sister_pieces_are_looked_at() -> None:
    mesh = (manifold3d.Manifold.cube((60.0, 30.0, 14.0)) - manifold3d.Manifold.cube((8.0, 8.0, 8.0))).to_mesh64()
    sister = Sister(
        number="EX-9", vertices_mm=np.asarray(mesh.vert_properties)[:, :3], triangles=np.asarray(mesh.tri_verts)
    )
    found, _ = decided(block(3.0), sisters=(sister,))
    assert any(one.part == "EX-9" for one in found.wrong)
    assert any(one.is_mirrored and one.what == "a left-hand piece" for one in found.wrong)
    grouped = sorted(at for look in found.looks for at in look.loads)
    assert grouped == list(range(len(found.wrong)))


def test_holes_that_are_not_alike_are_wrong_by_as_much() -> None:
    """A hole that lies 0.5 mm aside leaves a sickle 0.5 mm thick (worked), on either side of the half turn."""
    found, _ = known(block(0.5))
    turned = [one for one in found.wrong if one.way == "turned end for end" and one.what == "the work"]
    assert [one.wrong_mm for one in turned] == pytest.approx([0.5], abs=0.02)


def test_doubt_of_two_readings_is_twice_probe_and_slop() -> None:
    """0.01 mm of the probe and 0.03 mm of the place, of either piece (worked)."""
    assert Doubt(probe_mm=0.01, cut_mm=0.05, raw_mm=0.3).sure_mm() == pytest.approx(0.08)


def test_touches_are_read_as_far_aside_as_slop_and_cut_metal_lie() -> None:
    """0.03 mm of the place and 0.05 mm of what was cut (worked); a block that is a millimetre lower is told."""
    doubt = Doubt(probe_mm=0.01, cut_mm=0.05, raw_mm=0.3)
    right, lower = (
        Posed(shape=shape_of_fields(Fields.from_box(low_mm=np.zeros(3), high_mm=high, pitch_mm=0.5)), raw_mm=None)
        for high in (np.array([8.0, 8.0, 6.0]), np.array([8.0, 8.0, 5.0]))
    )
    touches, told = plan_touches(
        right, [lower], is_seen=np.array([False]), probe=PROBE, doubt=doubt, jaw_top_mm=0.0
    )  # fmt: skip
    assert len(touches) == 1
    assert told[0] == pytest.approx(1.0 - 2.0 * (0.01 + 0.03 + 0.05))
    assert [slop for _, slop in (*right.shape._above, *lower.shape._above)] == pytest.approx([0.08, 0.08])


@pytest.mark.parametrize("way", ["from above", "from the side"])
def test_a_touch_that_tells_only_at_its_exact_place_does_not_count(way: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A ball of 2 mm beside the edge of a step 5 mm high: it misses one edge, on the rim of the other it rests.

    Worked: it stands 4 mm apart where it rests and where it misses; a tenth aside both may miss and both may rest.
    Where it lies on the step altogether it stands 1 mm before where its rim rests.
    """
    side = way == "from the side"
    far, rim, over = (_step(edge, side=side) for edge in (-1.02, -0.95, 0.95))
    start, move = ((0.0, 3.0, 5.0), (0.0, 1.0, 0.0)) if side else ((0.0, 10.0, 30.0), (0.0, 0.0, -1.0))
    touch = Touch(
        from_mm=start, direction=move, expect_low_mm=0.0, expect_high_mm=0.0, is_air=False, alarm_mm=0.1,
        catches_count=1, least_mm=1.0,
    )  # fmt: skip

    def apart_mm(other: manifold3d.Manifold) -> float:
        return off_mm(touch, readings_mm(far, touch), readings_mm(other, touch))

    assert apart_mm(rim) == 0.0
    assert apart_mm(over) == pytest.approx(1.0, abs=1e-6)
    monkeypatch.setattr("loading_cases.SLOPS_MM", ((0.0, 0.0),))
    assert apart_mm(rim) == pytest.approx(4.0, abs=1e-6)


def _step(edge_mm: float, *, side: bool) -> manifold3d.Manifold:
    """What stands 5 mm farther out up to an edge along x: up to 15 mm from above, from 5 mm on from the side."""
    cube = manifold3d.Manifold.cube
    if side:
        near = cube((20.0, 20.0, 15.0)).translate((edge_mm - 20.0, 5.0, 0.0))
        return near + cube((40.0, 15.0, 15.0)).translate((-20.0, 10.0, 0.0))
    return cube((20.0, 20.0, 15.0)).translate((edge_mm - 20.0, 0.0, 0.0)) + cube((40.0, 20.0, 10.0)).translate(
        (-20.0, 0.0, 0.0)
    )


def test_truth_asks_of_another_part_what_its_own_hole_lies_off() -> None:
    """Worked: its hole lies 0.15 mm beside that of the right work, a millimetre off its twin: a wall reads 0.15 mm."""
    case = block(1.0)
    right, other = (_holed(11.0 + far) for far in (0.0, 0.15))
    pose = Brute(what=SISTER[0], turn=np.eye(3), shift_mm=np.zeros(3), apart_mm=0.15, told_mm=0.0, body=other)
    assert most_told_mm(case, right, pose) == pytest.approx(0.15, abs=0.02)


def _holed(x: float) -> manifold3d.Manifold:
    """The block, turned over, with the first of its holes elsewhere along x."""
    body = manifold3d.Manifold.cube((60.0, 30.0, 14.0)).translate((0.0, -30.0, 0.0))
    for at, y in ((x, 9.0), EVEN[1]):
        body -= manifold3d.Manifold.cylinder(40.0, 2.5, 2.5, 48).translate((at, -y, -20.0))
    return body


def test_truth_counts_no_touch_from_the_side_that_tells_only_at_its_exact_place() -> None:
    """Worked: as above, the step 2 mm; where its edge is touched across, it reads the 0.07 mm that it lies off."""
    cube = manifold3d.Manifold.cube

    def step(edge: float) -> manifold3d.Manifold:
        front = cube((edge + 20.0, 10.0, 15.0)).translate((-20.0, 8.0, 0.0))
        return front + cube((40.0, 8.5, 15.0)).translate((-20.0, 10.0, 0.0))

    told, exact = (
        best_beside_mm(step(-1.02), step(-0.95), slops_mm=slops, raw_more_mm=0.0) for slops in (SLOPS_MM, ((0.0, 0.0),))
    )
    assert told == pytest.approx(0.07, abs=0.02)
    assert exact > 0.7


def test_truth_takes_off_what_walls_that_were_never_cut_may_lie_off() -> None:
    """Worked: an end 0.5 mm farther out, less 0.15 mm for either end."""
    short, long = (manifold3d.Manifold.cube((size, 30.0, 14.0)) for size in (60.0, 60.5))
    assert best_beside_mm(short, long, slops_mm=SLOPS_MM, raw_more_mm=0.15) == pytest.approx(0.2, abs=1e-6)


def test_a_strip_narrower_than_the_cells_is_found_by_a_closer_look() -> None:
    """Two bores of 4.2 mm lie 0.5 mm apart: the ball of 2 mm falls into the one alone on a strip 0.5 mm wide (worked).

    Cells of 0.3 mm leave nothing of it once slop and what varies are taken off on either side. The ball may come down
    to 1 mm above jaws that are 4.2 mm high, 0.8 mm below the top, and leaves no room for a touch from the side: it is
    told by 0.8 mm at most, less doubts of 0.18 mm.
    """
    doubt = Doubt(probe_mm=0.01, cut_mm=0.05, raw_mm=0.3)

    def posed(x: float, *, is_close: bool) -> Posed:
        def look(low: np.ndarray, high: np.ndarray, pitch: float) -> Shape:
            own = Fields.from_box(low_mm=np.array([*low, 0.0]), high_mm=np.array([*high, 6.0]), pitch_mm=pitch)
            ends = np.array([[x, 10.0, 9.0], [x, 10.0, -1.0]])
            cut(own, pieces=(BORE,), axis=np.array([0.0, 0.0, 1.0]), starts_mm=ends[:1], ends_mm=ends[1:])
            return shape_of_fields(own)

        return Posed(
            shape=look(np.zeros(2), np.array([20.0, 20.0]), 0.3), raw_mm=None, closer=look if is_close else None
        )

    for is_close in (False, True):
        touches, told = plan_touches(
            posed(10.0, is_close=is_close), [posed(10.5, is_close=is_close)], is_seen=np.array([False]),
            probe=PROBE, doubt=doubt, jaw_top_mm=4.2,
        )  # fmt: skip
        assert [touch.direction for touch in touches] == [(0.0, 0.0, -1.0)] * is_close
    assert 0.1 < told[0] <= 0.8 - 2.0 * (0.01 + 0.03 + 0.05)


@pytest.mark.parametrize(
    ("ends", "is_used"),
    [((0.0, 0.3), True), ((-0.5, -0.1), True), ((-0.3, 0.3), False), ((0.0, UNSURE_MM + 0.1), False)],
)
def test_a_closer_look_uses_no_place_that_may_be_metal_and_may_be_air(
    ends: tuple[float, float], *, is_used: bool
) -> None:  # fmt: skip
    """Right work reads so far above the floor everywhere, the other body 2 mm above it: told beyond every doubt."""
    floor, doubt = 5.0, Doubt(probe_mm=0.01, cut_mm=0.05, raw_mm=0.3)

    def shape(low: float, high: float) -> Any:
        cells = np.zeros((81, 81))
        return SimpleNamespace(
            tops_mm=cells, low_mm=np.zeros(2), cell_mm=np.full(2, narrow.PITCH_MM), coarse_mm=0.0,
            above_mm=lambda **_: (cells + floor + low, cells + floor + high),
        )  # fmt: skip

    near = shape(*ends), shape(2.0, 2.0)
    posed = tuple(Posed(shape=one, raw_mm=None) for one in near)
    reach = narrow._reach_mm(PROBE, doubt)
    place = narrow._best(near, posed, PROBE, doubt, floor, reach)  # type: ignore[arg-type] - two of them
    assert (place is not None) == is_used
    if place is not None:
        assert place[2:] == tuple(np.maximum(np.array(ends) + floor, floor))


def test_a_third_touch_comes_only_where_two_leave_something() -> None:
    """A block 6 mm high, and bodies with a bore 2 mm deep at one of three corners each: each needs its own touch."""
    doubt = Doubt(probe_mm=0.01, cut_mm=0.05, raw_mm=0.3)
    corners = ((4.0, 4.0), (16.0, 4.0), (4.0, 16.0))

    def posed(lacking: int | None) -> Posed:
        own = Fields.from_box(low_mm=np.zeros(3), high_mm=np.array([20.0, 20.0, 6.0]), pitch_mm=0.2)
        for at, (x, y) in enumerate(corners):
            if at == lacking:
                ends = np.array([[x, y, 9.0], [x, y, 4.0]])
                cut(own, pieces=(BORE,), axis=np.array([0.0, 0.0, 1.0]), starts_mm=ends[:1], ends_mm=ends[1:])
        return Posed(shape=shape_of_fields(own), raw_mm=None)

    for count in (1, 2, 3):
        touches, told = plan_touches(
            posed(None), [posed(k) for k in range(count)], is_seen=np.zeros(count, dtype=bool), probe=PROBE,
            doubt=doubt, jaw_top_mm=1.0,
        )  # fmt: skip
        assert len(touches) == count
        assert (told > 0.0).all()
