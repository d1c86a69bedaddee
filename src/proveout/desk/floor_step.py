"""One step of a batch at its station: start, count, done; at a mill also how it is loaded and set up."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse
from markupsafe import Markup

from proveout.books.first_piece import FIRST_PIECE, is_first_piece_step
from proveout.books.stretches import Told
from proveout.desk.floor import step_address, where_words
from proveout.desk.floor_people import at_tablet, names_here
from proveout.desk.page import desk_of, page
from proveout.desk.person import new_form
from proveout.desk.plan_writer import drawing_note, ready, writer_of
from proveout.desk.signed_in import may
from proveout.desk.station_papers import StationPaper, papers_at
from proveout.jobs.check_told import grouped
from proveout.jobs.ended import notice
from proveout.jobs.floor_stations import OUTSIDE, FloorStation, Waiting, station_of
from proveout.jobs.floor_taps import (
    advice_words,
    first_off_now,
    hindrances_to_go_on,
    last_set_up,
    open_advice,
    open_hindrances,
)
from proveout.jobs.floor_told import told_at_machines
from proveout.jobs.held_back import first_piece_way, is_measured_since_stop, is_one_only, moved_words
from proveout.jobs.meter_cuts import MeterCut, meter_cuts
from proveout.jobs.place import Place
from proveout.jobs.program_now import places_now, programs_now, programs_of
from proveout.jobs.releasing import packet_place
from proveout.jobs.set_up import Assumed, Hindrance, assumed_of, clamping_of
from proveout.jobs.start_again import countable, start_again
from proveout.jobs.stock_lines import gauge_lines
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Check
from proveout.model.floor_events import PhotoTaken
from proveout.quantities.errors import BadInput, ProveoutError
from proveout.sheets.floor_html import cutters_html, load_html, run_facts

router = APIRouter()
NOTHING = Markup("")
BAD_WORDS = {
    "saw": ("length", "not square", "wrong bar"),
    "mill": ("size", "surface", "burr", "wrong load", "cutter broke", "dropped"),
    "bench": ("burr", "edge too large", "scratched", "dropped"),
    "cabinet": ("surface", "scratched", "dropped"),
    "inspection": ("size", "thread", "surface", "burr", "scratched"),
    "packing": ("scratched", "wrong part", "dropped"),
}
COAT_WORDS = ("shade", "rack mark", "bare place", "thin coat", "scratched", "bent")
NOT_AS_PAPERS = "Not as on the papers"
STOP_WORDS = {
    "saw": ("Length is off", "Blade broke", "Machine alarm", "Wrong bar", NOT_AS_PAPERS),
    "mill": ("Size is off", "Cutter broke", "Machine alarm", NOT_AS_PAPERS),
}
STOP_BY_HAND = ("Size is off", "Damaged", "Count is off", NOT_AS_PAPERS)
"""Of every other station: it has no cutter to break."""
MOVED_WORDS = ("Work moved", "Strike", "Vise bumped")
LAST_READINGS = 6
ADVICE, ADVICE_MOST = ("mark", "offset", "shift", "why"), 200


@dataclass(frozen=True)
class AtMill:
    """What a mill's page shows of the packet.   wrong: why there is none to show.

    programs: fingerprints of all that the plan wrote for the step; now: file and fingerprint of those for the next
    cycle;  places: that are filled then, where the table has several.   meters: where a spindle's meter can be read.
    """

    load: Markup = NOTHING
    facts: tuple[tuple[str, Markup], ...] = ()
    cutters: Markup = NOTHING
    assumed: tuple[Assumed, ...] = ()
    programs: tuple[str, ...] = ()
    now: tuple[tuple[str, str], ...] = ()
    places: tuple[int, ...] = ()
    meters: tuple[MeterCut, ...] = ()
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
    told = told_at_machines(desk.records, found, starting=one.id)
    ends, is_over = notice(desk.records, found, one, day=desk.today())
    again = start_again(desk.home, found, one, told)
    shown: dict[str, Any] = {
        "ends": ends, "is_over": is_over, "again": again,
        "batch": found, "step": one, "station": here, "checks": [c for c in found.checks if c.step == one.id],
        "is_last": one is found.steps[-1], "before": _before(found, one), "person": at_tablet(request),
        "known": desk.people.all(), "names": [] if desk.people.are_known else names_here(request),
        "bad_words": BAD_WORDS.get(one.kind, ()), "stop_words": STOP_WORDS.get(one.kind, STOP_BY_HAND),
        "papers": _papers(request, found, one), "coat_words": COAT_WORDS, "where": where_words(found),
        "first_goes_on": is_one_only(found, one) and is_first_piece_step(found, one.id),
        "moved_words": MOVED_WORDS if one.kind == "mill" else (), "uuid": new_form,
        "readings": _readings(request, found, one),
        "gauges": gauge_lines(desk.records, day=desk.today().isoformat()) if one.kind == OUTSIDE else [],
        "first_piece": FIRST_PIECE, "photos": _photos(told, one), "packet": f"/parts/@{found.batch}",
        "here": step_address(here, Waiting(batch=found, step=one, state="waits")),
        "state": _state(found, one, again=again), "many": countable(desk.home, found, one, told),
        "lots": [lot for lot in found.lots if lot.step == one.id], "limits": limits_words,
        "reactions": _reactions(request, found, one),
        "asked": f"{request.url.path}?{request.url.query}".removesuffix("?"),
        "typed": {name: request.query_params.get(name, "")[:ADVICE_MOST] for name in ADVICE},
    }  # fmt: skip
    if one.kind == "mill":
        shown |= _of_mill(request, found, one, told, again=again)
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


def _state(batch: Batch, step: StepCount, *, again: str) -> str:
    """What is to be done next at a step: static/floor.js foresees the same from taps that wait.   again: why it needs
    another start, empty for none.
    """
    if step.stopped:
        return "stopped"
    if step.is_done:
        return "done"
    is_outside = step.kind == OUTSIDE
    if step.kind != "mill" and not step.is_started and not (step.waiting_count or step.away_count):
        return "more come"  # a start would be refused; a mill may be set up before its pieces come
    is_begun = is_outside or (step.is_started and not again)
    if (step.waiting_count and is_begun) or step.away_count:
        return "to count"
    if not is_outside and (not step.is_started or (again and step.waiting_count)):
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
    found = {line.mark: line for line in plan.inspection if line.mark}
    found |= {mark: lines[at] for mark, at in windows.items() if at in lines}
    return {mark: " ".join(one for one in (line.correct, line.reaction) if one) for mark, line in found.items()}


def _papers(request: Request, batch: Batch, step: StepCount) -> tuple[StationPaper, ...]:
    """None where there is no packet any more: what is wrong with it is said where work starts."""
    try:
        place = packet_place(desk_of(request).home, batch)
    except ProveoutError:
        return ()
    return papers_at(place, batch.batch, step, sees_money=may(request, "money"))


def _photos(told: Told, step: StepCount) -> list[PhotoTaken]:
    return [of for _, of in told if isinstance(of, PhotoTaken) and of.step == step.id]


def _of_mill(request: Request, batch: Batch, step: StepCount, told: Told, *, again: str) -> dict[str, Any]:
    desk = desk_of(request)
    last, advice = last_set_up(told, step.id), open_advice(told, step.id)
    at_mill, moved = AtMill(), moved_words(batch, step, told)
    hindered: tuple[Hindrance, ...] = ()
    is_judged = not step.is_started or bool(again) or is_measured_since_stop(batch, step, told)
    try:
        place = packet_place(desk.home, batch)
        at_mill = _at_mill(request, place, step.id, batch)
        if last is not None and is_judged:
            hindered = open_hindrances(desk.home, batch, step, told)
        elif step.stopped:
            hindered = hindrances_to_go_on(desk.home, batch, step, told)
    except ProveoutError as fault:
        at_mill = AtMill(wrong=fault.message)
    first = first_off_now(desk.home, batch, step, told, now=datetime.now(UTC))
    return {
        "mill": at_mill, "set_up": last, "hindered": hindered, "first": first, "moved": moved,
        "way": first_piece_way(batch, step.id, told), "one_only": is_one_only(batch, step),
        "advice": advice, "advice_words": "" if advice is None else advice_words(advice[1]),
        "may_agree": bool(hindered) and all(one.may_agree for one in hindered),
    }  # fmt: skip


def _at_mill(request: Request, place: Place, step: str, batch: Batch) -> AtMill:
    clamping = clamping_of(place.plan, step)
    if clamping is None:
        return AtMill(wrong=f"The packet has no clamping for the step {step}: ask the office.")
    index = place.plan.clampings.index(clamping)
    writer, drawn = writer_of(request, place, "lying", "wrong", is_paper=True)
    return AtMill(
        load=ready(load_html(writer, index)),
        facts=tuple((name, ready(value)) for name, value in run_facts(writer, index)),
        cutters=ready(cutters_html(writer, index)), assumed=assumed_of(place.plan, place.shop, clamping),
        programs=tuple(one.fingerprint for one in programs_of(place.plan, clamping)), note=drawing_note(drawn),
        now=tuple((one.file, grouped(one.fingerprint)) for one in programs_now(place.plan, clamping, batch)),
        places=places_now(place.plan, clamping, batch), is_coming=drawn.is_coming,
        meters=meter_cuts(place.plan, step),
    )  # fmt: skip
