"""How many machines a person can attend, what a piece then costs, and how evenly work is shared out along a line."""

from __future__ import annotations

import math

from proveout.quantities.bounds import above_zero, zero_or_more
from proveout.quantities.errors import OutOfRange


def machines_a_person_ratio(*, load_s: float, run_s: float, walk_s: float) -> float:
    """Machines that one person can attend without a machine or the person waiting, when all times are fixed.

    Formula:  n = (l + m) / (l + w)            (l load, m run, w walk to the next machine)
    Args:     load_s: l, >= 0.   run_s: m, >= 0.   walk_s: w, >= 0.
    Returns:  ratio, machines to one person; rarely whole.
    Raises:   OutOfRange when an argument leaves the bounds above, or load and walk are both 0.
    Valid:    equal machines and fixed times; with times that vary machines wait for each other below this count.
    Source:   operator_and_machines_example, as quoted from memory.   Departs: nothing.
    Checked:  tests/published/test_operator_and_machines.py
    """
    zero_or_more(load_s=load_s, run_s=run_s, walk_s=walk_s)
    if load_s + walk_s <= 0.0:
        raise OutOfRange("Load and walk are both nothing", value="0 s", do="give the seconds of one of them")
    return (load_s + run_s) / (load_s + walk_s)


def attended_piece_price(
    *, load_s: float, run_s: float, walk_s: float, machines_count: int, person_rate_per_h: float,
    machine_rate_per_h: float,
) -> float:  # fmt: skip
    """Money for one piece when one person attends so many equal machines.

    Formula:  max((l + m) / n, l + w) (K1 + n K2) / 3600       (below machines_a_person_ratio machines set the beat,
              above it the person does)
    Args:     load_s: l, >= 0.   run_s: m, >= 0.   walk_s: w, >= 0.   machines_count: n, >= 1.
              person_rate_per_h: K1, >= 0.   machine_rate_per_h: K2, >= 0.
    Returns:  money in the currency of the rates, >= 0.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    equal machines and fixed times.
    Source:   operator_and_machines_example, as quoted from memory.   Departs: nothing.
    Checked:  tests/published/test_operator_and_machines.py
    """
    zero_or_more(
        load_s=load_s, run_s=run_s, walk_s=walk_s, person_rate_per_h=person_rate_per_h,
        machine_rate_per_h=machine_rate_per_h,
    )  # fmt: skip
    above_zero(machines_count=float(machines_count))
    beat_s = max((load_s + run_s) / machines_count, load_s + walk_s)
    return beat_s * (person_rate_per_h + machines_count * machine_rate_per_h) / 3600.0


def stations_least_count(*, work_s: float, beat_s: float) -> int:
    """Fewest stations along a line that can keep a beat.

    Formula:  the least whole number >= T / C
    Args:     work_s: T, seconds of all tasks of one piece, >= 0.   beat_s: C, seconds between two pieces, > 0.
    Returns:  count, >= 0; tasks that cannot be parted may need more.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    everywhere within the bounds.
    Source:   line_balance_identities.   Departs: nothing.
    Checked:  tests/published/test_operator_and_machines.py
    """
    zero_or_more(work_s=work_s)
    above_zero(beat_s=beat_s)
    return math.ceil(work_s / beat_s - 1e-9)


def line_efficiency_ratio(*, work_s: float, beat_s: float, stations_count: int) -> float:
    """Share of the stations' time that is work.

    Formula:  T / (n C)
    Args:     work_s: T, seconds of all tasks of one piece, >= 0.   beat_s: C, seconds between two pieces, > 0.
              stations_count: n, >= 1.
    Returns:  ratio; what is missing to 1 is the balance delay.
    Raises:   OutOfRange when an argument leaves the bounds above, or so many stations cannot keep the beat.
    Valid:    n C at least T.
    Source:   line_balance_identities.   Departs: nothing.
    Checked:  tests/published/test_operator_and_machines.py
    """
    zero_or_more(work_s=work_s)
    above_zero(beat_s=beat_s, stations_count=float(stations_count))
    if work_s > stations_count * beat_s + 1e-9:
        raise OutOfRange("So many stations cannot keep the beat", value=f"{stations_count}", do="give more stations")
    return work_s / (stations_count * beat_s)
