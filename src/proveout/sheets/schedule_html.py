"""The schedule of an order on its page: what is done where from when to when, and the rhythm of a day."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from proveout.model.order import OrderLoad
from proveout.model.schedule import after_shift_begins
from proveout.sheets import html_parts as h
from proveout.sheets.ink import Ink
from proveout.sheets.names import capital, sentence

AT = ("order", "load", "schedule")


class Printing(Protocol):
    """What the order's page prints from."""

    load: OrderLoad
    ink: Ink
    words: Callable[..., str]


def steps_table(order: Printing) -> str:
    """Every lot at every station; empty without a schedule."""
    schedule, ink = order.load.schedule, order.ink
    if schedule is None:
        return ""
    rows = []
    for i, step in enumerate(schedule.steps):
        at = (*AT, "steps", i)
        rows.append(
            [
                after_shift_begins(ink.words(*at, "into_shift"), day=ink.words(*at, "day")),
                ink.words(*at, "end_day"),
                capital(order.words(*at, "station")),
                " and ".join(ink.words(*at, "parts", n) for n in range(len(step.parts))),
                step.kind,
                order.words(*at, "what"),
                ink.number(*at, "setup_s", unit="min", digits=0, bare=True) if step.setup_s else "-",
            ]
        )
    head = ["begins", "ends", "where", "part", "kind", "what", "set-up, min"]
    caption = "Day, + h:mm after the shift begins; lots go on by themselves. A stay outside begins in the morning"
    return h.table(caption, head, rows, numeric={6})


def dates_table(order: Printing) -> str:
    """Where parts have dates of their own: when each is done against its own; else empty."""
    schedule, ink = order.load.schedule, order.ink
    if schedule is None or schedule.late_bound_days is None:
        return ""
    rows = []
    for i in range(len(schedule.parts)):
        at = (*AT, "parts", i)
        rows.append(
            [
                *(ink.words(*at, key) for key in ("part", "due", "done", "done_worst", "most_day")),
                ink.number(*at, "late_days", digits=1, as_is=True),
                ink.number(*at, "on_time_ratio", unit="%", digits=0),
            ]
        )
    head = ["part", "wanted", "done", "at worst", "four of five by", "days past", "in time"]
    caption = "As scheduled, at the worst ends, in drawn cases. Days past: working days, below nought is early"
    return h.table(caption, head, rows, numeric={5, 6})


def rhythm_table(order: Printing) -> str:
    """What each person does on one day, and how long each machine can be left; empty where no machine runs."""
    schedule, ink = order.load.schedule, order.ink
    if schedule is None or schedule.rhythm is None:
        return ""
    at = (*AT, "rhythm")
    alone = []
    for i, one in enumerate(schedule.rhythm.left_alone):
        here = (*at, "left_alone", i)
        edge = "-"
        if one.edge and one.edge_pieces_count is not None:
            edge = f"{ink.words(*here, 'edge')}: {ink.number(*here, 'edge_pieces_count', digits=0)} pieces"
        alone.append(
            [
                capital(order.words(*here, "machine_id")),
                ink.words(*here, "part"),
                ink.number(*here, "run_s", unit="min", digits=0),
                sentence(ink.words(*here, "stops")),
                edge,
            ]
        )
    left = h.table(
        "How long each machine can be left once it is loaded, at its shortest, and what stops it",
        ["machine", "part", "can be left", "stops because", "first edge used up"], alone, numeric=set(),
    )  # fmt: skip
    rows = [
        [
            after_shift_begins(ink.words(*at, "steps", i, "into_shift")),
            ink.number(*at, "steps", i, "person", digits=0),
            capital(order.words(*at, "steps", i, "station")),
            ink.words(*at, "steps", i, "part"),
            order.words(*at, "steps", i, "what"),
        ]
        for i in range(len(schedule.rhythm.steps))
    ]
    caption = f"One day, {ink.words(*at, 'day')}: h:mm after the shift begins, person, what"
    return left + h.table(caption, ["at", "person", "where", "part", "what"], rows, numeric={1})
