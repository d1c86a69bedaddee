"""A plate whose sides and underside stay as bought, planned whole: one clamping, holes out between the jaws' steps."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from flows import small
from flows.small import JOB, SHOP, plan, write_job

from proveout.model.plan import Plan

SIDES = '[as_bought]\nsides = ["-y", "+y", "-z"]\n'
BAR = (
    '    { id = "40x20", width_mm = 40, height_mm = 20, width_tolerance_mm = 0.25, height_tolerance_mm = 0.2, '
    'corner_radius_mm = 0.3 },\n    { id = "45x20",'
)  # fmt: skip
BED = (
    "torque_n_m = 60\nbed_length_mm = 260\nbed_width_mm = 125\nbed_behind_mm = 70\nbed_below_mm = 39\n"
    "bed_height_mm = 61\n"
)  # fmt: skip


@pytest.fixture(scope="module")
def result(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    """The plan of a plate longer than the jaws, as wide as its bar."""
    folder = tmp_path_factory.mktemp("bought")
    shop = SHOP.read_text(encoding="utf-8").replace('    { id = "45x20",', BAR).replace("torque_n_m = 60\n", BED, 1)
    shop = shop.replace(
        'for_surface = "finished"\n',
        'for_surface = "finished"\nstep_mm = 8\nblank_thickness_mm = 25\nblank_height_mm = 40\n',
    )
    (folder / "shop.toml").write_text(shop, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(small, "LONG_MM", 140.0)
        job = write_job(folder, thick_mm=18.0, job=JOB + SIDES)
    plan(job, folder / "out", shop=folder / "shop.toml", store=store)
    return msgspec.json.decode((folder / "out" / "plan.json").read_bytes(), type=Plan)


def test_one_clamping_makes_it_ready(result: Plan) -> None:
    assert len(result.clampings) == 1
    assert result.ready, [p.id for p in result.proofs if p.blocks_release and p.verdict != "holds"]
    assert result.blank.chosen.bar_id == "40x20"
    assert result.blank.chosen.grip_side is None
    assert not result.not_cut


def test_nothing_is_taken_off_the_sides_that_stay(result: Plan) -> None:
    kept = set(result.clampings[0].grip_faces)
    assert kept
    assert not kept & {face for one in result.passes for face in one.face_ids}
    assert max(max(f.leftover_mm, f.gouge_mm) for f in result.removal.faces if f.face_id in kept) <= 0.01


def test_holes_run_out_below_the_seat(result: Plan) -> None:
    drills = {p.id for p in result.passes if p.kind in ("drill", "peck")}
    lows = [c.low_mm for c in result.removal.passes if c.pass_id in drills]
    assert lows
    assert -25.5 < min(lows) < 0.0  # 40 high plates less 14.5 above the seat
    assert not result.removal.jaw_strikes


def test_the_bar_s_own_width_is_proved(result: Plan) -> None:
    told = next(p for p in result.proofs if p.id == "blank:40x20:section-width-as-bought")
    assert told.verdict == "holds"
    assert told.found_high == pytest.approx(0.25)
