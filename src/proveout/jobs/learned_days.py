"""What batches tell of the working days that a finisher takes."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from proveout.jobs.learned_found import FEWEST_BATCHES, Done, Found, batches_words, cautions, fresh, rounded
from proveout.learning.days import DaysChances, days_chances
from proveout.learning.factors import Learned, Seen, learned_factors
from proveout.learning.prior import prior_of
from proveout.model.close_out import AwayTime, CloseOut, days_away
from proveout.model.fact import Fact
from proveout.model.learned import Key, Proposal
from proveout.model.shop import Finisher

WHOLE_NOISE = 1.0 / math.sqrt(12.0)
"""Standard deviation of a number that was rounded to a whole one; from memory."""

Away = tuple[CloseOut, AwayTime]


def lots_away(finisher_id: str, closed: Iterable[CloseOut]) -> list[Away]:
    """Lots that a finisher sent back, in order of time."""
    return [
        (one, away) for one in closed for away in one.away
        if away.finisher == finisher_id and away.days is not None and away.days > 0
    ]  # fmt: skip


def days_told(
    finisher: Finisher, lots: Sequence[tuple[str, int]], *, groups_count: int = 1
) -> tuple[Learned, float]:  # fmt: skip
    """The factor of a finisher's days on those in the middle of the file's, and how many days these are.

    lots: each by its name, with the working days that it was away, above 0.   groups_count: as learned_factors has it.
    """
    low, high = max(0.5, float(finisher.days_low)), max(0.5, float(finisher.days_high))
    middle = math.sqrt(low * high)
    told = learned_factors(
        prior_of(((low / middle, 1.0, high / middle),)),
        [Seen(name=name, ratio=days / middle, parts=(1.0,), noise=WHOLE_NOISE / days) for name, days in lots],
        groups_count=groups_count,
    )
    return told, middle


def days_of_lots(own: Sequence[Away]) -> list[tuple[str, int]]:
    """Lots by name, with their days."""
    return [(f"{one.batch}, lot {away.lot}", away.days or 0) for one, away in own]


def learned_days(finisher: Finisher, closed: Sequence[CloseOut], done: Done, *, groups_count: int = 1) -> Found:
    """The fewest and the most working days, and in words between what days eight lots of ten are back."""
    key = Key(kind="days", of=finisher.id)
    own = lots_away(finisher.id, fresh(closed, done, key))
    batches = tuple(dict.fromkeys(one.batch for one, _ in own))
    if not own:
        return Found(proposals=(), silent=())
    if len(batches) < FEWEST_BATCHES:
        too_few = f"{finisher.id}: days away: {len(batches)} of at least {FEWEST_BATCHES} batches"
        return Found(proposals=(), silent=(too_few,))
    lots = days_of_lots(own)
    told, middle = days_told(finisher, lots, groups_count=groups_count)
    chances = days_chances(told, middle_days=middle)
    first, last, _ = chances.fewest_run()
    # schedules take the ends as the fewest and the most: no lot that was so away lies outside, but for odd ones
    seen = [days for name, days in lots if name not in told.odd]
    low, high = float(min(first, *seen)), float(max(last, *seen))
    now = Fact(low=low, nominal=min(max(rounded(told.middles[0] * middle), low), high), high=high, unit="days",
               source=batches_words(batches), strength="measured here")  # fmt: skip
    proposal = Proposal(
        key=key, text=f"{finisher.id}: fewest and most working days away", was=days_away(finisher),
        taken=days_away(finisher), now=now, batches=batches,
        pieces_count=sum(away.count for _, away in own), events_count=len(own), worth_count=told.worth_count[0],
        cautions=cautions(told, 0, batches, what="days"), is_writable=True, how=days_words(chances),
    )  # fmt: skip
    return Found(proposals=(proposal,), silent=())


def days_words(chances: DaysChances) -> str:
    """Between what days a further lot is back: whole ones seldom hold eight of ten, so it is said what they hold."""
    first, last, held = chances.fewest_run()
    days = f"{first} days" if first == last else f"{first} to {last} days"
    return f"a further lot is away {days} in {100.0 * held:.0f} cases of 100, the fewest whole days that hold 80"
