"""When the next piece of a step is a first piece again: what was proved of an earlier one holds for it no more.

After a stop, a new edge, a shifted offset or a set-up measured anew the machine may cut another size; after a night it
is cold, where the job or the shop says that this counts. What was read before says nothing of what is cut after.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime, timedelta

from proveout.books.stretches import Told
from proveout.model.batch import Batch, StepCount
from proveout.model.batch_events import Counted, Ran, ReadingTaken, Resumed, Started, Stopped
from proveout.model.events import Event, Stating
from proveout.model.floor_events import OffsetAnswered, SetUpMeasured
from proveout.model.stock_events import EdgeChanged

NIGHT = timedelta(hours=6)
"""Longer than any pause of a working day, shorter than any night between two (our own)."""
MOVED = re.compile(
    r"\b(moved?|mov(es|ing)|slip\w*|str(ikes?|uck)|hits?|crash\w*|bump\w*|knock\w*|loose\w*|fell|fallen|"
    r"shifted|spun|jumped)\b"
)
"""Words of whoever stops that may mean that work, vise or zero stand elsewhere now."""
AT_WORK = (Started, Counted, ReadingTaken, Resumed, Ran)
A_NIGHT = "a night"


def is_moved(of: Stopped) -> bool:
    """Whether zero and set-up are measured anew before work goes on: somebody said so, or the words may mean it."""
    return of.is_moved or MOVED.search(of.why.casefold()) is not None


def must_be_measured(batch: Batch, step: str, told: Told) -> Stopped | None:
    """The last stop of a step after which something may stand elsewhere and nobody measured the set-up since."""
    found: Stopped | None = None
    for event, of in told:
        if event.batch != batch.batch or getattr(of, "step", "") != step:
            continue
        if isinstance(of, Stopped) and is_moved(of):
            found = of
        elif isinstance(of, SetUpMeasured):
            found = None
    return found


def renewals(
    batch: Batch, step: StepCount, told: Told, *, cutters: frozenset[str] | None, now: datetime | None = None
) -> Iterator[tuple[int, str]]:  # fmt: skip
    """Places in what was told from which on a first piece is due again, each with what happened there.

    Args:     told: of the batch, with every edge that was changed.   cutters: of the step, None where they are not
              known: then of any.   now: when the next count comes; the place after the last is due by the night alone.
    """
    is_begun, stood, last = False, "", None
    for place, (event, of) in enumerate(told):
        if isinstance(of, EdgeChanged):
            if is_begun and of.machine == step.station and (cutters is None or of.cutter in cutters):
                yield place, f"a new edge of {of.cutter}"
            continue
        if event.batch != batch.batch or getattr(of, "step", "") != step.id:
            continue
        is_begun = is_begun or isinstance(of, Started)
        if isinstance(of, Stopped):
            stood = of.why
        if is_begun and (why := _why(of, stood)):
            yield place, why
        elif is_begun and _is_night(batch, event, of, last):
            yield place, A_NIGHT
        if isinstance(of, AT_WORK):
            last = event.at if last is None else max(last, event.at)
    if now is not None and batch.is_measured_daily and last is not None and now - last > NIGHT:
        yield len(told), A_NIGHT


def _why(of: Stating, stood: str) -> str:
    if isinstance(of, Resumed):
        return f"a stop ({stood})" if stood else "a stop"
    if isinstance(of, OffsetAnswered) and of.is_taken:
        return "an offset was shifted"
    return "the set-up was measured anew" if isinstance(of, SetUpMeasured) else ""


def _is_night(batch: Batch, event: Event, of: Stating, last: datetime | None) -> bool:
    return batch.is_measured_daily and isinstance(of, AT_WORK) and last is not None and event.at - last > NIGHT
