"""A home with the example part planned so that a batch of it may run: all its files lie there as planned."""

# pyright: reportMissingImports=false
# (the fixtures of the sheets are found by a path that is set here)
from __future__ import annotations

import hashlib
import sys
from pathlib import Path

import msgspec
import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parent / "sheets"))

import fixture_plan
from test_route_page import sent_to

from proveout.intake.starting_shop import starting_shop_text
from proveout.jobs.check_program import fingerprint_of_text
from proveout.jobs.home import Home
from proveout.jobs.plan_drawings import Drawer
from proveout.jobs.releasing import ask, release, waive
from proveout.jobs.signed import Signed
from proveout.jobs.store import Store
from proveout.jobs.writing import plan_bytes
from proveout.model.batch import Batch
from proveout.model.moves import Moves
from proveout.model.plan import Plan, ProgramSheet
from proveout.model.proof import Proof, is_ready
from proveout.records.records import Records

MARA = Signed(person="Mara Lind")
REASON = "looked at and agreed with the designer"
JOB = '[part]\nnumber = "EX-102"\nstep = "jaw.step"\nrevision = "B"\nalloy = "6061-T6"\n[order]\nquantity = 150\n'
WRONG_LOADS = "loading/wrong"
PROGRAM = "%\nO1\nM30\n%\n"
MOVES = Moves(points=np.zeros((2, 3)), feed_mm_per_s=np.zeros(2))


def runnable_home(root: Path, plan: Plan) -> Home:
    """A job file, its STEP file (which nobody can read) and the result of planning them."""
    home, result = root / "home", root / "home-plans" / "jaw"
    home.mkdir()
    for folder in ("inputs", "programs", "moves"):
        (result / folder).mkdir(parents=True)
    files = {
        "step": ("jaw.step", "ISO-10303-21;\n"),
        "job": ("jaw.toml", JOB),
        "shop": ("shop.toml", starting_shop_text()),
    }
    inputs = {}
    for kind, (name, text) in files.items():
        (home / name).write_text(text, encoding="utf-8", newline="")
        kept = {"step": "part.step", "job": "job.toml"}.get(kind, name)
        (result / "inputs" / kept).write_text(text, encoding="utf-8", newline="")
        inputs[kind] = hashlib.sha256(text.encode()).hexdigest()
    (result / "programs" / "op1.nc").write_text(PROGRAM, encoding="ascii", newline="")
    np.save(result / "moves" / f"{MOVES.digest[:32]}.npy", MOVES.table.astype("<f8"), allow_pickle=False)
    sheet = ProgramSheet(clamping_id=plan.clampings[0].id, file="op1.nc", fingerprint=fingerprint_of_text(PROGRAM),
                         blocks_count=2, work_offset="G54", cutters={})  # fmt: skip
    passes = tuple(msgspec.structs.replace(one, moves_digest=MOVES.digest) for one in plan.passes)
    jaws = tuple(msgspec.structs.replace(one, fingerprint=sheet.fingerprint) for one in plan.jaw_programs)
    for one in jaws:
        (result / "programs" / one.file).write_text(PROGRAM, encoding="ascii", newline="")
    plan = msgspec.structs.replace(plan, inputs=inputs, programs=(sheet,), jaw_programs=jaws, passes=passes)
    (result / "plan.json").write_bytes(plan_bytes(plan))
    return Home(home)


def ready_plan() -> Plan:
    """The example with every proof that blocks release holding, that goes out for a coat."""
    return _coated(fixture_plan.example_plan(ready=True))


def open_plan() -> Plan:
    """The same with one open proof, which a named person may answer for."""
    plan = fixture_plan.example_plan()
    return _coated(_with(plan, tuple(p for p in plan.proofs if p.verdict == "holds" or p.id == WRONG_LOADS)))


def _with(plan: Plan, proofs: tuple[Proof, ...]) -> Plan:
    return msgspec.structs.replace(plan, proofs=proofs, ready=is_ready(proofs))


def _coated(plan: Plan) -> Plan:
    return msgspec.structs.replace(plan, finish_orders=(sent_to("coat-house", coat=True),))


def drawer() -> Drawer:
    """One that keeps nothing: of a STEP file that nobody can read there is nothing to draw."""
    return Drawer(Store(None))


def with_quick_papers(monkeypatch: pytest.MonkeyPatch) -> None:
    """Papers that nobody reads, and no jaws as solids: typesetting takes seconds."""
    monkeypatch.setattr("proveout.sheets.papers.papers_pdf", lambda **_: b"%PDF-1.7 papers")
    monkeypatch.setattr("proveout.jobs.releasing.write_jaw_files", lambda _folder, _plan: None)


def released(home: Home, records: Records, batch: str = "B-1") -> Batch:
    """A batch of the part, with everything waived that may be, released."""
    plan = home.place("jaw").plan
    asked = ask(home, records, "jaw", batch=batch, wanted_count=plan.part.quantity, signed=MARA)
    for one in asked.unwaived:
        waive(records, batch=batch, proof_id=one.id, reason=REASON, signed=MARA)
    return release(home, records, drawer(), batch=batch, signed=MARA)
