"""A table whose last cycle is filled otherwise asks for the program of that cycle, and counts what was cut before."""

from __future__ import annotations

import uuid
from datetime import UTC, datetime
from types import SimpleNamespace
from typing import cast

import pytest
from jobs.test_program_now import BESIDE, MARKS, TWICE, batch, loaded

from proveout.books.stretches import Told
from proveout.jobs.home import Home
from proveout.jobs.start_again import countable, left_to_count, start_again
from proveout.model.batch_events import Counted, Resumed, Started
from proveout.model.events import Event, Stating
from proveout.model.floor_events import SetUpMeasured


def told(*happened: Stating) -> Told:
    return tuple(
        (Event(id=str(uuid.uuid4()), at=datetime.now(UTC), person="mara", station="mill-3", batch="B1", of=of), of)
        for of in happened
    )


def start(step: str, filled: tuple[int, ...]) -> tuple[Stating, Stating]:
    return SetUpMeasured(step=step, program=MARKS[filled], revision="B"), Started(step=step)


def good(step: str, count: int = 1) -> Counted:
    return Counted(step=step, good_count=count)


BOTH = (0, 1)


@pytest.mark.parametrize(
    ("ids", "at", "waiting", "happened", "left"),
    [
        # two of op1 in a cycle: five wait, so four are made by the full program, and the fifth by another
        (TWICE, 0, (5, 0), start("op1", BOTH), 4),
        (TWICE, 0, (1, 4), (*start("op1", BOTH), good("op1", 4)), 0),
        # one of a pair is counted: its fellow was cut with it
        (TWICE, 0, (2, 3), (*start("op1", BOTH), good("op1", 3)), 1),
        (TWICE, 0, (1, 4), (*start("op1", BOTH), good("op1", 4), *start("op1", (0,))), 1),
        # op1 and op2 side by side: six blanks and one piece turned over give six full cycles, the last op2 alone
        (BESIDE, 0, (6, 1), start("op1", BOTH), 6),
        (BESIDE, 1, (6, 1), start("op1", BOTH), 6),
        (BESIDE, 0, (0, 2), (*start("op1", BOTH), good("op1", 6), good("op2", 5)), 0),
        (BESIDE, 1, (0, 2), (*start("op1", BOTH), good("op1", 6), good("op2", 5)), 1),
        (BESIDE, 1, (0, 1), (*start("op1", BOTH), good("op1", 6), good("op2", 6)), 0),
        (BESIDE, 1, (0, 1), (*start("op1", BOTH), good("op1", 6), good("op2", 6), *start("op2", (1,))), 1),
        (BESIDE, 0, (0, 1), (*start("op1", BOTH), good("op1", 6), good("op2", 6)), 0),
    ],
)
def test_the_program_in_the_control_makes_full_cycles_and_no_more(
    ids: tuple[str, ...], at: int, waiting: tuple[int, int], happened: tuple[Stating, ...], left: int
) -> None:
    plan = loaded(ids)
    assert left_to_count(plan, plan.clampings[at], batch(*waiting), told(*happened)) == left


def test_going_on_with_another_program_begins_its_count_anew() -> None:
    plan = loaded(TWICE)
    full = (*start("op1", BOTH), good("op1", 4))
    stopped = Resumed(step="op1", why="looked at it")
    compared = SetUpMeasured(step="op1", program=MARKS[0,], revision="B")
    one = batch(1, 4)
    assert left_to_count(plan, plan.clampings[0], one, told(*full, stopped)) == 0
    assert left_to_count(plan, plan.clampings[0], one, told(*full, compared)) == 0
    assert left_to_count(plan, plan.clampings[0], one, told(*full, compared, stopped)) == 1


def test_nothing_is_said_of_a_clamping_alone_or_of_a_program_nobody_compared() -> None:
    plan = loaded(TWICE)
    clamping = plan.clampings[0]
    assert left_to_count(plan, clamping, batch(5), told(Started(step="op1"))) is None
    assert left_to_count(loaded(("c2", "c2")), clamping, batch(5), told(*start("op1", BOTH))) is None


def test_the_last_piece_is_counted_after_a_start_of_its_own(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = loaded(TWICE)
    monkeypatch.setattr("proveout.jobs.start_again.packet_place", lambda *_: SimpleNamespace(plan=plan))
    home, now = cast("Home", None), batch(3, first=False)
    full = start("op1", BOTH)
    assert start_again(home, now, now.steps[0], told(*full), good_count=2) == ""
    assert "makes 2 more" in start_again(home, now, now.steps[0], told(*full), good_count=3)
    assert countable(home, now, now.steps[0], told(*full)) == 2
    last = batch(1, first=False)
    assert "do not fill the table" in start_again(home, last, last.steps[0], told(*full, good("op1", 2)))
    assert start_again(home, last, last.steps[0], told(*full, good("op1", 2), *start("op1", (0,)))) == ""
