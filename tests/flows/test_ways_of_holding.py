"""Whole plans in shops that have no more than they need: one vise with a jaw in the middle, no machine that tilts."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from flows.small import JOB, SHOP, STYLE, plan, write_job
from flows.test_order_loads import PROBE
from flows.test_places import MEASURED

from proveout.intake.shop_file import read_shop
from proveout.model.plan import Plan

DRILL = 'id = "DR6.6"'
STANDS = MEASURED.split("further", maxsplit=1)[0]
MIDDLE = f'{STANDS}fixed_jaw = "in the middle"\nmiddle_jaw_mm = 30\n'
MARKED = '[marks]\n3 = "pen stroke on the long side that looks up, at the stop"\n'


def shop_text(**replaced: str) -> str:
    """The small shop with programs; each word by what stands in its place."""
    text = SHOP.read_text(encoding="utf-8").replace("resolution_mm = 0.001\n", STYLE + PROBE)
    for old, new in replaced.items():
        assert old in text
        text = text.replace(old, new, 1)
    return text


def planned(folder: Path, job: Path, text: str, store: Path) -> Plan:
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    plan(job, folder / "out", shop=folder / "shop.toml", store=store)
    return msgspec.json.decode((folder / "out" / "plan.json").read_bytes(), type=Plan)


def open_of(result: Plan) -> list[str]:
    return [p.id for p in result.proofs if p.blocks_release and p.verdict != "holds"]


@pytest.fixture(scope="module")
def middle(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    """The small plate, two at a time in one vise whose fixed jaw stands in the middle."""
    folder = tmp_path_factory.mktemp("middle")
    text = shop_text(
        **{
            "jaw_height_mm = 40\n": MIDDLE, "opening_max_mm = 150": "opening_max_mm = 75",
            "vises = 2 ": "vises = 1 ", "idle_vises_off = true ": "",
        }
    )  # fmt: skip
    return planned(folder, write_job(folder, job=JOB + "[pins]\npieces_a_cycle = 2\n"), text, store)


def test_two_pieces_lie_in_one_vise_on_either_side_of_its_middle_jaw(middle: Plan) -> None:
    assert middle.ready, open_of(middle)
    assert [load.pieces_count for load in middle.table_loads] == [2] * len(middle.clampings)
    for load in middle.table_loads:
        assert {one.place.vise_number for one in load.laid} == {1}
        assert [one.place.is_turned for one in load.laid] == [False, True]


def test_the_program_of_both_sides_holds_where_they_lie(middle: Plan) -> None:
    for load in middle.table_loads:
        for laid in load.laid:
            own = [p for p in middle.proofs if p.id.startswith(f"program:{laid.clamping_id} in place")]
            named = {p.id.rpartition(":")[2] for p in own if f"place {laid.place.number}:" in p.id}
            assert {"read back", "strike", "other places"} <= named
            assert {p.verdict for p in own} == {"holds"}


@pytest.fixture(scope="module")
def bored(tmp_path_factory: pytest.TempPathFactory, store: Path) -> Plan:
    """A plate with a hole from a long side into one of its two through holes, in a shop where nothing tilts."""
    from shapes import box, drilled

    from proveout.solids.shapes import sub_shapes
    from proveout.solids.step import write_step

    folder = tmp_path_factory.mktemp("bored")
    shape = box(60.0, 40.0, 12.9)
    for x in (8.0, 52.0):
        shape = drilled(shape, at=(x, 20.0, 13.9), along=(0.0, 0.0, -1.0), dia=6.6, deep=50.0)
    shape = drilled(shape, at=(8.0, -1.0, 6.45), along=(0.0, 1.0, 0.0), dia=5.0, deep=21.0)
    write_step(sub_shapes(shape, "solid")[0], folder / "plate.step", name="plate")
    (folder / "plate.toml").write_text(JOB + MARKED, encoding="utf-8")
    row = next(line for line in SHOP.read_text(encoding="utf-8").splitlines() if DRILL in line)
    return planned(folder, folder / "plate.toml", shop_text(**{row: f"{row}\n{row.replace('6.6', '5')}"}), store)


def test_without_a_machine_that_tilts_a_side_hole_takes_a_third_clamping(bored: Plan) -> None:
    assert {machine.kind for machine in read_shop(SHOP).machines} == {"3-axis"}
    assert len(bored.clampings) == 3
    assert [len(c.tilts) for c in bored.clampings] == [1, 1, 1]
    assert {c.frame.z for c in bored.clampings} == {(0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0)}
    assert not bored.not_cut
    assert max(max(face.leftover_mm, face.gouge_mm) for face in bored.removal.faces) <= 0.05
    assert len([one for one in bored.programs if one.file.endswith(".nc")]) == 3


def test_a_finished_piece_upside_down_in_the_third_clamping_is_told_by_the_mark_alone(bored: Plan) -> None:
    """Turned over, the side hole of a finished piece looks down: seen from above it is as work that waits for one."""
    assert bored.ready, open_of(bored)
    third = bored.loading[2]
    told = {(one.what, one.way.partition(",")[0]) for one in third.wrong if one.caught_by == "mark"}
    assert told == {("a finished piece", "upside down")}
    assert third.decided_by == "the mark"
