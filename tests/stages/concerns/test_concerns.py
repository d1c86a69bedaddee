"""Each concern for the designer has a part that raises it and a near miss that does not.

Sizes are worked: the limit of each stands beside the two parts that lie on either side of it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import build123d as bd
import msgspec
import pytest
from shapes import CUTTERS, box, cut_box, cutter, drilled, fact, solid_of

from proveout.model.concerns import Concern
from proveout.model.job import Coat, Size
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.work import Pass
from proveout.stages import concerns, survey
from proveout.stages.concerns.coat import edge_radius_mm

Found = Decision[tuple[Concern, ...]]


def decided(
    shape: Any,
    *,
    coat: Coat | None = None,
    masked: int = 0,
    threads: tuple[str, ...] = (),
    cutters: tuple[Cutter, ...] = CUTTERS,
    passes: tuple[Pass, ...] = (),
    seconds: dict[str, float] | None = None,
) -> Found:
    solid = solid_of(getattr(shape, "wrapped", shape))
    found = survey.decide(solid=solid, run=Run()).value
    found = survey.with_threads(found, tuple(Size(balloon=1, text=text) for text in threads))
    ids = [face.id for face in solid.faces]
    return concerns.decide(
        solid=solid, survey=found, cutters=cutters, coat=coat, coated=frozenset(ids[masked:]), edge_break_mm=0.5,
        passes=passes, seconds_by_pass=seconds or {}, run=Run(),
    )  # fmt: skip


def of(found: Found, kind: str) -> list[Concern]:
    own = [one for one in found.value if one.kind == kind]
    assert all(one.face_ids and one.change for one in own)
    proofs = [p for p in found.proofs if p.id.startswith(f"concerns:{kind}:")]
    assert all(not p.blocks_release for p in proofs)
    if proofs:
        assert (proofs[0].verdict == "holds") == (own == []), "the proof is that of the weakest"
    else:
        assert own == []
    return own


def pocket(*, radius: float, deep: float) -> Any:
    """A block 60 x 40 x 30 with a pocket 20 x 30 of that corner radius and depth from above."""
    tool = bd.Solid.make_box(30, 20, deep + 1.0, bd.Plane((15, 10, 30.0 - deep)))
    if radius:
        tool = tool.fillet(radius, [e for e in tool.edges() if abs(e.length - deep - 1.0) < 1e-6])
    return bd.Solid.make_box(60, 40, 30) - tool


def test_a_corner_that_no_mill_fits_is_named_with_the_one_that_would() -> None:
    """Of the mills Ø12, 6 and 4 with 38, 25 and 20 out, only Ø12 and Ø6 reach 22 deep: R3 is the least."""
    (tight,) = of(decided(pocket(radius=2.5, deep=22.0)), "corner")
    assert (tight.found, tight.limit, tight.unit) == (2.5, 3.0, "mm")
    assert "the widest cutter that fits its corners is Ø5" in tight.text
    assert of(decided(pocket(radius=3.0, deep=22.0)), "corner") == []
    assert of(decided(pocket(radius=2.5, deep=19.0)), "corner") == [], "Ø4 reaches 20 deep"


def test_a_sharp_corner_has_radius_nought_and_a_window_counts_too() -> None:
    (sharp,) = of(decided(cut_box(box(60, 40, 20), (10, 10, 14), (50, 30, 21))), "corner")
    assert (sharp.found, sharp.limit) == (0.0, 2.0)
    (through,) = of(decided(cut_box(box(60, 40, 10), (10, 10, -1), (50, 30, 21))), "corner")
    assert through.subject.startswith("window")
    assert of(decided(cut_box(box(60, 40, 20), (20, -1, 12), (26.6, 41, 21))), "corner") == [], "no corner upright"


def test_a_pocket_deeper_than_any_mill_reaches_has_no_limit_to_tell() -> None:
    short = (cutter("mill 6", "end mill", 6.0, 18.0, 20.0),)
    found = decided(pocket(radius=4.0, deep=22.0), cutters=short)
    (deep,) = of(found, "corner")
    assert deep.limit is None
    assert [p.verdict for p in found.proofs if p.id.startswith("concerns:corner")] == ["not shown"]


@pytest.mark.parametrize(("thickness", "count"), [(2.4, 1), (2.6, 0)])
def test_a_wall_thinner_than_an_eighth_of_its_height_is_thin(thickness: float, count: int) -> None:
    """Worked: between a pocket 20 deep and the side a wall 20 high stands, so 2.5 is the limit."""
    found = of(decided(cut_box(box(60, 40, 30), (10, thickness, 10), (50, 30, 31))), "thin wall")
    assert len(found) == count
    for one in found:
        assert (one.found, one.limit, len(one.face_ids)) == (pytest.approx(thickness), pytest.approx(2.5), 2)
        assert one.is_practice


@pytest.mark.parametrize(("thickness", "count"), [(0.9, 1), (1.1, 0)])
def test_a_bore_close_to_a_side_leaves_a_thin_wall(thickness: float, count: int) -> None:
    shape = drilled(box(60, 40, 30), at=(20, 3.0 + thickness, -1), along=(0, 0, 1), dia=6.0, deep=40)
    found = of(decided(shape), "thin wall")
    assert len(found) == count
    assert all(one.found == pytest.approx(thickness, abs=1e-6) for one in found)


@pytest.mark.parametrize(("thickness", "count"), [(0.9, 1), (1.1, 0)])
def test_a_floor_thinner_than_a_fortieth_of_its_width_is_thin(thickness: float, count: int) -> None:
    """Worked: 40 wide, so 1.0 is the limit, and below 40 the same millimetre."""
    found = of(decided(cut_box(box(80, 60, 12), (15, 10, thickness), (65, 50, 13))), "thin floor")
    assert len(found) == count
    assert all((one.found, one.limit) == (pytest.approx(thickness), pytest.approx(1.0)) for one in found)


@pytest.mark.parametrize(("deep", "count"), [(51.0, 1), (49.0, 0)])
def test_a_hole_deeper_than_ten_times_its_diameter_is_deep(deep: float, count: int) -> None:
    found = of(decided(drilled(box(30, 30, 60), at=(15, 15, 60), along=(0, 0, -1), dia=5.0, deep=deep)), "deep hole")
    assert [one.found for one in found] == [pytest.approx(deep / 5.0)] * count


def test_the_depth_of_a_stepped_hole_is_that_of_its_narrow_part() -> None:
    """55 deep in all, but its Ø5 begins 10 below the mouth: 45, nine times its diameter."""
    shape = drilled(box(30, 30, 60), at=(15, 15, 60), along=(0, 0, -1), dia=5.0, deep=55.0)
    assert of(decided(drilled(shape, at=(15, 15, 60), along=(0, 0, -1), dia=10.0, deep=10.0)), "deep hole") == []


@pytest.mark.parametrize(("deep", "count"), [(18.5, 1), (17.5, 0)])
def test_a_thread_deeper_than_three_times_its_diameter_is_deep(deep: float, count: int) -> None:
    shape = drilled(box(30, 30, 40), at=(15, 15, 40), along=(0, 0, -1), dia=5.0, deep=deep)
    found = of(decided(shape, threads=("M6 6H",)), "deep thread")
    assert [(one.found, one.subject) for one in found] == [
        (pytest.approx(deep / 6.0, abs=1e-4), "thread M6 6H in hole Ø5")
    ] * count
    assert of(decided(shape), "deep thread") == [], "no thread is written"


HARD = Coat(process="hard coat", thickness_mm=fact(0.04, 0.05, 0.06, "mm"), build_up_ratio=fact(0.45, 0.5, 0.55))
SOFT = Coat(process="clear coat", thickness_mm=fact(0.01, 0.01, 0.01, "mm"), build_up_ratio=fact(0.3, 0.3, 0.35))


def rounded(radius: float) -> Any:
    solid = bd.Solid.make_box(60, 40, 20)
    return solid.fillet(radius, solid.edges())


def test_the_radius_that_a_coat_wants_is_the_larger_of_both_rules() -> None:
    """As quoted: ten times the thickness, 50 µm want 0.5 mm; of a hard coat 0.030 in, 0.762 mm."""
    assert edge_radius_mm(thickness_mm=0.05, is_hard=False) == pytest.approx(0.5)
    assert edge_radius_mm(thickness_mm=0.05, is_hard=True) == pytest.approx(0.762)
    assert edge_radius_mm(thickness_mm=0.1, is_hard=True) == pytest.approx(1.0)


def test_edges_rounded_enough_for_the_coat_are_none_and_smaller_ones_are() -> None:
    assert of(decided(rounded(0.8), coat=HARD), "coat edge") == []
    (small,) = of(decided(rounded(0.7), coat=HARD), "coat edge")
    assert (small.found, small.limit, small.source) == (pytest.approx(0.7), pytest.approx(0.762), "hard_coat_edges")
    assert of(decided(rounded(0.2), coat=SOFT), "coat edge") == []
    assert of(decided(rounded(0.2)), "coat edge") == [], "no coat"


def test_a_chamfer_is_no_radius_however_large() -> None:
    solid = bd.Solid.make_box(60, 40, 20)
    found = of(decided(solid.chamfer(2.0, 2.0, solid.edges()), coat=HARD), "coat edge")
    assert [(one.subject, one.found) for one in found] == [("chamfer 2", 0.0)]
    assert "a chamfer is no radius" in found[0].text


def test_sharp_edges_are_counted_with_their_length_and_not_where_the_coat_is_masked() -> None:
    """Worked: a block 60 x 40 x 20 has twelve edges, 4 (60 + 40 + 20) long."""
    (sharp,) = of(decided(box(60, 40, 20), coat=HARD), "coat edge")
    assert sharp.text.startswith("12 outside edges under the coat, 480 mm together")
    (fewer,) = of(decided(box(60, 40, 20), coat=HARD, masked=1), "coat edge")
    assert fewer.text.startswith("8 outside edges")
    assert of(decided(box(60, 40, 20), coat=HARD, masked=6), "coat edge") == []


@pytest.mark.parametrize(("deep", "count"), [(26.0, 1), (23.0, 0)])
def test_a_slot_deeper_than_four_of_the_widest_mill_wants_a_long_one(deep: float, count: int) -> None:
    """Worked: a slot 6 wide takes Ø6 at most: 24 deep is the limit."""
    found = of(decided(cut_box(box(60, 40, 40), (20, -1, 40 - deep), (26, 41, 41))), "long cutter")
    assert [one.found for one in found] == [pytest.approx(deep / 6.0, abs=1e-4)] * count


def test_the_depth_of_a_recess_in_a_recess_counts_from_the_outer_mouth() -> None:
    """A slot 6 wide and 14 deep in the floor of a pocket 12 deep: 26 from above, 4.33 times Ø6."""
    shape = cut_box(box(60, 40, 40), (10, 10, 28), (50, 30, 41))
    inner = cut_box(shape, (20, 17, 14), (40, 23, 41))
    assert [round(one.found, 2) for one in of(decided(inner), "long cutter")] == [4.33]


MENDED: dict[str, tuple[Callable[[float], Any], float, str]] = {
    "corner": (lambda v: pocket(radius=v, deep=22.0), 2.5, r"R([\d.]+)"),
    "thin wall": (lambda v: cut_box(box(60, 40, 35), (10, v, 10), (50, 30, 36)), 3.0, r"make it ([\d.]+) thick"),
    "thin floor": (lambda v: cut_box(box(80, 60, 12), (15, 5, v), (65, 50, 13)), 0.9, r"make it ([\d.]+) thick"),
    "deep hole": (
        lambda v: drilled(box(30, 30, 60), at=(15, 15, 60), along=(0, 0, -1), dia=4.7625, deep=v), 50.0,
        r"make it ([\d.]+) deep",
    ),
    "deep thread": (
        lambda v: drilled(box(30, 30, 40), at=(15, 15, 40), along=(0, 0, -1), dia=5.0, deep=v), 19.0,
        r"drill it ([\d.]+) deep",
    ),
    "coat edge": (rounded, 0.7, r"R([\d.]+)"),
    "long cutter": (
        lambda v: cut_box(box(60, 40, 40), (20, -1, 40 - v), (27.938, 41, 41)), 35.0, r"make it ([\d.]+) deep",
    ),
}  # fmt: skip
"""Of each kind a part by the size that is too small or too large, that size, and where the change says another.

Limits that end on no hundredth, worked: a wall 25 high 3.125, a floor 45 wide 1.125, Ø4.7625 47.625 deep, a slot 7.938
wide 31.752 deep, a hard coat 0.762.
"""


@pytest.mark.parametrize("kind", MENDED)
def test_a_part_made_as_the_change_says_raises_the_concern_no_more(kind: str) -> None:
    made, size, says = MENDED[kind]
    more: dict[str, Any] = {"coat": HARD} if kind == "coat edge" else {}
    more |= {"threads": ("M6 6H",)} if kind == "deep thread" else {}
    (one,) = of(decided(made(size), **more), kind)
    told = re.search(says, one.change)
    assert told is not None, one.change
    assert of(decided(made(float(told[1])), **more), kind) == []
    assert abs(float(told[1]) / size - 1.0) < 0.33, "no more of a change than it takes"


def near_miss(shift: float) -> Any:
    """A plate with a hole at either end, the second out of its mirror place by `shift`."""
    shape = drilled(box(60, 40, 12), at=(10, 20, -1), along=(0, 0, 1), dia=8.0, deep=20)
    return drilled(shape, at=(50 + shift, 20, -1), along=(0, 0, 1), dia=8.0, deep=20)


@pytest.mark.parametrize(("shift", "is_near"), [(0.0, False), (0.5, True), (2.0, True), (4.0, False)])
def test_a_part_that_all_but_falls_on_itself_is_named(shift: float, is_near: bool) -> None:  # noqa: FBT001
    found = of(decided(near_miss(shift)), "near symmetry")
    ends = [one for one in found if one.subject in ("turned 180° about z", "turned 180° about y")]
    assert len(ends) == (2 if is_near else 0)
    for one in ends:
        assert one.found == pytest.approx(shift, abs=0.05 * shift + 0.02), "how far a hole is from its mirror place"
        assert "hole Ø8 through 12" in one.text
    assert all(one.subject != "turned 180° about x" for one in found), "that turn is a true symmetry"


def test_minutes_are_those_of_the_passes_that_cut_the_faces_or_not_shown() -> None:
    shape = pocket(radius=2.5, deep=22.0)
    (bare,) = of(decided(shape), "corner")
    assert bare.seconds is None
    one = Pass(
        id="a", kind="finish wall", clamping_id="", tilt_id="", cutter_id="", feature="", face_ids=bare.face_ids,
        speed_rad_per_s=1.0, tooth_feed_mm=0.1, radial_mm=1.0, axial_mm=1.0, moves_digest="", moves_count=1,
        cut_length_mm=1.0,
    )  # fmt: skip
    other = msgspec.structs.replace(one, id="b", face_ids=("another face",))
    (timed,) = of(decided(shape, passes=(one, other), seconds={"a": 90.0, "b": 33.0}), "corner")
    assert timed.seconds == pytest.approx(90.0)


def test_two_holes_alike_are_one_concern() -> None:
    shape = box(60, 60, 60)
    for x in (10, 30):
        shape = drilled(shape, at=(x, 15, 60), along=(0, 0, -1), dia=4.0, deep=50.0)
    (both,) = of(decided(shape), "deep hole")
    assert len(both.face_ids) == 4
