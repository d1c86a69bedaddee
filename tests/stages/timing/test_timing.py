"""Timing: cycles a person with a stop watch and the shop file could reckon."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from proveout.geometry.frames import Frame
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Coat, Job, Order, PartText
from proveout.model.minute_factors import MinuteFactors
from proveout.model.moves import Moves
from proveout.model.plan import BarsPlan, Finishing, TimePlan
from proveout.model.proof import Decision, is_ready
from proveout.model.sawing import BarPattern
from proveout.model.shop import Bench, Jaws, Machine, Rotary, Saw
from proveout.model.work import Blank, Clamping, Pass, PassPlan
from proveout.quantities.errors import InternalError
from proveout.stages.timing.cycle import Shared, cycle_of, moves_time_s, run_once_s
from proveout.stages.timing.decide import decide
from proveout.stages.timing.trial_blanks import trial_lines

ROTARY = Rotary(
    a_low_rad=0.0, a_high_rad=2.0, c_is_continuous=True, pivot_in_machine_mm=None, pivot_error_mm=None,
    brake_torque_n_mm=None, tilt_s=3.0,
)  # fmt: skip
MILL = Machine(
    id="mill", name="mill", kind="3+2", travel_mm=(600.0, 450.0, 400.0), speed_max_rad_per_s=1000.0, power_mw=1e7,
    rapid_mm_per_s=400.0, feed_max_mm_per_s=40.0, accel_mm_per_s2=3000.0, cutter_change_s=5.0, pockets_count=20,
    vises_count=1, has_probe=True, rate_per_h=90.0, setup_s=1800.0, resolution_mm=0.001, rotary=ROTARY,
)  # fmt: skip
# worked: 100 mm rapid 100/400 + 400/3000; 10 mm down at 20: 10/20 + 20/3000; 100 mm at 40 (asked 50, the machine
# gives 40): 100/40 + 40/3000; 10 mm rapid up never reaches speed: 2 sqrt(10/3000). All corners are square: it stops.
MOVES = Moves(
    points=np.array([[0, 0, 10], [100, 0, 10], [100, 0, 0], [200, 0, 0], [200, 0, 10]], float),
    feed_mm_per_s=np.array([0.0, 0.0, 20.0, 50.0, 0.0]),
)
SECONDS = (0.25 + 0.4 / 3) + (0.5 + 0.02 / 3) + (2.5 + 0.04 / 3) + 2.0 * (10.0 / 3000.0) ** 0.5
FRAME = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
SAW = Saw(
    bundle_width_mm=92.0, bundle_height_mm=30.0, kerf_mm=1.8, trim_mm=6.0, tail_mm=65.0, length_tolerance_mm=0.2,
    rate_mm2_per_s=100.0, handling_s=10.0, setup_s=600.0, rate_per_h=36.0,
)  # fmt: skip
BLANK = Blank(
    bar_id="45 x 26", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=(92.5, 45.0, 26.0), cut_length_mm=92.5,
    grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=31, bar_length_mm=3000.0, material_price_each=4.0,
    mass_kg=0.3,
)  # fmt: skip
BARS = BarsPlan(
    pieces_count=150, spare_count=0, bars_count=5, lower_bound=5, strokes_count=91, kerf_mm=1.8, trim_mm=6.0,
    tail_mm=65.0, cut_length_mm=92.5, cut_tolerance_mm=0.2, price=500.0, status="proved", note="",
    patterns=(
        BarPattern(bar_id="b", bar_length_mm=3000.0, bundle_count=2, times=2, pieces_each=31, remnant_mm=0.0),
        BarPattern(bar_id="b", bar_length_mm=3000.0, bundle_count=1, times=1, pieces_each=26, remnant_mm=0.0),
    ),
)  # fmt: skip
BENCH = Bench(
    load_s=Fact(low=20.0, nominal=30.0, high=45.0, unit="s", source="watch", strength="measured here"),
    blow_off_s=exact_fact(10.0, "s", "shop", "owner's guess"),
    gauging_s=exact_fact(25.0, "s", "shop", "owner's guess"),
    deburr_s=exact_fact(55.0, "s", "shop", "owner's guess"),
    blast_s=exact_fact(120.0, "s", "shop", "owner's guess"),
    plug_s=Fact(low=8.0, nominal=12.0, high=20.0, unit="s", source="shop", strength="owner's guess"),
    kit_s=exact_fact(100.0, "s", "shop", "owner's guess"),
    programming_s=exact_fact(9000.0, "s", "shop", "owner's guess"),
    prove_out_s=exact_fact(4800.0, "s", "shop", "owner's guess"),
    rate_per_h=45.0,
)
SOFT = Jaws(id="soft", kind="soft", grip_mm=5.0, friction_ratio=None, for_surface="finished", make_s=1200.0, price=40.0)


def clamping(number: int, jaws: str = "toothed", machine: str = "mill") -> Clamping:
    patch = exact_fact(10.0, "mm", "x", "assumed")
    return Clamping(
        id=f"op{number}", number=number, machine_id=machine, vise_id="v", jaws_id=jaws, surface="raw", frame=FRAME,
        tilts=(), jaw_top_mm=3.0, patch_length_mm=patch, patch_height_mm=patch, gap_mm=45.0, grip_faces=(),
        seat_text="", zero_text="", makes_faces=(), makes_holes=(), removes_grip=False,
    )  # fmt: skip


def one_pass(op: int, cutter: str, number: int, tilt: str = "t0") -> Pass:
    return Pass(
        id=f"op{op}/{tilt}/{cutter}/rough/{number}", kind="rough", clamping_id=f"op{op}", tilt_id=tilt,
        cutter_id=cutter, feature=f"{number}", face_ids=("f",), speed_rad_per_s=100.0, tooth_feed_mm=0.05,
        radial_mm=1.0, axial_mm=1.0, moves_digest="m", moves_count=5, cut_length_mm=110.0,
    )  # fmt: skip


def plan_of(*passes: Pass) -> PassPlan:
    return PassPlan(passes=passes, not_cut=(), moves={"m": MOVES})


def times(plan: PassPlan, clampings: tuple[Clamping, ...], *, blast: bool = True, **more: Any) -> Decision[TimePlan]:
    coat = Coat(
        process="coat", thickness_mm=exact_fact(0.05, "mm", "x", "assumed"),
        build_up_ratio=exact_fact(0.5, "ratio", "x", "assumed"), blast=blast,
    )  # fmt: skip
    job = Job(
        part=PartText(number="EX-1", name="x", revision="A", step="x.step"), order=Order(quantity=150), coat=coat,
        sizes=(), masked_balloons=(), show_faces=(), general_tolerance="m", edge_break_mm=0.3, other_finishers=(),
    )  # fmt: skip
    given: dict[str, Any] = {
        "machines": (MILL,), "jaws": (SOFT,), "bench": BENCH, "saw": SAW, "blank": BLANK, "bars_plan": BARS,
        "finishing": Finishing(offset_mm={}, windows=(), coated_area_mm2=1.0, plugs=("a", "b")), **more,
    }  # fmt: skip
    return decide(passes=plan, clampings=clampings, job=job, **given)


def line(decision: Decision[TimePlan], text: str) -> Fact:
    return next(one.seconds for one in decision.value.lines if text in one.text)


def test_moves_are_timed_with_the_machines_feed_rapid_and_acceleration() -> None:
    assert moves_time_s(MOVES, MILL) == pytest.approx(SECONDS, abs=1e-9)


def test_a_machine_with_a_jerk_needs_its_longer_ramps() -> None:
    """worked, all corners square, j = 50 000: 100 mm rapid 0.25 + 0.4 / 3 + 3 / 50; at feed 20 and 40 below
    a^2 / j = 180 a ramp takes 2 sqrt(v / j): 0.5 + 0.04 and 2.5 + 0.0565685; 10 mm rapid: p = (sqrt(180^2 + 120 000)
    - 180) / 2 = 105.184 below 180, so p = (5 sqrt(50 000))^(2/3) = 107.722 and 4 sqrt(p / j)."""
    smooth = msgspec.structs.replace(MILL, jerk_mm_per_s3=50_000.0)
    worked = (0.25 + 0.4 / 3 + 0.06) + 0.54 + 2.5565685 + 4.0 * (107.7217 / 50_000.0) ** 0.5
    assert moves_time_s(MOVES, smooth) == pytest.approx(worked, rel=1e-6)
    decision = times(plan_of(one_pass(1, "A", 1)), (clamping(1),), machines=(smooth,))
    inputs = decision.proofs[0].basis.inputs
    assert (inputs["jerk"].nominal, inputs["jerk"].strength) == (50_000.0, "owner's guess")
    assert "jerk" not in times(plan_of(one_pass(1, "A", 1)), (clamping(1),)).proofs[0].basis.inputs


def test_the_jump_at_corners_is_the_machines_or_assumed() -> None:
    """worked: at 20 mm/s a turn of 45 degrees of 2 x 100 mm is passed at 20 / 0.765 above the feed, with 5 at 6.53."""
    turn = Moves(
        points=np.array([[0, 0, 0], [100, 0, 0], [200, 100, 0]], float), feed_mm_per_s=np.array([0.0, 20.0, 20.0])
    )
    strict = msgspec.structs.replace(MILL, corner_jump_mm_per_s=5.0)
    assert moves_time_s(turn, MILL) == pytest.approx((100.0 + 100.0 * 2**0.5) / 20.0 + 20.0 / 3000.0)
    corner = 5.0 / (2.0 * np.sin(np.pi / 8.0))
    lost = 2.0 * ((20.0 - corner) / 3000.0 - (20.0**2 - corner**2) / (2.0 * 3000.0 * 20.0))
    assert moves_time_s(turn, strict) == pytest.approx(moves_time_s(turn, MILL) + lost, rel=1e-9)
    inputs = times(plan_of(one_pass(1, "A", 1)), (clamping(1),)).proofs[0].basis.inputs
    assert (inputs["jump of velocity at corners"].nominal, inputs["jump of velocity at corners"].strength) == (
        20.0,
        "assumed",
    )


def test_changes_count_going_round_from_piece_to_piece() -> None:
    """worked: cutters A A B: A finds B from the piece before, then B: 2 changes. Tilts 0 1 1: 2 turns."""
    plan = plan_of(one_pass(1, "A", 1), one_pass(1, "A", 2, "t1"), one_pass(1, "B", 3, "t1"))
    cycle = cycle_of(clamping=clamping(1), machine=MILL, plan=plan)
    assert (cycle.cutter_changes_count, cycle.tilts_count) == (2, 2)
    assert cycle.seconds == pytest.approx(3 * SECONDS + 2 * 5.0 + 2 * 3.0)
    alone = cycle_of(clamping=clamping(1), machine=MILL, plan=plan_of(one_pass(1, "A", 1)))
    assert (alone.cutter_changes_count, alone.tilts_count) == (0, 0)


def test_ways_from_pass_to_pass_of_one_cutter_count() -> None:
    """Worked: from x 200 back to x 0 at rapid, 200 / 400 + 400 / 3000 s, between the first two; the third is of another
    tilt, the fourth of another cutter."""
    plan = plan_of(
        one_pass(1, "A", 1), one_pass(1, "A", 2), one_pass(1, "A", 3, "t1"), one_pass(1, "B", 4, "t1")
    )  # fmt: skip
    way = 0.5 + 0.4 / 3
    cycle = cycle_of(clamping=clamping(1), machine=MILL, plan=plan)
    assert [one.seconds for one in cycle.passes] == pytest.approx([SECONDS, SECONDS + way, SECONDS, SECONDS])
    assert run_once_s(plan.passes, plan.moves, MILL) == pytest.approx(4 * SECONDS + way + 2 * 5.0, abs=1e-3)


def test_a_piece_is_the_sum_of_its_cycles_and_the_hand_work() -> None:
    """worked: two clampings, one pass each; load 30 and blow-off 10 in each; gauge 25, edges 55, blast 120,
    two plugs 24, kit 100. The cycle is +-15 %, load 20 to 45, a plug 8 to 20."""
    decision = times(plan_of(one_pass(1, "A", 1), one_pass(2, "A", 1)), (clamping(1), clamping(2, "soft")))
    plan = decision.value
    hand = 25.0 + 55.0 + 120.0 + 100.0
    assert plan.cycle_s == pytest.approx({"op1": SECONDS, "op2": SECONDS}, abs=1e-6)
    assert plan.piece_s.nominal == pytest.approx(2 * SECONDS + 80.0 + hand + 24.0, abs=1e-5)
    assert plan.piece_s.low == pytest.approx(0.85 * 2 * SECONDS + 60.0 + hand + 16.0, abs=1e-5)
    assert plan.piece_s.high == pytest.approx(1.15 * 2 * SECONDS + 110.0 + hand + 40.0, abs=1e-5)
    assert not any("blast" in one.text for one in times(plan_of(), (), blast=False).value.lines)


def test_a_batch_holds_set_ups_saw_programming_prove_out_and_jaws() -> None:
    """worked: set-up 1800 each; saw: 600 set up, 91 strokes x 10, cuts 2 x 2 x 32 + 27 = 155 of 45 x 26 mm at 100
    mm2/s: 1813.5 s; programming 9000, prove-out 4800, one pair of soft jaws 1200."""
    decision = times(plan_of(one_pass(1, "A", 1), one_pass(2, "A", 1)), (clamping(1), clamping(2, "soft")))
    assert line(decision, "sawing").nominal == pytest.approx(1813.5)
    assert line(decision, "91 strokes").nominal == 910.0
    assert line(decision, "a pair of soft").nominal == 1200.0
    assert decision.value.batch_s.nominal == pytest.approx(3600.0 + 600.0 + 910.0 + 1813.5 + 9000.0 + 4800.0 + 1200.0)
    per = {one.text: one.per for one in decision.value.lines}
    assert (per["programming"], per["op1: set up"]) == ("design", "batch")


def test_soft_jaws_take_the_minutes_of_their_own_passes_beside_the_owners() -> None:
    """worked: 400 s by the passes at +-15 %, and 1200 that the shop file has for getting the pair ready."""
    work = plan_of(one_pass(1, "A", 1), one_pass(2, "A", 1)), (clamping(1), clamping(2, "soft"))
    bare, cut = times(*work), times(*work, pockets_s={"op2": 400.0, "op9": 77.0})
    made = {one.text: one for one in cut.value.lines if "a pair of soft" in one.text}
    pocket = made.pop("op2: cut the pocket of a pair of soft, by its own passes")
    ready = made.pop("op2: get a pair of soft ready to be cut, by the shop file")
    assert made == {}
    assert (pocket.seconds.low, pocket.seconds.nominal, pocket.seconds.high) == pytest.approx((340.0, 400.0, 460.0))
    assert (pocket.station, pocket.per, pocket.cause) == ("mill", "design", "once")
    assert (ready.seconds.nominal, ready.seconds.strength) == (1200.0, "owner's guess")
    assert cut.value.batch_s.nominal - bare.value.batch_s.nominal == pytest.approx(400.0)
    (alone,) = [one for one in bare.value.lines if "a pair of soft" in one.text]
    assert alone.text == "op2: machine a pair of soft, by the shop file"


def test_a_pocket_is_cut_as_long_as_this_machine_clears() -> None:
    """worked: 400 s by the passes, and this machine takes 1.2 to 1.6 times, mostly 1.4, as long to clear."""
    slow = Fact(low=1.2, nominal=1.4, high=1.6, unit="ratio", source="batches", strength="measured here")
    mill = msgspec.structs.replace(MILL, minutes=MinuteFactors(roughing=slow))
    soft = msgspec.structs.replace(SOFT, make_s=0.0)
    found = times(
        plan_of(one_pass(1, "A", 1)), (clamping(1, "soft"),), machines=(mill,), jaws=(soft,), pockets_s={"op1": 400.0}
    )  # fmt: skip
    pocket = line(found, "cut the pocket")
    assert (pocket.low, pocket.nominal, pocket.high) == pytest.approx((480.0, 560.0, 640.0))
    assert not any("by the shop file" in one.text for one in found.value.lines)


def test_trial_blanks_take_a_piece_s_minutes_in_every_clamping_and_are_gauged_there() -> None:
    """worked: 3 of them, each one pass at +-15 %, load 30 (20 to 45) and blow-off 10 in both clampings; then gauge 25
    and edges 55 while the machine waits. At best all of it is within proving out; neither blast, coat nor box."""
    bars = msgspec.structs.replace(BARS, trial_count=3)
    clampings = (clamping(1), clamping(2, "soft"))
    plan = plan_of(one_pass(1, "A", 1), one_pass(2, "A", 1))
    decision, without = times(plan, clampings, bars_plan=bars), times(plan, clampings)
    trial = [one for one in decision.value.lines if "trial blanks" in one.text]
    assert [one.text.partition(":")[0] for one in trial] == ["op1", "op2", "op2"]
    assert {(one.station, one.per, one.cause) for one in trial} == {("mill", "design", "once")}
    each = 3 * (SECONDS + 40.0)
    assert [one.seconds.nominal for one in trial] == pytest.approx([each, each, 3 * 80.0], abs=1e-4)
    assert trial[0].seconds.high == pytest.approx(3 * (1.15 * SECONDS + 55.0), abs=1e-4)
    assert [one.seconds.low for one in trial] == [0.0, 0.0, 0.0]
    assert decision.value.piece_s == without.value.piece_s
    assert decision.value.batch_s.nominal == pytest.approx(without.value.batch_s.nominal + 2 * each + 240.0, abs=1e-4)


def test_a_trial_blank_alone_changes_every_cutter_though_pieces_share_a_table() -> None:
    """worked: cutters A and B, 2 changes of 5 s; in a full table its share was 1 s."""
    cycle = cycle_of(clamping=clamping(1), machine=MILL, plan=plan_of(one_pass(1, "A", 1), one_pass(1, "B", 1)))
    shared = Shared(
        change_s=1.0, ways_s=0.0, changes_count=2, ways_count=0, cycle_s=10.0 * SECONDS, places_count=5, is_first=True
    )
    for one in (cycle, msgspec.structs.replace(cycle, shared=shared)):
        (cut, _) = trial_lines([one], bench=BENCH, trial_count=1, fact_of=lambda s: exact_fact(s, "s", "x", "assumed"))
        assert cut.seconds.nominal == pytest.approx(2 * SECONDS + 10.0 + 40.0, abs=1e-4)


def test_the_saw_takes_the_minutes_of_its_ticket() -> None:
    """The bars' own, where bars are; their sections are those of the bars as bought."""
    bars = msgspec.structs.replace(BARS, blade_s=2000.0, handling_s=950.0)
    decision = times(plan_of(one_pass(1, "A", 1)), (clamping(1),), bars_plan=bars)
    assert line(decision, "sawing 2000 cm").nominal == 2000.0
    assert line(decision, "91 strokes").nominal == 950.0


def test_every_time_names_what_it_rests_on_so_that_lines_of_one_cause_can_move_together() -> None:
    decision = times(plan_of(one_pass(1, "A", 1), one_pass(2, "B", 1)), (clamping(1), clamping(2, "soft")))
    cause = {one.text.split(" with ")[0].split(": ", 1)[-1]: one.cause for one in decision.value.lines}
    assert {one.cause for one in decision.value.lines if one.pass_id} == {"moves"}
    changing = times(plan_of(one_pass(1, "A", 1), one_pass(1, "B", 1)), (clamping(1),)).value.lines
    assert {one.cause for one in changing if "cutter changes" in one.text} == {"moves"}
    assert {cause["unload and load"], cause["gauge"], cause["kit and box"]} == {"hand"}
    assert cause["set up"] == "set-up"
    assert {one.cause for one in decision.value.lines if one.per == "design"} == {"once"}
    assert {one.cause for one in decision.value.lines if "saw" in one.text or "strokes" in one.text} == {"sawing"}


def test_a_cold_estimate_is_not_shown_and_says_what_to_time() -> None:
    decision = times(plan_of(one_pass(1, "A", 1)), (clamping(1),))
    (proof,) = decision.proofs
    assert (proof.verdict, proof.blocks_release) == ("not shown", False)
    assert "time one cycle" in proof.decides
    assert not is_ready(decision.proofs)


def test_a_clamping_on_a_machine_that_is_not_there_is_our_own_fault() -> None:
    with pytest.raises(InternalError, match="machine that the shop does not have"):
        times(plan_of(), (clamping(1, machine="none"),))


@given(st.lists(st.tuples(*[st.floats(-50.0, 50.0)] * 3), min_size=2, max_size=12), st.floats(1.0, 60.0))
def test_no_cycle_is_quicker_than_its_length_at_full_feed(points: list[tuple[float, ...]], feed: float) -> None:
    moves = Moves(points=np.array(points), feed_mm_per_s=np.full(len(points), feed))
    length = float(np.linalg.norm(np.diff(np.array(points), axis=0), axis=1).sum())
    assert moves_time_s(moves, MILL) >= length / min(feed, 40.0) - 1e-9


def test_an_arc_takes_the_time_of_its_way() -> None:
    """Worked: a whole turn of radius 5 at 20 mm/s is 31.416 mm, 1.571 s, and some hundredths for the ends."""
    turn = Moves(
        points=np.array([[5.0, 0.0, 0.0], [5.0, 0.0, 0.0]]), feed_mm_per_s=np.array([0.0, 20.0]),
        arcs=np.array([[0.0, 0.0, 0.0], [1.0, -5.0, 0.0]]),
    )  # fmt: skip
    assert 1.5708 < moves_time_s(turn, MILL) < 1.62


def test_a_machine_that_was_learned_has_its_own_factors_and_their_interval() -> None:
    """Worked: roughing of SECONDS at 1.2 (1.1 to 1.3), loading at 0.5 (0.4 to 0.6) of the bench's middle."""
    learned = Fact(low=1.1, nominal=1.2, high=1.3, unit="ratio", source="batches", strength="measured here")
    half = Fact(low=0.4, nominal=0.5, high=0.6, unit="ratio", source="batches", strength="measured here")
    machine = msgspec.structs.replace(MILL, minutes=MinuteFactors(roughing=learned, loading=half))
    found = times(plan_of(one_pass(1, "EM10", 1)), (clamping(1),), machines=(machine,))
    told, loading = line(found, "with EM10"), line(found, "unload and load")
    assert (told.low, told.nominal, told.high) == pytest.approx((1.1 * SECONDS, 1.2 * SECONDS, 1.3 * SECONDS))
    assert (told.source, told.strength) == ("batches", "measured here")
    assert found.value.cycle_s["op1"] == pytest.approx(1.2 * SECONDS)
    assert (loading.nominal, loading.high) == pytest.approx((0.5 * BENCH.load_s.nominal, 0.6 * BENCH.load_s.nominal))


def test_a_trial_blank_takes_the_machine_s_own_minutes() -> None:
    """worked: 2 SECONDS of roughing at 1.2, 2 changes of 5 s at 2, and 30 + 10 s by hand at 0.5; at worst 1.3 of it."""
    own = {"roughing": 1.2, "changes": 2.0, "loading": 0.5}
    factors = {
        kind: Fact(low=0.9 * one, nominal=one, high=1.3 * one, unit="ratio", source="batches", strength="measured here")
        for kind, one in own.items()
    }
    machine = msgspec.structs.replace(MILL, minutes=MinuteFactors(**factors))
    cycle = cycle_of(clamping=clamping(1), machine=machine, plan=plan_of(one_pass(1, "A", 1), one_pass(1, "B", 1)))
    (cut, _) = trial_lines([cycle], bench=BENCH, trial_count=3, fact_of=lambda s: exact_fact(s, "s", "x", "assumed"))
    worked = 3 * (1.2 * 2 * SECONDS + 2.0 * 10.0 + 0.5 * 40.0)
    assert (cut.seconds.nominal, cut.seconds.high) == pytest.approx((worked, 1.3 * worked), abs=1e-4)
