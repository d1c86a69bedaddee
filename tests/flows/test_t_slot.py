"""A block with a T-slot right through it, planned whole from its STEP file with a T-slot cutter in the shop."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from flows.small import JOB, SHOP, STYLE, plan
from shapes import box, cut_box

from proveout.model.plan import Plan

LONG_MM, WIDE_MM, HIGH_MM = 60.0, 40.0, 12.9
NECK_MM, HEAD_MM, CEILING_MM, FLOOR_MM = 10.0, 18.0, 8.4, 4.4
ROW = (
    '    { id = "TS17", kind = "T-slot", diameter_mm = 17, flutes = 6, flute_length_mm = 3.5, stick_out_mm = 30, '
    "shank_diameter_mm = 16, neck_diameter_mm = 8.5, neck_length_mm = 6, bending_strength_mpa = 2800, "
    "cutting_speed_m_per_min = 180, tooth_feed_mm = 0.03, speed_max_rpm = 12000, life_min = 240, price = 120 },\n"
)  # fmt: skip
SIZES = '2 = "18"      # across the wide part, between its walls\n'


def write_block(folder: Path) -> Path:
    """The job of the block with its STEP file beside it."""
    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import write_step

    shape = box(LONG_MM, WIDE_MM, HIGH_MM)
    for wide, top in ((NECK_MM, HIGH_MM + 1.0), (HEAD_MM, CEILING_MM)):
        low, high = (WIDE_MM - wide) / 2.0, (WIDE_MM + wide) / 2.0
        shape = cut_box(shape, (-1.0, low, FLOOR_MM), (LONG_MM + 1.0, high, top))
    write_step(sub_shapes(shape, "solid")[0], folder / "plate.step", name="block")
    (folder / "plate.toml").write_text(JOB + SIZES, encoding="utf-8")
    return folder / "plate.toml"


@pytest.fixture(scope="module")
def out(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Path:
    """The folder of the plan."""
    folder = tmp_path_factory.mktemp("t_slot")
    shop = SHOP.read_text(encoding="utf-8").replace("resolution_mm = 0.001\n", STYLE)
    (folder / "shop.toml").write_text(shop.replace('    { id = "SP10"', ROW + '    { id = "SP10"'), encoding="utf-8")
    plan(write_block(folder), folder / "out", shop=folder / "shop.toml", store=store)
    return folder / "out"


@pytest.fixture(scope="module")
def result(out: Path) -> Plan:
    """The plan."""
    return msgspec.json.decode((out / "plan.json").read_bytes(), type=Plan)


def under(result: Plan) -> set[str]:
    """The faces of the wide part that nothing but a head comes to: ceilings, side walls, floor under the lips."""
    lips = (WIDE_MM - HEAD_MM) / 2.0, (WIDE_MM + HEAD_MM) / 2.0
    begin = (f"plane -z {CEILING_MM:.3f} ", f"plane +y {lips[0]:.3f} ", f"plane -y {lips[1]:.3f} ")
    return {note.face_id for note in result.survey.faces if note.face_id.startswith(begin)}


def test_the_block_is_ready_with_the_slot_made_by_its_cutter_alone(result: Plan) -> None:
    assert result.ready, [p.id for p in result.proofs if p.blocks_release and p.verdict != "holds"]
    assert not result.not_cut
    assert len(under(result)) == 4
    own = [p for p in result.passes if p.cutter_id == "TS17"]
    assert {p.kind for p in own} == {"undercut"}
    assert {p.clamping_id for p in own} == {result.clampings[0].id}
    assert under(result) <= {f for p in own for f in p.face_ids}
    made = {f: {p.cutter_id for p in result.passes if f in p.face_ids} for f in under(result)}
    assert all(by == {"TS17"} for by in made.values()), made


def test_the_replay_finds_every_face_of_the_slot_made_and_nothing_struck(result: Plan) -> None:
    faces = {f.face_id: f for f in result.removal.faces}
    for face_id in under(result):
        assert faces[face_id].leftover_mm < 0.02, face_id
        assert faces[face_id].gouge_mm < 0.01, face_id


def test_the_program_read_back_is_the_plan_and_strikes_nothing(result: Plan, out: Path) -> None:
    """By the reading of the text alone, which shares no code with its writing."""
    first = result.clampings[0].id
    verdicts = {p.id: p.verdict for p in result.proofs}
    for what in ("read back", "rapid in metal", "shank or holder", "strike", "words"):
        assert verdicts[f"program:{first}:{what}"] == "holds", what
    assert "(T4 T-SLOT 17, 90. FROM NOSE TO TIP)" in (out / "programs" / "clamping-1.nc").read_text(encoding="utf-8")


def test_it_backs_off_until_its_neck_bears_its_cuts_and_its_walls_are_true(result: Plan) -> None:
    """As laid first its neck asks for 2865 MPa of the 2800 that it has: a slower feed of a tooth, and it holds."""
    first = result.rounds[0]
    assert "loads:mill-3:TS17:neck" in first.failing
    assert [(t.subject, t.quantity) for t in first.tightened] == [(f"{result.clampings[0].id}/TS17", "feed_ratio")]
    assert first.asked_by == ("loads:mill-3:TS17:neck",)
    proofs = {p.id: p for p in result.proofs}
    neck, face = proofs["loads:mill-3:TS17:neck"], proofs["loads:mill-3:TS17:face error"]
    assert (neck.verdict, neck.limit, face.verdict, face.limit) == ("holds", 2800.0, "holds", 0.2)
    # its walls stand along its axis: they are off by what it bends, not by how its head tilts
    (push,) = [one for one in result.pass_pushes if "/TS17/" in one.pass_id]
    assert face.found_high == push.bent_mm
    (limit,) = [one for one in result.pass_limits if "/TS17/" in one.pass_id]
    assert limit.feed_by == "neck of the cutter"


def test_it_takes_what_the_lips_cover_and_its_neck_meets_nothing(result: Plan) -> None:
    """Worked: two strips 4 wide and 4 high along 60; the head alone cuts, 3.5 high, both sides at most."""
    (one,) = [c for c in result.removal.passes if "/TS17/" in c.pass_id]
    assert one.removed_mm3 == pytest.approx(2 * 4.0 * 4.0 * LONG_MM, rel=2e-3)
    assert (one.rapid_mm, one.body_mm) == (0.0, 0.0)
    assert one.section_max_mm2 <= 2 * 4.0 * 3.5 + 1e-6
    (load,) = [p for p in result.pass_pushes if p.pass_id == one.pass_id]
    assert load.moves_count > 0
    assert load.tangential_n > load.mean_tangential_n > 0.0
    assert load.power_mw > 0.0
    assert load.bent_mm is not None
