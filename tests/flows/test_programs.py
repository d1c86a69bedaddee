"""Programs of a plan on disk, and the command that checks them or anybody's."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from flows.small import plan, proveout

from proveout.model.plan import Plan


@pytest.fixture(scope="module")
def made(planned_plate: Path) -> Path:
    """The result folder of the small part, planned on a machine whose programs are described."""
    return planned_plate / "home-plans" / "plate"


@pytest.fixture(scope="module")
def result(made: Path) -> Plan:
    import msgspec

    return msgspec.json.decode((made / "plan.json").read_bytes(), type=Plan)


def test_every_clamping_has_its_program_and_its_proofs(made: Path, result: Plan) -> None:
    from proveout.jobs.check_program import fingerprint_of_text

    assert [sheet.clamping_id for sheet in result.programs] == [clamping.id for clamping in result.clampings]
    for sheet in result.programs:
        text = (made / "programs" / sheet.file).read_text(encoding="ascii")
        assert fingerprint_of_text(text) == sheet.fingerprint
        own = {
            p.id.rpartition(":")[2]: p.verdict
            for p in result.proofs
            if p.id.startswith(f"program:{sheet.clamping_id}:")
        }
        assert own["read back"] == "holds"
        assert own["rapid in metal"] == "holds"
        # the small shop's vise was not measured: where the moves lie in the machine is not known
        assert own.pop("over-travel") == "not shown"
        assert set(own.values()) == {"holds"}, own


def test_without_a_description_there_is_no_program(planned_plate: Path, store: Path, tmp_path: Path) -> None:
    outcome = plan(planned_plate / "home" / "plate.toml", tmp_path / "bare", store=store)
    assert outcome.parts[0].plan.programs == ()
    assert not (tmp_path / "bare" / "programs").exists()


def test_the_plans_own_program_holds_when_it_is_checked(made: Path) -> None:
    done = proveout("check", made / "programs" / "clamping-1.nc", "--plan", made, "--clamping", "1", "--quiet")
    assert done.returncode == 0, done.stdout + done.stderr
    assert "HOLDS" in done.stdout
    assert "to the last character" in done.stdout


def test_an_edited_program_fails_at_its_line(made: Path, tmp_path: Path) -> None:
    lines = (made / "programs" / "clamping-1.nc").read_text().splitlines()
    at = next(k for k, line in enumerate(lines) if "FINISH FLOOR" in line)
    at = next(k for k in range(at, len(lines)) if re.search(r"G1 Z\d", lines[k]))
    lines[at] = re.sub(r"Z([\d.]+)", lambda m: f"Z{float(m[1]) - 2.0:.3f}", lines[at])
    edited = tmp_path / "edited.nc"
    edited.write_text("\n".join(lines))
    done = proveout("check", edited, "--plan", made, "--clamping", "1", "--quiet", "--out", tmp_path / "found")
    assert done.returncode == 3, done.stdout + done.stderr
    found = json.loads((tmp_path / "found" / "check.json").read_text())
    assert not found["ready"]
    assert any(abs(f["line"] - (at + 1)) <= 1 for f in found["check"]["findings"]), found["check"]["findings"][:5]
    assert any("fingerprint" in text for text in found["differs"])
    assert any("moves are not made as planned" in text for text in found["differs"])
    # face and pass by their numbers, in the heading and in what is said
    assert re.search(r"PASS \d+: FINISH FLOOR, FACES? [\d ]+", "\n".join(lines))
    assert re.search(r"face \d+, plane", " ".join(done.stdout.split()))
    assert f"line {at + 1}" in done.stdout or f"from {at + 1}" in done.stdout or f"from {at + 2}" in done.stdout


def test_without_a_plan_the_set_up_is_given_by_hand(made: Path, tmp_path: Path, result: Plan) -> None:
    cutters = tmp_path / "cutters.csv"
    cutters.write_text(
        "number,kind,diameter_mm,flutes,flute_length_mm,stick_out_mm,holder_diameter_mm,holder_length_mm\n"
        "1,end mill,8,3,20,40,20,60\n"
    )
    program = tmp_path / "pocket.nc"
    program.write_text(
        "G21 G90 G17 G94\nG53 G0 Z0\nT1 M6\nS8000 M3\nG0 X30 Y20\nG43 H1 Z10\nG1 Z-2 F300\nX36 F800\nG0 Z10\nM30\n"
    )
    size = result.part.size_mm
    blank = ["--blank-low", "0", "0", "0", "--blank-high", *map(str, size), "--zero", "0", "0", str(size[2])]
    step = made / "inputs" / "part.step"
    clean = proveout("check", program, *blank, "--solid", step, "--cutters", cutters, "--quiet")
    assert clean.returncode == 0, clean.stdout + clean.stderr
    program.write_text(program.read_text().replace("X36", "X56"))
    deep = proveout("check", program, *blank, "--solid", step, "--cutters", cutters, "--quiet")
    assert deep.returncode == 3
    assert "line 8" in deep.stdout
    assert "cut below the target" in deep.stdout or "metal of the finished part" in deep.stdout


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (["--plan", "OUT"], "several clampings"),
        (["--plan", "OUT", "--clamping", "9"], "no such clamping"),
        (["--plan", "nowhere"], "There is no plan"),
        ([], "can only be checked against"),
    ],
)
def test_what_a_check_lacks_is_said(made: Path, more: list[str], says: str) -> None:
    words = [str(made) if word == "OUT" else word for word in more]
    done = proveout("check", made / "programs" / "clamping-1.nc", *words, "--quiet")
    assert done.returncode == 2, done.stdout + done.stderr
    assert says in done.stderr
