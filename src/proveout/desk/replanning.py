"""An order after a bad morning: what happened, what moves and why. Nothing is written."""

from __future__ import annotations

from collections.abc import Mapping

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse

from proveout.desk.page import desk_of, page
from proveout.jobs.home import OF_ORDER, Home, PlannedOrder
from proveout.jobs.replanning import replanned_order
from proveout.jobs.turns import Turns
from proveout.model.run import Run
from proveout.model.schedule import Trouble, after_shift_begins
from proveout.quantities.errors import BadInput, Busy
from proveout.sheets.names import sentence

router = APIRouter()
DAYS_MOST, PEOPLE_MOST, WAIT_S = 366, 999, 20.0
BAD, BUSY = 400, 503
DOWN, LATE = "down-", "late-"
Named = list[tuple[str, str]]
_TURNS = Turns(at_a_time=1, waiting_most=4, wait_s=WAIT_S)


@router.get("/orders/{name}/replan")
def replan(request: Request, name: str) -> HTMLResponse:
    """What may have happened; with a day given also what becomes of the order."""
    home, typed = desk_of(request).home, dict(request.query_params)
    planned = home.order(home.entry(name))
    machines, finishers = _asked(home, name, planned)
    found, fault = None, None
    if typed.get("at"):
        try:
            with _TURNS.turn(Run()):
                _, found = replanned_order(planned.folder, trouble=_trouble(machines, finishers, typed))
        except (BadInput, Busy) as caught:
            fault = caught
    elif planned.load.schedule is None:
        fault = BadInput("The order was not scheduled", where=planned.name, value="no schedule",
                         do="write its start into the order file and plan again")  # fmt: skip
    return page(
        request, "replan.html", title=f"A bad morning: {planned.name}", name=name, typed=typed, found=found,
        time=after_shift_begins,
        fault=fault, machines=machines, finishers=finishers,
        told=[] if found is None else [sentence(note) for note in found.notes if " -> " not in note],
        status=200 if fault is None else BUSY if isinstance(fault, Busy) else BAD,
    )  # fmt: skip


def _asked(home: Home, name: str, planned: PlannedOrder) -> tuple[Named, Named]:
    """Id and name of the machines and finishers that the order's schedule asks anything of, as it was planned for."""
    schedule = planned.load.schedule
    if schedule is None or not planned.folders:
        return [], []
    shop = home.place(f"{name}{OF_ORDER}{planned.folders[0]}").shop
    used = {step.station for step in schedule.steps}
    return (
        [(one.id, one.name) for one in shop.machines if one.id in used],
        [(one.id, one.process or one.id) for one in shop.finishers if one.id in used],
    )


def _trouble(machines: Named, finishers: Named, typed: Mapping[str, str]) -> Trouble:
    """What was typed, days of 0 left out.

    Raises:   BadInput.
    """
    return Trouble(
        at=typed["at"].strip(),
        down_days={id: days for id, _ in machines if (days := _days(typed, f"{DOWN}{id}", DAYS_MOST))},
        late_days={id: days for id, _ in finishers if (days := _days(typed, f"{LATE}{id}", DAYS_MOST))},
        away_count=_days(typed, "away", PEOPLE_MOST), away_days=_days(typed, "away-days", DAYS_MOST),
    )  # fmt: skip


def _days(typed: Mapping[str, str], key: str, most: int) -> int:
    text = typed.get(key, "").strip()
    if not text:
        return 0
    if not text.isascii() or not text.isdigit() or int(text[:6]) > most:
        raise BadInput("A whole number is wanted", where=key, value=text[:40], limit=f"0 to {most}", do="correct it")
    return int(text)
