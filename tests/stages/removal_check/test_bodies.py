"""Jaws, bed, table and head about an invented part, and short programs written by hand that strike them or do not."""

from __future__ import annotations

import foreign_program as given
import msgspec
import numpy as np
import pytest
from shapes import VISE

from proveout.model.bodies import Bed, Head, Table
from proveout.model.checking import CutterTable, Finding, Standing
from proveout.model.run import Run
from proveout.model.shop import Vise
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow
from proveout.removal.fields import Fields
from proveout.stages.removal_check.bodies import standing_bodies, unlooked
from proveout.stages.removal_check.program import decide

# seen from program zero: the seat at -24, jaws to -21, jaw floor and bed top at -60, the vise's foot at -100 on a table
# of 240 mm about (30, 20); the fixed jaw from y 41 to 61, the bed from y -79 to 81
MACHINE = msgspec.structs.replace(
    given.machine(), table=Table(shape="round", size_mm=(240.0, 240.0), thickness_mm=30.0, top_z_mm=-430.0),
    head=Head(nose_diameter_mm=80.0, nose_length_mm=40.0, diameter_mm=200.0, length_mm=100.0),
)  # fmt: skip
HELD = msgspec.structs.replace(
    VISE, jaw_length_mm=100.0, jaw_height_mm=36.0, jaw_depth_mm=20.0,
    bed=Bed(length_mm=160.0, width_mm=100.0, behind_mm=40.0, below_mm=36.0, height_mm=40.0),
)  # fmt: skip
SHORT = given.cutter("end mill", 10.0, stick_out_mm=20.0, flute_mm=18.0, holder_mm=20.0)
TABLE = msgspec.structs.replace(
    given.table(), machine=MACHINE,
    cutters={**given.table().cutters, 5: msgspec.structs.replace(SHORT, name="stub 10", holder_length_mm=20.0)},
    gauge_mm={**given.table().gauge_mm, 5: 40.0},
)  # fmt: skip
START = "G21 G17 G40 G49 G80 G90 G94 G54\nG53 G0 Z0\n"


def standing(vise: Vise = HELD, *, zero: tuple[float, float, float] = given.ZERO) -> Standing:
    bodies = standing_bodies(
        vise, MACHINE, middle_mm=(30.0, 41.0, -24.0), gap_mm=42.0, jaw_top_mm=3.0, zero_mm=zero
    )  # fmt: skip
    frame = given.standing().frame
    return Standing(frame=frame, zero_mm=zero, centre_mm=given.CENTRE, obstacles=bodies)


def found(text: str, *, stands: Standing | None = None, table: CutterTable = TABLE) -> list[Finding]:
    """Strikes and turns, in the order of their lines."""
    knows = msgspec.structs.replace(given.control(), lengths_mm=dict(table.gauge_mm))
    course = follow(read_program(START + text + "G53 G0 Z0\nM30\n"), knows)
    fields = Fields.from_box(low_mm=np.array(given.LOW), high_mm=np.array(given.HIGH), pitch_mm=0.8)
    decided = decide(
        course, fields=fields, target=None, standing=stands if stands is not None else standing(), table=table,
        lines_count=9, run=Run(),
    )  # fmt: skip
    told: dict[str, Finding] = {}
    for finding in decided.value.findings:
        if finding.kind in ("strike", "turn", "shank or holder", "not known"):
            told.setdefault(finding.what, finding)  # the way back up begins in what was struck
    return list(told.values())


def down(cutter: int, x: float, y: float, z: float, *, feed: str = "G1", turn: str = "") -> str:
    """Line 6 goes down."""
    return f"T{cutter} M6\n{turn}S6000 M3\nG0 X{x} Y{y} G43 H{cutter} Z300\n{feed} Z{z:g} F500\nG0 Z300\n"


def told(findings: list[Finding]) -> list[tuple[int, str, float | None]]:
    return [(f.line, f.what, f.found) for f in findings]


def test_jaws_and_seat_stand_where_the_clamping_says() -> None:
    by_hand = {o.name: (o.low_mm, o.high_mm) for o in given.standing().obstacles}
    boxes = {o.name: (o.low_mm, o.high_mm) for o in standing().obstacles}
    assert {name: boxes[name] for name in by_hand} == by_hand
    assert set(boxes) - set(by_hand) == {"vise's bed", "table"}


@pytest.mark.parametrize("feed", ["G0", "G1"])
def test_the_bed_is_struck_at_its_line_on_a_feed_and_on_a_rapid(feed: str) -> None:
    """Worked: behind the fixed jaw the bed's top is at -60."""
    assert found(down(2, 30.0, 71.0, -59.99, feed=feed)) == []
    assert told(found(down(2, 30.0, 71.0, -60.5, feed=feed))) == [(6, "end mill 10 meets the vise's bed", 0.5)]


def test_a_round_table_is_struck_on_its_plate_and_not_beside_it() -> None:
    """Worked: 90 mm behind its middle the tip is over the plate, at (110, 110) from it 155 mm away is not."""
    assert found(down(2, 30.0, 110.0, -99.99)) == []
    assert told(found(down(2, 30.0, 110.0, -100.25))) == [(6, "end mill 10 meets the table", 0.25)]
    assert found(down(2, 140.0, 130.0, -104.0)) == []


def test_the_head_is_struck_beside_a_short_cutter() -> None:
    """Worked: the nose ends 40 mm above the tip of the stub: at -61.5 it is half a mm below the jaw's top at -21."""
    assert found(down(5, 30.0, 95.0, -60.9)) == []
    assert told(found(down(5, 30.0, 95.0, -61.5))) == [(6, "the spindle's head meets the fixed jaw", 0.5)]


def test_the_head_is_struck_by_the_table_where_the_work_is_tilted() -> None:
    """Worked: at A 90 the spindle lies along the work's y. 41 mm off its middle a head of 200 mm reaches 91.2 mm below
    it: over the plate, whose top is at -100, the axis may come down to 8 mm below program zero, and not to 10."""
    turn = "M11\nG0 A90\nM10\n"
    assert found(down(2, -45.0, 8.0, -10.0, turn=turn)) == []
    deep = found(down(2, -45.0, 10.0, -10.0, turn=turn))
    assert [(f.line, f.what) for f in deep] == [(9, "the spindle's head meets the table")]
    assert deep[0].found is not None
    assert 0.1 < deep[0].found < 1.3


def test_a_bare_nose_is_held_against_the_work() -> None:
    """Worked: the work stands 1 mm above program zero; without a cutter the nose itself is sent there."""
    text = "G0 X30 Y20\nG0 Z{}\nG0 Z300\n"
    assert found(text.format(2)) == []
    low = found(text.format(0))
    assert [(f.line, f.kind, f.what) for f in low] == [(4, "shank or holder", "the spindle's head meets the work")]


def test_a_drills_point_is_held_against_the_solid_jaw_and_not_a_height() -> None:
    """Worked: the jaw from y 41 to 61, its top at -21. Far below that top beside it the drill is clear; with its point
    a twentieth inside the jaw it is not, though its full diameter is still above the top."""
    assert found(down(3, 30.0, 63.51, -40.0)) == []
    assert told(found(down(3, 30.0, 63.4, -40.0))) == [
        (6, "drill 5 meets the fixed jaw", pytest.approx(0.1, abs=1e-3))
    ]  # fmt: skip
    assert told(found(down(3, 30.0, 51.0, -21.05))) == [
        (6, "drill 5 meets the fixed jaw", pytest.approx(0.05, abs=1e-3))
    ]  # fmt: skip
    assert found(down(3, 30.0, 51.0, -21.0)) == []


def test_a_vise_that_stands_a_fifth_higher_is_struck_by_what_kept_clear() -> None:
    x, y, z = given.ZERO
    higher = standing(zero=(x, y, z + 0.2))
    text = down(2, 30.0, 71.0, -59.95)
    assert found(text) == []
    assert told(found(text, stands=higher)) == [(6, "end mill 10 meets the vise's bed", pytest.approx(0.15, abs=1e-3))]
    nearer = standing(zero=(x, y - 0.2, z))
    beside = down(2, 30.0, 66.1, -40.0)
    assert found(beside) == []
    assert found(beside, stands=nearer) == []
    aside = standing(zero=(x, y + 0.2, z))
    assert told(found(beside, stands=aside)) == [(6, "end mill 10 meets the fixed jaw", pytest.approx(0.1, abs=1e-3))]


def test_the_tables_edge_comes_up_under_a_cutter_while_the_work_turns() -> None:
    """Worked: turned to A 30 the plate's rear edge rises from -100 to -33; the cutter waits behind it at -40."""
    text = "T2 M6\nG0 X30 Y150 G43 H2 Z-40\nM11\nG0 A30\nM10\n"
    (one,) = [f for f in found(text) if f.kind == "turn"]
    assert (one.line, one.is_sure) == (6, True)
    assert "table" in one.what
    without = msgspec.structs.replace(standing(), obstacles=tuple(o for o in standing().obstacles if o.name != "table"))
    assert found(text, stands=without) == []


def test_a_table_that_nobody_placed_is_not_sure() -> None:
    bodies = standing_bodies(
        HELD, MACHINE, middle_mm=(30.0, 41.0, -24.0), gap_mm=42.0, jaw_top_mm=3.0, zero_mm=(None, None, None)
    )
    stands = msgspec.structs.replace(standing(), obstacles=bodies)
    (one,) = found(down(2, 140.0, 130.0, -101.0), stands=stands)
    assert (one.what, one.is_sure) == ("end mill 10 meets the table", False)


def test_what_is_not_described_is_named() -> None:
    assert unlooked((), None) == ("the jaws", "the vise's bed", "the table", "the spindle's head")
    assert unlooked(standing().obstacles, MACHINE) == ()
