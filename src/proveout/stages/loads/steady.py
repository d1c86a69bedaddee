"""Where in a pass a spindle's meter can be read: the longest stretch of its hardest level cut that stays the same."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.cutting.edge_models import NO_MM, is_square
from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import Moves
from proveout.model.shop import Cutter
from proveout.model.turn_push import SteadyCut
from proveout.model.work import Pass, PassKind

Bools = NDArray[np.bool_]
STEADY_KINDS: tuple[PassKind, ...] = ("rough", "rough corners")
"""Level side cuts; of a wall that is finished the width is a few tenths, and a cutter's size alone decides it."""
DOUBT_MOST_RATIO = 0.2
"""Cuts in which raw faces leave more than that of the section open are not read (our own)."""
SPREAD_RATIO = 0.1
"""By how much section, width and depth may differ within what is called the same (our own)."""
FEED_RATIO = 0.01
WIDTH_LEAST_MM = 0.5
"""Narrower cuts are decided by the cutter's true size (our own)."""
STANDS_S = 2.0
"""A meter is read where it stands still so long (common practice, no source)."""
SHORT_S = 0.5
"""What pushes harder but is over sooner no meter stands still at (common practice, no source)."""
LEVEL_MM = 0.01


def steady_cut(
    one: Pass, moves: Moves, cuts: MoveCuts, cutter: Cutter, *, raw_varies_mm: float, is_faced: bool
) -> SteadyCut | None:  # fmt: skip
    """The steady stretch of a pass at which its spindle's meter stands highest.

    Formula:  of each move V / L, the section it took on average, and V / (L a_p) its width; moves in a row whose
              sections and feeds are the same are a stretch, and that with most metal removed in a second, lasting 2 s
              at least, is the one
    Args:     cuts: what the replay saw of the pass's moves in the nominal blank.   raw_varies_mm: by so much less or
              more metal than in that may stand at each side of the cut.   is_faced: its top was cut before, so that
              the depth is no more in doubt.
    Returns:  the stretch; None where there is none: another kind of pass, a cutter without square edges, a cut that
              varies or is short, narrow, or known no better than a fifth, or something that pushes harder and lasts.
    Raises:   nothing.
    Valid:    of level moves that go on; the depth is the highest that metal stands under the cutter, so that where it
              stands lower in places the width comes out too small, and with it, slightly, the chip.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/stages/loads/test_steady.py
    """
    if one.kind not in STEADY_KINDS or not is_square(cutter) or not len(cuts.rows):
        return None
    feeds = moves.feed_mm_per_s[cuts.rows]
    lengths, deep = np.maximum(cuts.length_mm, NO_MM), np.maximum(cuts.deep_mm, NO_MM)
    seconds = np.divide(lengths, feeds, out=np.zeros(len(feeds)), where=feeds > 0.0)
    mean = cuts.removed_mm3 / lengths
    wide = mean / deep
    doubt = raw_varies_mm * (1.0 / np.maximum(wide, NO_MM) + (0.0 if is_faced else 1.0 / deep))
    more = 1.0 + SPREAD_RATIO
    is_steady: Bools = (
        (feeds > 0.0)
        & (cuts.high_mm - cuts.low_mm <= LEVEL_MM)
        & (mean * more >= cuts.section_mm2)  # false where nobody could tell the section
        & (wide >= WIDTH_LEAST_MM)
        & (wide <= more * min(one.radial_mm, cutter.diameter_mm))
        & (deep <= more * one.axial_mm)
        & (doubt <= DOUBT_MOST_RATIO)
    )
    stretches = [
        some for some in _stretches(cuts, feeds, mean, is_steady) if float(seconds[some].sum()) >= STANDS_S
    ]  # fmt: skip
    if not stretches:
        return None
    rates = [float((mean[some] * lengths[some]).sum() / seconds[some].sum()) for some in stretches]
    hardest = [k for k, rate in enumerate(rates) if rate * more >= max(rates)]
    chosen = stretches[max(hardest, key=lambda k: (float(seconds[stretches[k]].sum()), -k))]
    is_harder: Bools = ~(np.maximum(cuts.section_mm2, cuts.plunge_mm2) * feeds <= more * max(rates))
    if any(float(seconds[some].sum()) >= SHORT_S for some in _runs(cuts, is_harder)):
        return None
    own = lengths[chosen]
    axial = float((deep[chosen] * own).sum() / own.sum())
    section = float((mean[chosen] * own).sum() / own.sum())
    teeth = max(cutter.flutes_count, 1)
    return SteadyCut(
        tooth_feed_mm=round(float(feeds[chosen[0]]) * 2.0 * math.pi / (one.speed_rad_per_s * teeth), 5),
        radial_mm=round(section / axial, 4), axial_mm=round(axial, 4),
        seconds=round(float(seconds[chosen].sum()), 2), section_error_ratio=round(float(doubt[chosen].max()), 4),
    )  # fmt: skip


def _runs(cuts: MoveCuts, is_in: Bools) -> list[NDArray[np.int64]]:
    """Places of moves that follow each other and are all in."""
    at = np.flatnonzero(is_in)
    if not len(at):
        return []
    breaks = np.flatnonzero((np.diff(at) != 1) | (np.diff(cuts.rows[at]) != 1)) + 1
    return [np.asarray(some) for some in np.split(at, breaks)]


def _stretches(
    cuts: MoveCuts, feeds: NDArray[np.float64], mean_mm2: NDArray[np.float64], is_steady: Bools
) -> list[NDArray[np.int64]]:  # fmt: skip
    """Runs of steady moves, cut where feed or section leaves that of the first of them."""
    found: list[NDArray[np.int64]] = []
    for run in _runs(cuts, is_steady):
        begin = 0
        for k in range(1, len(run) + 1):
            first = run[begin]
            if k < len(run) and (
                abs(feeds[run[k]] - feeds[first]) <= FEED_RATIO * feeds[first]
                and abs(mean_mm2[run[k]] - mean_mm2[first]) <= SPREAD_RATIO * mean_mm2[first]
            ):
                continue
            found.append(run[begin:k])
            begin = k
    return found
