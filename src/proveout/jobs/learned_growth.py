"""What batches tell of a finisher's coat: how far it grows by pieces read before and after, how thick by a gauge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from proveout.gauging.tolerance import PiecesBetween, pieces_between
from proveout.jobs.learned_found import FEWEST_BATCHES, Done, Found, batches_words
from proveout.model.close_out import CloseOut, CoatRead
from proveout.model.fact import Fact
from proveout.model.learned import Key, Proposal
from proveout.model.shop import Finisher

INSIDE_RATIO, CONFIDENCE_RATIO = 0.99, 0.95
"""Of all pieces, those that an interval of growth is to hold, and how sure that is (our own)."""
STEP_MM = 1e-4
"""To which its ends are written, outward."""
SAME_MM = 1e-6
"""Thicknesses that differ by less are one."""


@dataclass(frozen=True, kw_only=True)
class _Read:
    """What one batch tells. lots: by name, a number for each piece.   at_mm: thickness that was asked for.

    planned: as the plan had it.
    """

    batch: str
    lots: tuple[tuple[str, tuple[float, ...]], ...]
    at_mm: float
    uncertainty_mm: float
    planned: Fact


def learned_growth(finisher: Finisher, closed: Sequence[CloseOut], done: Done) -> Found:
    """The growth at the thickness of the last batch. All batches count: an interval of readings is no update.

    done: batches that the number as it stands in the file rests on.
    """
    text = f"{finisher.id}: growth of a surface in its coat"
    read = [
        _Read(batch=one.batch, lots=grown.surface.lots, at_mm=grown.surface.thickness_mm,
              uncertainty_mm=grown.surface.uncertainty_mm, planned=grown.surface.planned)
        for one in closed for grown in one.grown if grown.finisher == finisher.id and grown.surface is not None
    ]  # fmt: skip
    if not read:
        if any(grown.finisher == finisher.id for one in closed for grown in one.grown):
            return _silent(f"{text}: no piece was read before and after by a gauge that is known")
        return Found(proposals=(), silent=())
    written = (finisher.coat_growth_mm, finisher.coat_growth_at_mm)
    return _by_pieces(Key(kind="growth", of=finisher.id), text, read, written, done)


def learned_thickness(finisher: Finisher, closed: Sequence[CloseOut], done: Done) -> Found:
    """The thickness that comes where it is asked for as in the last batch; all batches count, as for the growth.

    done: batches that the number as it stands in the file rests on.
    """
    text = f"{finisher.id}: thickness of its coat"
    coats = [(one.batch, coat) for one in closed for coat in one.coats if coat.finisher == finisher.id]
    read = [found for batch, coat in coats if (found := _thickness(batch, coat)) is not None]
    if not read:
        return (
            _silent(f"{text}: no gauge that it was read by has its uncertainty in the shop file")
            if coats
            else Found(proposals=(), silent=())
        )
    written = (finisher.coat_thickness_mm, finisher.coat_thickness_at_mm)
    return _by_pieces(Key(kind="thickness", of=finisher.id), text, read, written, done)


def _thickness(batch: str, coat: CoatRead) -> _Read | None:
    """One lot; None where nobody knows what was asked for, or how sure its gauge is."""
    if coat.at_mm is None or coat.uncertainty_mm is None or coat.ordered is None or not coat.pieces:
        return None
    return _Read(batch=batch, lots=((coat.lot, coat.pieces),), at_mm=coat.at_mm, uncertainty_mm=coat.uncertainty_mm,
                 planned=coat.ordered)  # fmt: skip


def _by_pieces(
    key: Key, text: str, read: Sequence[_Read], written: tuple[Fact | None, float | None], done: Done
) -> Found:  # fmt: skip
    """What pieces say at the thickness that was asked for last. written: in the shop file, and at which thickness."""
    last = read[-1]
    same = [one for one in read if abs(one.at_mm - last.at_mm) < SAME_MM]
    batches = tuple(dict.fromkeys(one.batch for one in same))
    lots = _lots(same)
    most = max(len(values) for values in lots.values())
    if len(batches) < FEWEST_BATCHES or most < 2:
        return _silent(
            f"{text}: {len(batches)} of at least {FEWEST_BATCHES} batches, {most} pieces read in the fullest"
        )
    if set(batches) <= done.get(key.group, frozenset()):
        return Found(proposals=(), silent=())
    uncertainty = max(one.uncertainty_mm for one in same)
    found = pieces_between(tuple(lots.values()), uncertainty=uncertainty, inside_ratio=INSIDE_RATIO,
                           confidence_ratio=CONFIDENCE_RATIO)  # fmt: skip
    fact, at_mm = written
    was = fact if at_mm is not None and abs(at_mm - last.at_mm) < SAME_MM else None
    taken = last.planned if was is None else was
    outside = [lot for lot, values in lots.items() if not _holds(taken, values, uncertainty)]
    ends = f"{1000.0 * found.low:.1f} to {1000.0 * found.high:.1f} µm"
    if found.low < 0.0:
        return _silent(f"{text}: {len(lots)} lots leave it open from below nothing, {ends}")
    if not outside and found.high - found.low >= taken.high - taken.low:
        return _silent(f"{text}: {len(lots)} lots leave it as open as what is written, {ends}")
    low, high = math.floor(found.low / STEP_MM + 1e-9) * STEP_MM, math.ceil(found.high / STEP_MM - 1e-9) * STEP_MM
    now = Fact(low=round(low, 4), nominal=round(found.middle, 5), high=round(high, 4), unit="mm",
               source=f"{batches_words(batches)}, coat {last.at_mm:g} mm", strength="measured here")  # fmt: skip
    count = sum(len(values) for values in lots.values())
    proposal = Proposal(
        key=key, text=f"{text} {_asked(key, last.at_mm)}", was=was, taken=taken, now=now, batches=batches,
        pieces_count=count, events_count=count * (2 if key.kind == "growth" else 1), worth_count=0.0,
        cautions=_cautions(outside), is_writable=True, how=_how(found, len(lots), uncertainty), at_mm=last.at_mm,
    )  # fmt: skip
    return Found(proposals=(proposal,), silent=())


def _asked(key: Key, at_mm: float) -> str:
    return f"{at_mm:g} mm thick" if key.kind == "growth" else f"where {at_mm:g} mm is asked for"


def _silent(words: str) -> Found:
    return Found(proposals=(), silent=(words,))


def _lots(same: Sequence[_Read]) -> dict[str, list[float]]:
    """Numbers of pieces by lot: sizes of one lot are read on the same pieces in the same bath."""
    found: dict[str, list[float]] = {}
    for one in same:
        for lot, values in one.lots:
            found.setdefault(f"{one.batch}, lot {lot}" if lot else one.batch, []).extend(values)
    return found


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
