"""What a close-out says, line by line: the same on paper and in a terminal."""

from __future__ import annotations

from proveout.model.close_out import CloseOut, CoatRead, Driver, StepTime
from proveout.model.fact import Fact
from proveout.sheets.ink import digits_apart, printed

NOT_SHOWN = "not shown"
Line = tuple[str, str, str, str]
"""What, planned, actual, and whether the plan held it or why it is not shown."""


def held_words(held: bool | None) -> str:  # noqa: FBT001 - the one thing that it is about
    """Whether a planned interval held what happened."""
    return "" if held is None else "held" if held else "NOT held"


def _minutes(seconds: float | None) -> str:
    return NOT_SHOWN if seconds is None else printed(seconds, unit="min:s", digits=0)


def between(fact: Fact | None, *, unit: str, digits: int) -> str:
    """A fact from end to end, one number where both print alike."""
    if fact is None:
        return NOT_SHOWN
    low, high = (printed(end, unit=unit, digits=digits) for end in (fact.low, fact.high))
    return low if low == high else f"{low} – {high}"


def sections(told: CloseOut) -> list[tuple[str, list[Line]]]:
    """All lines under their titles, titles without lines left out; what made the difference stands apart."""
    found = [
        ("Minutes", step_lines(told)), ("Pieces", count_lines(told)), ("Outside", outside_lines(told)),
        ("Cutters in cut", edge_lines(told)), ("Money", money_lines(told)),
    ]  # fmt: skip
    return [(title, lines) for title, lines in found if lines]


def step_lines(told: CloseOut) -> list[Line]:
    """Minutes of a piece by step, the machine's own beside them, and set-ups."""
    lines: list[Line] = []
    for one in told.steps:
        if one.kind == "outside":
            continue
        why = one.why or _taps(one)
        lines.append((f"{one.step}, min:s a piece", between(one.planned_s, unit="min:s", digits=0),
                      _minutes(one.actual_s), ", ".join(filter(None, (held_words(one.covered), why)))))  # fmt: skip
        if one.run_s is not None:
            stood = f"stood {printed(one.held_s, unit='min:s', digits=0)} within cycles" if one.held_s else ""
            told_of = ", ".join(filter(None, (f"{one.cycles_count} cycles", stood)))
            lines.append((f"{one.step}, machine alone", between(one.run_planned_s, unit="min:s", digits=0),
                          _minutes(one.run_s), told_of))  # fmt: skip
        if one.setup_planned_s:
            lines.append((f"{one.step}, set-up, min:s", _minutes(one.setup_planned_s), _minutes(one.setup_actual_s),
                          "" if one.setup_actual_s is not None else one.why))  # fmt: skip
    return lines


def _taps(one: StepTime) -> str:
    left = f", {one.left_out_count} far longer left out" if one.left_out_count else ""
    left += f", {one.afterwards_count} written afterwards" if one.afterwards_count else ""
    return f"{one.taps_count} count{'' if one.taps_count == 1 else 's'}{left}"


def count_lines(told: CloseOut) -> list[Line]:
    """Pieces, bars and what was lost."""
    lines: list[Line] = [
        ("pieces begun", "", str(told.begun_count), ""),
        ("good pieces", str(told.wanted_count), str(told.good_count), ""),
        ("bars", str(told.bars_planned_count), str(told.bars_count) if told.bars_count else NOT_SHOWN, ""),
    ]
    lines += [
        (f"lost at {one.step}", "", f"{one.count} of {one.in_count}", one.reason) for one in told.scrap
    ]  # fmt: skip
    if told.waiting_count:
        lines.append(("still waiting", "", str(told.waiting_count), "the batch is not over"))
    return lines


def outside_lines(told: CloseOut) -> list[Line]:
    """Days away and growth of coats."""
    lines: list[Line] = [
        (f"{one.finisher}, lot {one.lot}, working days", between(one.planned, unit="days", digits=0),
         NOT_SHOWN if one.days is None else str(one.days), held_words(one.covered) or "not all is back")
        for one in told.away
    ]  # fmt: skip
    lines += [_coat_line(one) for one in told.coats]
    lines += [
        (f"{one.mark} {one.text}, growth in the coat, mm", between(one.planned, unit="mm", digits=3),
         printed(one.mean, unit="mm", digits=3),
         f"{held_words(one.covered)}, {one.before_count} before, {one.after_count} after"
         + (f", {one.pairs_count} read both times" if one.pairs_count else ""))
        for one in told.grown
    ]  # fmt: skip
    return lines


def edge_lines(told: CloseOut) -> list[Line]:
    """Cutters in cut, a piece."""
    return [
        (f"{one.cutter} on {one.machine}, min:s a piece", between(one.planned_s, unit="min:s", digits=0),
         _minutes(one.actual_s), held_words(one.covered))
        for one in told.edges
    ]  # fmt: skip


def _coat_line(one: CoatRead) -> Line:
    low, mean, high = (printed(value, unit="mm", digits=4) for value in (one.low, one.mean, one.high))
    why = ", ".join(filter(None, (held_words(one.covered), f"{one.count} readings")))
    planned = between(one.ordered, unit="mm", digits=4)
    return f"{one.finisher}, lot {one.lot}, thickness of the coat, mm", planned, f"{mean} ({low} – {high})", why


def money_lines(told: CloseOut) -> list[Line]:
    """Money of a good piece; none where it is not shown."""
    money = told.money
    if money is None:
        return [("money a good piece", "", NOT_SHOWN, told.money_why)]
    lines: list[Line] = [
        (f"{money.currency} a good piece", between(money.planned, unit=money.currency, digits=2),
         printed(money.actual, unit=money.currency, digits=2), held_words(money.covered))
    ]  # fmt: skip
    if money.p10 is not None and money.p90 is not None:
        band = " – ".join(printed(end, unit=money.currency, digits=2) for end in (money.p10, money.p90))
        lines.append(("the band that holds eight in ten", band, "", held_words(money.in_band)))
    return lines


def driver_lines(told: CloseOut) -> list[Line]:
    """Inputs that made most of the difference, the rest of them together, and what they make only together."""
    money = told.money
    if money is None:
        return []
    lines = [(*_driver(one), _signed(one.effect)) for one in money.drivers]
    lines.append(("all other inputs", "", "", _signed(money.others)))
    lines.append(("remainder: only together", "", "", _signed(money.remainder)))
    return lines


def _driver(one: Driver) -> tuple[str, str, str]:
    if one.unit == "s":
        return one.text, _minutes(one.planned), _minutes(one.actual)
    digits = digits_apart([one.planned, one.actual], unit=one.unit)
    planned, actual = (printed(value, unit=one.unit, digits=digits) for value in (one.planned, one.actual))
    return one.text, planned, actual


def _signed(value: float) -> str:
    return ("+" if value > 0.004 else "") + printed(value, unit="", digits=2)


def held_line(told: CloseOut) -> str:
    """How many planned intervals held what happened, and which did not."""
    found = told.intervals
    missed = [text for text, held in found if not held]
    said = f"{len(found) - len(missed)} of {len(found)} planned intervals held what happened"
    return f"{said}; not: {', '.join(missed)}." if missed else f"{said}."
