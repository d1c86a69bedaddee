"""What the page and the papers of an order say first: in time or late, by when, and whether it is ready."""

from __future__ import annotations

from proveout.model.proof import open_proofs
from proveout.sheets.names import sentence
from proveout.sheets.order_printing import OrderPrinting

SEVERAL = 2  # dates
VERDICTS = {
    "late": "Late, as reckoned even at the best ends.",
    "fits": "Fits by the date, as reckoned even at the worst ends.",
    "not shown": "Whether it fits by the date is not shown.",
}
VERDICTS_OF_DATES = {
    "late": "A part is late by its own date, as reckoned even at the best ends.",
    "fits": "Every part fits by its own date, as reckoned even at the worst ends.",
    "not shown": "Whether every part fits by its own date is not shown.",
}


def verdict_words(order: OrderPrinting) -> list[str]:
    """Late or in time, by when, what holds it up, the day to promise, and what nobody wrote; the verdict first."""
    load, ink = order.load, order.ink
    words = [(VERDICTS if len(load.dues) < SEVERAL else VERDICTS_OF_DATES)[load.verdict]]
    if load.start:
        words.append(f"From {ink.words('order', 'load', 'start')}.")
    if load.due and len(load.dues) < SEVERAL:
        words.append(f"Wanted {ink.words('order', 'load', 'due')}.")
    who = ""
    if len(load.dues) >= SEVERAL:
        words.append(f"Wanted {dues_words(order)}.")
        if load.schedule is not None:
            who = f" for {ink.words('order', 'load', 'schedule', 'late_part')}, the worst against its own date"
    if load.late_days is not None and load.verdict == "late":
        words.append(f"Late by {order.late_ends('order', 'load', 'late_days')} working days{who}.")
    if load.late_days is not None and load.verdict == "not shown":
        words.append(
            f"From {order.late_ends('order', 'load', 'late_days')} working days past it{who}; below nought is early."
        )
    if load.verdict != "fits":
        label = "Ends last" if load.schedule is None else "Bottleneck"
        words.append(f"{label}: {order.words('order', 'load', 'bottleneck')}.")
    if load.schedule is not None:
        words.append(f"Scheduled to be done {ink.words('order', 'load', 'schedule', 'done')}.")
        words.append(
            f"Four of five drawn cases are done by {ink.words('order', 'load', 'schedule', 'promise', 'most_day')}."
        )
        at = ("order", "load", "schedule", "bars_taken_as_there")
        bars = [ink.words(*at, i) for i in range(len(load.schedule.bars_taken_as_there))]
        if bars:
            words.append(f"Bars {', '.join(bars)} are taken as there: nobody wrote how many days they take.")
        lacks = [order.words("order", "load", "schedule", "unknown", i) for i in range(len(load.schedule.unknown))]
        words += [sentence(text) for text in lacks]
    return words


def ready_words(order: OrderPrinting) -> str:
    """Whether every part, and sawing them together, is ready."""
    unready = order.ink.number("order", "unready_count", digits=0)
    ready = "Every part is ready."
    if order.content.unready_count:
        ready = f"Parts that are not ready - do not cut them: {unready}."
    if open_proofs(order.content.sawing_proofs):
        ready += " Sawing together is not ready either: see what is proved of it."
    return ready


def dues_words(order: OrderPrinting) -> str:
    """Every date with the parts wanted on it."""
    told = []
    for i, one in enumerate(order.load.dues):
        at = ("order", "load", "dues", i)
        parts = " and ".join(order.ink.words(*at, "parts", n) for n in range(len(one.parts)))
        told.append(f"{parts} {order.ink.words(*at, 'due')}")
    return ", ".join(told)
