"""Readings of a running batch: charts, what they prove, how a size drifts, and what to change at the machine."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proveout.books.stretches import Told, standing_events
from proveout.gauging.capability import worse_side_low_ratio, worse_side_ratio
from proveout.gauging.charts import ControlChart, Signal, chart_of_singles, signals
from proveout.gauging.drift import Line, line_through
from proveout.gauging.offsets import FEWEST, Offset, offset_mm
from proveout.gauging.summary import deviation_of, mean_of
from proveout.jobs.batch_route import station_of_step
from proveout.jobs.gauge_of_size import gauge_of
from proveout.model.batch import Batch
from proveout.model.batch_events import Check, Counted, ReadingTaken
from proveout.model.events import Event
from proveout.model.floor_events import OFFSET_MOST_MM, OffsetAdvised, OffsetAnswered
from proveout.model.plan import Plan, Window
from proveout.model.shop import Shop
from proveout.model.work import Pass
from proveout.records.records import Records

CONFIDENCE_RATIO = 0.95
POINTS_LEAST, TRIAL = 3, 20
"""Readings of a chart, and those below which its limits are a trial."""
CAP_SHARE = 0.25
"""Of the width of the limits, by which an offset is changed at most at once (our own)."""
BY_TIP = ("face", "finish floor", "counterbore")
"""Passes that leave a size with the cutter's tip, so that its length moves it."""
_PLANE = re.compile(r"plane (\S+) (-?\d+\.\d+)\b")


@dataclass(frozen=True, kw_only=True)
class Leaves:
    """The cutter that leaves a size at a step. number: that calls it.   sign: of the size's move for a longer offset.

    why: no offset of the control moves the size; then sign is 0.
    """

    machine: str
    cutter: str
    number: str
    sign: int
    why: str = ""

    @property
    def called(self) -> str:
        """The cutter as the control and the shop name it."""
        return f"T{self.number} {self.cutter}" if self.number else self.cutter


@dataclass(frozen=True, kw_only=True)
class Charted:
    """One size at one step. chart: None of too few readings;  at_least: what Ppk is at least, None where none follows.

    worse: Ppk.  outside_count: readings that do not pass.   drift: over the cutter's seconds, None where not shown.
    offset: what the readings since the last change say;  add_mm: to the wear offset of the length, 0 where it stays.
    advice: in words, whatever it is.   since_count: readings since the last change, advised and taken at the machine.
    """

    check: Check
    readings: tuple[float, ...]
    pieces: tuple[str, ...]
    chart: ControlChart | None
    called: tuple[Signal, ...]
    worse: float | None
    at_least: float | None
    outside_count: int
    drift: Line | None
    leaves: Leaves | None
    offset: Offset | None
    since_count: int
    add_mm: float
    advice: str

    @property
    def offset_name(self) -> str:
        """The offset that the advice speaks of; empty where nothing is milled."""
        return "" if self.leaves is None else f"wear offset of the length of {self.leaves.called}"

    @property
    def is_trial(self) -> bool:
        """Too few points for settled limits."""
        return len(self.readings) < TRIAL


def charts_of(records: Records, batch: Batch, *, plan: Plan, shop: Shop) -> tuple[Charted, ...]:
    """Every size of a batch that was read, in the order of its route.

    Raises:   NotKept when the records cannot be read.
    """
    return charted(batch, records.events(batch=batch.batch), plan=plan, shop=shop)


def charted(
    batch: Batch, events: Sequence[tuple[int, Event]], *, plan: Plan, shop: Shop
) -> tuple[Charted, ...]:  # fmt: skip
    """The same from events with their numbers, as clocks of stations may disagree."""
    told = standing_events(events)
    numbers = {event.id: seq for seq, event in events}
    changes = [(numbers[event.id], of) for event, of in _taken(told)]
    left_by = {(check.step, check.mark): _leaves(plan, check) for check in batch.checks}
    found: list[Charted] = []
    for check in batch.checks:
        rows = [
            (event, of) for event, of in told
            if isinstance(of, ReadingTaken) and (of.step, of.mark) == (check.step, check.mark)
        ]  # fmt: skip
        if rows and check.unit == "mm":
            leaves = left_by[check.step, check.mark]
            last = max((seq for seq, of in changes if _moves(of, check, left_by)), default=0)
            fresh = [of.value for event, of in rows if numbers[event.id] > last]
            found.append(_charted(check, rows, told, plan, shop, leaves, fresh))
    return tuple(found)


def _taken(told: Told) -> list[tuple[Event, OffsetAdvised]]:
    """Each answer that took an advice, with the advice."""
    advised = {event.id: of for event, of in told if isinstance(of, OffsetAdvised)}
    return [
        (event, advised[of.advice]) for event, of in told
        if isinstance(of, OffsetAnswered) and of.is_taken and of.advice in advised
    ]  # fmt: skip


def _moves(of: OffsetAdvised, check: Check, left_by: Mapping[tuple[str, str], Leaves | None]) -> bool:
    """Whether a shift may have moved a size: by the cutter that leaves both; by any of the step where none is known."""
    asked, own = left_by.get((of.step, of.mark)), left_by[check.step, check.mark]
    if asked is None or (of.step, of.mark) == (check.step, check.mark):
        return of.step == check.step
    return own is not None and (own.machine, own.cutter) == (asked.machine, asked.cutter)


def _charted(
    check: Check, rows: list[tuple[Event, ReadingTaken]], told: Told, plan: Plan, shop: Shop, leaves: Leaves | None,
    fresh: Sequence[float],
) -> Charted:  # fmt: skip
    values = tuple(of.value for _, of in rows)
    chart = chart_of_singles(values) if len(values) >= POINTS_LEAST else None
    worse, at_least = _capable(check, values)
    offset = None
    if check.low is not None and check.high is not None and check.high > check.low and fresh:
        offset = offset_mm(
            readings_mm=fresh, aim_mm=0.5 * (check.low + check.high),
            gauge_mm=_gauge_mm(check, plan, shop), cap_mm=min(OFFSET_MOST_MM, CAP_SHARE * (check.high - check.low)),
        )  # fmt: skip
    add, advice = _advice(leaves, offset, len(fresh))
    return Charted(
        check=check, readings=values, pieces=tuple(of.piece for _, of in rows), chart=chart,
        called=signals(chart.places, runs=True) if chart is not None else (), worse=worse, at_least=at_least,
        outside_count=sum(not _passes(check, value) for value in values), drift=_drift(rows, told, leaves),
        leaves=leaves, offset=offset, since_count=len(fresh), add_mm=add, advice=advice,
    )  # fmt: skip


def _passes(check: Check, value: float) -> bool:
    return (check.low is None or value >= check.low) and (check.high is None or value <= check.high)


def _capable(check: Check, values: tuple[float, ...]) -> tuple[float | None, float | None]:
    """Ppk and what it is at least with 95 %; neither where the readings do not differ."""
    if len(values) < 2:
        return None, None
    deviation = deviation_of(values)
    if deviation <= 0.0:
        return None, None
    worse = worse_side_ratio(low=check.low, high=check.high, mean=mean_of(values), deviation=deviation)
    least = worse_side_low_ratio(
        found_ratio=worse, readings_count=len(values), freedom_count=len(values) - 1, confidence_ratio=CONFIDENCE_RATIO
    )
    return worse, math.floor(100.0 * least) / 100.0


def _gauge_mm(check: Check, plan: Plan, shop: Shop) -> float:
    """Half-width of the uncertainty of the gauge that the plan names for the size; 0 where it names none."""
    windows = {one.mark: one for one in plan.finishing.windows}
    balloon = windows[check.mark].balloon if check.mark in windows else None
    own = None if balloon is None else gauge_of(plan, shop, balloon=balloon, text=check.text)
    return 0.0 if own is None else own.uncertainty_mm


def _leaves(plan: Plan, check: Check) -> Leaves | None:
    """The last cutter that leaves a face of the size at the step; None where nothing is milled there."""
    clamping = next((one for one in plan.clampings if one.id == station_of_step(plan, check.step)), None)
    window = next((one for one in plan.finishing.windows if one.mark == check.mark), None)
    if clamping is None or window is None:
        return None
    own = [one for one in plan.passes if one.clamping_id == clamping.id and set(one.face_ids) & set(window.face_ids)]
    last: dict[str, Pass] = {face: one for one in own for face in one.face_ids if face in window.face_ids}
    if not last:
        return None
    final = own[-1]
    numbers = {
        cutter: number for sheet in plan.programs if sheet.clamping_id == clamping.id
        for number, cutter in sheet.cutters.items()
    }  # fmt: skip
    sign, why = _sign(window, last)
    return Leaves(machine=clamping.machine_id, cutter=final.cutter_id, number=numbers.get(final.cutter_id, ""),
                  sign=sign, why=why)  # fmt: skip


def _sign(window: Window, last: dict[str, Pass]) -> tuple[int, str]:
    """By a longer length offset the tip stays higher and takes less: what shrinks by cutting grows, and the reverse.

    Of two faces that look the same way the one that lies deeper makes the size larger as it is cut, the other smaller.
    """
    if window.kind != "length" or any(one.kind not in BY_TIP for one in last.values()):
        return 0, ("its walls come from the cutter's side, and the programs know no offset of a radius: write the "
                   "cutter's diameter as it cuts into the shop file and plan again, or change the cutter")  # fmt: skip
    if len(last) > 1:
        return 0, "both its faces are left in this clamping, and an offset would move both"
    if not window.is_step:
        return (-1 if window.is_inside else 1), ""
    made = _PLANE.match(next(iter(last)))
    other = next((_PLANE.match(face) for face in window.face_ids if face not in last), None)
    if made is None or other is None or made[1] != other[1] or float(made[2]) == float(other[2]):
        return 0, "which of its two faces lies deeper is not shown"
    return (-1 if float(made[2]) < float(other[2]) else 1), ""


def _drift(rows: list[tuple[Event, ReadingTaken]], told: Told, leaves: Leaves | None) -> Line | None:
    """How the size moves over the seconds that its cutter was in cut, as far as counts tell them: most are reckoned."""
    if leaves is None:
        return None
    uses = [
        (event.at, sum(one.used_s for one in of.used if (one.machine, one.cutter) == (leaves.machine, leaves.cutter)))
        for event, of in told if isinstance(of, Counted)
    ]  # fmt: skip
    places = [sum(seconds for at, seconds in uses if at <= event.at) for event, _ in rows]
    if len(rows) < POINTS_LEAST or len(set(places)) < POINTS_LEAST:
        return None
    return line_through(places=places, readings=[of.value for _, of in rows], confidence_ratio=CONFIDENCE_RATIO)


def _advice(leaves: Leaves | None, offset: Offset | None, count: int) -> tuple[float, str]:
    """What to add to the offset, and the sentence for whoever stands there."""
    if leaves is None:
        return 0.0, "No pass of the plan leaves its faces at this step: readings here move no offset."
    if not count:
        return 0.0, "Nothing was read since the offset was changed."
    if offset is None:
        return 0.0, "There is one limit only, so nobody said where the size is to lie."
    if count < FEWEST:
        return 0.0, f"Leave the offset: {count} readings since it was changed, and it takes {FEWEST}."
    reads = f"parts read {'large' if offset.off > 0.0 else 'small'} by {abs(offset.off):.3f} mm"
    if not offset.added:
        return 0.0, (f"Leave the offset: {reads}, and up to {offset.dead_band:.3f} mm is chance, the gauge, or no run "
                     "of readings out of order.")  # fmt: skip
    if not leaves.sign:
        return 0.0, f"No offset moves this size: {reads} with {leaves.called}; {leaves.why}."
    add = round(leaves.sign * offset.added, 3)
    if not add:
        return 0.0, f"Leave the offset: {reads}, less than a control can be told."
    more = " More would be asked for, but not at once: look for what else is wrong." if offset.is_capped else ""
    return add, f"Add {add:+.3f} to the wear offset of the length of {leaves.called}: {reads}.{more}"
