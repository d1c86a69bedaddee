"""Charts of a running batch: what they prove, how a size drifts, and what to change."""

from __future__ import annotations

import uuid

import msgspec
import pytest
import run_batches
from learning_year import folded

from proveout.jobs.batch_charts import Charted, charted
from proveout.model.batch_events import Check, Counted, EdgeUse, ReadingTaken, Released, Started
from proveout.model.events import Event
from proveout.model.floor_events import OffsetAdvised, OffsetAnswered
from proveout.model.plan import Plan, ProgramSheet, Window

MILL = run_batches.MILL
WIGGLE = (0.001, -0.001, 0.0015, -0.0005, 0.0, 0.001, -0.0012, 0.0003)
TOP, FLOOR, BOTTOM = "plane +z 12.000 #aaaaaa", "plane +z 4.000 #bbbbbb", "plane -z 0.000 #cccccc"


def window(faces: tuple[str, ...], **more: object) -> Window:
    given: dict[str, object] = {"kind": "length", "is_inside": False, **more}
    return msgspec.structs.replace(
        run_batches.BORE,
        balloon=3,
        text="12 +-0.05",
        face_ids=faces,
        before_low_mm=11.95,
        before_high_mm=12.05,
        **given,
    )


def plan(size: Window, *, cut: dict[str, str]) -> Plan:
    """cut: kind of the pass of the first clamping that leaves each face."""
    base = run_batches.plan()
    shape = next(one for one in base.passes if one.clamping_id == "c1")
    passes = tuple(
        msgspec.structs.replace(shape, id=f"c1/t/EM12/{kind}/{face}", kind=kind, face_ids=(face,), cutter_id="EM12")
        for face, kind in cut.items()
    )
    sheet = ProgramSheet(clamping_id="c1", file="op1.nc", fingerprint="ab" * 32, blocks_count=2, work_offset="G54",
                         cutters={"4": "EM12"})  # fmt: skip
    return msgspec.structs.replace(
        base, passes=passes, programs=(sheet,), finishing=msgspec.structs.replace(base.finishing, windows=(size,))
    )


def events(values: list[float]) -> list[Event]:
    """A batch whose first clamping has one size that was read so, a piece between."""
    found: list[Event] = []
    run = run_batches.Run(found.append, "B0")
    run.whole()
    until = next(k for k, e in enumerate(found) if isinstance(e.of, Started) and e.of.step == "c1") + 1
    kept = found[:until]
    check = Check(step="c1", mark="3", text="12 +-0.05", low=11.95, high=12.05)
    at = next(k for k, e in enumerate(kept) if isinstance(e.of, Released))
    kept[at] = msgspec.structs.replace(kept[at], of=msgspec.structs.replace(kept[at].of, checks=(check,)))
    run.post, run.at = kept.append, kept[-1].at
    for number, value in enumerate(values):
        run.later(100.0)
        run(Counted(step="c1", good_count=1, used=(EdgeUse(machine=MILL, cutter="EM12", used_s=60.0),)), MILL)
        run(ReadingTaken(step="c1", mark="3", value=value, piece=str(number)), MILL)
    return kept


def chart(
    values: list[float], own: Plan, *, changed_at: int | None = None, is_taken: bool = True, mark: str = "3"
) -> Charted:
    """changed_at: after which reading an offset was advised and answered, for which size."""
    told = events(values)
    if changed_at is not None:
        read = [number for number, event in enumerate(told) if isinstance(event.of, ReadingTaken)][changed_at]
        advice = OffsetAdvised(step="c1", offset="T4 length", shift_mm=-0.01, why="reads large", mark=mark)
        answer = OffsetAnswered(step="c1", advice=(own_id := str(uuid.uuid4())), is_taken=is_taken)
        at = told[read]
        told[read + 1 : read + 1] = [
            msgspec.structs.replace(at, id=own_id, person="jon", of=advice),
            msgspec.structs.replace(at, id=str(uuid.uuid4()), person="mara", of=answer),
        ]
    return charted(folded(told, "B0"), list(enumerate(told, start=1)), plan=own, shop=run_batches.shop())[0]


HEIGHT = plan(window((TOP, BOTTOM)), cut={TOP: "face"})
DEPTH = plan(window((TOP, FLOOR), is_inside=True, is_step=True), cut={FLOOR: "finish floor"})
LARGE = [12.012 + one for one in WIGGLE]


def test_a_height_that_reads_large_asks_for_a_shorter_cutter() -> None:
    told = chart(LARGE, HEIGHT)
    assert told.add_mm == pytest.approx(-0.012, abs=5e-4)
    assert told.advice.startswith(
        "Add -0.012 to the wear offset of the length of T4 EM12: parts read large by 0.012 mm."
    )


def test_a_depth_that_reads_large_asks_for_a_longer_one_unless_its_upper_face_is_cut() -> None:
    assert chart(LARGE, DEPTH).advice.startswith("Add +0.012 to the wear offset of the length of T4 EM12")
    upper = plan(window((TOP, FLOOR), is_inside=True, is_step=True), cut={TOP: "face"})
    assert chart(LARGE, upper).add_mm == pytest.approx(-0.012, abs=5e-4)


@pytest.mark.parametrize(
    ("own", "why"),
    [
        (plan(window((TOP, BOTTOM), kind="hole"), cut={TOP: "bore"}), "no offset of a radius"),
        (plan(window((TOP, BOTTOM)), cut={TOP: "finish wall"}), "no offset of a radius"),
        (plan(window((TOP, BOTTOM)), cut={TOP: "face", BOTTOM: "face"}), "would move both"),
        (plan(window(("torus 1", FLOOR), is_step=True), cut={FLOOR: "finish floor"}), "lies deeper is not shown"),
    ],
)
def test_where_no_offset_moves_the_size_it_says_why(own: Plan, why: str) -> None:
    told = chart(LARGE, own)
    assert told.add_mm == 0.0
    assert why in told.advice
    assert "parts read large by 0.012 mm" in told.advice


def test_good_readings_and_few_ones_leave_it_alone() -> None:
    assert "Leave the offset" in chart([12.0 + one for one in WIGGLE], HEIGHT).advice
    assert "3 readings since it was changed" in chart(LARGE[:3], HEIGHT).advice


@pytest.mark.parametrize("mark", ["3", ""])
def test_readings_before_an_advice_was_taken_move_nothing(mark: str) -> None:
    told = chart([*LARGE, *(12.0 + one for one in WIGGLE[:5])], HEIGHT, changed_at=7, mark=mark)
    assert told.since_count == 5
    assert told.add_mm == 0.0
    assert chart(LARGE, HEIGHT, changed_at=7).advice == "Nothing was read since the offset was changed."


def test_an_advice_that_was_dropped_changed_nothing() -> None:
    assert chart(LARGE, HEIGHT, changed_at=7, is_taken=False) == chart(LARGE, HEIGHT)


def test_capability_is_told_at_what_it_proves_and_drift_over_the_cutters_seconds() -> None:
    told = chart([12.0 + 0.002 * number + one for number, one in enumerate(WIGGLE)], HEIGHT)
    assert told.worse is not None
    assert told.at_least is not None
    assert told.at_least < told.worse
    assert told.is_trial
    assert told.drift is not None
    assert told.drift.slope == pytest.approx(0.002 / 60.0, rel=0.2)
    assert told.outside_count == 0
    assert chart([12.0, 12.1, 12.0], HEIGHT).outside_count == 1
