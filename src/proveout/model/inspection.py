"""How a shop decides by its gauges and samples its lots, and the sample that follows for one size."""

from __future__ import annotations

from typing import Literal

import msgspec

SamplePlan = Literal["as checked", "quality limit", "no bad piece", "every piece"]
Level = Literal["S-1", "S-2", "S-3", "S-4", "I", "II", "III"]
Strictness = Literal["normal", "tightened"]


class InspectionWish(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the owner wrote under [inspection]; None where nothing was said. As InspectionRule."""

    plan: SamplePlan | None = None
    level: Level | None = None
    aql_percent: float | None = None
    strictness: Strictness | None = None
    confidence_ratio: float | None = None
    bad_ratio: float | None = None
    guard_ratio: float | None = None
    is_measured_daily: bool | None = None


class InspectionRule(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What holds. plan: how a finished lot is sampled.

    as checked: only by the checks made on the way;  quality limit: by the tables at level, aql_percent (percent of
    pieces that are not right) and strictness;  no bad piece: so many that a lot with bad_ratio bad pieces is refused
    with confidence_ratio;  every piece.   bad_ratio: the share of bad pieces for which the chance to pass is told.
    guard_ratio: share of a gauge's uncertainty by which accepted readings are drawn in at each limit.
    is_measured_daily: after a night the next piece of a clamping is read as a first one.
    """

    plan: SamplePlan = "as checked"
    level: Level = "II"
    aql_percent: float = 1.0
    strictness: Strictness = "normal"
    confidence_ratio: float = 0.95
    bad_ratio: float = 0.05
    guard_ratio: float = 1.0
    is_measured_daily: bool = False


class LotSample(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The sample of one size from a finished lot, or the checks on the way taken as one.

    letter: code letter of the lot, used_letter: of the plan an arrow led to; empty without the tables.   bad_count: the
    told share of the lot in pieces; accept_ratio: how often a lot with so many would pass.   caught_count: fewest bad
    pieces in a lot that is refused with confidence_ratio, None where no lot is.
    """

    plan: SamplePlan
    lot_count: int
    sample_count: int
    accept_count: int
    bad_count: int
    accept_ratio: float
    confidence_ratio: float
    caught_count: int | None
    letter: str = ""
    used_letter: str = ""


def rule_of(*wishes: InspectionWish) -> InspectionRule:
    """The rule that follows from what was written: the later wish before the earlier, what nobody said as usual."""
    said = {
        field: value
        for wish in wishes
        for field in InspectionWish.__struct_fields__
        if (value := getattr(wish, field)) is not None
    }
    return msgspec.structs.replace(InspectionRule(), **said)


def checked_pieces(*, every_count: int, also: tuple[int, ...], lot_count: int) -> tuple[int, ...]:
    """The first piece, every nth by its number, those named beside, and the last; counted from 1."""
    steps = range(every_count, lot_count + 1, every_count)
    return tuple(sorted({n for n in (1, *steps, *also, lot_count) if 1 <= n <= lot_count}))
