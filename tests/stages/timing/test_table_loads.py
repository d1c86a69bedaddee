"""What lies in each place in one cycle: the cheapest of all named ways, as a person with a stop watch could reckon."""

from __future__ import annotations

from itertools import pairwise, product
from typing import Any

import msgspec
import pytest
import two_places as given

from proveout.model.job import Pin
from proveout.model.proof import Decision
from proveout.model.table_load import TableLoad, passes_in_order
from proveout.stages.timing.cycle import cycle_of, moves_time_s, shared_by
from proveout.stages.timing.table_groups import ONE_FORCE, UNMEASURED
from proveout.stages.timing.table_loads import TableChoice, decide_loads
from proveout.stages.timing.table_order import order_of
from proveout.stages.timing.table_pins import LESS_MONEY

CUT_S = {kind: moves_time_s(moves, given.MILL) for kind, moves in given.MOVES.items()}


def decided(numbers: tuple[int, ...] = (1,), **more: Any) -> Decision[TableChoice]:
    received: dict[str, Any] = {
        "passes": given.ONE if numbers == (1,) else given.TWO, "machines": (given.MILL,), "vises": (given.VISE,),
        "clampings": tuple(given.clamping(n) for n in numbers), "jaws": given.JAWS, "blank": given.BLANK,
        "clamp_forces": given.FORCES, "quantity": 1000, "pieces_count": 101, **more,
    }  # fmt: skip
    return decide_loads(**received)


def proof(decision: Decision[TableChoice], slug: str) -> Any:
    return next(p for p in decision.proofs if p.id.endswith(slug))


def test_two_pieces_of_one_clamping_share_the_cutter_changes() -> None:
    """worked: alone mill, drill, mill are 2 changes a piece (the last mill finds itself); two pieces share them."""
    decision = decided()
    (load,) = decision.value.loads
    assert (load.clamping_ids, load.pieces_count) == (("c1",), 2)
    full, last = load.fillings
    assert (full.filled, full.cycles_count, full.changes_count, full.ways_count) == ((0, 1), 50, 2, 3)
    # 101 pieces: fifty cycles of two, and one piece is left, which lies in the first place alone
    assert (last.filled, last.cycles_count, last.ways_count) == ((0,), 1, 0)
    cut = sum(CUT_S.values())
    assert last.seconds == pytest.approx(cut + 2 * 7.0, abs=1e-5)
    assert full.seconds == pytest.approx(2 * cut + 2 * 7.0 + full.ways_s, abs=1e-5)
    assert proof(decision, ":every piece").verdict == "holds"
    assert "1 cycle with c1 in place 1 alone" in proof(decision, ":every piece").basis.formula


def test_a_way_between_places_is_timed_over_the_highest_of_all() -> None:
    """worked: 25 + 25 over the higher seat at -300 is -250; up from 45 above zero at -300 that is 5 mm, and so on."""
    (load,) = decided().value.loads
    assert load.clear_mm == -250.0
    rate, accel = given.MILL.rapid_mm_per_s, given.MILL.accel_mm_per_s2

    def leg(length: float) -> float:
        return length / rate + rate / accel if length > rate**2 / accel else 2.0 * (length / accel) ** 0.5

    # rough: from (9, -37.777, 45) in place 1 to (-12, -5.001, 45) in place 2, 180 further and 0.5 nearer, 1 lower
    over = ((180.0 - 12.0 - 9.0) ** 2 + (-0.5 - 5.001 + 37.777) ** 2) ** 0.5
    worked = leg(5.0) + leg(over) + leg(6.0)
    alone = load.fillings[0].ways_s
    assert worked < alone
    drill = leg(5.0) + leg((180.0**2 + 0.5**2) ** 0.5) + leg(6.0)
    assert alone == pytest.approx(worked + 2.0 * drill, abs=1e-5)


def test_money_of_set_ups_decides_against_seconds() -> None:
    """worked: a second place costs 600 s of set-up over the order, and saves 7 s a piece less its share of the ways."""
    many, few = decided(quantity=2000, pieces_count=2000), decided(quantity=20, pieces_count=20)
    assert many.value.loads
    assert not few.value.loads
    other = next(o for o in few.value.options if o.loads)
    assert other.why_not == LESS_MONEY
    assert other.seconds < few.value.options[0].seconds
    gap = other.each - few.value.options[0].each
    full = many.value.loads[0].fillings[0]
    saved_s = sum(CUT_S.values()) + 14.0 - full.seconds / 2.0
    assert gap == pytest.approx(90.0 / 3600.0 * (600.0 / 20 - saved_s), abs=1e-4)
    text = proof(few, "table loads").basis.formula
    assert f"{gap:.3f} a piece more" in text
    assert f"{saved_s:.1f} s quicker" in text


def test_set_up_of_a_further_place_counts_whole_where_nobody_wrote_it() -> None:
    dear = decided(machines=(given.mill(setup_more_s=None),), quantity=130, pieces_count=130)
    cheap = decided(machines=(given.mill(setup_more_s=600.0),), quantity=130, pieces_count=130)
    assert cheap.value.loads
    assert not dear.value.loads


def test_jaws_that_are_made_count_once_a_place() -> None:
    """worked: a pair is 1200 s at 90 an hour and 40: 70 over the order, and two places need two of them."""
    made = decided(clampings=(given.clamping(1, jaws="soft"),), quantity=100)
    bare = decided(quantity=100)
    cost = {o.loads: o.each for o in made.value.options}
    base = {o.loads: o.each for o in bare.value.options}
    assert cost[()] - base[()] == pytest.approx(70.0 / 100, abs=1e-6)
    assert cost["2 x c1",] - base["2 x c1",] == pytest.approx(140.0 / 100, abs=1e-6)


def test_clampings_side_by_side_pass_every_piece_through_both() -> None:
    """Three pieces: first alone in the first clamping, then side by side twice, the last alone in the second."""
    pin = (Pin(quantity="side_by_side", value="true"),)
    decision = decided((1, 2), quantity=3, pieces_count=3, pins=pin)
    (load,) = decision.value.loads
    assert load.id == "c1 + c2"
    assert [(f.filled, f.cycles_count) for f in load.fillings] == [((0, 1), 2), ((0,), 1), ((1,), 1)]
    assert proof(decision, ":every piece").verdict == "holds"
    assert proof(decision, "pin:side_by_side").verdict == "holds"
    assert [laid.place.number for laid in load.laid] == [1, 2]


def brute_force_changes(rows: list[list[str]]) -> int:
    """The fewest runs of any order: every row of cutters up to the length of all together, tried one by one."""
    letters = sorted({c for row in rows for c in row})
    for length in range(1, sum(map(len, rows)) + 1):
        for tried in product(letters, repeat=length):
            at = [0] * len(rows)
            for letter in tried:
                at = [k + (k < len(row) and row[k] == letter) for k, row in zip(at, rows, strict=True)]
            if all(k == len(row) for k, row in zip(at, rows, strict=True)):
                return length
    raise AssertionError


@pytest.mark.parametrize(
    "rows",
    [
        ["abab", "baba"], ["abc", "bca"], ["ab", "ab"], ["abcab", "cab"], ["abca", "acb", "bac"], ["a", "b", "c"],
        ["abcb", "bcbd", "db"], ["ca", "ab"], ["ba", "cac"],
    ],
)  # fmt: skip
def test_cutters_go_through_all_places_in_the_shortest_order(rows: list[str]) -> None:
    passes = [
        [msgspec.structs.replace(given.one_pass(1, "drill", c), id=f"{n}-{k}") for k, c in enumerate(row)]
        for n, row in enumerate(rows)
    ]
    steps = order_of(passes)
    by_id = {one.id: one for own in passes for one in own}
    cutters = [by_id[s.pass_id].cutter_id for s in steps]
    runs = 1 + sum(a != b for a, b in pairwise(cutters))
    assert runs == brute_force_changes([list(row) for row in rows])
    for n, own in enumerate(passes):
        assert [s.pass_id for s in steps if s.laid == n] == [one.id for one in own]


def test_the_choice_is_the_cheapest_of_all_ways_tried_one_by_one() -> None:
    """Every way that three clampings can share three vises, worked out here by its own loop from the fillings alone."""
    plan = given.plan_of(
        (1, "rough", "mill"), (1, "drill", "drill"), (2, "rough", "mill"), (3, "drill", "drill"), (3, "rough", "mill")
    )
    vise = msgspec.structs.replace(
        given.VISE, more_stand_mm=tuple((380.0 + 150.0 * k, -200.0, -300.0) for k in range(2))
    )
    received: dict[str, Any] = {
        "passes": plan, "machines": (given.mill(vises_count=3, travel_mm=(900.0, 450.0, 400.0)),), "vises": (vise,),
        "quantity": 60, "pieces_count": 61,
    }  # fmt: skip
    numbers = (1, 2, 3)
    found: dict[tuple[str, ...], float] = {}
    for first in range(1, 4):  # each way of cutting 1 2 3 into stretches
        for second in range(first, 4):
            groups = [g for g in (numbers[:first], numbers[first:second], numbers[second:]) if g]
            for counts in product(range(1, 4), repeat=len(groups)):
                if any(len(g) * m > 3 for g, m in zip(groups, counts, strict=True)):
                    continue
                total = 0.0
                for group, count in zip(groups, counts, strict=True):
                    total += money_of(group, count, received)
                found[tuple(f"{m}{g}" for g, m in zip(groups, counts, strict=True))] = total
    decision = decided(numbers, **received)
    assert decision.value.options[0].each == pytest.approx(min(found.values()), abs=1e-5)
    ranked = sorted(found.values())
    assert [o.each for o in decision.value.options[1:]] == pytest.approx(ranked[1:3], abs=1e-5)


def money_of(group: tuple[int, ...], count: int, received: dict[str, Any]) -> float:
    """Money a piece of clampings side by side, count pieces of each, reckoned from cycles that are counted here."""
    plan, pieces = received["passes"], received["pieces_count"]
    machine = received["machines"][0]
    own = {n: [p for p in plan.passes if p.clamping_id == f"c{n}"] for n in group}
    laid = [n for n in group for _ in range(count)]
    alone = decided(
        group, **{**received, "pins": (
            Pin(quantity="pieces_a_cycle", value=str(count)),
            Pin(quantity="side_by_side", value=str(len(group) > 1).lower()),
        )},
    )  # fmt: skip
    load: TableLoad | None = next((x for x in alone.value.loads if len(x.clamping_ids) == len(group)), None)
    setup = machine.setup_s + (len(laid) - 1) * machine.setup_more_s
    if load is None:  # one piece, one clamping
        names = [p.cutter_id for p in own[group[0]]]
        changes = sum(names[k] != names[k - 1] for k in range(len(names)))
        seconds = sum(CUT_S[p.kind] for p in own[group[0]]) + 7.0 * changes
        return 90.0 / 3600.0 * (seconds + setup / received["quantity"])
    total, left = 0.0, [pieces] * len(group)
    for filling in load.fillings:
        total += filling.cycles_count * filling.seconds
        for n in filling.filled:
            left[group.index(laid[n])] -= filling.cycles_count
    assert left == [0] * len(group)
    return 90.0 / 3600.0 * (total / pieces + setup / received["quantity"])


def test_unmeasured_places_are_named_and_not_taken() -> None:
    decision = decided(vises=(given.UNMEASURED,), quantity=5000)
    assert decision.value.loads == ()
    other = next(o for o in decision.value.options if o.loads)
    assert other.why_not == UNMEASURED


def test_the_owner_may_insist_on_unmeasured_places() -> None:
    pins = (Pin(quantity="pieces_a_cycle", value="2"),)
    decision = decided(vises=(given.UNMEASURED,), pins=pins)
    assert [load.clear_mm for load in decision.value.loads] == [None]
    assert proof(decision, "pin:pieces_a_cycle").verdict == "holds"


@pytest.mark.parametrize(
    ("pin", "more", "says"),
    [
        (("pieces_a_cycle", "3"), {}, "not the places for it"),
        (("side_by_side", "true"), {}, "no clampings that follow each other"),
        (("pieces_a_cycle", "2"), {"machines": (given.mill(vises_count=1),)}, "more than one place"),
        (("pieces_a_cycle", "2"), {"struck": {"2 x c1": "in place 1 the head meets the piece"}}, "the head meets"),
    ],
)
def test_a_pin_that_cannot_be_kept_is_refused_with_the_reason(
    pin: tuple[str, str], more: dict[str, Any], says: str
) -> None:
    refused = decided(pins=(Pin(quantity=pin[0], value=pin[1]),), **more)  # type: ignore[arg-type]
    found = proof(refused, f"pin:{pin[0]}")
    assert found.verdict == "fails"
    assert says in found.remedy
    assert not [load for load in refused.value.loads if load.pieces_count == 3]


def test_a_load_that_strikes_is_not_taken() -> None:
    decision = decided(quantity=5000, struck={"2 x c1": "in place 1 the head meets the piece"})
    assert decision.value.loads == ()
    assert any("head meets" in o.why_not for o in decision.value.options)


def test_two_sides_of_one_vise_close_with_one_force() -> None:
    softer = (given.FORCES[0], msgspec.structs.replace(given.FORCES[1], ratio=0.6))
    pins = (Pin(quantity="side_by_side", value="true"),)
    assert decided((1, 2), vises=(given.DOUBLE,), pins=pins).value.loads[0].laid[1].place.is_turned
    refused = decided((1, 2), vises=(given.DOUBLE,), clamp_forces=softer, pins=pins)
    assert ONE_FORCE in proof(refused, "pin:side_by_side").remedy


def test_a_half_filled_vise_with_two_sides_wants_a_slug() -> None:
    decision = decided(vises=(given.DOUBLE,), quantity=2001, pieces_count=2001)
    assert "a slug as wide as the work" in proof(decision, ":every piece").basis.formula


def test_a_piece_bears_its_share_of_what_the_cycles_spend() -> None:
    """The shares of all clampings, times the pieces, are what the cycles of the batch take."""
    pins = (Pin(quantity="side_by_side", value="true"),)
    (load,) = decided((1, 2), pins=pins).value.loads
    total = 0.0
    for number in (1, 2):
        one = given.clamping(number)
        shared = shared_by(one, given.MILL, given.TWO.passes, (load,), 101)
        assert shared is not None
        total += 101 * cycle_of(clamping=one, machine=given.MILL, plan=given.TWO, shared=shared).seconds
    assert total == pytest.approx(sum(f.seconds * f.cycles_count for f in load.fillings), rel=1e-7)


def test_steps_of_a_part_filled_cycle_keep_their_order() -> None:
    (load,) = decided().value.loads
    alone = [one.id for _, one in passes_in_order(load, given.ONE.passes, (1,))]
    assert alone == [one.id for one in given.ONE.passes]
