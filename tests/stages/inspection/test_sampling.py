"""Inspection of lots: critical sizes on every piece, samples with the arrow's own size, checks by the wear."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import pytest
from sizes_gauged import BORE, inspect, thread, window

from proveout.gauging.acceptance import lot_accept_ratio
from proveout.model.fact import Fact
from proveout.model.inspection import InspectionRule, InspectionWish, checked_pieces, rule_of
from proveout.model.plan import CutterUse, InspectionLine
from proveout.model.shop import Cutter
from proveout.model.work import Pass
from proveout.stages.inspection.frequency import Cutting
from proveout.stages.inspection.sampling import chance_words

BY_LIMIT = InspectionRule(plan="quality limit", aql_percent=1.0)
MACHINE, CLAMPING = "mill-3", "c1"


def cutter(id: str = "EM10", *, wear_um_per_min: float | None = 1.2) -> Cutter:
    rate = None
    if wear_um_per_min is not None:
        high = wear_um_per_min / 60_000.0
        rate = Fact(low=0.5 * high, nominal=0.8 * high, high=high, unit="mm/s", source="x", strength="measured here")
    return Cutter(
        id=id, name="", kind="end mill", diameter_mm=10.0, corner_radius_mm=0.0, flutes_count=3, flute_length_mm=20.0,
        stick_out_mm=30.0, shank_diameter_mm=10.0, holder_diameter_mm=40.0, holder_length_mm=50.0,
        tip_angle_rad=math.pi, tip_diameter_mm=0.0, pitch_mm=0.0, speed_max_rad_per_s=None,
        cutting_speed_mm_per_s=5000.0, tooth_feed_mm=0.05, life_s=None, price=0.0, wear_mm_per_s=rate,
    )  # fmt: skip


def made(kind: Any, face: str, *, by: str = "EM10") -> Pass:
    return Pass(
        id=f"{CLAMPING}/t/{by}/{kind}/{face}", kind=kind, clamping_id=CLAMPING, tilt_id="t", cutter_id=by, feature="h",
        face_ids=(face,), speed_rad_per_s=300.0, tooth_feed_mm=0.05, radial_mm=1.0, axial_mm=1.0, moves_digest="0",
        moves_count=2, cut_length_mm=1.0,
    )  # fmt: skip


def cutting(*, wear: float | None = 1.2, minutes: float = 2.0, changes_each: int | None = None) -> Cutting:
    """One cutter that leaves faces a and b, in use for so many minutes a piece at the worst."""
    seconds = Fact(low=60.0, nominal=90.0, high=60.0 * minutes, unit="s", source="x", strength="assumed")
    return Cutting(
        passes=(made("rough", "a"), made("bore", "a"), made("finish wall", "b"), made("break edge", "a", by="EB")),
        machine_of={CLAMPING: MACHINE}, cutters=(cutter(wear_um_per_min=wear), cutter("EB", wear_um_per_min=None)),
        uses=(
            CutterUse(
                machine_id=MACHINE, cutter_id="EM10", piece_s=seconds, life_s=None, pieces_each=changes_each,
                edges_count=None if changes_each is None else 3, left_s=None,
            ),
        ),
    )  # fmt: skip


def only(width: float = 0.4, **more: Any) -> InspectionLine:
    given = {key: more.pop(key) for key in ("rule", "lot_count", "cutting", "gauges") if key in more}
    return inspect(window(20.0, 20.0 + width, **more), **given).value[0]


def test_an_arrow_takes_its_own_sample_size_with_it() -> None:
    """Printed as quoted: 120 pieces, level II, 1.0: letter F, the arrow leads to E: 13 and none, not 20."""
    line = only(rule=BY_LIMIT, lot_count=120)
    assert line.sample is not None
    assert (line.sample.letter, line.sample.used_letter) == ("F", "E")
    assert (line.sample.sample_count, line.sample.accept_count) == (13, 0)
    assert line.sample.accept_ratio == pytest.approx(
        lot_accept_ratio(lot_count=120, bad_count=6, sample_count=13, accept_count=0), abs=1e-6
    )
    assert line.sample_words.startswith("when all 120 are made, draw 13 at random from the whole lot: none may lie")
    assert "6 bad pieces among 120 still passes up to 50 times in 100" in line.sample_words


def test_a_plan_that_allows_bad_pieces_says_how_many_and_what_then() -> None:
    line = only(rule=InspectionRule(plan="quality limit", aql_percent=4.0), lot_count=120)
    assert (
        "draw 20 at random from the whole lot: at most 2 may lie beyond the STOP readings; with 3 or more gauge every"
        in (line.sample_words)
    )


def test_a_critical_size_is_never_sampled() -> None:
    for plan in ("quality limit", "no bad piece", "as checked"):
        line = only(rule=InspectionRule(plan=plan), is_critical=True, cutting=cutting(), face_ids=("a",))
        assert (line.how_often, line.every_why) == ("every piece", "critical")
        assert line.sample is not None
        assert (line.sample.plan, line.sample.sample_count, line.sample_words) == ("every piece", 150, "")
        assert line.sample.accept_ratio == 0.0


def test_without_a_word_the_checks_on_the_way_are_the_sample_and_their_chance_is_told() -> None:
    """Worked: 150 pieces, every 25th: 1, 25, 50, 75, 100, 125, 150 are 7; 8 bad: C(142, 7) / C(150, 7) = 0.678."""
    line = only()
    assert line.sample is not None
    assert (line.sample.sample_count, line.sample.bad_count) == (7, 8)
    exact = math.comb(142, 7) / math.comb(150, 7)
    assert exact <= line.sample.accept_ratio < exact + 1e-6
    assert line.sample_words == (
        "these 7 checks, taken as drawn at random, let a lot with 8 bad pieces among 150 pass up to 68 times in 100"
    )


def test_a_sample_without_a_bad_piece_catches_what_it_must_and_is_proved() -> None:
    rule = InspectionRule(plan="no bad piece", bad_ratio=0.05, confidence_ratio=0.9)
    decision = inspect(window(20.0, 20.4), rule=rule, lot_count=150)
    (line,) = decision.value
    assert line.sample is not None
    assert line.sample.caught_count == line.sample.bad_count == 8
    assert line.sample.accept_ratio <= 0.1
    proof = next(p for p in decision.proofs if p.id == "inspection:1:sample-tells")
    assert (proof.verdict, proof.blocks_release, proof.limit) == ("holds", False, pytest.approx(0.1))


def test_a_quality_limit_that_does_not_catch_the_share_fails_and_says_what_would() -> None:
    decision = inspect(window(20.0, 20.4), rule=BY_LIMIT, lot_count=120)
    proof = next(p for p in decision.proofs if p.id == "inspection:1:sample-tells")
    assert (proof.verdict, proof.blocks_release) == ("fails", False)
    assert proof.remedy == "draw 47 and allow none"
    assert math.comb(114, 47) / math.comb(120, 47) <= 0.05 < math.comb(114, 46) / math.comb(120, 46)


def test_a_chance_is_never_rounded_down_and_never_to_never() -> None:
    """Within a millionth above the exact chance; one of less than a billionth is told as a millionth."""
    rule = InspectionRule(plan="no bad piece", bad_ratio=0.002, confidence_ratio=0.999)
    ends = set()
    for bad in (0.002, 0.004, 0.006, 0.02):
        line = only(rule=msgspec.structs.replace(rule, bad_ratio=bad), lot_count=3000)
        assert line.sample is not None
        found = line.sample
        exact = lot_accept_ratio(
            lot_count=3000, bad_count=found.bad_count, sample_count=found.sample_count, accept_count=0
        )
        assert exact <= found.accept_ratio <= exact + 1e-6
        ends.add(round(exact, 6) < exact)
    assert True in ends  # one of them at least would have been rounded down
    drawn = only(
        rule=InspectionRule(plan="no bad piece", bad_ratio=0.02, confidence_ratio=0.999999999), lot_count=3000
    ).sample
    assert drawn is not None
    assert drawn.accept_ratio == 1e-6


def test_every_piece_when_the_tables_ask_for_as_many_as_there_are() -> None:
    line = only(rule=BY_LIMIT, lot_count=10)
    assert line.sample is not None
    assert (line.sample.plan, line.sample_words) == ("every piece", "")
    whole = only(rule=InspectionRule(plan="every piece"))
    assert (whole.how_often, whole.every_count) == ("every piece", 1)


def test_checks_follow_the_wear_of_the_cutter_that_leaves_the_size() -> None:
    """Worked: at most 0.0012 mm a minute, two minutes a piece, twice of a diameter: 0.0048 a piece. Accepted 20.003 to
    20.197 are 0.194, a quarter 0.0485: ten pieces; readings from 20.052 to 20.148 leave the offset alone.
    """
    line = only(0.2, gauges=(BORE,), cutting=cutting(), face_ids=("a",))
    assert (line.every_count, line.every_why) == (10, "by the wear of EM10, at most 0.0048 mm a piece")
    assert (line.accept_low_mm, line.accept_high_mm) == (20.003, 20.197)
    assert (line.act_low_mm, line.act_high_mm) == (20.052, 20.148)
    assert line.correct.startswith("below 20.052 or above 20.148, and not yet STOP: correct the offset towards 20.100")
    moved = 10 * 0.0048
    assert 20.148 + moved <= 20.197
    assert 20.052 - moved >= 20.003


def test_a_length_takes_the_wear_of_both_its_faces_and_a_diameter_twice_that_of_one() -> None:
    """Worked: 0.0024 a face and piece: both faces of a length 0.0048, as a diameter; one face alone 0.0024."""
    both = only(0.2, gauges=(BORE,), kind="hole", cutting=cutting(), face_ids=("a",))
    length = only(0.2, kind="length", cutting=cutting(), face_ids=("a", "b"))
    one = only(0.2, kind="length", cutting=cutting(), face_ids=("a",))
    assert [line.every_why.split("most ")[1] for line in (both, length, one)] == [
        "0.0048 mm a piece", "0.0048 mm a piece", "0.0024 mm a piece"
    ]  # fmt: skip


def test_slow_wear_never_puts_checks_farther_apart_than_practice_does() -> None:
    line = only(0.2, gauges=(BORE,), cutting=cutting(wear=0.01), face_ids=("a",))
    assert line.every_count == 25
    assert line.every_why.endswith("never more than 25 apart, common practice, no source")


@pytest.mark.parametrize(
    "known",
    [
        cutting(wear=None),
        msgspec.structs.replace(cutting(), uses=()),
        msgspec.structs.replace(cutting(), passes=()),
        cutting(wear=0.0),
    ],
)
def test_where_wear_or_minutes_are_unknown_practice_rules_and_says_so(known: Cutting) -> None:
    line = only(0.2, gauges=(BORE,), cutting=known, face_ids=("a",))
    assert (line.every_count, line.every_why) == (25, "common practice, no source")
    assert (line.act_low_mm, line.correct) == (None, "")


def test_half_of_a_length_known_is_not_known() -> None:
    line = only(0.2, kind="length", cutting=cutting(), face_ids=("a", "elsewhere"))
    assert line.every_why == "common practice, no source"


def test_the_first_piece_after_each_change_of_edge_is_gauged() -> None:
    line = only(0.2, gauges=(BORE,), cutting=cutting(wear=None, changes_each=40), face_ids=("a",))
    assert line.also_pieces == (41, 81)
    assert line.how_often == "pieces 1, 25, 50, 75 and so on, the first after EM10 is changed, and the last"
    assert line.pieces(150) == (1, 25, 41, 50, 75, 81, 100, 125, 150)


def test_small_lots_name_their_pieces() -> None:
    assert only(lot_count=60).how_often == "pieces 1, 25, 50 and the last"
    assert only(lot_count=20).how_often == "piece 1 and the last"
    assert only(lot_count=1).how_often == "piece 1 and the last"


def test_accepted_readings_follow_the_shops_own_guard_band() -> None:
    """Worked: U 0.003: 20.000 and 20.033 as they are, or drawn in by half of it, rounded inward: 20.002 and 20.031."""
    simple = only(0.033, gauges=(BORE,), rule=InspectionRule(guard_ratio=0.0))
    assert (simple.accept_low_mm, simple.accept_high_mm) == (20.0, 20.033)
    assert simple.reaction == "reads below 20.000 or above 20.033: STOP, tell the owner"
    half = only(0.033, gauges=(BORE,), rule=InspectionRule(guard_ratio=0.5))
    assert (half.accept_low_mm, half.accept_high_mm) == (20.002, 20.031)
    assert "(drawn in by 50 % of the gauge's ±0.003)" in half.reaction
    twice = only(0.024, gauges=(BORE,), rule=InspectionRule(guard_ratio=2.0))
    assert (twice.accept_low_mm, twice.accept_high_mm) == (20.006, 20.018)


def test_without_a_gauge_no_reading_is_accepted_and_the_sheet_says_so() -> None:
    line = only(0.033, gauges=(), cutting=cutting(), face_ids=("a",))
    assert (line.accept_low_mm, line.act_low_mm, line.every_why) == (None, None, "common practice, no source")
    assert line.reaction == (
        "reads below 20.000 or above 20.033: STOP, tell the owner; between them no gauge of the shop can tell"
    )


def test_a_thread_and_an_empty_window_have_no_accepted_readings() -> None:
    plug = inspect(thread("M6 6H", 5.35, 5.5)).value[0]
    assert (plug.accept_low_mm, plug.act_low_mm) == (None, None)
    empty = inspect(window(20.066, 20.057)).value[0]
    assert (empty.accept_low_mm, empty.sample, empty.sample_words) == (None, None, "")


def test_the_job_has_the_last_word_and_unsaid_words_stay_as_usual() -> None:
    shop = InspectionWish(plan="quality limit", level="I", guard_ratio=0.0)
    job = InspectionWish(aql_percent=0.65, level="III")
    assert rule_of(shop, job) == InspectionRule(plan="quality limit", level="III", aql_percent=0.65, guard_ratio=0.0)
    assert rule_of(InspectionWish()) == InspectionRule()


def test_a_chance_is_rounded_against_ourselves() -> None:
    assert [chance_words(x) for x in (0.0, 0.0001, 0.01, 0.0101, 1.0)] == [
        "never", "up to 1 time in 100", "up to 1 time in 100", "up to 2 times in 100", "up to 100 times in 100",
    ]  # fmt: skip


def test_pieces_gauged_are_named_once_each_and_lie_in_the_lot() -> None:
    assert checked_pieces(every_count=5, also=(5, 7, 99), lot_count=12) == (1, 5, 7, 10, 12)
    assert checked_pieces(every_count=1, also=(), lot_count=3) == (1, 2, 3)
    assert checked_pieces(every_count=25, also=(), lot_count=1) == (1,)
