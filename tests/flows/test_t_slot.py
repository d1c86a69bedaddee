"""A block with a T-slot right through it, planned whole from its STEP file with a T-slot cutter in the shop."""

from __future__ import annotations

from pathlib import Path

import msgspec
import numpy as np
import pytest
from flows.small import JOB, STYLE, SHOP, plan
from shapes import box, cut_box

from proveout.model.plan import Plan

LONG_MM, WIDE_MM, HIGH_MM = 60.0, 40.0, 12.9
NECK_MM, HEAD_MM, CEILING_MM, FLOOR_MM = 10.0, 18.0, 8.4, 4.4
ROW = (
    '    { id = "TS16", kind = "T-slot", diameter_mm = 16, flutes = 6, flute_length_mm = 3.5, stick_out_mm = 30, '
    "shank_diameter_mm = 7, cutting_speed_m_per_min = 180, tooth_feed_mm = 0.03, speed_max_rpm = 12000, "
    "life_min = 240, price = 120 },\n"
)  # fmt: skip


def write_block(folder: Path) -> Path:
    """The job of the block with its STEP file beside it."""
    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import write_step

    shape = box(LONG_MM, WIDE_MM, HIGH_MM)
    for wide, top in ((NECK_MM, HIGH_MM + 1.0), (HEAD_MM, CEILING_MM)):
        low, high = (WIDE_MM - wide) / 2.0, (WIDE_MM + wide) / 2.0
        shape = cut_box(shape, (-1.0, low, FLOOR_MM), (LONG_MM + 1.0, high, top))
    folder.mkdir(parents=True, exist_ok=True)
    write_step(sub_shapes(shape, "solid")[0], folder / "plate.step", name="block")
    (folder / "plate.toml").write_text(JOB, encoding="utf-8")
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


def room(result: Plan) -> dict[str, str]:
    """Faces of the wide part by what they are."""
    found = {}
    for note in result.survey.faces:
        found[note.face_id] = note.kind
    return found


def test_x(result: Plan) -> None:
    for p in result.passes:
        print(p.id, p.face_ids, p.radial_mm, p.axial_mm, p.cut_length_mm)
    print(result.not_cut)
    print(
        result.ready,
        [
            (p.id, p.verdict, p.decides, p.found_low, p.found_high, p.limit)
            for p in result.proofs
            if p.blocks_release and p.verdict != "holds"
        ],
    )
    for r in result.survey.reach:
        print(r)
    assert 0
