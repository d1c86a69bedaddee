"""Costing: a cost of twelve lines that adds up on paper, and what each end of each range does to it."""

from __future__ import annotations

from typing import Any

import msgspec
import pytest

from proveout.model.cost_band import Rider
from proveout.model.fact import Fact, exact_fact, spread_fact
from proveout.model.job import Coat, Job, Order, PartText
from proveout.model.packing import KitItem
from proveout.model.plan import BarsPlan, CostPlan, TimeLine, TimePlan
from proveout.model.proof import Decision
from proveout.model.shop import Bench, Cutter, Finisher, Jaws, Machine, Saw
from proveout.model.work import FaceNote, Pass, PassPlan
from proveout.stages.costing.dear import dear_faces
from proveout.stages.costing.decide import decide

# worked, 100 pieces, 102 begun and sent out:
#   material       500 / 100                                      5.000
#   machine        600 s +-15 % at 90                             15.000   12.750 .. 17.250
#   bench          120 s at 45                                    1.500
#   cutters        60 x 600 / 36000, +-15 %                       1.000    0.850 .. 1.150
#   saw            3600 s at 36, / 100                            0.360
#   set-up         1800 s at 90, / 100                            0.450
#   programming    9000 s at 45, / 100                            1.125
#   prove-out      3600 s at 90, / 100                            0.900
#   jaw plates     40 / 100                                       0.400
#   hard coat      102 x 6.50 = 663 over 300, + 45 = 708 / 100    7.080
#   laser          102 x 0.80 = 81.6 below 120, + 20 = 140 / 100  1.400
#   scrap          17.5 x 0.02 / 0.98                             0.357143
#                  low 15.1 x 0.01 / 0.99 = 0.152525, high 19.9 x 0.04 / 0.96 = 0.829167
NOMINAL = 34.572143
LOW = NOMINAL - 2.25 - 0.15 - (0.357143 - 0.152525)
HIGH = NOMINAL + 2.25 + 0.15 + (0.829167 - 0.357143)

MILL = Machine(
    id="mill", name="mill", kind="3-axis", travel_mm=(600.0, 450.0, 400.0), speed_max_rad_per_s=1000.0, power_mw=1e7,
    rapid_mm_per_s=400.0, feed_max_mm_per_s=40.0, accel_mm_per_s2=3000.0, cutter_change_s=5.0, pockets_count=20,
    vises_count=1, has_probe=True, rate_per_h=90.0, setup_s=1800.0, resolution_mm=0.001,
)  # fmt: skip
SAW = Saw(
    bundle_width_mm=92.0, bundle_height_mm=30.0, kerf_mm=1.8, trim_mm=6.0, tail_mm=65.0, length_tolerance_mm=0.2,
    rate_mm2_per_s=100.0, handling_s=10.0, setup_s=600.0, rate_per_h=36.0,
)  # fmt: skip
NONE = exact_fact(0.0, "s", "shop", "owner's guess")
BENCH = Bench(
    load_s=NONE, blow_off_s=NONE, gauging_s=NONE, deburr_s=NONE, blast_s=NONE, plug_s=NONE, kit_s=NONE,
    programming_s=NONE, prove_out_s=NONE, rate_per_h=45.0,
)  # fmt: skip
SOFT = Jaws(id="soft", kind="soft", grip_mm=5.0, friction_ratio=None, for_surface="finished", make_s=60.0, price=40.0)
CUTTER = Cutter(
    id="D10", name="rougher", kind="end mill", diameter_mm=10.0, corner_radius_mm=0.0, flutes_count=3,
    flute_length_mm=25.0, stick_out_mm=35.0, shank_diameter_mm=10.0, holder_diameter_mm=40.0, holder_length_mm=50.0,
    tip_angle_rad=0.0, tip_diameter_mm=0.0, pitch_mm=0.0, speed_max_rad_per_s=None, cutting_speed_mm_per_s=5000.0,
    tooth_feed_mm=0.05, life_s=36000.0, price=60.0,
)  # fmt: skip
HARD = Finisher(
    id="hard-coat", process="black hard coat", lot_minimum=300.0, price_each=6.5, freight=45.0, days_low=6,
    days_high=8, pickup_weekdays=(3,),
)  # fmt: skip
LASER = Finisher(
    id="laser", process="laser marking", lot_minimum=120.0, price_each=0.8, freight=20.0, days_low=2, days_high=3,
    pickup_weekdays=(1, 4),
)  # fmt: skip
BARS = BarsPlan(
    pieces_count=102, spare_count=2, bars_count=4, lower_bound=4, patterns=(), strokes_count=0, kerf_mm=1.8,
    trim_mm=6.0, tail_mm=65.0, cut_length_mm=92.5, cut_tolerance_mm=0.2, price=500.0, status="proved", note="",
)  # fmt: skip
SCRAP = Fact(low=0.01, nominal=0.02, high=0.04, unit="ratio", source="shop", strength="owner's guess")


def time_line(station: str, per: str, seconds: float, pass_id: str = "", share: float = 0.0) -> TimeLine:
    fact = spread_fact(seconds, share, "s", "x", "common practice")
    return TimeLine(station=station, text="x", per=per, seconds=fact, pass_id=pass_id)  # type: ignore[arg-type]


TIMES = TimePlan(
    lines=(
        time_line("mill", "piece", 600.0, "p1", 0.15), time_line("bench", "piece", 120.0),
        time_line("saw", "batch", 3600.0), time_line("mill", "batch", 1800.0), time_line("bench", "design", 9000.0),
        time_line("mill", "design", 3600.0),
    ),
    cycle_s={}, piece_s=NONE, batch_s=NONE,
)  # fmt: skip


def one_pass(id: str, *faces: str, kind: str = "rough") -> Pass:
    return Pass(
        id=id, kind=kind, clamping_id="op1", tilt_id="t", cutter_id="D10", feature="x", face_ids=faces,  # type: ignore[arg-type]
        speed_rad_per_s=1.0, tooth_feed_mm=0.05, radial_mm=1.0, axial_mm=1.0, moves_digest="m", moves_count=1,
        cut_length_mm=1.0,
    )  # fmt: skip


PASSES = PassPlan(passes=(one_pass("p1", "f"),), not_cut=(), moves={})


class FakeClamping(msgspec.Struct, frozen=True):
    """Only what costing reads of a clamping."""

    id: str
    jaws_id: str


def job_of(*, finisher: str = "hard-coat", quantity: int = 100, **more: Any) -> Job:
    coat = Coat(
        process="black hard coat", thickness_mm=exact_fact(0.05, "mm", "x", "assumed"),
        build_up_ratio=exact_fact(0.5, "ratio", "x", "assumed"), finisher=finisher,
    )  # fmt: skip
    return Job(
        part=PartText(number="EX-1", name="x", revision="A", step="x.step"),
        order=Order(quantity=quantity, spare_count=2), coat=coat,
        sizes=(), masked_balloons=(), show_faces=(), general_tolerance="m", edge_break_mm=0.3,
        other_finishers=("laser",), **more,
    )  # fmt: skip


def cost(**more: Any) -> Decision[CostPlan]:
    job = more.pop("job", None) or job_of(finisher=more.pop("finisher", "hard-coat"))
    given: dict[str, Any] = {
        "time": TIMES, "bars_plan": BARS, "job": job, "passes": PASSES, "faces": (), "machines": (MILL,),
        "clampings": (FakeClamping(id="op1", jaws_id="toothed"), FakeClamping(id="op2", jaws_id="soft")),
        "cutters": (CUTTER,), "jaws": (SOFT,), "saw": SAW, "bench": BENCH, "finishers": (HARD, LASER),
        "scrap_ratio": SCRAP, "currency": "EUR", **more,
    }  # fmt: skip
    return decide(**given)


def test_the_cost_of_a_piece_adds_up_on_paper_at_all_three_ends() -> None:
    plan = cost().value
    assert plan.each.nominal == pytest.approx(NOMINAL, abs=1e-5)
    assert plan.each.low == pytest.approx(LOW, abs=1e-5)
    assert plan.each.high == pytest.approx(HIGH, abs=1e-5)
    assert plan.batch.nominal == pytest.approx(100.0 * NOMINAL, abs=1e-3)
    assert (plan.each.unit, plan.each.source) == ("EUR", "own-algorithm: sum of the lines, all worst ends together")


def test_each_line_is_what_the_paper_says() -> None:
    found = {line.text: round(line.each.nominal, 6) for line in cost().value.lines}
    assert found == {
        "material": 5.0, "machine mill": 15.0, "bench": 1.5, "cutters": 1.0, "saw, whole batch": 0.36,
        "set-ups on mill": 0.45, "programming": 1.125, "prove-out and jaws on mill": 0.9, "jaw plates": 0.4,
        "outside: black hard coat": 7.08, "outside: laser marking": 1.4, "scrap": 0.357143,
    }  # fmt: skip


def test_trial_blanks_wear_cutters_once() -> None:
    """worked: 1.00 of wear a piece, and 5 trial blanks over 100 pieces."""
    bars = msgspec.structs.replace(BARS, trial_count=5)
    found = {line.text: round(line.each.nominal, 6) for line in cost(bars_plan=bars).value.lines}
    assert (found["cutters"], found["cutters of trial blanks"]) == (1.0, 0.05)
    assert found["scrap"] == 0.357143, "none of them is scrap of the order"


def found_lines(decision: Decision[CostPlan]) -> set[str]:
    return {line.text.split(",")[0] for line in decision.value.lines}


def test_a_lot_below_its_minimum_says_what_more_pieces_would_save() -> None:
    """worked: 120 - 81.6 = 38.4 short: 48 pieces more at 0.80, 0.38 a piece of the order."""
    by_id = {proof.id: proof for proof in cost().proofs}
    laser = by_id["costing:laser:lot-reaches-the-minimum"]
    assert (laser.verdict, laser.blocks_release) == ("fails", False)
    assert laser.remedy.startswith("send 48 more pieces in the same lot")
    assert "0.38 more" in laser.remedy
    assert by_id["costing:hard-coat:lot-reaches-the-minimum"].verdict == "holds"


def test_what_rides_in_the_coat_s_lot_is_in_its_proof_and_its_price() -> None:
    """worked: a minimum of 1000 and 102 at 6.50 = 663 lack 337; with 34 riding 884 and 116 lack, three quarters of it
    87; 18 more at 6.50 are 117. 663 + 87 + half of 45 is 772.50, 7.725 a piece. With 52 riding 1001 are reached."""
    dear = msgspec.structs.replace(HARD, lot_minimum=1000.0)

    def priced(count: int) -> Decision[CostPlan]:
        return cost(finishers=(dear, LASER), riders=(Rider(number="EX-2", pieces_count=count),))

    few = priced(34)
    by_id = {proof.id: proof for proof in few.proofs}
    coat = by_id["costing:hard-coat:lot-reaches-the-minimum"]
    assert (coat.verdict, coat.found_low) == ("fails", 884.0)
    assert "with 34 pieces of EX-2 riding in it" in coat.claim
    assert coat.remedy.startswith("send 18 more pieces")
    assert "0.87 more" in coat.remedy
    line = next(line for line in few.value.lines if line.text == "outside: black hard coat")
    assert line.each.nominal == pytest.approx(7.725)
    assert "with 34 pieces of EX-2 riding in it" in line.how
    laser = by_id["costing:laser:lot-reaches-the-minimum"]
    assert "riding" not in laser.claim
    assert laser.found_low == pytest.approx(81.6)
    assert next(p for p in priced(52).proofs if p.id == coat.id).verdict == "holds"


@pytest.mark.parametrize("name", ["nobody", ""])
def test_a_finisher_without_prices_is_not_shown(name: str) -> None:
    decision = cost(finisher=name)
    unknown = next(p for p in decision.proofs if p.id.endswith("price-is-known"))
    assert unknown.verdict == "not shown"
    assert (name or "black hard coat") in unknown.decides
    assert "outside: black hard coat" not in found_lines(decision)


def test_a_cutter_of_unknown_life_is_named_and_not_counted() -> None:
    forever = msgspec.structs.replace(CUTTER, life_s=None)
    line = next(line for line in cost(cutters=(forever,)).value.lines if line.text == "cutters")
    assert line.each.high == 0.0
    assert "not counted: D10" in line.how


def test_a_larger_order_shares_what_is_done_once() -> None:
    """Twice the pieces at twice the metal: set-ups, programming and jaws halve, the rest of the work stays."""
    plan = cost().value
    job = Job(
        part=PartText(number="EX-1", name="x", revision="A", step="x.step"), order=Order(quantity=200), coat=None,
        sizes=(), masked_balloons=(), show_faces=(), general_tolerance="m", edge_break_mm=0.3, other_finishers=(),
    )  # fmt: skip
    double = msgspec.structs.replace(BARS, price=1000.0, pieces_count=204)
    larger = cost(job=job, bars_plan=double).value
    small = {line.text: line.each.nominal for line in plan.lines}
    for line in larger.lines:
        once = line.text in {
            "saw, whole batch", "set-ups on mill", "programming", "prove-out and jaws on mill", "jaw plates",
        }  # fmt: skip
        assert line.each.nominal == pytest.approx(small[line.text] * (0.5 if once else 1.0), abs=1e-5)


def test_the_three_dearest_faces_are_those_whose_passes_take_most_time() -> None:
    """worked: p1 of 600 s over a (30 mm2) and b (10 mm2): 450 and 150; p2 of 300 s on b: 450 in all, mostly p2;
    p3 of 60 s on c, p4 of 30 s on d. a and b tie: by name. d is the fourth."""
    lines = [("p1", 600.0), ("p2", 300.0), ("p3", 60.0), ("p4", 30.0)]
    time = TimePlan(
        lines=tuple(time_line("mill", "piece", s, p) for p, s in lines), cycle_s={}, piece_s=NONE, batch_s=NONE
    )
    passes = PassPlan(
        passes=(
            one_pass("p1", "a", "b"), one_pass("p2", "b", kind="finish wall"), one_pass("p3", "c"), one_pass("p4", "d"),
        ),
        not_cut=(), moves={},
    )  # fmt: skip
    notes = tuple(
        FaceNote(face_id=name, index=k, balloon=k, kind="plane", area_mm2=area)
        for k, (name, area) in enumerate([("a", 30.0), ("b", 10.0)])
    )
    assert dear_faces(time=time, passes=passes, faces=notes) == (
        "a: 7.5 min, mostly rough",
        "b: 7.5 min, mostly finish wall",
        "c: 1.0 min, mostly rough",
    )


def test_roughing_is_shared_among_the_faces_finished_after_it() -> None:
    """worked: 400 s of levels over a (30 mm2) and b (10 mm2), 300 and 100; a's own pass takes 60 more: 360 s."""
    time = TimePlan(
        lines=tuple(time_line("mill", "piece", s, p) for p, s in [("p0", 400.0), ("p1", 60.0), ("p2", 30.0)]),
        cycle_s={}, piece_s=NONE, batch_s=NONE,
    )  # fmt: skip
    passes = PassPlan(
        passes=(one_pass("p0"), one_pass("p1", "a", kind="finish wall"), one_pass("p2", "b", kind="finish wall")),
        not_cut=(), moves={},
    )  # fmt: skip
    notes = tuple(
        FaceNote(face_id=name, index=k, balloon=k, kind="plane", area_mm2=area)
        for k, (name, area) in enumerate([("a", 30.0), ("b", 10.0)])
    )
    assert dear_faces(time=time, passes=passes, faces=notes) == (
        "a: 6.0 min, mostly rough",
        "b: 2.2 min, mostly rough",
    )


def test_hardware_of_the_kit_is_counted_at_its_share_of_a_pack() -> None:
    """worked: 4 at 14.00 for 200 and 1 at 11.50 for 100: 0.28 + 0.115; the tip has no price."""
    kit = (
        KitItem(name="screw", count=4, pack_count=200, pack_price=14.0),
        KitItem(name="lock screw", count=1, pack_count=100, pack_price=11.5), KitItem(name="tip", count=1),
    )  # fmt: skip
    line = next(one for one in cost(job=job_of(kit=kit)).value.lines if one.text == "hardware of the kit")
    assert line.each.nominal == pytest.approx(0.395)
    assert line.how.endswith("not counted: tip")
