"""One step of a batch at its station: start, count, done; at a mill also how it is loaded and set up."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from proveout.books.stretches import Told
from proveout.desk.floor import step_address
from proveout.desk.floor_people import at_tablet, names_here
from proveout.desk.page import desk_of, page
from proveout.desk.person import new_form
from proveout.desk.plan_writer import drawing_note, ready, writer_of
from proveout.jobs.ended import notice
from proveout.jobs.first_off import FirstOff, first_off
from proveout.jobs.floor_stations import OUTSIDE, FloorStation, Waiting, station_of
from proveout.jobs.floor_taps import advice_words, found_of, last_set_up, not_answered_for, open_advice, standing
from proveout.jobs.place import Place
from proveout.jobs.releasing import packet_place
from proveout.jobs.set_up import Assumed, assumed_of, clamping_of, programs_of
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Check
from proveout.model.floor_events import PhotoTaken
from proveout.quantities.errors import BadInput, ProveoutError
from proveout.sheets.floor_html import cutters_html, load_html, run_facts

router = APIRouter()
NOTHING = Markup("")
BAD_WORDS = ("size", "surface", "burr", "wrong load", "cutter broke", "dropped")
STOP_WORDS = ("Size is off", "Cutter broke", "Machine alarm", "Work moved", "Not as on the papers")
LAST_READINGS = 6
ADVICE, ADVICE_MOST = ("mark", "offset", "shift", "why"), 200


@dataclass(frozen=True)
class AtMill:
    """What a mill's page shows of the packet.   wrong: why there is none to show."""

    load: Markup = NOTHING
    facts: tuple[tuple[str, Markup], ...] = ()
    cutters: Markup = NOTHING
    assumed: tuple[Assumed, ...] = ()
    programs: tuple[str, ...] = ()
    note: str = ""
    is_coming: bool = False
    wrong: str = ""


@router.get("/floor/{station}/{step}/{batch}")
def at_step(request: Request, station: str, step: str, batch: str) -> HTMLResponse:
    """What to do next with a batch at a station, and everything that is needed for it.

    Its address may carry an offset to advise, as the charts of the batch found it: typed in, and written by nobody yet.
    """
    desk = desk_of(request)
    here = station_of(station, desk.home.shop(), desk.records)
    found = desk.records.batch(batch)
    one = None if found is None else next((each for each in found.steps if each.id == step), None)
    if found is None or one is None or not _is_here(here, one):
        raise BadInput("Nothing of this batch is done here", where=here.name, value=f"{batch[:60]}, {step[:60]}",
                       do="go back to the station")  # fmt: skip
    told = standing(desk.records, found.batch)
    ends, is_over = notice(desk.records, found, one, day=desk.today())
    shown: dict[str, Any] = {
        "ends": ends, "is_over": is_over,
        "batch": found, "step": one, "station": here, "checks": [c for c in found.checks if c.step == one.id],
        "is_last": one is found.steps[-1], "before": _before(found, one), "person": at_tablet(request),
        "known": desk.people.all(), "names": [] if desk.people.are_known else names_here(request),
        "bad_words": BAD_WORDS, "stop_words": STOP_WORDS, "uuid": new_form, "readings": _readings(request, found, one),
        "photos": _photos(told, one), "packet": f"/parts/@{found.batch}",
        "here": step_address(here, Waiting(batch=found, step=one, state="waits")),
        "state": _state(found, one), "lots": [lot for lot in found.lots if lot.step == one.id], "limits": limits_words,
        "reactions": _reactions(request, found, one),
        "asked": f"{request.url.path}?{request.url.query}".removesuffix("?"),
        "typed": {name: request.query_params.get(name, "")[:ADVICE_MOST] for name in ADVICE},
    }  # fmt: skip
    if one.kind == "mill":
        shown |= _of_mill(request, found, one, told)
    if one.kind == "saw":
        shown["bars"] = [
            row for row in desk.records.rows("stock") if row["sort"] in ("bar", "remnant") and row["count"]
        ]
    return page(request, "floor_step.html", title=f"{found.part} {found.batch} - {here.name}", **shown)


def limits_words(check: Check) -> str:
    """The limits that hold at this step, to print."""
    low, high = (None if end is None else f"{end:g}" for end in (check.low, check.high))
    if low is None or high is None:
        return f"at most {high} {check.unit}" if low is None else f"at least {low} {check.unit}"
    return f"{low} to {high} {check.unit}"


def _is_here(station: FloorStation, step: StepCount) -> bool:
    return step.kind == OUTSIDE if station.kind == OUTSIDE else step.station == station.id


def _state(batch: Batch, step: StepCount) -> str:
    """What is to be done next at a step: static/floor.js foresees the same from taps that wait."""
    if step.stopped:
        return "stopped"
    if step.is_done:
        return "done"
    is_outside = step.kind == OUTSIDE
    if (step.waiting_count and (is_outside or step.is_started)) or step.away_count:
        return "to count"
    if not step.is_started and not is_outside:
        return "to start"
    return "to finish" if step.is_started and _before(batch, step) is None else "more come"


def _before(batch: Batch, step: StepCount) -> StepCount | None:
    """The first earlier step that is not done: from it more pieces may come."""
    return next((one for one in batch.steps[: batch.steps.index(step)] if not one.is_done), None)


def _readings(request: Request, batch: Batch, step: StepCount) -> list[dict[str, Any]]:
    rows = [one for one in desk_of(request).records.rows("readings", batch=batch.batch) if one["step"] == step.id]
    return rows[: -LAST_READINGS - 1 : -1]


def _reactions(request: Request, batch: Batch, step: StepCount) -> dict[str, str]:
    """What the plan says to do beyond the limits, by mark; empty where there is no packet."""
    if not any(check.step == step.id for check in batch.checks):
        return {}
    try:
        plan = packet_place(desk_of(request).home, batch).plan
    except ProveoutError:
        return {}
    lines = {(line.balloon, line.text): line for line in plan.inspection}
    windows = {window.mark: (window.balloon, window.text) for window in plan.finishing.windows}
    found = {mark: lines[at] for mark, at in windows.items() if at in lines}
    return {mark: " ".join(one for one in (line.correct, line.reaction) if one) for mark, line in found.items()}


def _photos(told: Told, step: StepCount) -> list[PhotoTaken]:
    return [of for _, of in told if isinstance(of, PhotoTaken) and of.step == step.id]


def _of_mill(request: Request, batch: Batch, step: StepCount, told: Told) -> dict[str, Any]:
    desk = desk_of(request)
    last, advice = last_set_up(told, step.id), open_advice(told, step.id)
    at_mill, hindered, found = AtMill(), (), ()
    try:
        place = packet_place(desk.home, batch)
        at_mill = _at_mill(request, place, step.id)
        if last is not None and not step.is_started:
            found = found_of(desk.home, batch, step, last[1])
            hindered = not_answered_for(found, last)
    except ProveoutError as fault:
        at_mill = AtMill(wrong=fault.message)
    first: FirstOff = first_off(batch, step.id, desk.records.rows("readings", batch=batch.batch))
    return {
        "mill": at_mill, "set_up": last, "hindered": hindered, "found": found, "first": first,
        "advice": advice, "advice_words": "" if advice is None else advice_words(advice[1]),
        "may_agree": bool(hindered) and all(one.may_agree for one in hindered),
    }  # fmt: skip


def _at_mill(request: Request, place: Place, step: str) -> AtMill:
    clamping = clamping_of(place.plan, step)
    if clamping is None:
        return AtMill(wrong=f"The packet has no clamping for the step {step}: ask the office.")
    index = place.plan.clampings.index(clamping)
    writer, drawn = writer_of(request, place, "lying", "wrong")
    return AtMill(
        load=ready(load_html(writer, index)),
        facts=tuple((name, ready(value)) for name, value in run_facts(writer, index)),
        cutters=ready(cutters_html(writer, index)), assumed=assumed_of(place.plan, place.shop, clamping),
        programs=tuple(one.fingerprint for one in programs_of(place.plan, clamping)), note=drawing_note(drawn),
        is_coming=drawn.is_coming,
    )  # fmt: skip
