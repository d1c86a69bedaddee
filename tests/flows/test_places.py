"""A plan whose cycles work in two vises: its programs on disk, and the command that checks them place by place."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from flows.small import JOB, SHOP, STYLE, plan, proveout, write_job

from proveout.jobs.check_plan import check_against_plan
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.quantities.errors import BadInput

MEASURED = """jaw_height_mm = 40
stands_x_mm = 250
stands_y_mm = -180
stands_z_mm = -360
further = [{ stands_x_mm = 440, stands_y_mm = -180, stands_z_mm = -360 }]
"""
PINS = "[pins]\npieces_a_cycle = 2\n"


@pytest.fixture(scope="module")
def made(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Path:
    """The small part planned with two pieces a cycle, in vises that somebody measured: folder with `out`."""
    folder = tmp_path_factory.mktemp("places")
    shop = SHOP.read_text(encoding="utf-8").replace("resolution_mm = 0.001\n", STYLE)
    (folder / "shop.toml").write_text(shop.replace("jaw_height_mm = 40\n", MEASURED), encoding="utf-8")
    plan(write_job(folder, job=JOB + PINS), folder / "out", shop=folder / "shop.toml", store=store)
    return folder


@pytest.fixture(scope="module")
def result(made: Path) -> Plan:
    return msgspec.json.decode((made / "out" / "plan.json").read_bytes(), type=Plan)


def test_every_place_of_every_program_holds(made: Path, result: Plan) -> None:
    assert [load.pieces_count for load in result.table_loads] == [2] * len(result.clampings)
    for load in result.table_loads:
        for laid in load.laid:
            own = {
                p.id.rpartition(":")[2]: p.verdict
                for p in result.proofs
                if p.id.startswith(f"program:{laid.clamping_id} in place {laid.place.number}:")
            }
            assert own["read back"] == own["strike"] == own["other places"] == "holds"
            assert {v for name, v in own.items() if not name.endswith(".nc")} == {"holds"}, own
        assert all(p.verdict == "holds" for p in result.proofs if p.id.startswith(f"clampings:{load.id}:"))
    pin = next(p for p in result.proofs if p.id == "timing:pin:pieces_a_cycle")
    assert pin.verdict == "holds"
    assert all((made / "out" / "programs" / sheet.file).is_file() for sheet in result.programs)


def test_the_batch_comes_out_of_the_cycles(result: Plan) -> None:
    """40 ordered and two spare are 21 cycles of two; a piece bears half of each cycle's cutter changes."""
    (first, *_) = result.table_loads
    assert result.bars.pieces_count == 42
    full = first.fillings[0]
    assert full.cycles_count == 21
    own = [line for line in result.time.lines if line.text.startswith(f"{first.clamping_ids[0]}:") and line.pass_id]
    cut = sum(line.seconds.nominal for line in own)
    assert 2 * result.time.cycle_s[first.clamping_ids[0]] == pytest.approx(full.seconds, abs=1e-3)
    assert full.seconds > 2 * cut


def test_the_plans_own_program_holds_in_its_second_place(made: Path) -> None:
    program = made / "out" / "programs" / "clamping-1.nc"
    done = proveout("check", program, "--plan", made / "out", "--clamping", "1", "--place", "2", "--quiet")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "to the last character" in done.stdout
    assert "Only what is done in place 2 is looked at" in " ".join(done.stdout.split())


def test_a_place_that_is_not_there_is_refused(made: Path) -> None:
    program = made / "out" / "programs" / "clamping-1.nc"
    with pytest.raises(BadInput, match="does not lie in that place"):
        check_against_plan(program, plan_folder=made / "out", clamping_number=1, place_number=5, run=Run())
