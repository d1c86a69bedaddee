"""Moves written by hand on a small block: what is left, cut too deep or struck is found and named."""

from __future__ import annotations

import math
from itertools import pairwise

import manifold3d
import msgspec
import numpy as np
import pytest
from shapes import CUTTERS, MILL, VISE, box, cut_box, cutter, drilled, fact, solid_of, target_of

from proveout.geometry.frames import Frame
from proveout.model.bodies import Bed, Head, Table
from proveout.model.cutter_pieces import cutting_pieces
from proveout.model.moves import Moves
from proveout.model.proof import Decision, MoveAt, Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine, Vise
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.model.work import Blank, Clamping, Pass, PassCut, PassKind, PassPlan, RemovalCheck, Tilt
from proveout.quantities.errors import Interrupted
from proveout.stages import removal_check
from proveout.stages.removal_check.replay import replay_pass

# the part: 30 x 20 x 10, an island 20 x 10 from z 4 up, a blind hole 5 mm wide from z 10 down to z 2
ISLAND = ((5.0, 5.0, 4.0), (25.0, 15.0, 10.0))
FLAT_DRILL = cutter("flat drill 5", "counterbore", 5.0, 20.0, 40.0)
LONG_HOLDER = cutter("short 12", "end mill", 12.0, 4.0, 5.0)
TAP = cutter("tap M6", "tap", 6.0, 20.0, 40.0, pitch_mm=1.0)
SHOP = (*CUTTERS, FLAT_DRILL, LONG_HOLDER, TAP)
BY_ID = {c.id: c for c in SHOP}
BLANK_MM3, CHIPS_MM3 = 30 * 20 * 11, 600 + 400 * 6 + math.pi / 4 * 25 * 8
Move = tuple[float, float, float, float]  # x, y, z, feed in mm/s; feed 0 is rapid
Program = list[tuple[PassKind, str, list[Move]]]

FACE: list[Move] = [(-30, 10, 30, 0), (-30, 10, 10, 0), (60, 10, 10, 50), (60, 10, 30, 0)]


def contour(z: float, x_low: float = -1.0) -> list[Move]:
    """Round the island with a Ø12 mill: 6 mm outside its walls."""
    return [
        (-10, -10, 30, 0), (-10, -10, z, 0), (x_low, -1, z, 20), (31, -1, z, 20), (31, 21, z, 20), (x_low, 21, z, 20),
        (x_low, -1, z, 20), (x_low, -10, z, 20), (x_low, -10, 30, 0),
    ]  # fmt: skip


def down(z: float, x: float = 15.0, y: float = 10.0) -> list[Move]:
    return [(x, y, 30, 0), (x, y, 11, 0), (x, y, z, 5), (x, y, 30, 0)]


CLEAN: Program = [
    ("face", "face 50", FACE), ("finish wall", "mill 12", contour(4.0)), ("drill", "flat drill 5", down(2.0))
]  # fmt: skip
HELD = msgspec.structs.replace(
    VISE, bed=Bed(length_mm=200.0, width_mm=100.0, behind_mm=110.0, below_mm=30.0, height_mm=50.0)
)
MACHINE = msgspec.structs.replace(
    MILL, head=Head(nose_diameter_mm=80.0, nose_length_mm=60.0),
    table=Table(shape="rectangular", size_mm=(600.0, 400.0), thickness_mm=40.0),
)  # fmt: skip
BLANK = Blank(
    bar_id="none", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=(30.0, 20.0, 11.0), cut_length_mm=30.0,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0, mass_kg=0.02,
)  # fmt: skip
UP = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 20.0, 0.0))
TIP_UP = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
CLAMPING = Clamping(
    id="c1", number=1, machine_id="mill", vise_id="vise", jaws_id="toothed", surface="raw", frame=UP,
    tilts=(Tilt(id="t1", frame=TIP_UP, a_rad=0.0, c_rad=0.0),), jaw_top_mm=3.0, patch_length_mm=fact(28, 30, 30, "mm"),
    patch_height_mm=fact(2, 3, 3, "mm"), gap_mm=20.0, grip_faces=(), seat_text="", zero_text="", makes_faces=(),
    makes_holes=(), removes_grip=False, jaw_middle_mm=15.0,
)  # fmt: skip


@pytest.fixture(scope="module")
def part() -> Solid:
    shape = cut_box(box(30, 20, 10), (-1, -1, 4), (5, 21, 11))
    shape = cut_box(shape, (25, -1, 4), (31, 21, 11))
    shape = cut_box(cut_box(shape, (4, -1, 4), (26, 5, 11)), (4, 15, 4), (26, 21, 11))
    return solid_of(drilled(shape, at=(15, 10, 2), along=(0, 0, 1), dia=5, deep=9))


def planned(program: Program) -> PassPlan:
    passes, moves = [], {}
    for number, (kind, cutter_id, path) in enumerate(program):
        array = np.array(path, dtype=float)
        own = Moves(points=array[:, :3].copy(), feed_mm_per_s=array[:, 3].copy())
        moves[own.digest] = own
        passes.append(
            Pass(
                id=f"c1/t1/{cutter_id}/{kind}/{number}", kind=kind, clamping_id="c1", tilt_id="t1", cutter_id=cutter_id,
                feature="", face_ids=(), speed_rad_per_s=300.0, tooth_feed_mm=0.06, radial_mm=1.0, axial_mm=1.0,
                moves_digest=own.digest, moves_count=len(array), cut_length_mm=10.0,
            )
        )  # fmt: skip
    return PassPlan(passes=tuple(passes), not_cut=(), moves=moves)


def replayed(
    part: Solid,
    program: Program,
    *,
    target: Target | None = None,
    coarse: float = 2.0,
    vise: Vise = HELD,
    machine: Machine = MACHINE,
) -> Decision[RemovalCheck]:
    found = removal_check.decide(
        blank=BLANK, target=target or target_of(part), clampings=(CLAMPING,), plan=planned(program), cutters=SHOP,
        vises=(vise,), machines=(machine,), coarse_ratio=coarse, run=Run(),
    )  # fmt: skip
    return Decision(value=found.value.check, proofs=found.proofs)


def broken(found: Decision[RemovalCheck]) -> dict[str, Proof]:
    """Proofs that do not hold, by the last part of their id."""
    return {p.id.removeprefix("removal check:"): p for p in found.proofs if p.verdict != "holds"}


@pytest.fixture(scope="module")
def clean(part: Solid) -> Decision[RemovalCheck]:
    return replayed(part, CLEAN)


def test_a_clean_program_gives_only_holds(clean: Decision[RemovalCheck]) -> None:
    assert broken(clean) == {}
    assert all(p.blocks_release for p in clean.proofs)
    assert {p.id for p in clean.proofs} == {
        f"removal check:{slug}"
        for slug in ("gouge", "leftover within", "balance", "rapid in metal", "shank and holder", "jaws", "bodies")
    }


def test_chips_move_by_move_are_the_volumes_counted_by_hand(clean: Decision[RemovalCheck]) -> None:
    """Worked: facing 30 x 20 x 1, contour (30 x 20 - 20 x 10) x 6, hole pi/4 5^2 8."""
    face, rim, hole = (c.removed_mm3 for c in clean.value.passes)
    assert face == pytest.approx(600.0, rel=1e-3)
    assert rim == pytest.approx(2400.0, rel=2e-3)
    # a Ø5 hole on rays 0.2 mm apart: its area is known to a few parts in a thousand
    assert hole == pytest.approx(157.08, rel=1e-2)
    assert clean.value.target_mm3 == pytest.approx(BLANK_MM3 - CHIPS_MM3, rel=1e-6)
    assert clean.value.balance_ratio < 2e-3


def by_booleans(program: Program, part: Solid) -> tuple[float, float, float]:
    """Chips, left-over and gouge by hulls of swept cutters and mesh booleans, circles of 256 corners by area."""
    turn = 2.0 * math.pi * np.arange(256) / 256
    swell = math.sqrt(2.0 * math.pi / (256 * math.sin(2.0 * math.pi / 256)))
    sweeps = []
    for _, cutter_id, path in program:
        for piece in cutting_pieces(BY_ID[cutter_id]):
            ring = np.column_stack([swell * np.cos(turn), swell * np.sin(turn), 0.0 * turn])
            shape = np.vstack(
                [
                    ring * piece.r_low_mm + [0, 0, piece.z_low_mm],
                    ring * piece.r_high_mm + [0, 0, piece.z_high_mm],
                ]
            )
            for start, end in pairwise(path):
                if end[3] > 0.0:
                    sweeps.append(manifold3d.Manifold.hull_points(np.vstack([shape + start[:3], shape + end[:3]])))
    block = manifold3d.Manifold.cube(BLANK.high_mm)
    cut = manifold3d.Manifold.batch_boolean(sweeps, manifold3d.OpType.Add)
    left = block - cut
    mesh = manifold3d.Mesh(part.vertices_mm.astype(np.float32), part.triangles.astype(np.uint32))
    mesh.merge()
    wanted = manifold3d.Manifold(mesh)
    assert wanted.status() == manifold3d.Error.NoError
    return block.volume() - left.volume(), (left - wanted).volume(), (wanted - left).volume()


FAULTY: Program = [
    ("face", "face 50", FACE), ("finish wall", "mill 12", contour(3.5, x_low=-0.6)), ("drill", "flat drill 5", down(6))
]  # fmt: skip


def test_blank_and_gouge_are_part_chips_and_leftover_as_booleans_of_meshes_say(part: Solid) -> None:
    """0.5 mm too deep, 0.4 mm into a wall, a hole 4 mm too shallow: every term differs from zero."""
    found = replayed(part, FAULTY, coarse=1.0).value
    chips, leftover, gouge = by_booleans(FAULTY, part)
    assert gouge > 200.0
    assert leftover > 75.0
    assert found.chips_mm3 == pytest.approx(chips, abs=5e-4 * chips)
    assert found.leftover_mm3 == pytest.approx(leftover, abs=5e-4 * chips)
    assert found.gouge_mm3 == pytest.approx(gouge, abs=5e-4 * chips)
    error = found.blank_mm3 + found.gouge_mm3 - found.target_mm3 - found.chips_mm3 - found.leftover_mm3
    # the ratio is the worst of three balances, the totals are their means
    assert abs(error) / found.chips_mm3 <= found.balance_ratio + 1e-6
    assert found.balance_ratio < 5e-4


@pytest.mark.parametrize(
    ("path", "face"), [(contour(3.95), "plane +z 4.000"), (contour(4.0, x_low=-0.95), "plane -x 5.000")]
)
def test_a_gouge_of_a_twentieth_is_found_with_its_face_and_depth(part: Solid, path: list[Move], face: str) -> None:
    found = broken(replayed(part, [CLEAN[0], ("finish wall", "mill 12", path), CLEAN[2]]))
    assert set(found) == {"gouge"}
    assert found["gouge"].verdict == "fails"
    assert found["gouge"].subject.startswith(face)
    assert found["gouge"].found_high == pytest.approx(0.05, abs=1e-4)
    assert found["gouge"].limit == 0.01
    move = found["gouge"].basis.move
    assert move is not None
    assert found["gouge"].subject.endswith(f", cut by c1/t1/mill 12/finish wall/1, move {move.row}")
    # the floor by any move on it, the wall by the one along it
    assert move.row in (range(2, 8) if face[6:8] == "+z" else (6,))


def test_metal_left_on_a_face_fails_and_names_the_face_and_its_height(part: Solid) -> None:
    """The floor round the island keeps 0.3 mm; so do the walls along it, over its height, and no other face."""
    found = replayed(part, [CLEAN[0], ("finish wall", "mill 12", contour(4.3)), CLEAN[2]])
    over = {s: p for s, p in broken(found).items() if s.startswith("leftover")}
    floors = [p for s, p in over.items() if s.startswith("leftover plane +z 4.000")]
    assert len(floors) == sum(f.face_id.startswith("plane +z 4.000") for f in found.value.faces)
    for proof in floors:
        assert proof.verdict == "fails"
        assert proof.found_high == pytest.approx(0.3, abs=1e-4)
    assert all(float(p.found_high or 0.0) < 0.3001 for p in over.values())
    assert not any(p.subject.startswith(("plane +z 10", "plane +z 2", "plane -z", "cylinder")) for p in over.values())


def test_a_hole_that_was_never_drilled_fails_on_its_wall_and_on_its_floor(part: Solid) -> None:
    """The floor of a hole still full is nearest to no point of the surface of the work; it is found all the same."""
    found = broken(replayed(part, CLEAN[:2]))
    assert all(p.verdict == "fails" and p.subject.split(" #")[0] in slug for slug, p in found.items())
    wall, floor = (next(p for s, p in found.items() if face in s) for face in ("cylinder in d5", "plane +z 2.000"))
    assert float(wall.found_high or 0.0) > 2.0
    assert floor.found_high == pytest.approx(8.0, abs=0.01)


def test_a_rapid_move_through_metal_is_found_and_named(part: Solid) -> None:
    low = [(40.0, 30.0, 30.0, 0.0), (40.0, 30.0, 6.0, 0.0), (-20.0, 30.0, 6.0, 0.0), (-20.0, 10.0, 6.0, 0.0)]
    across: list[Move] = [*low, (2.0, 10.0, 6.0, 0.0), (-20.0, 10.0, 6.0, 0.0), (-20.0, 10.0, 30.0, 0.0)]
    found = broken(replayed(part, [CLEAN[0], ("finish wall", "mill 12", across + contour(4.0)), CLEAN[2]]))
    assert list(found) == ["rapid in metal"]
    assert found["rapid in metal"].subject == "c1/t1/mill 12/finish wall/1, move 4"
    move = found["rapid in metal"].basis.move
    assert move is not None
    assert (move.pass_id, move.row) == ("c1/t1/mill 12/finish wall/1", 4)
    # the sweep reaches x 8: the longest ray inside is a chord of the disc, at most its diameter
    assert 8.0 < float(found["rapid in metal"].found_high or 0.0) <= 12.0


def test_a_holder_that_meets_standing_metal_is_found_and_named(part: Solid) -> None:
    """Stick-out 5 mm, 6 mm deep beside the island: the holder of 28 mm meets its top over 1 mm of height."""
    found = broken(replayed(part, [CLEAN[0], ("finish wall", "short 12", contour(4.0)), CLEAN[2]]))
    assert found["shank and holder"].subject == "c1/t1/short 12/finish wall/1, move 3"
    assert found["shank and holder"].verdict == "fails"


def test_metal_that_a_later_move_takes_away_still_strikes_the_holder(part: Solid) -> None:
    """The holder sweeps a bump before the same run cuts it off: afterwards nothing of it is left to see."""
    first: list[Move] = [(-10, -10, 30, 0), (-10, -10, 5.5, 0), (-1, -1, 5.5, 20), (31, -1, 5.5, 20)]
    over: list[Move] = [(31, -20, 5.5, 20), (31, -20, 10, 20), (-20, 3, 10, 20), (50, 3, 10, 20), (50, 15, 10, 20)]
    tall = [*first, *over, (-20.0, 15.0, 10.0, 20.0), (-20.0, 15.0, 30.0, 0.0)]
    program: Program = [("finish wall", "short 12", tall), CLEAN[0], *CLEAN[1:]]
    found = broken(replayed(part, program))
    assert list(found) == ["shank and holder"]
    assert found["shank and holder"].subject == "c1/t1/short 12/finish wall/0, move 3"


@pytest.mark.parametrize(
    ("x", "y", "z", "what"),
    [(15.0, 27.0, 2.5, "fixed jaw"), (15.0, -7.0, 2.5, "moving jaw"), (15.0, 10.0, -0.5, "seat")],
)
def test_a_cutter_lowered_into_jaw_or_seat_is_found_and_named(
    part: Solid, x: float, y: float, z: float, what: str
) -> None:
    """The jaws' tops lie at z 3 and the seat at z 0; beside the work the mill meets no metal but the jaw."""
    kind, tool = ("finish wall", "mill 12") if z > 0.0 else ("drill", "flat drill 5")
    found = broken(replayed(part, [*CLEAN, (kind, tool, down(z, x, y))]))  # type: ignore[list-item]
    assert found["jaws"].verdict == "fails"
    assert found["jaws"].subject.startswith(f"c1/t1/{tool}/{kind}/3: {what} met 0.50 mm deep at move 2")
    assert found["jaws"].found_high == 1.0
    assert found["jaws"].basis.move == MoveAt(pass_id=f"c1/t1/{tool}/{kind}/3", row=2)
    assert set(found) == ({"jaws"} if z > 0.0 else {"jaws", "gouge"})


def test_a_tap_cuts_no_metal_of_the_part_and_is_no_gouge(part: Solid) -> None:
    """A Ø6 tap in a Ø5 hole: the thread goes beyond the hole on purpose. Its shank and the jaws still count."""
    in_step: list[Move] = [(15, 10, 30, 0), (15, 10, 11, 0), (15, 10, 3, 5), (15, 10, 11, 5), (15, 10, 30, 0)]
    found = replayed(part, [*CLEAN, ("tap", "tap M6", in_step)])
    assert broken(found) == {}
    assert found.value.passes[3].removed_mm3 == 0.0
    as_drill = broken(replayed(part, [*CLEAN, ("drill", "tap M6", in_step)]))
    assert as_drill["gouge"].found_high == pytest.approx(0.5, abs=0.01)


def test_a_mesh_that_does_not_close_shows_nothing(part: Solid) -> None:
    open_mesh = msgspec.structs.replace(target_of(part), mesh_is_closed=False)
    found = replayed(part, CLEAN, target=open_mesh)
    of_faces = [p for p in found.proofs if not p.id.endswith(":bodies")]  # what stands about the work has no mesh
    assert {p.verdict for p in of_faces} == {"not shown"}
    assert all(p.decides == "a solid whose mesh closes" or "finer" in p.decides for p in of_faces)


def test_bed_and_table_are_held_against_every_move(part: Solid) -> None:
    """Worked: behind the fixed jaw the bed's top lies 30 mm below the seat, which is at z 0; its foot at -80."""
    into_bed = replayed(part, [*CLEAN, ("drill", "flat drill 5", down(-30.4, y=100.0))])
    (said,) = into_bed.value.body_strikes
    assert "vise's bed met 0.40 mm deep at move 2" in said
    assert "flat drill 5" in said
    proof = broken(into_bed)["bodies"]
    assert (proof.verdict, proof.blocks_release) == ("fails", True)
    at = proof.basis.move
    assert at is not None
    assert (at.pass_id, at.row) == ("c1/t1/flat drill 5/drill/3", 2)
    # nobody measured where the vise stands on the table: what lies below its foot may be the table
    below = replayed(part, [*CLEAN, ("drill", "flat drill 5", down(-81.0, y=160.0))])
    assert broken(below)["bodies"].verdict == "not shown"
    assert broken(below)["bodies"].basis.move == at
    assert any("table met" in said for said in below.value.unsure_strikes)


def test_the_head_comes_down_on_the_jaw_beside_a_short_cutter(part: Solid) -> None:
    """Worked: the nose ends 50 + 40 mm above the tip; beside the vise's end at z -88 it lies 1 mm below the jaw's."""
    beside = [*CLEAN, ("drill", "flat drill 5", down(-88.0, x=102.0))]
    found = replayed(part, beside, vise=msgspec.structs.replace(HELD, bed=None))
    assert any("fixed jaw met by the head 1.00 mm deep" in said for said in found.value.jaw_strikes)
    bare = msgspec.structs.replace(MACHINE, head=None)
    assert not replayed(part, beside, vise=VISE, machine=bare).value.jaw_strikes


def test_what_nobody_described_is_said_and_holds_nothing_back(part: Solid) -> None:
    found = replayed(part, CLEAN, vise=VISE, machine=MILL)
    proof = broken(found)["bodies"]
    assert (proof.verdict, proof.blocks_release) == ("not shown", False)
    assert proof.decides == (
        "describe the spindle's head of mill, the table of mill, the vise's bed of vise in the shop file"
    )


def test_a_cancelled_run_stops_between_passes(part: Solid) -> None:
    run = Run()
    run.cancel()
    with pytest.raises(Interrupted, match="interrupted"):
        removal_check.decide(
            blank=BLANK, target=target_of(part), clampings=(CLAMPING,), plan=planned(CLEAN), cutters=SHOP,
            vises=(VISE,), run=run,
        )  # fmt: skip


def measured(path: list[Move], tool: Cutter) -> PassCut:
    from proveout.removal.fields import Fields

    plan = planned([("rough", tool.id, path)])
    fields = Fields.from_box(low_mm=np.array(BLANK.low_mm), high_mm=np.array(BLANK.high_mm), pitch_mm=0.2)
    one = plan.passes[0]
    return replay_pass(fields, one=one, moves=plan.moves[one.moves_digest], frame=TIP_UP, cutter=tool)[0]


def test_the_cut_section_is_that_in_the_metal_however_long_the_move() -> None:
    """Worked: a slot 12 wide and 2 deep is 24 mm2, also when the one move runs 100 mm through air before and after."""
    slot: list[Move] = [(-100, 10, 9, 0), (130, 10, 9, 20)]
    assert measured(slot, BY_ID["mill 12"]).section_max_mm2 == pytest.approx(24.0, rel=0.02)
    web: list[Move] = [(-10, 3, 6, 0), (40, 3, 6, 20), (40, 40, 6, 20), (15, 40, 6, 20), (15, -20, 6, 20)]
    # the last move meets a full slot of 12 x 5 only after the part that the first has cleared
    assert measured(web, BY_ID["mill 12"]).section_max_mm2 == pytest.approx(60.0, rel=0.02)


def test_the_feed_per_tooth_is_that_of_the_fastest_move_in_metal() -> None:
    """Worked: 300 rad/s and 3 flutes are 143.24 teeth a second; 20 mm/s in metal is 0.1396 mm a tooth."""
    path: list[Move] = [(-40, 10, 9, 0), (-10, 10, 9, 90), (40, 10, 9, 20), (90, 10, 9, 90)]
    assert measured(path, BY_ID["mill 12"]).tooth_feed_max_mm == pytest.approx(20.0 / 143.2394, rel=1e-4)
    fast: list[Move] = [(-40, 10, 9, 0), (10, 10, 9, 90), (40, 10, 9, 20)]
    assert measured(fast, BY_ID["mill 12"]).tooth_feed_max_mm == pytest.approx(90.0 / 143.2394, rel=1e-4)
