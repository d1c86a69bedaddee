"""Programs that work in several places: read back each place makes the planned moves, bit by bit, and meets nothing."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any

import msgspec
import numpy as np
import pytest
import two_places as given

from proveout.jobs.check_program import control_of
from proveout.jobs.place_programs import load_origins, prove_load_program
from proveout.jobs.programs import table_of
from proveout.model.course import Course, Motion
from proveout.model.job import Pin
from proveout.model.moves import Moves
from proveout.model.run import Run
from proveout.model.shop import Vise
from proveout.model.table_load import TableLoad, frame_at, moves_at, places_of, zero_at
from proveout.programs.reading.blocks import read_program
from proveout.programs.reading.running import follow
from proveout.programs.writing.places import write_load
from proveout.stages.timing.table_loads import decide_loads

PECKED = Moves(
    points=np.array([[10.5, 4.25, z] for z in (40.0, 21.3, 16.3, 21.3, 16.8, 11.3, 21.3, 11.8, 9.3, 21.3, 40.0)]),
    feed_mm_per_s=np.array([0.0, 0.0, 3.0, 0.0, 0.0, 3.0, 0.0, 0.0, 3.0, 0.0, 0.0]),
)  # fmt: skip
"""Pecks of 5 mm from Z 21.3, each begun 0.5 mm above the last."""
PINS = (Pin(quantity="pieces_a_cycle", value="2"),)


def load_of(vise: Vise = given.VISE, **more: Any) -> TableLoad:
    received: dict[str, Any] = {
        "passes": given.ONE, "clampings": (given.clamping(1),), "machines": (given.MILL,), "vises": (vise,),
        "jaws": given.JAWS, "blank": given.BLANK, "clamp_forces": given.FORCES, "quantity": 100, "pieces_count": 101,
        "pins": PINS, **more,
    }  # fmt: skip
    return decide_loads(**received).value.loads[0]


def written(load: TableLoad, filled: tuple[int, ...] = (0, 1)) -> str:
    return write_load(
        title="EX-1", load=load, filled=filled, clampings={"c1": given.clamping(1)}, machine=given.MILL,
        passes=given.ONE.passes, moves=given.ONE.moves, cutters=given.CUTTERS, numbers=given.NUMBERS,
    ).text  # fmt: skip


def proved(
    load: TableLoad, text: str, vise: Vise = given.VISE, filled: tuple[int, ...] = (0, 1)
) -> dict[str, tuple[str, str]]:  # fmt: skip
    """Verdict of every claim, and what it says beside it."""
    found = prove_load_program(
        text=text, load=load, filled=filled, clampings=(given.clamping(1),), machine=given.MILL, vises=(vise,),
        numbers=given.NUMBERS, blank=given.BLANK, passes=given.ONE, cutters=given.CUTTER_LIST, run=Run(),
    )  # fmt: skip
    return {p.id.removeprefix("program:"): (p.verdict, p.decides + p.remedy) for p in found}


def followed(load: TableLoad, text: str) -> Course:
    table = table_of(given.NUMBERS, given.CUTTERS, given.MILL)
    return follow(
        read_program(text), control_of(given.MILL, table, origins_mm=load_origins(load, {"c1": given.clamping(1)}))
    )  # fmt: skip


@pytest.mark.parametrize("vise", [given.VISE, msgspec.structs.replace(given.DOUBLE, middle_jaw_mm=90.0)])
def test_in_every_place_the_program_makes_the_planned_moves_and_meets_nothing(vise: Vise) -> None:
    load = load_of(vise)
    found = proved(load, written(load), vise)
    assert {name: v for name, v in found.items() if v[0] != "holds"} == {}
    for place in (1, 2):
        assert f"c1 in place {place}:read back" in found
        assert f"c1 in place {place}:strike" in found
        assert f"c1 in place {place}:other places" in found


def test_cutter_by_cutter_through_all_places() -> None:
    text = written(load_of())
    calls = re.findall(r"T(\d+) M6|\(PLACE (\d): (\w+)", text)  # a pass's heading stands before its cutter
    assert [c[0] or f"{c[1]} {c[2]}" for c in calls] == [
        "1 ROUGH", "3", "2 ROUGH", "1 DRILL", "7", "2 DRILL", "1 BORE", "3", "2 BORE",
    ]  # fmt: skip
    assert set(re.findall(r"G5[4-9]", text.split("S9000 M3")[1])) == {"G54", "G55"}


def test_ways_between_places_are_made_above_every_vise_and_piece() -> None:
    load = load_of()
    course = followed(load, written(load))
    motions = [m for m in course.items if isinstance(m, Motion)]
    places = [(m, n) for m, n in pairwise(motions) if m.modes.system != n.modes.system]
    over = [n for _, n in places if not (n.from_top and n.to_top)]
    assert len(over) == 3
    for way in over:
        assert way.kind == "rapid"
        height = (way.start[2] or 0.0) + (way.modes.origin_mm[2] or 0.0)
        assert height == way.end[2] + (way.modes.origin_mm[2] or 0.0) == load.clear_mm == -250.0  # type: ignore[operator]


@pytest.mark.parametrize("back_mm", [0.5, None])
def test_the_head_says_how_far_the_controls_own_pecks_back_off(back_mm: float | None) -> None:
    load = load_of()
    passes = tuple(
        msgspec.structs.replace(one, kind="peck", moves_digest=PECKED.digest) if one.kind == "drill" else one
        for one in given.ONE.passes
    )
    style = msgspec.structs.replace(given.STYLE, peck_back_mm=back_mm)
    text = write_load(
        title="EX-1", load=load, filled=(0, 1), clampings={"c1": given.clamping(1)}, machine=given.mill(program=style),
        passes=passes, moves=given.ONE.moves | {PECKED.digest: PECKED}, cutters=given.CUTTERS, numbers=given.NUMBERS,
    ).text  # fmt: skip
    said = "(G83 BACKS OFF 0.5 MM: CHECK THE SETTING OF THE CONTROL)"
    assert text[: text.index("PLACE 1")].count(said) == (back_mm is not None)
    assert ("G83 X" in text) == (back_mm is not None)


def test_unmeasured_places_are_gone_between_by_the_top_and_not_shown() -> None:
    load = load_of(given.UNMEASURED)
    found = proved(load, written(load), given.UNMEASURED)
    assert found["c1 in place 2:read back"][0] == "holds"
    assert found["c1 in place 2:not known"][0] == "holds"
    assert found["c1 in place 1:other places"][0] == "not shown"
    assert found["c1 in place 1:over-travel"][0] == "not shown"
    motions = [m for m in followed(load, written(load)).items if isinstance(m, Motion)]
    over = [n for m, n in pairwise(motions) if m.modes.system != n.modes.system]
    assert all(n.from_top and n.to_top for n in over)
    assert {m.modes.spindle for m in motions if m.kind == "feed"} == {"right"}


def test_one_place_alone_has_a_program_that_leaves_the_other() -> None:
    load = load_of()
    text = written(load, (1,))
    assert "G54 " not in text.split("S9000 M3")[1]
    found = proved(load, text, filled=(1,))
    assert {name: v for name, v in found.items() if v[0] != "holds"} == {}


def edited(text: str, place: int, what: str, to: str) -> str:
    """The text with the first match of a pattern behind the given place's heading replaced."""
    at = text.index(f"(PLACE {place}: ROUGH")
    changed = re.sub(what, to, text[at:], count=1)
    assert changed != text[at:]
    return text[:at] + changed


@pytest.mark.parametrize(
    ("place", "what", "to", "fails"),
    [
        (2, r"X72.003", "X72.004", "c1 in place 2:read back"),
        (1, r"Y-37.777", "Y-37.877", "c1 in place 1:read back"),
        (2, r"Z24.345", "Z2.", "c1 in place 2:strike"),
    ],
)
def test_a_move_that_differs_is_found_in_its_place(place: int, what: str, to: str, fails: str) -> None:
    load = load_of()
    found = proved(load, edited(written(load), place, what, to))
    assert found[fails][0] == "fails"
    other = f"c1 in place {3 - place}:read back"
    assert found[other][0] == "holds"


def test_a_way_that_is_too_low_meets_what_stands_in_the_other_place() -> None:
    load = load_of()
    text = written(load)
    at = text.index("(OVER TO PLACE 2)")
    low = text[:at] + re.sub(r"Z50\.", "Z10.", text[at:], count=1)
    found = proved(load, low)
    verdict, said = found["c1 in place 2:strike"]
    assert verdict == "fails"
    assert "place 1" in said


def test_a_motion_in_an_empty_place_is_told() -> None:
    load = load_of()
    found = proved(load, written(load), filled=(0,))
    assert found[f"{load.id}:no stray place"][0] == "fails"


def test_work_turned_half_round_is_cut_by_the_same_moves() -> None:
    """A point of the part lies under the cutter at the same moment wherever the piece lies: the frames say the same."""
    place = places_of(given.MILL, (given.DOUBLE,))[1]
    assert place.is_turned
    one = given.clamping(1)
    for moves in given.MOVES.values():
        there = moves_at(moves, place)
        back = frame_at(one, place).out_of(there.points)
        assert (back == one.frame.out_of(moves.points)).all()
        assert (there.turns_rad == moves.turns_rad).all()
        assert (moves_at(there, place).table == moves.table).all()


def test_the_zero_of_turned_work_lies_at_its_other_end() -> None:
    """worked: jaws' middle at X 200, 30 from either end of the work; the middle jaw is 30 thick."""
    front, back = places_of(given.MILL, (given.DOUBLE,))
    assert zero_at(given.clamping(1), front) == (170.0, -200.0, -300.0)
    assert zero_at(given.clamping(1), back) == (230.0, -170.0, -300.0)
