"""Where a batch's spindle meters can be read, and what was read there."""

from __future__ import annotations

from collections.abc import Iterator

from proveout.books.stretches import Told
from proveout.jobs.batch_route import station_of_step
from proveout.jobs.shop_day import day_of
from proveout.model.close_out import MeterAt
from proveout.model.events import Event
from proveout.model.floor_events import SpindleMeterRead
from proveout.model.plan import Plan
from proveout.model.shop import Noun, Shop
from proveout.model.turn_push import SteadyCut
from proveout.model.work import Pass
from proveout.quantities.errors import Refused
from proveout.quantities.units import rpm_from_rad_per_s

NOT_STEADY = "the plan knows no steady cut in this pass"


class MeterCut(Noun, frozen=True, kw_only=True):
    """A pass in which a meter can be read. number: that calls its cutter, empty where no program is written."""

    one: Pass
    cut: SteadyCut
    number: str

    @property
    def words(self) -> str:
        """The cutter, the pass, and the cut in which the meter stands highest."""
        cutter = f"T{self.number} {self.one.cutter_id}" if self.number else self.one.cutter_id
        turns = rpm_from_rad_per_s(self.one.speed_rad_per_s)
        return (
            f"{cutter}, {self.one.kind} {self.one.feature}: {self.cut.radial_mm:.2f} mm wide, "
            f"{self.cut.axial_mm:.2f} mm deep at {turns:.0f} 1/min, {self.cut.seconds:.1f} s long"
        )


def meter_cuts(plan: Plan, step: str) -> tuple[MeterCut, ...]:
    """The passes of a step of the route in which a meter can be read, in order of work."""
    clamping_id = station_of_step(plan, step)
    numbers = {
        cutter: number for sheet in plan.programs if sheet.clamping_id == clamping_id
        for number, cutter in sheet.cutters.items()
    }  # fmt: skip
    return tuple(
        MeterCut(one=one, cut=cut, number=numbers.get(one.cutter_id, ""))
        for one, cut in _steady(plan) if one.clamping_id == clamping_id
    )  # fmt: skip


def refuse_meter(plan: Plan, of: SpindleMeterRead, *, where: str) -> None:
    """Refuse a reading in another pass than those in which a meter can be read.

    Raises:   Refused.
    """
    known = [one.one.id for one in meter_cuts(plan, of.step)]
    if of.cut not in known:
        raise Refused("In this pass no cut is steady enough for a meter, or it is none of this step", where=where,
                      value=of.cut, limit=", ".join(known) or "none of this step")  # fmt: skip


def meters_of(told: Told, *, plan: Plan, shop: Shop) -> tuple[MeterAt, ...]:
    """Every reading of a batch as it stands corrected, with its cut as it really ran.

    plan, shop: those that it was released with.
    """
    return tuple(_meter(event, of, plan, shop) for event, of in told if isinstance(of, SpindleMeterRead))


def _meter(event: Event, of: SpindleMeterRead, plan: Plan, shop: Shop) -> MeterAt:
    bare = {
        "event": event.id, "step": of.step, "cut": of.cut, "machine": event.station, "alloy": plan.part.alloy,
        "read": of, "person": event.person, "day": day_of(event),
    }  # fmt: skip
    found = next((one for one in meter_cuts(plan, of.step) if one.one.id == of.cut), None)
    if found is None:
        return MeterAt(**bare, why=NOT_STEADY)
    cutter = next((one for one in shop.cutters if one.id == found.one.cutter_id), None)
    if cutter is None:
        return MeterAt(**bare, why="its cutter is not in the shop file of the batch")
    speed = found.one.speed_rad_per_s * of.speed_percent / 100.0
    return MeterAt(
        **bare, cutter=cutter.id, diameter_mm=cutter.diameter_mm, flutes_count=cutter.flutes_count,
        speed_rad_per_s=speed, tooth_feed_mm=found.cut.tooth_feed_mm * of.feed_percent / of.speed_percent,
        radial_mm=found.cut.radial_mm, axial_mm=found.cut.axial_mm,
        section_error_ratio=found.cut.section_error_ratio,
    )  # fmt: skip


def _steady(plan: Plan) -> Iterator[tuple[Pass, SteadyCut]]:
    if plan.metal_unknown:
        return
    cuts = {push.pass_id: push.steady for push in plan.pass_pushes}
    for one in plan.passes:
        cut = cuts.get(one.id)
        if cut is not None:
            yield one, cut
