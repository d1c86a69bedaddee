"""What is left on finished faces: in the open it counts to two hundredths, in tight inside corners it is named."""

from __future__ import annotations

import math

import msgspec
import numpy as np
import pytest
from shapes import VISE, box, cut_box, cutter, fact, solid_of, target_of

from proveout.geometry.frames import Frame
from proveout.model.moves import Moves
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.target import Target
from proveout.model.work import Blank, Clamping, NotCut, Pass, PassPlan, RemovalCheck, Tilt
from proveout.stages import removal_check
from proveout.stages.removal_check.corners import Corners, Standing, highest_of_cells
from proveout.stages.removal_check.finished import claimed

# 30 x 20 x 10, a step from x 10, y 10 on down to z 4: a sharp inside corner upright at (10, 10), two lying ones
MILL = cutter("mill 12", "end mill", 12.0, 30.0, 45.0)
SMALL = cutter("mill 4", "end mill", 4.0, 15.0, 30.0)
BALL = cutter("ball 8", "ball", 8.0, 20.0, 40.0)
BREAK = cutter("break 10", "edge break", 10.0, 8.0, 38.0, tip_angle_rad=math.pi / 2.0, tip_diameter_mm=2.0)
SHOP = (MILL, SMALL, BALL, BREAK)
UP = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
TILTED = Frame(x=(0.0, 1.0, 0.0), y=(0.0, 0.0, 1.0), z=(1.0, 0.0, 0.0), origin_mm=(3.0, -2.0, 1.0))
FINE = 0.001
SPREAD = 1.0 - math.sqrt(0.5)
BLANK = Blank(
    bar_id="none", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=(30.0, 20.0, 10.0), cut_length_mm=30.0,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0, mass_kg=0.02,
)  # fmt: skip
CLAMPING = Clamping(
    id="c1", number=1, machine_id="mill", vise_id="vise", jaws_id="toothed", surface="raw",
    frame=Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 20.0, 0.0)),
    tilts=(Tilt(id="t1", frame=UP, a_rad=0.0, c_rad=0.0),), jaw_top_mm=3.0, patch_length_mm=fact(28, 30, 30, "mm"),
    patch_height_mm=fact(2, 3, 3, "mm"), gap_mm=20.0, grip_faces=(), seat_text="", zero_text="", makes_faces=(),
    makes_holes=(), removes_grip=False, jaw_middle_mm=15.0,
)  # fmt: skip
WALL_X, WALL_Y, FLOOR = "plane +x 10.000", "plane +y 10.000", "plane +z 4.000"


@pytest.fixture(scope="module")
def target() -> Target:
    return target_of(solid_of(cut_box(box(30, 20, 10), (10, 10, 4), (31, 21, 11))))


def fine(points: np.ndarray) -> np.ndarray:
    """So deep that only rounding is left out."""
    return np.full(len(points), FINE)


def face(target: Target, name: str) -> str:
    return next(f for f in target.face_ids if f.startswith(name))


@pytest.mark.parametrize("tool", [MILL, SMALL])
def test_an_upright_corner_keeps_a_mill_out_as_far_as_its_radius_says(target: Target, tool: Cutter) -> None:
    """Worked: the disc of radius R that touches both walls comes to R (1 - sqrt 1/2) from each along the diagonal."""
    reach = tool.diameter_mm / 2.0 * SPREAD
    points = np.array([[10.0 + d, 10.0 + d, 6.0] for d in (0.3 * reach, reach - 0.02, reach + 0.02, 2.0 * reach)])
    kept_out = Corners(target).cannot_enter(points, [Standing(cutter=tool, frame=UP)], fine(points))
    assert kept_out.tolist() == [True, True, False, False]


def test_metal_along_a_straight_wall_stands_in_no_corner(target: Target) -> None:
    points = np.array([[10.03, 17.0, 6.0], [18.0, 10.05, 8.0], [10.03, 17.0, 4.002], [20.0, 15.0, 4.03]])
    corners = Corners(target)
    assert not corners.cannot_enter(points, [Standing(cutter=MILL, frame=UP)], fine(points)).any()
    assert not corners.cannot_enter(points[:1], [], fine(points[:1])).any()
    # what one of two cutters can take is left by nobody's radius
    tight = np.array([[10.0 + 3.0 * SPREAD, 10.0 + 3.0 * SPREAD, 6.0]])
    both = [Standing(cutter=MILL, frame=UP), Standing(cutter=SMALL, frame=UP)]
    assert corners.cannot_enter(tight, both[:1], fine(tight)).all()
    assert not corners.cannot_enter(tight, both, fine(tight)).any()


def test_a_lying_corner_keeps_a_ball_out_and_a_mill_only_from_the_side(target: Target) -> None:
    """Worked: a ball of R4 leaves R (1 - sqrt 1/2) at the foot of a wall; seen along x that is an upright corner."""
    reach = 4.0 * SPREAD
    points = np.array([[10.0 + d, 17.0, 4.0 + d] for d in (0.5 * reach, reach - 0.05, reach + 0.05)])
    corners = Corners(target)
    assert corners.cannot_enter(points, [Standing(cutter=BALL, frame=UP)], fine(points)).tolist() == [True, True, False]
    assert not corners.cannot_enter(points, [Standing(cutter=MILL, frame=UP)], fine(points)).any()
    beside = np.array([[20.0, 10.0 + d, 4.0 + d] for d in (6.0 * SPREAD - 0.02, 6.0 * SPREAD + 0.02)])
    assert corners.cannot_enter(beside, [Standing(cutter=MILL, frame=TILTED)], fine(beside)).tolist() == [True, False]


def test_what_a_cone_leaves_is_never_called_a_corner(target: Target) -> None:
    points = np.array([[10.1, 10.1, 6.0]])
    assert not Corners(target).cannot_enter(points, [Standing(cutter=BREAK, frame=UP)], fine(points)).any()


def test_of_each_cell_the_highest_point_is_asked_first() -> None:
    points = np.array([[0.01, 0.01, 0.01], [0.02, 0.02, 0.02], [5.0, 5.0, 5.0], [5.01, 5.01, 5.01]])
    assert highest_of_cells(points, np.array([0.03, 0.05, 0.09, 0.04])).tolist() == [2, 1]


def planned(target: Target, off_mm: float, *, not_cut: tuple[str, ...] = (), low_mm: float = 4.0) -> PassPlan:
    """The step milled with Ø12 in levels, `off_mm` from both walls."""
    x, y = 16.0 + off_mm, 16.0 + off_mm
    path = [(40.0, 30.0, 30.0, 0.0), (40.0, 30.0, low_mm, 0.0), (40.0, y, low_mm, 20.0), (x, y, low_mm, 20.0)]
    path += [
        (x, 30.0, low_mm, 20.0),
        (22.0, 30.0, low_mm, 20.0),
        (22.0, 20.0, low_mm, 20.0),
        (40.0, 20.0, low_mm, 20.0),
    ]
    array = np.array(path)
    moves = Moves(points=array[:, :3].copy(), feed_mm_per_s=array[:, 3].copy())
    made = Pass(
        id="c1/t1/mill 12/finish wall/0", kind="finish wall", clamping_id="c1", tilt_id="t1", cutter_id="mill 12",
        feature="", face_ids=tuple(face(target, f) for f in (WALL_X, WALL_Y, FLOOR)), speed_rad_per_s=300.0,
        tooth_feed_mm=0.06, radial_mm=1.0, axial_mm=1.0, moves_digest=moves.digest, moves_count=len(array),
        cut_length_mm=10.0,
    )  # fmt: skip
    missing = tuple(NotCut(clamping_id="c1", subject=f, face_ids=(f,), reason="left for the test") for f in not_cut)
    return PassPlan(passes=(made,), not_cut=missing, moves={moves.digest: moves})


def replayed(target: Target, plan: PassPlan) -> Decision[RemovalCheck]:
    found = removal_check.decide(
        blank=BLANK, target=target, clampings=(CLAMPING,), plan=plan, cutters=SHOP, vises=(VISE,), coarse_ratio=2.0,
        run=Run(),
    )  # fmt: skip
    return Decision(value=found.value.check, proofs=found.proofs)


def proof_of(found: Decision[RemovalCheck], slug: str) -> Proof:
    return next(p for p in found.proofs if p.id.startswith(f"removal check:{slug}"))


def test_a_finished_wall_three_hundredths_off_fails_though_every_face_is_within_five(target: Target) -> None:
    """Worked: with both walls 0.03 off, the circle in the corner could go 0.03 sqrt 2 farther, and 0.003 each way."""
    found = replayed(target, planned(target, 0.03))
    proof = proof_of(found, "finished")
    assert (proof.verdict, proof.limit, proof.blocks_release) == ("fails", 0.02, True)
    assert proof.subject in {face(target, WALL_X), face(target, WALL_Y)}
    assert 0.03 * math.sqrt(2.0) <= float(proof.found_high or 0.0) <= 0.033 * math.sqrt(2.0) + 0.002


def test_a_true_wall_holds_and_its_sharp_corner_is_named_with_the_cutter_and_still_blocks(target: Target) -> None:
    found = replayed(target, planned(target, 0.0))
    assert proof_of(found, "finished").verdict == "holds"
    by_id = {f.face_id: f for f in found.value.faces}
    for name in (WALL_X, WALL_Y):
        one = by_id[face(target, name)]
        assert one.finished_by == ("mill 12",)
        assert one.open_mm <= 0.02
        # on the field the corner is known to a ray: it is at most what the circle leaves
        assert 6.0 * SPREAD - 0.15 < one.corner_mm <= 6.0 * SPREAD + 1e-3
        named = proof_of(found, f"leftover {one.face_id}")
        assert named.verdict == "fails"
        assert named.claim.endswith("too tight for mill 12")


def test_a_face_that_the_plan_says_it_does_not_cut_is_not_called_finished(target: Target) -> None:
    wall = face(target, WALL_X)
    found = replayed(target, planned(target, 0.03, not_cut=(wall,)))
    assert next(f for f in found.value.faces if f.face_id == wall).finished_by == ()
    assert proof_of(found, "finished").subject != wall
    frames = {("c1", "t1"): UP}
    rough = planned(target, 0.0)
    own = rough.passes[0]
    only = PassPlan(passes=(msgspec.structs.replace(own, kind="rough"),), not_cut=(), moves=rough.moves)
    assert claimed(only, cutters={c.id: c for c in SHOP}, frames=frames) == {}
