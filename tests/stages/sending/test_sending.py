"""What goes to finishers: alloy, heats, blind holes, thin walls, places for the rack, and an order that says all."""

from __future__ import annotations

import msgspec
import pytest
from stages.coated_parts import coat, job_of, ring_part

from proveout.model.concerns import Concern
from proveout.model.features import Feature
from proveout.model.finish_order import FinishOrder
from proveout.model.job import Coat, Job, Size
from proveout.model.marking import Marking
from proveout.model.plan import BarsPlan
from proveout.model.proof import Decision, Proof
from proveout.model.shop import Finisher
from proveout.model.work import HoleStep, Survey
from proveout.stages.finishing.decide import decide as decide_finishing
from proveout.stages.sending.alloys import contents_of
from proveout.stages.sending.decide import decide

HARD = Finisher(
    id="hard", process="hard coat", lot_minimum=1.0, price_each=1.0, freight=0.0, days_low=6, days_high=8,
    pickup_weekdays=(3,),
)  # fmt: skip
LASER = msgspec.structs.replace(HARD, id="laser", process="laser marking", days_low=2, days_high=3)
THIN = Concern(
    id="t", kind="thin wall", subject="wall of slot", face_ids=("top",), found=0.8, limit=1.5, sense="at least",
    unit="mm", text="Wall of slot: 0.8 thick.", change="", source="workshop-practice", is_practice=True,
)  # fmt: skip
MARK = Marking(finisher="laser", text="EX-9", face_ids=("top",), where="in the middle", height_mm=3.0)


def bars(count: int) -> BarsPlan:
    return BarsPlan(
        pieces_count=12, spare_count=2, bars_count=count, lower_bound=count, patterns=(), strokes_count=1, kerf_mm=1.8,
        trim_mm=6.0, tail_mm=65.0, cut_length_mm=20.0, cut_tolerance_mm=0.2, price=1.0, status="optimal", note="",
    )  # fmt: skip


def job(*sizes: Size, some: Coat | None = None, alloy: str = "6061-T6", show: tuple[str, ...] = ("top",)) -> Job:
    named = msgspec.structs.replace(some or coat(), finisher="hard", certificate=True)
    made = job_of(*sizes, coat=named)
    part = msgspec.structs.replace(made.part, alloy=alloy)
    return msgspec.structs.replace(made, part=part, show_faces=show, other_finishers=("laser",), markings=(MARK,))


def sent(
    some: Job, survey: Survey | None = None, *, count: int = 1, concerns: tuple[Concern, ...] = (),
    same_load: tuple[str, ...] = (), fit_marks: tuple[str, ...] = (),
) -> Decision[tuple[FinishOrder, ...]]:  # fmt: skip
    solid, own = ring_part()
    survey = survey or own
    finishing = decide_finishing(solid=solid, survey=survey, job=some).value.finishing
    return decide(
        job=some, survey=survey, finishing=finishing, bars_plan=bars(count), concerns=concerns,
        finishers=(LASER, HARD), same_load=same_load, fit_marks=fit_marks,
    )  # fmt: skip


def proof(decision: Decision[tuple[FinishOrder, ...]], id: str) -> Proof:
    return next(p for p in decision.proofs if p.id == f"sending:{id}")


def blind(depth_mm: float) -> Survey:
    _, survey = ring_part()
    (hole,) = survey.holes
    steps = (msgspec.structs.replace(hole.steps[0], depth_high_mm=depth_mm),)
    hole = msgspec.structs.replace(hole, steps=steps, is_through=False, bottom="flat")
    return msgspec.structs.replace(survey, holes=(hole,))


def test_one_order_goes_to_each_finisher_in_the_jobs_order() -> None:
    """Worked: build-up 0.040 x 0.45 to 0.060 x 0.55; the ring has 2 ends of 125 pi, 160 pi inside, 240 pi outside."""
    first, second = sent(job(), same_load=("EX-9",)).value
    assert (first.finisher_id, second.finisher_id) == ("hard", "laser")
    assert (first.pieces_count, first.alloy, first.after, first.same_load) == (
        12, "6061-T6", ("laser marking",), ("EX-9",)
    )  # fmt: skip
    assert first.build_up_mm is not None
    assert (first.build_up_mm.low, first.build_up_mm.high) == pytest.approx((0.018, 0.033))
    assert first.coated_area_mm2 == pytest.approx(650.0 * 3.14159265, rel=1e-6)
    assert second.thickness_mm is None
    assert (second.prior, second.masks, second.same_load) == ("milled, hard coat", (), ())


def test_masked_holes_stand_on_the_order_and_close_sizes_are_read() -> None:
    some = job(Size(balloon=1, text="H8 mask"), Size(balloon=3, text="30 h9"))
    order = sent(some).value[0]
    assert order.masks == ("1: H8, through: plug",)
    assert [r.mark for r in order.readings] == ["3"]
    assert (order.readings[0].before_high_mm, order.readings[0].finished_high_mm) == pytest.approx((29.934, 30.0))


@pytest.mark.parametrize(
    ("alloy", "copper", "silicon", "blocks"),
    [
        ("6061-T6", "holds", "holds", True),
        ("EN AW-7075 T651", "holds", "holds", True),
        ("2011-T3", "not shown", "holds", True),
        ("Alumec", "not shown", "not shown", False),
    ],
)
def test_copper_and_silicon_are_held_against_the_hard_coat(
    alloy: str, copper: str, silicon: str, *, blocks: bool
) -> None:
    decision = sent(job(alloy=alloy))
    found = [proof(decision, f"alloy:{name}-suits-the-hard-coat") for name in ("copper", "silicon")]
    assert [p.verdict for p in found] == [copper, silicon]
    assert {p.blocks_release for p in found} == {blocks}


def test_an_alloy_goes_by_its_four_figures_alone() -> None:
    assert contents_of("6061-T6") == contents_of("AlMg1SiCu EN AW-6061")
    assert contents_of("16061") is None


@pytest.mark.parametrize(("count", "verdict"), [(1, "holds"), (2, "not shown")])
def test_pieces_of_several_bars_may_be_of_several_heats(count: int, verdict: str) -> None:
    found = proof(sent(job(), count=count), "heats:one-heat-a-lot")
    assert (found.verdict, found.unit) == (verdict, "heats")


@pytest.mark.parametrize(("depth_mm", "verdict"), [(20.0, "holds"), (50.0, "fails")])
def test_a_deep_open_blind_hole_is_named_with_its_depth(depth_mm: float, verdict: str) -> None:
    decision = sent(job(), blind(depth_mm))
    assert proof(decision, "holes:drain").verdict == verdict
    words = "hole 1, Ø20, blind, 50.0 mm deep, 2.5 diameters"
    rinsed = f"{words}: acid stays in it, rinse it out and blow it dry"
    assert (rinsed in decision.value[0].watch) == (verdict == "fails")
    assert (words in proof(decision, "holes:drain").claim) == (verdict == "fails")


def test_a_plugged_blind_hole_keeps_nothing() -> None:
    decision = sent(job(Size(balloon=1, text="H8 mask")), blind(50.0))
    assert proof(decision, "holes:drain").verdict == "holds"
    assert proof(sent(job(Size(balloon=1, text="mask")), blind(50.0)), "holes:drain").verdict == "holds"


def test_a_narrow_step_below_a_wide_one_is_not_overlooked() -> None:
    survey = blind(10.0)
    narrow = HoleStep(kind="cylinder", diameter_mm=4.0, depth_low_mm=10.0, depth_high_mm=22.0, face_ids=("outside",))
    (hole,) = survey.holes
    survey = msgspec.structs.replace(
        survey, holes=(msgspec.structs.replace(hole, steps=(*hole.steps, narrow)),)
    )  # fmt: skip
    assert proof(sent(job(), survey), "holes:drain").found_high == pytest.approx(5.5)


def test_thin_walls_matter_where_the_part_is_blasted() -> None:
    blasted = msgspec.structs.replace(coat(), blast=True)
    decision = sent(job(some=blasted), concerns=(THIN,))
    assert proof(decision, "walls:stand-the-blast").verdict == "fails"
    assert decision.value[0].watch == ("wall of slot: Wall of slot: 0.8 thick.",)
    assert proof(sent(job(some=blasted)), "walls:stand-the-blast").verdict == "holds"
    assert sent(job(), concerns=(THIN,)).value[0].watch == ()


def test_a_rack_holds_by_plain_faces_that_do_not_show() -> None:
    """Worked: of the ring only the two ends are flat, 393 mm2 each; the top shows, so the bottom is left."""
    order = sent(job()).value[0]
    assert (order.rack_may, order.rack_not, order.show) == (("bottom",), ("top",), ("top",))
    both = sent(job(show=("top", "bottom")))
    assert both.value[0].rack_may == ()
    assert proof(both, "rack:has-a-place").verdict == "fails"


def test_where_nobody_said_what_shows_no_place_is_named() -> None:
    decision = sent(job(show=()))
    assert decision.value[0].rack_may == ()
    assert proof(decision, "rack:has-a-place").verdict == "not shown"
    assert "which faces show ([show])" in decision.value[0].lacks


def test_a_close_size_is_no_place_for_a_rack() -> None:
    size = Size(balloon=2, text="8 ±0.03", face_ids=("bottom", "top"))
    order = sent(job(size, show=("outside",))).value[0]
    assert order.rack_may == ()
    assert set(order.rack_not) == {"bottom", "top", "outside"}


def test_a_face_of_a_fit_is_no_place_for_a_rack() -> None:
    _, survey = ring_part()
    bottom = next(note.balloon for note in survey.faces if note.face_id == "bottom")
    order = sent(job(), fit_marks=(str(bottom),)).value[0]
    assert order.rack_may == ()
    assert set(order.rack_not) == {"bottom", "top"}
    sized = Size(balloon=2, text="8 ±0.3", face_ids=("bottom", "top"))
    assert sent(job(sized)).value[0].rack_may == ("bottom",)
    assert sent(job(sized), fit_marks=("2",)).value[0].rack_may == ()


@pytest.mark.parametrize("kind", ["chamfer", "hole"])
def test_neither_a_chamfer_nor_the_shoulder_of_a_hole_is_a_place_for_a_rack(kind: str) -> None:
    _, survey = ring_part()
    (hole,) = survey.holes
    feature = Feature(
        id="f", kind="chamfer" if kind == "chamfer" else "hole", form="edge", face_ids=("bottom",), sizes_mm={},
        place_mm=(0.0, 0.0, 0.0), opens=(0.0, 0.0, 1.0), name="f", hole_id=hole.id if kind == "hole" else "",
    )  # fmt: skip
    order = sent(job(), msgspec.structs.replace(survey, features=(feature,))).value[0]
    assert (order.rack_may, order.rack_not) == ((), ("top",))


def test_an_order_that_lacks_something_says_what() -> None:
    said = {"spec": "sheet HC-7, type 2, class 1", "colour": "black", "seal": "hot water"}
    some = job(some=msgspec.structs.replace(coat(), **said))
    found = proof(sent(some), "hard:order-says-all")
    assert (found.verdict, found.decides) == ("not shown", "say the day on which it is wanted")
    due = msgspec.structs.replace(some, order=msgspec.structs.replace(some.order, due="2026-02-16"))
    assert proof(sent(due), "hard:order-says-all").verdict == "holds"
    order = sent(due).value[0]
    assert {field: getattr(order, field) for field in said} == said
    assert due.coat is not None
    for field in said:
        less = msgspec.structs.replace(due, coat=msgspec.structs.replace(due.coat, **{field: ""}))
        found = proof(sent(less), "hard:order-says-all")
        assert found.verdict == "not shown"
        assert f"({field} in [coat])" in found.decides
        assert proof(sent(less), "laser:order-says-all").verdict == "holds"


def test_a_build_up_is_known_no_better_than_the_worst_it_comes_from() -> None:
    """Nobody said the etch: up to 0.025 mm may go, 0.018 - 0.025 to 0.033, and that is only assumed."""
    known = sent(job()).value[0].build_up_mm
    assert known is not None
    assert (known.source, known.strength) == ("job", "owner's guess")
    unsaid = sent(job(some=msgspec.structs.replace(coat(), etch_mm=None))).value[0].build_up_mm
    assert unsaid is not None
    assert (unsaid.low, unsaid.high) == pytest.approx((-0.007, 0.033))
    assert (unsaid.source, unsaid.strength) == ("workshop-practice", "assumed")


def test_a_part_without_a_coat_and_finishers_sends_nothing() -> None:
    assert sent(job_of()) == Decision(value=(), proofs=())


def test_a_finisher_who_marks_is_told_what_and_where_and_nobody_else_is() -> None:
    coat_order, laser = sent(job()).value
    assert (coat_order.markings, laser.markings) == ((), (MARK,))
    assert not any("mark" in words for words in laser.lacks)


def test_an_order_to_a_finisher_who_marks_asks_for_what_nobody_said_of_it() -> None:
    silent = sent(msgspec.structs.replace(job(), markings=()))
    assert any("what is marked, on which face" in words for words in silent.value[1].lacks)
    assert not any("marked" in words for words in silent.value[0].lacks)
    assert proof(silent, "laser:order-says-all").verdict == "not shown"
    for said, lack in (
        (msgspec.structs.replace(MARK, face_ids=()), "on which face"),
        (msgspec.structs.replace(MARK, face_ids=("gone",)), "gone is not in the STEP file"),
        (msgspec.structs.replace(MARK, where=""), "where on it"),
        (msgspec.structs.replace(MARK, height_mm=None), "how high"),
    ):
        lacks = sent(msgspec.structs.replace(job(), markings=(said,))).value[1].lacks
        assert any(lack in words and "EX-9" in words for words in lacks)
