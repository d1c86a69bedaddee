"""What spindles' meters, read in batches, tell of the cutting pressure: proposed, taken over once, planned by."""

from __future__ import annotations

import tomllib
from typing import Any

import msgspec
import pytest
import run_batches
from learning_year import folded

from proveout.cutting.chip_thickness import mean_chip_thickness_mm
from proveout.intake.shop_file import shop_from_text
from proveout.intake.toml_blocks import edited
from proveout.jobs.batch_route import step_of
from proveout.jobs.learned_pressure import learned_pressure, row_of
from proveout.jobs.learning import accepted_values, lesson, puts_of
from proveout.jobs.lesson_answers import mark_of_offer
from proveout.jobs.meter_cuts import meter_cuts, meters_of, refuse_meter
from proveout.model.batch import Batch
from proveout.model.batch_events import Started
from proveout.model.close_out import CloseOut, MeterAt
from proveout.model.events import Corrected, Event
from proveout.model.floor_events import SpindleMeterRead
from proveout.model.learned import Key, Proposal, key_of
from proveout.model.shop import Shop
from proveout.model.shop_events import ValueAccepted, ValueDeclined
from proveout.quantities.errors import BadInput, Refused
from proveout.quantities.units import rad_per_s_from_rpm
from proveout.stages.loads.readings import decide_pressure

(MILLED,) = [line for line in run_batches.SHOP_TEXT.splitlines() if 'id = "EM12"' in line]
NAMES = ("EM12", "EM12b", "EM12c")
TEXT = run_batches.SHOP_TEXT.replace(MILLED, "\n".join(MILLED.replace("EM12", name) for name in NAMES))
SHOP = shop_from_text(TEXT, file="shop.toml", folder=run_batches.worked_home.SHOP_FILE.parent)
ALLOY = "6061-T6"


def read(pressure: float, event: str, *, cutter: str = "EM12", off: float = 0.0, **more: Any) -> MeterAt:
    """What a meter shows over 0.5 kW in the air where 0.9 of the power reaches a used edge.

    Worked: 12 mm, z 3, 9000 1/min, 0.06 mm a tooth: 27 mm/s; 6 x 5 mm: 810 mm3/s.
    """
    chip = mean_chip_thickness_mm(feed_per_tooth_mm=0.06, radial_engagement_mm=5.0, diameter_mm=12.0)
    load = 0.5 + pressure * chip**-0.25 * 810.0 * (1.0 + off) / 0.9 / 1.0e6
    of = SpindleMeterRead(step="c1", cut="p", load=load, idle=0.5, smallest=0.01, edge="used", edge_min=12.0)
    given: dict[str, Any] = {
        "event": event, "step": "c1", "cut": "p", "machine": "mill-3", "alloy": ALLOY, "read": of, "person": "Mara",
        "day": "2027-03-01", "cutter": cutter, "diameter_mm": 12.0, "flutes_count": 3,
        "speed_rad_per_s": rad_per_s_from_rpm(9000.0), "tooth_feed_mm": 0.06, "radial_mm": 5.0, "axial_mm": 6.0,
    }  # fmt: skip
    return MeterAt(**given | more)


def closed(batch: str, *meters: MeterAt) -> CloseOut:
    events: list[Event] = []
    run_batches.Run(events.append, batch).whole()
    return msgspec.structs.replace(run_batches.closed(folded(events, batch), events), meters=meters)


@pytest.fixture(scope="module")
def bare() -> CloseOut:
    return closed("B")


def batches(bare: CloseOut, pressure: float, *, count: int = 3, names: tuple[str, ...] = NAMES) -> list[CloseOut]:
    """Two readings each, all within a share of 0.01."""
    return [
        msgspec.structs.replace(bare, batch=f"B{n}", meters=tuple(
            read(pressure, f"e{n}{k}", cutter=names[(2 * n + k) % len(names)], off=0.002 * (2 * n + k))
            for k in range(2)
        )) for n in range(count)
    ]  # fmt: skip


def proposal(shop: Shop, told: list[CloseOut]) -> Proposal:
    (one,) = learned_pressure(shop, told).proposals
    return one


def taken_over(text: str, one: Proposal) -> tuple[str, Shop]:
    after = edited(text, puts_of(one.key, one.now, tomllib.loads(text), rows=one.rows))
    return after, shop_from_text(after, file="shop.toml", folder=run_batches.worked_home.SHOP_FILE.parent)


def test_readings_of_batches_are_proposed_and_plans_reckon_with_just_that(bare: CloseOut) -> None:
    told = batches(bare, 750.0)
    one = proposal(SHOP, told)
    assert one.key.words == "pressure.6061-T6"
    assert one.taken == one.was == SHOP.cutting_pressure_mpa
    assert one.now.low < 750.0 < one.now.high < one.taken.high
    assert (one.batches, one.events_count, len(one.rows)) == (("B0", "B1", "B2"), 6, 6)
    assert "6 spindle readings of batches B0, B1, B2 of this shop beside 0 in the shop file, of 3 cutters" in one.how
    text, after = taken_over(TEXT, one)
    assert [line for line in TEXT.splitlines() if line not in text] == []  # comments too
    assert after.cutting_pressure_mpa == SHOP.cutting_pressure_mpa
    assert msgspec.structs.replace(after, spindle_readings=(), assumed=SHOP.assumed) == SHOP  # nothing that holds work
    found = decide_pressure(
        readings=after.spindle_readings, cutters=after.cutters, alloy=ALLOY, pressure_mpa=after.cutting_pressure_mpa,
        exponent_ratio=after.cutting_exponent_ratio,
    ).value  # fmt: skip
    assert (found.pressure_mpa, found.used_count) == (one.now, 6)
    first = after.spindle_readings[0]
    assert first.source == "batch B0, step c1, Mara, edge 12 min in cut"
    assert (first.event, first.date, first.edge) == ("e00", "2027-03-01", "used")


def test_no_reading_is_taken_over_twice_and_one_more_is_proposed_alone(bare: CloseOut) -> None:
    told = batches(bare, 750.0)
    text, after = taken_over(TEXT, proposal(SHOP, told))
    again = learned_pressure(after, told)
    assert (again.proposals, again.silent) == ((), ())
    more = msgspec.structs.replace(bare, batch="B7", meters=(read(760.0, "e70"),))
    one = proposal(after, [*told, more])
    assert (one.batches, len(one.rows), one.rows[0]["event"]) == (("B7",), 1, "e70")
    assert one.taken == proposal(SHOP, told).now
    _, both = taken_over(text, one)
    assert [reading.event for reading in both.spindle_readings][-1] == "e70"
    assert len(both.spindle_readings) == 7


def test_few_readings_few_batches_and_few_cutters(bare: CloseOut) -> None:
    """Four are no fit; of two batches no end comes down, but one goes up; one cutter leaves the high end as it is."""
    few = learned_pressure(SHOP, batches(bare, 750.0, count=2))
    assert few.proposals == ()
    assert "4 of at least 5 spindle readings, 0 of them in the shop file" in few.silent[0]
    (a, b, c) = batches(bare, 750.0)
    two = [a, msgspec.structs.replace(b, meters=(*b.meters, *c.meters))]
    assert "they are of 2 of at least 3 batches" in learned_pressure(SHOP, two).silent[0]
    (a, b, c) = batches(bare, 1000.0)
    up = proposal(SHOP, [a, msgspec.structs.replace(b, meters=(*b.meters, *c.meters))])
    assert up.now.high > up.taken.high
    alone = proposal(SHOP, batches(bare, 750.0, names=("EM12",)))
    assert alone.now.high == alone.taken.high
    assert "cutters read: 1 of 3; the high end is not lowered" in alone.cautions
    assert not any("cutters read" in words for words in proposal(SHOP, batches(bare, 750.0)).cautions)


def test_readings_far_from_what_is_written_are_held_beside_it_with_a_caution(bare: CloseOut) -> None:
    one = proposal(SHOP, batches(bare, 2000.0))
    assert one.now.low == one.taken.low
    assert one.now.high > 2000.0
    assert any("lie apart" in words for words in one.cautions)


def test_how_far_raw_faces_leave_the_cut_open_widens_both_ends(bare: CloseOut) -> None:
    """Worked: a tenth of the section: low over 1.1, high over 0.9."""
    told = batches(bare, 750.0)
    open_ = [
        msgspec.structs.replace(one, meters=tuple(
            msgspec.structs.replace(meter, section_error_ratio=0.1) for meter in one.meters
        )) for one in told
    ]  # fmt: skip
    sure, wide = proposal(SHOP, told), proposal(SHOP, open_)
    assert wide.now.low == pytest.approx(sure.now.low / 1.1, abs=0.02)
    assert wide.now.high == pytest.approx(sure.now.high / 0.9, abs=0.02)


def test_what_cannot_be_used_is_left_out_by_name(bare: CloseOut) -> None:
    told = batches(bare, 750.0)
    odd = msgspec.structs.replace(bare, batch="B9", meters=(
        read(750.0, "x1", cutter="gone"), read(750.0, "x2", flutes_count=2), read(750.0, "x3", diameter_mm=10.0),
        read(750.0, "x4", why="the plan knows no steady cut in this pass"), read(750.0, "x5", radial_mm=13.0),
        read(750.0, "x6", machine="no-such"),
    ))  # fmt: skip
    found = learned_pressure(SHOP, [*told, odd])
    assert found.proposals == (proposal(SHOP, told),)
    for words in ("gone is not in the shop file", "is another cutter", "no steady cut", "larger than its cutter",
                  "does not have"):  # fmt: skip
        assert any("read in B9, c1, by Mara" in one and words in one for one in found.silent), words
    assert len(found.silent) == 6
    other = [msgspec.structs.replace(one, meters=tuple(
        msgspec.structs.replace(meter, alloy="Ti-6Al-4V") for meter in one.meters)) for one in told]  # fmt: skip
    assert learned_pressure(SHOP, other).silent == (
        "cutting pressure of Ti-6Al-4V: [material] of the shop file has no figures for it",
    )


def test_a_row_whose_record_was_corrected_is_told(bare: CloseOut) -> None:
    told = batches(bare, 750.0)
    _, after = taken_over(TEXT, proposal(SHOP, told))
    first = told[0]
    other = msgspec.structs.replace(first, meters=(read(700.0, "e00"), first.meters[1]))
    assert "its row in the shop file says otherwise" in learned_pressure(after, [other, *told[1:]]).silent[0]
    gone = msgspec.structs.replace(first, meters=first.meters[1:])
    (words,) = learned_pressure(after, [gone, *told[1:]]).silent
    assert "did not happen in B0 after all" in words


def test_a_lesson_holds_it_and_declining_works_as_for_the_others(bare: CloseOut) -> None:
    told = batches(bare, 750.0)
    (one,) = [one for one in lesson(SHOP, told).proposals if one.key.kind == "pressure"]
    declined = ValueDeclined(shop=SHOP.name, key=one.key.words, now=one.now, batches=one.batches, why="wrong meter")
    after = lesson(SHOP, told, declined=(("mara", declined),))
    assert [said.proposal.key for said in after.declined] == [one.key]
    assert not any(left.key.kind == "pressure" for left in after.proposals)
    taken = ValueAccepted(shop=SHOP.name, key=one.key.words, was=one.was, now=one.now, batches=one.batches,
                          pieces_count=0)  # fmt: skip
    # said but never written: the file has no rows, so it is proposed again
    assert one in lesson(SHOP, told, accepted=(taken,)).proposals
    assert accepted_values([]) == ()
    fewer = msgspec.structs.replace(one, rows=one.rows[1:])
    assert mark_of_offer((one,)) != mark_of_offer((fewer,))
    assert key_of("pressure.1.2379") == Key(kind="pressure", of="1.2379")
    with pytest.raises(BadInput, match="stands in no shop file"):
        puts_of(one.key, one.now, {})


def test_a_meter_is_read_in_the_steady_cut_of_a_pass_at_the_overrides() -> None:
    """Worked: 80 % of the feed at 50 % of the speed: 0.05 0.8 / 0.5 = 0.08 mm an edge."""
    home = run_batches.worked_home
    base = run_batches.plan()
    rough, floor, _, below = base.passes
    pushes = (home.steady_push(rough.id), home.steady_push(floor.id, None), home.steady_push(below.id))
    plan = msgspec.structs.replace(base, pass_pushes=pushes)
    steps = {clamping.id: step_of(clamping) for clamping in plan.clampings}
    step = steps["c1"]
    (cut,) = meter_cuts(plan, step)
    assert cut.one.id == rough.id
    assert "4.00 mm wide, 3.00 mm deep" in cut.words
    assert [one.one.id for one in meter_cuts(plan, steps["c2"])] == [below.id]
    assert meter_cuts(msgspec.structs.replace(plan, metal_unknown="no figures"), step) == ()
    assert meter_cuts(base, step) == ()  # a plan of before
    of = SpindleMeterRead(step=step, cut=rough.id, load=2.0, idle=0.5, feed_percent=80.0, speed_percent=50.0)
    refuse_meter(plan, of, where="here")
    for wrong in (floor.id, below.id, "none"):
        with pytest.raises(Refused, match="no cut is steady"):
            refuse_meter(plan, msgspec.structs.replace(of, cut=wrong), where="here")
    events: list[Event] = []
    run = run_batches.Run(events.append, "B")
    run(Started(step=step), "mill-3")
    event = run(of, "mill-3")
    (found,) = meters_of(tuple((one, one.of) for one in events), plan=plan, shop=SHOP)  # type: ignore[misc] - one reading
    assert found.event == event.id
    assert found.tooth_feed_mm == pytest.approx(0.08)
    assert found.speed_rad_per_s == pytest.approx(0.5 * rough.speed_rad_per_s)
    assert (found.cutter, found.radial_mm, found.section_error_ratio, found.why) == ("EM12", 4.0, 0.1, "")
    row = row_of("B", found)
    assert (row["load_kw"], row["idle_kw"], "step_kw" in row, row["section_error"]) == (2.0, 0.5, False, 0.1)
    run(Corrected(event_id=event.id, why="the other spindle", instead=None))
    closed_out = run_batches.closed_out(whole_batch(), list(enumerate(events, start=1)), plan=plan, shop=SHOP)
    assert closed_out.meters == ()


def whole_batch() -> Batch:
    whole: list[Event] = []
    run_batches.Run(whole.append, "B").whole()
    return folded(whole, "B")
