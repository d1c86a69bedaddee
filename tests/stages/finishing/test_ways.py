"""What nobody said about a coat, steps, stated taps, and the ways out with their prices."""

from __future__ import annotations

from pathlib import Path

import msgspec
import pytest
from stages.coated_parts import bore, box_part, coat, job_of, only_window, proof, ring_part

from proveout.intake.job_file import read_job
from proveout.intake.shop_file import read_shop
from proveout.model.coat_way import CoatPrices, coat_prices
from proveout.model.fact import Fact, exact_fact
from proveout.model.job import BlindShare, Coat, Size
from proveout.model.proof import Decision
from proveout.model.shop import Bench, Finisher
from proveout.model.solid import Solid
from proveout.model.work import Survey
from proveout.stages.finishing.decide import FinishingResult, decide

HELD = "finishing:1:window-can-be-held"
TAKEN = "finishing:1:thread-takes-its-screw"


def fact(low: float, high: float, unit: str = "") -> Fact:
    return Fact(low=low, nominal=0.5 * (low + high), high=high, unit=unit, source="test", strength="owner's guess")


def unsaid() -> Coat:
    return msgspec.structs.replace(coat(), etch_mm=None)


def blind_part(depth_mm: float) -> tuple[Solid, Survey]:
    """The ring, its bore said to be blind and so deep."""
    solid, survey = ring_part()
    (hole,) = survey.holes
    (step,) = hole.steps
    step = msgspec.structs.replace(step, depth_high_mm=depth_mm)
    hole = msgspec.structs.replace(hole, steps=(step,), is_through=False, bottom="flat")
    return solid, msgspec.structs.replace(survey, holes=(hole,))


def blind(depth_mm: float, text: str, some: Coat) -> Decision[FinishingResult]:
    solid, survey = blind_part(depth_mm)
    return decide(solid=solid, survey=survey, job=job_of(Size(balloon=1, text=text), coat=some))


def test_an_etch_that_nobody_said_is_an_interval_where_the_size_bears_it() -> None:
    """Worked: H12 of 20 is 0.210; less 0.030 for the coat and 2 x 0.025 for the etch: 0.130 is left.

    The bore closes by 2 (0.040 x 0.45 - 0.025) = -0.014 at least and 0.066 at most: 20.066 to 20.210 - 0.014.
    """
    decision = bore(text="H12", coat=unsaid())
    window = only_window(decision)
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((20.066, 20.196), abs=1e-9)
    held = proof(decision, HELD)
    assert (held.verdict, held.basis.inputs["etch before the coat"].high) == ("holds", 0.025)


def test_an_etch_that_nobody_said_is_not_shown_where_it_decides() -> None:
    """Worked: H10 of 20 is 0.084: 0.054 without an etch, 0.004 with the widest. It bears (0.054 - 0.010) / 2."""
    decision = bore(text="H10", coat=unsaid())
    held = proof(decision, HELD)
    assert (held.verdict, held.blocks_release) == ("not shown", True)
    assert (held.found_low, held.found_high) == pytest.approx((0.004, 0.054), abs=1e-9)
    assert held.decides.endswith("the size bears an etch that varies by at most 22 µm a surface")
    assert only_window(decision).width_mm == pytest.approx(0.054, abs=1e-9)


def test_numbers_that_rest_on_an_unsaid_etch_are_not_decided_nor_is_the_target_shown() -> None:
    """H12 bears the widest etch, H10 does not: its target stays, and nothing holds it against a window."""
    assert only_window(bore(text="H12", coat=unsaid())).is_decided
    decision = bore(text="H10", coat=unsaid())
    assert not only_window(decision).is_decided
    target = proof(decision, "finishing:1:target-in-window")
    assert (target.verdict, target.blocks_release) == ("not shown", True)
    assert set(target.basis.inputs) == {"target"}
    assert only_window(bore(text="H10 mask", coat=unsaid())).is_decided


def test_a_tap_is_not_shown_where_an_unsaid_etch_decides_and_names_the_etch_that_is_borne() -> None:
    """Worked: M6 6H is 0.150 wide; this coat takes 0.060 of it and an etch of 0 to 0.025 another 0.100. M20x2.5 6H,
    0.224 wide, keeps 0.064: it shrinks by 0.072 - 0.100 to 0.132, so 18.376 + 0.132 to 18.600 - 0.028 before it."""
    thin = bore(text="M6 6H D14", coat=unsaid())
    taken = proof(thin, TAKEN)
    assert (taken.verdict, taken.blocks_release) == ("not shown", True)
    assert "how much the etch before the coat takes off" in taken.decides
    assert only_window(thin).gauges == ""
    assert "none can be named before the finisher has said" in next(
        way.text for way in only_window(thin).ways_out if way.kind == "oversize tap"
    )
    bare = proof(bore(text="M6 6H", coat=unsaid()), TAKEN)
    assert " mm by the number" not in bare.decides
    borne = proof(bore(text="M20x2.5 6H D15", coat=unsaid()), TAKEN)
    assert only_window(bore(text="M20x2.5 6H", coat=unsaid())).before_high_mm == pytest.approx(18.572, abs=1e-3)
    assert borne.verdict == "holds"
    assert borne.basis.inputs["etch before the coat"].strength == "common practice"


def test_ways_out_are_told_of_a_window_that_is_wide_only_without_an_etch() -> None:
    """Worked: H10 of 20 is 0.084; what may come takes 0.080 of it, so limits must be 0.090 apart: H11 with 0.130."""
    ways = {way.kind: way.text for way in only_window(bore(text="H10", coat=unsaid())).ways_out}
    assert "limits at least 0.090 mm apart, such as 20 H11, whose window is 50 µm wide" in ways["loosen"]
    assert "tighten the coat" in ways
    assert only_window(bore(text="H11", coat=unsaid())).is_decided


def test_what_fails_even_without_an_etch_fails() -> None:
    assert proof(bore(text="H7", coat=unsaid()), "finishing:1:window-is-open").verdict == "fails"


def test_a_said_etch_moves_the_window_and_the_target() -> None:
    """Worked: an etch of 0.005 to 0.007: closes by 2 (0.018 - 0.007) = 0.022 to 2 (0.033 - 0.005) = 0.056."""
    some = msgspec.structs.replace(coat(), etch_mm=fact(0.005, 0.007, "mm"))
    decision = bore(text="H10", coat=some)
    window = only_window(decision)
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((20.056, 20.084 + 0.022), abs=1e-9)
    # faces without a size lie inside by the nominal build-up less the nominal etch
    assert decision.value.finishing.offset_mm["top"] == pytest.approx(0.025 - 0.006)


def test_faces_take_the_coat_whatever_they_are_moved_by() -> None:
    """Worked: 0.050 x 0.5 builds up and the etch takes 0.025: no face moves, and all but the masked one are coated."""
    some = msgspec.structs.replace(coat(), etch_mm=fact(0.025, 0.025, "mm"))
    solid, survey = ring_part()
    finishing = decide(solid=solid, survey=survey, job=job_of(coat=some, masked=(1,))).value.finishing
    assert set(finishing.offset_mm.values()) == {0.0}
    assert finishing.coated_faces == ("bottom", "outside", "top")
    assert decide(solid=solid, survey=survey, job=job_of()).value.finishing.coated_faces == ()


@pytest.mark.parametrize(("depth_mm", "verdict"), [(20.0, "holds"), (20.1, "not shown")])
def test_a_deep_blind_bore_needs_word_of_its_coat(depth_mm: float, verdict: str) -> None:
    """Worked: H10, 0.084: with anything from no coat to a whole one it loses 2 x 0.033 and 0.018 is left; H9, 0.052,
    loses more than it has. A bore no deeper than it is wide takes the coat of the outside: H9 keeps 0.022."""
    held = proof(blind(depth_mm, "H9", coat()), HELD)
    assert held.verdict == verdict
    if verdict == "not shown":
        assert "how much of the thickness comes in a blind hole 1.0 diameters deep" in held.decides
        assert (held.found_low, held.found_high) == pytest.approx((-0.014, 0.052), abs=1e-9)
    assert proof(blind(depth_mm, "H10", coat()), HELD).verdict == "holds"


def test_the_finishers_word_on_blind_bores_decides() -> None:
    """Worked: 60 to 90 % of the thickness: closes by 2 x 0.040 x 0.6 x 0.45 = 0.0216 to 0.0594;
    from three diameters on the row below takes over: 20 to 50 %, 0.0072 to 0.033."""
    rows = tuple(
        BlindShare(from_depth_ratio=at, share_ratio=fact(low, high, "ratio"))
        for at, low, high in ((1.0, 0.6, 0.9), (3.0, 0.2, 0.5))
    )
    some = msgspec.structs.replace(coat(), blind=rows)
    for depth, low, high in ((30.0, 20.0594, 20.0736), (60.0, 20.033, 20.0592)):
        window = only_window(blind(depth, "H9", some))
        assert (window.before_low_mm, window.before_high_mm) == pytest.approx((low, high), abs=1e-9)


@pytest.mark.parametrize(
    ("masked", "low", "high"),
    [
        # both coated: each grows 0.018 to 0.033, so the step changes by -0.015 to 0.015
        ((), 9.965, 10.035),
        # the floor alone coated: the step gets shallower by 0.018 to 0.033
        (("+z",), 9.983, 10.068),
        # the upper face alone: deeper by as much
        (("step",), 9.932, 10.017),
    ],
)
def test_a_step_counts_the_coat_of_each_of_its_faces(masked: tuple[str, ...], low: float, high: float) -> None:
    solid, survey = box_part()
    top = solid.faces[5]
    at = (0.0, 0.0, 20.0)
    floor = msgspec.structs.replace(
        top, id="step", index=6, surface=msgspec.structs.replace(top.surface, origin_mm=at), centroid_mm=at
    )
    solid = msgspec.structs.replace(solid, faces=(*solid.faces, floor))
    note = msgspec.structs.replace(survey.faces[5], face_id="step", index=6, balloon=7)
    survey = msgspec.structs.replace(survey, faces=(*survey.faces, note))
    sizes = [Size(balloon=7, text="10 ±0.05 deep")]
    numbers = {"+z": 6, "step": 7}
    job = job_of(*sizes, coat=coat(), masked=tuple(numbers[name] for name in masked))
    decision = decide(solid=solid, survey=survey, job=job)
    window = only_window(decision)
    assert window.face_ids == ("+z", "step")
    assert (window.before_low_mm, window.before_high_mm) == pytest.approx((low, high), abs=1e-9)
    offsets = decision.value.finishing.offset_mm
    # the target makes the middle of the window: its lower face moves, the upper one stays where the coat wants it
    assert 10.0 + offsets["step"] - offsets["+z"] == pytest.approx(0.5 * (low + high), abs=1e-9)
    assert offsets["+z"] == pytest.approx(0.0 if "+z" in masked else 0.025)
    assert proof(decision, "finishing:7:target-in-window").verdict == "holds"


def test_a_depth_without_a_level_above_it_is_said() -> None:
    solid, survey = box_part()
    decision = decide(solid=solid, survey=survey, job=job_of(Size(balloon=6, text="5 ±0.1 deep")))
    assert "no flat face looks the same way about 5 mm above face 6" in proof(
        decision, "finishing:6:size-is-understood"
    ).decides  # fmt: skip


@pytest.mark.parametrize(
    ("number", "verdict"), [(10, "fails"), (12, "fails"), (13, "holds"), (17, "holds"), (18, "fails")]
)
def test_a_thread_is_right_after_the_coat_with_a_tap_inside_its_window(number: int, verdict: str) -> None:
    """Worked: M6 6H wants 5.482 to 5.572 before this coat; D12 ends at 5.350 + 12 x 0.0127 = 5.5024 and may begin 0.025
    below, 5.4774; D13 is 5.4901 to 5.5151, D17 to 5.5659, D18 to 5.5786."""
    taken = proof(bore(text=f"M6 6H D{number}", coat=coat()), TAKEN)
    assert (taken.verdict, taken.blocks_release) == (verdict, True)
    assert taken.basis.inputs["tap"].strength == "from memory"


def test_the_gauges_of_a_coated_thread_are_told_by_how_far_they_are_off() -> None:
    """Worked: GO 5.350 + 0.132, NO-GO 5.500 + 0.072; the first tap limit inside 5.482 to 5.572 is D13."""
    window = only_window(bore(text="M6 6H", coat=coat()))
    assert window.gauges == (
        "before the coat: GO plug of pitch diameter 5.482 mm, +132 µm from the standard one; NO-GO plug of pitch "
        "diameter 5.572 mm, +72 µm from the standard one; after it the standard pair"
    )
    assert "such as a tap D13, 5.490 to 5.515 mm" in window.ways_out[0].text
    assert only_window(bore(text="M6 6H mask", coat=coat())).gauges == ""


def test_every_way_out_tells_its_price_or_to_ask() -> None:
    """Worked: 6 to 10 minutes of honing at 45 an hour are 4.50 to 7.50."""
    finisher = Finisher(
        id="hard", process="hard coat", lot_minimum=1.0, price_each=1.0, freight=0.0, days_low=1, days_high=2,
        pickup_weekdays=(1,), plug_price=fact(0.4, 0.6), tighter_coat_price=fact(2.0, 2.0),
    )  # fmt: skip
    none = exact_fact(0.0, "s", "test", "assumed")
    bench = Bench(
        load_s=none, blow_off_s=none, gauging_s=none, deburr_s=none, blast_s=none, plug_s=none, kit_s=none,
        programming_s=none, prove_out_s=none, rate_per_h=45.0, hone_s=fact(360.0, 600.0, "s"),
    )  # fmt: skip
    named = msgspec.structs.replace(coat(), finisher="hard")
    prices = coat_prices(coat=named, finishers=(finisher,), bench=bench, currency="EUR")
    solid, survey = ring_part()
    decision = decide(
        solid=solid, survey=survey, job=job_of(Size(balloon=1, text="H8"), coat=named), prices=prices
    )  # fmt: skip
    ways = only_window(decision).ways_out
    assert [(way.kind, way.price_words("EUR")) for way in ways] == [
        ("loosen", "free: it is your drawing"),
        ("plug or mask", "0.40 to 0.60 EUR a piece"),
        ("hone", "4.50 to 7.50 EUR a piece"),
        ("tighten the coat", "2.00 EUR a piece"),
    ]
    assert "(4.50 to 7.50 EUR a piece)" in proof(decision, HELD).remedy
    own = msgspec.structs.replace(bench, hone_price=fact(9.0, 9.0))
    assert coat_prices(coat=named, finishers=(), bench=own, currency="EUR") == CoatPrices(
        currency="EUR", hone=fact(9.0, 9.0)
    )


def test_what_is_told_to_help_does_help() -> None:
    """The size loosened, the coat tightened as told: the window is then as wide as was said."""
    ways = {way.kind: way.text for way in only_window(bore(coat=coat())).ways_out}
    assert "20 H9, whose window is 22 µm" in ways["loosen"]
    assert only_window(bore(text="H9", coat=coat())).width_mm == pytest.approx(0.022, abs=1e-9)
    assert "±13 %" in ways["tighten the coat"]
    tight = msgspec.structs.replace(
        coat(),
        thickness_mm=Fact(low=0.0435, nominal=0.05, high=0.0565, unit="mm", source="t", strength="owner's guess"),
    )
    assert only_window(bore(coat=tight)).width_mm == pytest.approx(0.010, abs=1e-9)


@pytest.mark.parametrize(("text", "verdict"), [("M5 6H", "holds"), ("M6 6H", "fails")])
def test_a_short_thread_in_aluminium_is_told(text: str, verdict: str) -> None:
    """X7, common practice: at least 1.5 diameters. The ring is 8 mm high: 1.6 of M5, 1.33 of M6."""
    found = proof(bore(text=text), "finishing:1:thread-is-long-enough")
    assert (found.verdict, found.blocks_release) == (verdict, False)


@pytest.mark.parametrize(("depth_mm", "verdict"), [(8.0, "fails"), (9.0, "not shown"), (90.0, "not shown")])
def test_the_drilled_length_of_a_blind_hole_is_no_length_of_thread(depth_mm: float, verdict: str) -> None:
    """1.5 diameters of M6 are 9 mm: the tap's lead and the room below it are nobody's word; too short is too short."""
    solid, survey = blind_part(depth_mm)
    job = job_of(Size(balloon=1, text="M6 6H"))
    found = proof(decide(solid=solid, survey=survey, job=job), "finishing:1:thread-is-long-enough")
    assert found.verdict == verdict
    if verdict == "not shown":
        assert (found.found_low, found.found_high) == (None, pytest.approx(depth_mm / 6.0, abs=1e-6))
        assert "the lead of the tap" in found.decides


@pytest.mark.parametrize(("depth_mm", "low"), [(10.0, 20.033), (20.0, 20.033), (30.0, 20.033)])
def test_the_finishers_word_counts_in_a_shallow_blind_bore_too(depth_mm: float, low: float) -> None:
    """Worked: 20 to 50 % of the thickness from the mouth on closes a bore by at most 2 x 0.06 x 0.5 x 0.55 = 0.033."""
    said = (BlindShare(from_depth_ratio=0.0, share_ratio=fact(0.2, 0.5, "ratio")),)
    decision = blind(depth_mm, "H9", msgspec.structs.replace(coat(), blind=said))
    assert only_window(decision).before_low_mm == pytest.approx(low, abs=1e-9)
    assert "share of the thickness in the blind hole" in proof(decision, HELD).basis.inputs


def test_the_demo_knob_refuses_its_bore_unmasked_and_prices_the_ways_out(root: Path) -> None:
    """Worked: 20 H8 under the knob's coat leaves 3 micrometres; its prices are those of the shop file."""
    job = read_job(root / "examples" / "knob.toml")
    shop = read_shop(root / "examples" / "shop.toml")
    assert [size.text for size in job.sizes] == ["20 H8 mask", "M5 6H mask"]
    solid, survey = ring_part()
    asked = msgspec.structs.replace(
        job, sizes=(Size(balloon=1, text="20 H8"),), masked_balloons=(), general_tolerance="m"
    )
    prices = coat_prices(coat=job.coat, finishers=shop.finishers, bench=shop.bench, currency=shop.currency)
    decision = decide(solid=solid, survey=survey, job=asked, prices=prices)
    held = proof(decision, HELD)
    assert (held.verdict, held.blocks_release) == ("fails", True)
    assert only_window(decision).width_mm == pytest.approx(0.003, abs=1e-9)
    assert [(way.kind, way.price_words("EUR")) for way in only_window(decision).ways_out] == [
        ("loosen", "free: it is your drawing"),
        ("plug or mask", "0.35 to 0.50 EUR a piece"),
        ("hone", "3.00 to 7.50 EUR a piece"),
        ("tighten the coat", "1.50 to 3.00 EUR a piece"),
    ]
    masked = msgspec.structs.replace(asked, sizes=(job.sizes[0],), masked_balloons=job.masked_balloons)
    shipped = decide(solid=solid, survey=survey, job=masked, prices=prices)
    assert proof(shipped, HELD).verdict == "holds"
