"""A table that is filled in several ways asks for the program of what lies there in the next cycle, and no other."""

from __future__ import annotations

import msgspec
import pytest
import worked_home
from msgspec.structs import replace

from proveout.jobs.program_now import filled_now, places_now, programs_now, programs_of, steps_together
from proveout.jobs.set_up import hindrances
from proveout.model.batch import Batch, StepCount
from proveout.model.floor_events import SetUpMeasured
from proveout.model.plan import Plan, ProgramSheet
from proveout.model.table_load import Filling, Laid, Place, TableLoad

MARKS = {(0, 1): "a1b2c3d4e5f6", (0,): "b1b2c3d4e5f6", (1,): "c1b2c3d4e5f6"}


def loaded(ids: tuple[str, ...], *, fillings: tuple[tuple[int, ...], ...] = tuple(MARKS)) -> Plan:
    """The worked plan with a table of two places, in which clampings of these ids lie."""
    plan = worked_home.plan()
    laid = tuple(
        Laid(clamping_id=id, place=Place(machine_id="mill-3", vise_id="v", number=n + 1, vise_number=n + 1),
             work_offset=f"G5{4 + n}")
        for n, id in enumerate(ids)
    )  # fmt: skip
    load = TableLoad(
        machine_id="mill-3", clamping_ids=tuple(dict.fromkeys(ids)), pieces_count=3 - len(set(ids)), laid=laid,
        steps=(), clear_mm=None, fillings=tuple(
            Filling(filled=one, cycles_count=1, seconds=1.0, changes_count=1, ways_count=0, ways_s=0.0)
            for one in fillings
        ),
    )  # fmt: skip
    programs = tuple(
        ProgramSheet(clamping_id=id, file=f"{'-'.join(map(str, filled))}.nc", fingerprint=MARKS[filled], blocks_count=1,
                     work_offset="G54", cutters={}, filled=filled)
        for filled in fillings for id in dict.fromkeys(ids[n] for n in filled)
    )  # fmt: skip
    return msgspec.structs.replace(plan, table_loads=(load,), programs=programs)


def batch(op1: int, op2: int = 0, *, through: int = 5, first: bool = True) -> Batch:
    """So many pieces wait at each clamping, and so many are through the last."""
    steps = tuple(
        StepCount(id=id, station="mill-3", kind="mill", in_count=waits + good, good_count=good, is_started=True)
        for id, waits, good in (("op1", op1, through + op2), ("op2", op2, through))
    )
    return Batch(batch="B1", part="EX-1", revision="B", wanted_count=8, due="", steps=steps,
                 first_through=("op1", "op2") if first else ())  # fmt: skip


BESIDE = ("c1", "c2")
TWICE = ("c1", "c1")


@pytest.mark.parametrize(
    ("ids", "at", "waits", "filled"),
    [
        (BESIDE, 0, batch(6, 1), (0, 1)), (BESIDE, 1, batch(6, 1), (0, 1)), (BESIDE, 0, batch(6, 0), (0,)),
        (BESIDE, 1, batch(0, 1), (1,)), (BESIDE, 0, batch(6, 1, through=0), (0,)),
        (BESIDE, 1, batch(6, 1, through=0), (1,)), (BESIDE, 0, batch(6, 1, through=0, first=False), (0, 1)),
        (TWICE, 0, batch(6), (0, 1)), (TWICE, 0, batch(1), (0,)), (TWICE, 0, batch(6, through=0), (0,)),
        (BESIDE, 1, batch(6, 0), None),
    ],
)  # fmt: skip
def test_what_lies_there_follows_from_what_waits_and_piece_one_lies_alone(
    ids: tuple[str, ...], at: int, waits: Batch, filled: tuple[int, ...] | None
) -> None:
    plan = loaded(ids)
    clamping = plan.clampings[at]
    assert filled_now(plan, clamping, waits) == filled
    marks = {one.fingerprint for one in programs_now(plan, clamping, waits)}
    assert marks == ({MARKS[filled]} if filled is not None else set())
    assert places_now(plan, clamping, waits) == tuple(n + 1 for n in filled or ())


def judged(plan: Plan, waits: Batch, mark: str, *, at: int = 0) -> list[str]:
    of = SetUpMeasured(step=f"op{at + 1}", program=mark, revision="B")
    found = hindrances(of, plan=plan, shop=worked_home.shop(), clamping=plan.clampings[at], batch=waits)
    return [one.words for one in found if "rogram" in one.what]


def test_another_program_of_the_same_table_is_refused_by_its_places() -> None:
    plan = loaded(BESIDE)
    for mark in MARKS.values():
        for at, waits, right in ((0, batch(6, 1), (0, 1)), (0, batch(6, 1, through=0), (0,)), (1, batch(0, 1), (1,))):
            found = judged(plan, waits, mark, at=at)
            if mark == MARKS[right]:
                assert found == []
                continue
            (words,) = found
            assert "for another filling of the table" in words
            assert f"place {', '.join(str(n + 1) for n in right)} filled" in words
            assert f"{MARKS[right][:4]} {MARKS[right][4:8]}" in words
    assert "not the one of this packet" in judged(plan, batch(6, 1), "0123456789ab")[0]
    assert "No program was compared" in judged(plan, batch(6, 1), "")[0]


def test_where_no_filling_suits_what_waits_nothing_is_started() -> None:
    plan = loaded(TWICE, fillings=((0, 1),))
    assert "No program of this table is for the pieces that wait" in judged(plan, batch(1), MARKS[0, 1])[0]
    assert judged(plan, batch(2), MARKS[0, 1]) == []


def test_a_clamping_alone_on_its_table_has_its_own_programs() -> None:
    plan = replace(loaded(BESIDE), table_loads=())
    clamping = plan.clampings[0]
    assert filled_now(plan, clamping, batch(6)) == ()
    assert programs_now(plan, clamping, batch(6)) == programs_of(plan, clamping)
    assert (steps_together(plan, clamping), places_now(plan, clamping, batch(6))) == (frozenset({"op1"}), ())
    assert steps_together(loaded(BESIDE), clamping) == frozenset({"op1", "op2"})
