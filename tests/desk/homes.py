"""A small home for tests: designs and orders with invented plans."""

from __future__ import annotations

import hashlib
import sys
from pathlib import Path
from typing import Any

import msgspec
from fastapi.testclient import TestClient

from proveout.desk.page import Desk

TESTS = Path(__file__).resolve().parent.parent
JOB = """[part]
number = "{number}"
name = "{name}"
step = "{step}"
alloy = "6061-T6"
[order]
quantity = 40
start = 2026-01-05
due = {due}
"""
STEP = "ISO-10303-21;\nHEADER;\nENDSEC;\nDATA;\nENDSEC;\nEND-ISO-10303-21;\n"


def write_job(folder: Path, number: str, *, name: str = "Plate", due: str = "2026-02-16") -> Path:
    """A job file and its STEP file, which holds no solid."""
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{number}.step").write_text(STEP)
    path = folder / f"{number}.toml"
    path.write_text(JOB.format(number=number, name=name, step=f"{number}.step", due=due))
    return path


def write_plan(folder: Path, *, job: Path | None, step: Path, shop_text: str, ready: bool = False, **part: Any) -> None:
    """The invented plan of the papers' tests as the result of planning those files."""
    sheets = str(TESTS / "sheets")
    if sheets not in sys.path:
        sys.path.append(sheets)
    from fixture_plan import example_plan  # pyright: ignore[reportMissingImports]

    from proveout.jobs.writing import plan_bytes

    plan = example_plan(ready=ready)
    inputs = {"step": hashlib.sha256(step.read_bytes()).hexdigest()}
    inputs["shop"] = hashlib.sha256(shop_text.encode()).hexdigest()
    (folder / "inputs").mkdir(parents=True)
    (folder / "inputs" / "part.step").write_bytes(step.read_bytes())
    (folder / "inputs" / "shop.toml").write_text(shop_text)
    if job is not None:
        inputs["job"] = hashlib.sha256(job.read_bytes()).hexdigest()
        (folder / "inputs" / "job.toml").write_bytes(job.read_bytes())
    plan = msgspec.structs.replace(plan, inputs=inputs, part=msgspec.structs.replace(plan.part, **part))
    (folder / "plan.json").write_bytes(plan_bytes(plan))


def desk_behind(client: TestClient) -> Desk:
    """What the pages of a test's desk have at hand."""
    app: Any = client.app
    return app.state.desk
