"""Ask for a plan of an entry: what is typed in a form becomes the arguments of a task."""

from __future__ import annotations

from datetime import date

from proveout.jobs.background_task import BackgroundTask
from proveout.jobs.home import Entry, Home
from proveout.jobs.tasks import Tasks
from proveout.jobs.typed_numbers import whole_typed
from proveout.quantities.errors import BadInput

QUANTITY_MOST = 1_000_000
MINUTES_MOST = 10_000
S_PER_MINUTE = 60


def ask_for_plan(
    tasks: Tasks, home: Home, entry: Entry, *, quantity: str = "", start: str = "", minutes: str = "",
    is_fresh: bool = False,
) -> BackgroundTask:  # fmt: skip
    """A task that plans the entry for the shop of its home; the open one where there is one already.

    Args:     quantity, start, minutes: as typed, empty for what the files say; minutes: the time limit.
    Raises:   BadInput for what cannot be meant.
    """
    arguments = [str(entry.path)]
    if home.has_shop:
        arguments += ["--shop", str(home.shop_path)]
    if quantity.strip():
        if entry.kind == "order":
            raise BadInput(
                "An order has a number of pieces for each part", where="pieces", value=quantity,
                do="write it into the order file",
            )  # fmt: skip
        arguments += ["--quantity", str(whole_typed(quantity, least=1, most=QUANTITY_MOST, where="pieces"))]
    if start.strip():
        arguments += ["--start", _day(start)]
    if minutes.strip():
        limit_s = S_PER_MINUTE * whole_typed(minutes, least=1, most=MINUTES_MOST, where="time limit, minutes")
        arguments += ["--time-limit", str(limit_s)]
    if is_fresh:
        arguments += ["--fresh"]
    return tasks.ask(subject=entry.name, title=f"Plan {entry.name}", arguments=arguments, out=entry.result)


def _day(text: str) -> str:
    try:
        return date.fromisoformat(text.strip()).isoformat()
    except ValueError as fault:
        raise BadInput(
            "The first working day is no date", where="first day", value=text, do="write it as 2027-03-01"
        ) from fault
