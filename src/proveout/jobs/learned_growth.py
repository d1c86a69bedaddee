"""What batches tell of the growth of a finisher's coat: by pieces that were read before and after."""

from __future__ import annotations

import math
from collections.abc import Sequence

from proveout.gauging.tolerance import PiecesBetween, pieces_between
from proveout.jobs.learned_found import FEWEST_BATCHES, Done, Found, batches_words
from proveout.model.close_out import CloseOut, SurfaceGrowth
from proveout.model.fact import Fact
from proveout.model.learned import Key, Proposal
from proveout.model.shop import Finisher

INSIDE_RATIO, CONFIDENCE_RATIO = 0.99, 0.95
"""Of all pieces, those that an interval of growth is to hold, and how sure that is (our own)."""
STEP_MM = 1e-4
"""To which its ends are written, outward."""
SAME_MM = 1e-6
"""Thicknesses that differ by less are one."""


def learned_growth(finisher: Finisher, closed: Sequence[CloseOut], done: Done) -> Found:
    """The growth at the thickness of the last batch. All batches count: an interval of readings is no update.

    done: batches that the number as it stands in the file rests on.
    """
    key = Key(kind="growth", of=finisher.id)
    text = f"{finisher.id}: growth of a surface in its coat"
    read = [
        (one, grown.surface) for one in closed for grown in one.grown
        if grown.finisher == finisher.id and grown.surface is not None
    ]  # fmt: skip
    if not read:
        if any(grown.finisher == finisher.id for one in closed for grown in one.grown):
            return _silent(f"{text}: no piece was read before and after by a gauge that is known")
        return Found(proposals=(), silent=())
    last = read[-1][1]
    same = [(one, surface) for one, surface in read if abs(surface.thickness_mm - last.thickness_mm) < SAME_MM]
    batches = tuple(dict.fromkeys(one.batch for one, _ in same))
    lots = _lots(same)
    most = max(len(values) for values in lots.values())
    if len(batches) < FEWEST_BATCHES or most < 2:
        return _silent(
            f"{text}: {len(batches)} of at least {FEWEST_BATCHES} batches, {most} pieces read in the fullest"
        )
    if set(batches) <= done.get(key.group, frozenset()):
        return Found(proposals=(), silent=())
    uncertainty = max(surface.uncertainty_mm for _, surface in same)
    found = pieces_between(tuple(lots.values()), uncertainty=uncertainty, inside_ratio=INSIDE_RATIO,
                           confidence_ratio=CONFIDENCE_RATIO)  # fmt: skip
    was = finisher.coat_growth_mm if _is_at(finisher, last) else None
    taken = last.planned if was is None else was
    outside = [lot for lot, values in lots.items() if not _holds(taken, values, uncertainty)]
    ends = f"{1000.0 * found.low:.1f} to {1000.0 * found.high:.1f} µm"
    if found.low < 0.0:
        return _silent(f"{text}: {len(lots)} lots leave it open from below nothing, {ends}")
    if not outside and found.high - found.low >= taken.high - taken.low:
        return _silent(f"{text}: {len(lots)} lots leave it as open as what is written, {ends}")
    low, high = math.floor(found.low / STEP_MM + 1e-9) * STEP_MM, math.ceil(found.high / STEP_MM - 1e-9) * STEP_MM
    now = Fact(low=round(low, 4), nominal=round(found.middle, 5), high=round(high, 4), unit="mm",
               source=f"{batches_words(batches)}, coat {last.thickness_mm:g} mm", strength="measured here")  # fmt: skip
    proposal = Proposal(
        key=key, text=f"{text} {last.thickness_mm:g} mm thick", was=was, taken=taken, now=now, batches=batches,
        pieces_count=sum(len(values) for values in lots.values()), events_count=2 * sum(map(len, lots.values())),
        worth_count=0.0, cautions=_cautions(outside), is_writable=True, how=_how(found, len(lots), uncertainty),
        at_mm=last.thickness_mm,
    )  # fmt: skip
    return Found(proposals=(proposal,), silent=())


def _silent(words: str) -> Found:
    return Found(proposals=(), silent=(words,))


def _lots(same: Sequence[tuple[CloseOut, SurfaceGrowth]]) -> dict[str, list[float]]:
    """Growth of pieces by lot: sizes of one lot are read on the same pieces in the same bath."""
    found: dict[str, list[float]] = {}
    for one, surface in same:
        for lot, values in surface.lots:
            found.setdefault(f"{one.batch}, lot {lot}" if lot else one.batch, []).extend(values)
    return found


def _is_at(finisher: Finisher, read: SurfaceGrowth) -> bool:
    at = finisher.coat_growth_at_mm
    return at is not None and abs(at - read.thickness_mm) < SAME_MM


def _holds(taken: Fact, values: Sequence[float], uncertainty: float) -> bool:
    """Whether every piece may lie within what is taken so far."""
    return taken.low - uncertainty <= min(values) and max(values) <= taken.high + uncertainty


def _how(found: PiecesBetween, lots: int, uncertainty: float) -> str:
    return (
        f"ends that hold {100.0 * INSIDE_RATIO:.0f} % of pieces at {100.0 * CONFIDENCE_RATIO:.0f} % confidence: "
        f"{found.factor:.2f} deviations of {1000.0 * found.deviation:.2f} µm by {lots} lots, "
        f"and ±{1000.0 * uncertainty:.1f} µm of the gauge"
    )


def _cautions(outside: Sequence[str]) -> tuple[str, ...]:
    return (f"pieces lie outside of what is written: {', '.join(outside)}",) if outside else ()
