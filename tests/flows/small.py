"""The small part of these tests: a plate with a pocket and two holes, its job and a small shop, planned in seconds."""

# pyright: reportAttributeAccessIssue=false
# (the kernel package carries no types)
from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

from proveout.jobs.plan_path import Outcome, plan_path
from proveout.model.run import Run

HERE = Path(__file__).resolve().parent
SOURCE = HERE.parent.parent / "src"
SHOP = HERE / "small_shop.toml"
LONG_MM, WIDE_MM, THICK_MM = 60.0, 40.0, 12.9  # 0.04 mm below what a bar 20 mm high allows
POCKET_MM = (26.0, 16.0, 4.0)
CORNER_MM = 5.0
HOLE_MM = 6.6
JOB = """general_tolerance = "m"
edge_break_mm = 0.3
[part]
number = "T-1"
name = "Small plate"
revision = "A"
step = "plate.step"
alloy = "6061-T6"
[order]
quantity = 40
start = 2026-01-05
due = 2026-02-16
[sizes]
"""
STYLE = """resolution_mm = 0.001

[machine.program]
powers_on = ["G17", "G21", "G40", "G49", "G54", "G80", "G90", "G94", "G98"]
opening = ["G21 G17 G40 G49 G80 G90 G94"]
before_change = ["G53 G0 Z0", "M5"]
closing = ["M30"]
"""


def write_plate(path: Path, *, thick_mm: float = THICK_MM) -> Path:
    """The plate as STEP: lower corner at the origin, pocket from above in its middle, a through hole at each end."""
    from OCP.BRepAlgoAPI import BRepAlgoAPI_Cut
    from shapes import box, drilled

    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import write_step

    shape = BRepAlgoAPI_Cut(box(LONG_MM, WIDE_MM, thick_mm), _pocket(thick_mm)).Shape()
    for x in (8.0, LONG_MM - 8.0):
        shape = drilled(shape, at=(x, WIDE_MM / 2.0, thick_mm + 1.0), along=(0.0, 0.0, -1.0), dia=HOLE_MM, deep=50.0)
    write_step(sub_shapes(shape, "solid")[0], path, name="plate")
    return path


def _pocket(thick_mm: float) -> Any:
    from OCP.BRepAdaptor import BRepAdaptor_Curve
    from OCP.BRepFilletAPI import BRepFilletAPI_MakeFillet
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt

    from proveout.solids.shapes import sub_shapes

    x, y = (LONG_MM - POCKET_MM[0]) / 2.0, (WIDE_MM - POCKET_MM[1]) / 2.0
    low, high = gp_Pnt(x, y, thick_mm - POCKET_MM[2]), gp_Pnt(LONG_MM - x, WIDE_MM - y, thick_mm + 5.0)
    solid = BRepPrimAPI_MakeBox(low, high).Solid()
    rounded = BRepFilletAPI_MakeFillet(solid)
    for edge in sub_shapes(solid, "edge"):
        curve = BRepAdaptor_Curve(edge)
        ends = [curve.Value(curve.FirstParameter()).Z(), curve.Value(curve.LastParameter()).Z()]
        if abs(ends[0] - ends[1]) > 1.0:
            rounded.Add(CORNER_MM, edge)
    return rounded.Shape()


def write_job(folder: Path, *, thick_mm: float = THICK_MM, job: str = JOB) -> Path:
    """The job file of the plate with its STEP file beside it."""
    folder.mkdir(parents=True, exist_ok=True)
    write_plate(folder / "plate.step", thick_mm=thick_mm)
    (folder / "plate.toml").write_text(job, encoding="utf-8")
    return folder / "plate.toml"


def write_shop(path: Path) -> Path:
    """The small shop with its machine's programs described, so that a plan has some."""
    path.write_text(SHOP.read_text(encoding="utf-8").replace("resolution_mm = 0.001\n", STYLE), encoding="utf-8")
    return path


def write_plates(folder: Path, count: int) -> Path:
    """A folder of so many plates with their jobs, each 0.4 mm thinner than the one before."""
    folder.mkdir(parents=True)
    for k in range(count):
        write_plate(folder / f"plate{k}.step", thick_mm=THICK_MM - 0.4 * k)
        job = JOB.replace('"T-1"', f'"T-{k}"').replace("plate.step", f"plate{k}.step")
        (folder / f"plate{k}.toml").write_text(job, encoding="utf-8")
    return folder


def plan(job: Path, out: Path, *, shop: Path | None = SHOP, store: Path | None = None, **more: Any) -> Outcome:
    """The job planned by the library."""
    return plan_path(job, shop_path=shop, out=out, store_folder=store, run=Run(), **more)


def command(*arguments: str | Path) -> list[str]:
    """The command line of this checkout."""
    return [sys.executable, "-m", "proveout", *map(str, arguments)]


def environment(**more: str) -> dict[str, str]:
    """This process's environment with some names set."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("PYTEST_")}
    return kept | {"PYTHONPATH": str(SOURCE)} | more


def proveout(
    *arguments: str | Path, cwd: Path | None = None, **more: str
) -> subprocess.CompletedProcess[str]:  # fmt: skip
    """The command line run to its end, with environment names set."""
    return subprocess.run(
        command(*arguments), cwd=cwd, env=environment(**more), capture_output=True, text=True, encoding="utf-8",
        check=False, timeout=240,
    )  # fmt: skip


def digests(folder: Path) -> dict[str, str]:
    """sha256 of every file of a result, by its place in it."""
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
