"""Inspection: the gauge that can tell, how often, and the reading that stops the work."""

from __future__ import annotations

import msgspec
import pytest
from sizes_gauged import BORE, CALIPER, DEPTH, MICROMETER, PLUG, gauge, inspect, thread, window

from proveout.gauging.deciding import gauge_ratio


def test_four_to_one_counts_the_whole_uncertainty_interval() -> None:
    """printed: 10 +-0.05 with U = 0.01 is 0.10 / 0.02 = 5 to 1 and passes four to one."""
    assert gauge_ratio(window_mm=0.10, uncertainty_mm=0.01) == pytest.approx(5.0)


def test_a_masked_bore_gets_the_bore_gauge_and_a_stop_reading_inside_its_limits() -> None:
    """worked: 0.033 / 0.006 = 5.5; stop below 20.000 + 0.003 and above 20.033 - 0.003."""
    decision = inspect(window(20.0, 20.033))
    (line,) = decision.value
    assert line.gauge == "bore-18-35"
    assert line.reaction == "reads below 20.003 or above 20.030 (drawn in by the gauge's ±0.003): STOP, tell the owner"
    assert line.how_often == "pieces 1, 5, 10, 15 and so on, and the last"
    (proof,) = decision.proofs
    assert (proof.found_low, proof.verdict) == (5.5, "holds")


def test_a_window_too_narrow_for_every_gauge_is_not_shown_and_names_what_would_do() -> None:
    """worked: 0.013 / 0.006 = 2.2 is below 4; needed U: 0.013 / 8 = 0.001625, so at most 0.0016."""
    decision = inspect(window(20.060, 20.073, is_critical=True), coated_area_mm2=1.0)
    (line,) = decision.value
    proof, after = decision.proofs
    assert (after.id, after.verdict, after.found_low) == ("inspection:1:gauge-can-tell-finished", "holds", 5.5)
    assert (proof.verdict, proof.blocks_release, line.gauge) == ("not shown", True, "")
    assert "for 20.073 mm of at most ±0.0016 mm" in proof.decides
    assert line.how_often == "every piece"
    assert (line.before_low_mm, line.before_high_mm, line.finished_low_mm) == (20.060, 20.073, 20.0)


def test_the_handiest_gauge_is_taken_when_it_is_good() -> None:
    """worked: caliper 2 U = 0.06: a window of 0.6 is ten to one; of 0.4 only 6.7, so the micrometer measures it."""
    (coarse,) = inspect(window(19.0, 19.6, kind="shaft", text="19 ±0.3")).value
    assert (coarse.gauge, coarse.how_often) == ("caliper", "pieces 1, 25, 50, 75 and so on, and the last")
    (fine,) = inspect(window(19.0, 19.4, kind="shaft", text="19 ±0.2")).value
    assert fine.gauge == "micrometer"
    (only,) = inspect(window(19.0, 19.4, kind="shaft", text="19 ±0.2"), gauges=(CALIPER,)).value
    assert only.gauge == "caliper"


def test_a_gauge_out_of_range_or_of_another_kind_is_not_taken() -> None:
    assert inspect(window(40.0, 40.033), gauges=(BORE, MICROMETER)).proofs[0].verdict == "not shown"
    assert inspect(window(17.99, 18.033), gauges=(BORE,)).proofs[0].verdict == "not shown"


def test_a_thread_is_tried_with_its_own_plug() -> None:
    decision = inspect(thread("M6 6H", 5.35, 5.5), thread("M5 6H", 4.48, 4.6))
    by_text = {line.text: line for line in decision.value}
    assert (by_text["M6 6H"].gauge, by_text["M5 6H"].gauge) == ("plug-M6", "")
    assert by_text["M6 6H"].reaction.startswith("GO does not enter")
    assert {p.verdict for p in decision.proofs} == {"holds", "not shown"}


def test_the_plug_of_the_finished_thread_cannot_tell_a_thread_that_awaits_its_coat() -> None:
    """worked: the standard plug, 5.350 and 5.500, would let 5.350 to 5.450 pass, which its coat closes."""
    decision = inspect(thread("M6 6H", 5.35, 5.5, grown=0.1), coated_area_mm2=1.0)
    proof, after = decision.proofs
    assert (proof.verdict, after.verdict) == ("not shown", "holds")
    assert proof.decides == (
        "get a thread plug for M6 6H before its coat, calibrated, its uncertainty taken off: GO of pitch diameter "
        "5.450 mm or a little more, NO-GO of 5.600 mm or a little less"
    )
    assert (decision.value[0].gauge, decision.value[0].after_gauge) == ("", "plug-M6")


@pytest.mark.parametrize("text", ["M6", "M6 6H", "M6x1 6H", "M6 x 1-6H", "M6 6H D3 mask", "M6 6H6H"])
def test_a_plug_without_a_name_tells_the_coarse_thread_of_class_6h(text: str) -> None:
    assert inspect(thread(text, 5.35, 5.5)).value[0].gauge == "plug-M6"


@pytest.mark.parametrize(
    "text",
    [
        "M6x0.75 6H",
        "M6 6G",
        "M6 5H",
        "M6 4H5H",
        "M6 6H5H",
        "M6 6g",
        "M6 6H6g",
        "1/4-20 UNC-2B",
        "M6 6H left",
        "M6x0.75",
    ],
)
def test_a_plug_without_a_name_tells_no_other_thread(text: str) -> None:
    (proof,) = inspect(thread(text, 5.35, 5.5)).proofs
    assert proof.verdict == "not shown"


def test_a_plug_that_is_named_for_a_thread_tells_that_one_alone() -> None:
    fine = msgspec.structs.replace(PLUG, name="plug M6x0.75 6H")
    assert inspect(thread("M6x0.75 6H", 5.513, 5.645), gauges=(fine,)).proofs[0].verdict == "holds"
    assert inspect(thread("M6x0.75 6G", 5.513, 5.645), gauges=(fine,)).proofs[0].verdict == "not shown"
    assert inspect(thread("M6 6H", 5.35, 5.5), gauges=(fine,)).proofs[0].verdict == "not shown"
    for name in ("M6x0.75 6g", "M6 6g", "M6 4H5H"):
        other = msgspec.structs.replace(PLUG, name=f"plug {name}")
        assert inspect(thread("M6 6H", 5.35, 5.5), gauges=(other,)).proofs[0].verdict == "not shown"
    named = msgspec.structs.replace(PLUG, name="GO/NO GO M6x1,0 6H6H, green")
    assert inspect(thread("M6 6H D3", 5.35, 5.5), gauges=(named,)).proofs[0].verdict == "holds"


def test_a_step_and_a_slot_are_never_read_by_anvils_that_go_around() -> None:
    """worked: a window of 0.1: the micrometer would be 12 to 1, but reaches around; the others are 1.7 to 1."""
    for more in ({"is_step": True, "is_inside": True}, {"is_inside": True}):
        size = window(19.0, 19.1, kind="length", text="19 ±0.05", **more)
        proof = inspect(size, gauges=(CALIPER, MICROMETER)).proofs[0]
        assert (proof.verdict, "micrometer" in proof.decides) == ("not shown", False)
    outside = window(19.0, 19.1, kind="length", text="19 ±0.05")
    assert inspect(outside, gauges=(CALIPER, MICROMETER)).value[0].gauge == "micrometer"


def test_a_step_goes_to_a_depth_gauge_and_a_slot_to_a_bore_gauge() -> None:
    height = gauge("height", "height gauge", 0.0, 300.0, 0.004)
    slot = window(19.0, 19.033, kind="length", text="19 ±0.05", is_inside=True)
    assert inspect(slot, gauges=(height, BORE)).value[0].gauge == "bore-18-35"
    step = msgspec.structs.replace(slot, is_step=True)
    assert inspect(step, gauges=(height, BORE)).value[0].gauge == "height"
    wide = window(19.0, 20.0, kind="length", text="19.5 ±0.5 deep", is_inside=True, is_step=True)
    assert inspect(wide, gauges=(DEPTH, BORE)).value[0].gauge == "depth-150"


def test_an_empty_window_is_not_to_be_made() -> None:
    decision = inspect(window(20.066, 20.057))
    assert decision.value[0].reaction.startswith("do not make")
    assert decision.proofs[0].verdict == "not shown"


@pytest.mark.parametrize(
    ("width", "often"),
    [
        (0.019, "every piece"),
        (0.02, "pieces 1, 5, 10, 15 and so on, and the last"),
        (0.05, "pieces 1, 10, 20, 30 and so on, and the last"),
        (0.1, "pieces 1, 25, 50, 75 and so on, and the last"),
    ],
)
def test_narrower_windows_are_gauged_more_often(width: float, often: str) -> None:
    assert inspect(window(20.0, 20.0 + width)).value[0].how_often == often


def test_a_critical_size_is_gauged_on_every_piece() -> None:
    assert inspect(window(20.0, 20.4, is_critical=True)).value[0].how_often == "every piece"


def test_a_size_that_rests_on_what_nobody_said_gets_no_numbers() -> None:
    (line,) = inspect(window(20.0, 20.3, is_decided=False)).value
    assert (line.is_decided, line.gauge, line.accept_low_mm, line.sample) == (False, "", None, None)
    assert line.reaction == "do not make: what to machine to is not known: ask the finisher; tell the owner"
    (proof,) = inspect(window(20.0, 20.3, is_decided=False)).proofs
    assert (proof.verdict, proof.decides) == (
        "not shown", "the window before the coat is not known: ask the finisher"
    )  # fmt: skip
    (plug,) = inspect(thread("M6 6H", 5.35, 5.5), window(5.35, 5.5, kind="thread", text="M6 6H", balloon=2,
                      is_decided=False)).value[1:]  # fmt: skip
    assert plug.reaction.startswith("do not make")
