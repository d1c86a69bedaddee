"""Removal by intervals against booleans of solids: the same moves on a block of 100 x 60 x 30 mm.

20 000 mixed moves, flat, ball and corner-radius cutters, level, ramping, plunging and oblique, run whole as
intervals in three fields. Booleans cannot run them whole in any time to wait for: three ways of them (one by one, in
batches, a tree of unions) run on growing beginnings of the same program under a cap of time, and a power law through
the longest three is drawn on to 20 000; the quickest of the three is what is held against. Everything is on two
threads where it can use them. Also: tilted flat and corner-radius cutters alone, the second thread against a parallel
yardstick, growth with moves and with 1/pitch, what measuring engagement costs, and arcs against chords.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
from booleans import STRATEGIES, Fit, grow
from moves import CORNERS, FLAT, HIGH, LOW, MIXED, TILTED_FLAT, UPRIGHT, Chain, first_moves, program
from yardstick import is_full, line, parallel_gain, seconds_of, yardstick_s

from proveout.removal.arcs import cut_arcs
from proveout.removal.engagement import cut_measured
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut

MOVES = 20_000
CORES = 2
COARSE_MM, FINE_MM = 0.2, 0.1
ARC_CHORD_WITHIN_MM = 0.0005
LONG_S = 4.0  # what takes longer is run once, unless there is time
Call = Callable[..., object]


def block(pitch: float) -> Fields:
    """The blank as it comes."""
    return Fields.from_box(low_mm=LOW, high_mm=HIGH, pitch_mm=pitch)


def by_intervals(chains: Sequence[Chain], pitch: float, threads: int = CORES, by: Call = cut) -> Fields:
    """The block after the moves, as intervals."""
    work = block(pitch)
    for chain in chains:
        by(
            work, pieces=chain.pieces, axis=chain.axis, starts_mm=chain.starts, ends_mm=chain.ends,
            threads_count=threads,
        )  # fmt: skip
    return work


def against_booleans(
    name: str, chains: Sequence[Chain], pitch: float, cap_s: float, figures: dict[str, Any]
) -> tuple[float, list[float]]:
    """Booleans' seconds, drawn on, over ours as measured; by the quickest strategy. Also the least and the greatest."""
    fits: dict[str, Fit] = {}
    ours = []
    for number, strategy in enumerate(STRATEGIES):
        if number == 0 or (ours[0] < LONG_S or is_full()):
            ours.append(seconds_of(lambda: by_intervals(chains, pitch)))
        fits[strategy] = grow(strategy, chains, within=0.1 * pitch, cap_s=cap_s)
    own = statistics.median(ours)
    whole = {strategy: fit.seconds_of(MOVES) for strategy, fit in fits.items()}
    figures[f"{name}_intervals_s"] = round(own, 3)
    figures[f"{name}_moves_per_s"] = round(MOVES / own)
    for strategy, fit in fits.items():
        text = ", ".join(f"{n} in {s:.2f} s" for n, s in zip(fit.prefixes, fit.seconds, strict=True))
        print(f"{name} {strategy}: {text}; fit {fit.factor:.3g} n^{fit.exponent:.2f}, 20000 in {whole[strategy]:.0f} s")
        figures[f"{name}_{strategy}_exponent"] = round(fit.exponent, 3)
        figures[f"{name}_{strategy}_20000_moves_s"] = round(whole[strategy], 1)
        own_left = by_intervals(first_moves(chains, fit.prefixes[-1]), pitch).volume_mm3()
        figures[f"{name}_{strategy}_volume_gap_ratio"] = round(float(abs(np.median(own_left) / fit.left_mm3 - 1.0)), 7)
    best = min(whole.values())
    level = min(fit.seconds[-1] / fit.prefixes[-1] for fit in fits.values()) * MOVES
    figures[f"{name}_ratio_without_growth"] = round(level / own, 2)  # each move as dear as those of the last prefix
    return best / own, [round(best / max(ours), 2), round(best / min(ours), 2)]


def second_thread(chains: Sequence[Chain], pairs: int) -> tuple[float, list[float]]:
    """The gain by a second thread over that of the parallel yardstick, pair by pair; median, least and greatest."""
    found = []
    for _ in range(pairs):
        yard = parallel_gain(CORES)
        one = seconds_of(lambda: by_intervals(chains, FINE_MM, 1))
        two = seconds_of(lambda: by_intervals(chains, FINE_MM, CORES))
        yard = statistics.mean([yard, parallel_gain(CORES)])
        found.append(one / two / yard)
    return statistics.median(found), [round(min(found), 3), round(max(found), 3)]


def growth(figures: dict[str, Any], chains: Sequence[Chain]) -> None:
    """Seconds and exponents with the number of moves and with 1/pitch."""
    counts = (2500, 5000, 10_000, 20_000)
    taken = [seconds_of(lambda n=n: by_intervals(first_moves(chains, n), COARSE_MM)) for n in counts]
    figures["growth_with_moves_exponent"] = round(float(np.polyfit(np.log(counts), np.log(taken), 1)[0]), 3)
    for count, seconds in zip(counts, taken, strict=True):
        figures[f"mixed_{count}_moves_at_0.2_s"] = round(seconds, 3)
    pitches = (0.4, 0.2, 0.1)
    some = first_moves(chains, 5000)
    taken = [seconds_of(lambda p=p: by_intervals(some, p)) for p in pitches]
    figures["growth_with_1_over_pitch_exponent"] = round(float(-np.polyfit(np.log(pitches), np.log(taken), 1)[0]), 3)
    for pitch, seconds in zip(pitches, taken, strict=True):
        figures[f"mixed_5000_moves_at_{pitch:g}_s"] = round(seconds, 3)


def arcs_against_chords(figures: dict[str, Any]) -> float:
    """Seconds of a whole turn by chords within 0.5 µm over those in closed form; radius 10 mm, flat cutter."""
    centre, radius = np.array([50.0, 30.0, 20.0]), 10.0
    count = math.ceil(math.pi / math.acos(1.0 - ARC_CHORD_WITHIN_MM / radius))
    turn = np.linspace(0.0, 2.0 * math.pi, count + 1)
    points = centre + radius * np.column_stack([np.cos(turn), np.sin(turn), 0.0 * turn])
    start = points[:1]
    exact, chords = block(FINE_MM), block(FINE_MM)
    by_arc = seconds_of(
        lambda: cut_arcs(
            exact, pieces=FLAT, axis=UPRIGHT, starts_mm=start, ends_mm=start, centres_mm=centre[None],
            turns=np.array([1]),
        )
    )  # fmt: skip
    by_chords = seconds_of(lambda: cut(chords, pieces=FLAT, axis=UPRIGHT, starts_mm=points[:-1], ends_mm=points[1:]))
    true = math.prod(HIGH) - 2.0 * math.pi * radius * 10.0 * 10.0
    figures["arc_s"], figures["chords_s"], figures["chords_count"] = round(by_arc, 4), round(by_chords, 4), count
    figures["arc_volume_error_mm3"] = round(float(np.abs(exact.volume_mm3() - true).max()), 3)
    figures["chords_volume_error_mm3"] = round(float(np.abs(chords.volume_mm3() - true).max()), 3)
    return by_chords / by_arc


def main() -> None:
    """Measure and print the line."""
    cap_s = 120.0 if is_full() else 4.0
    for manners in (MIXED, CORNERS):
        by_intervals(program(manners, 480), 1.0)
        by_intervals(program(manners, 480), 1.0, by=cut_measured)
    figures: dict[str, Any] = {"yardstick_s": yardstick_s(), "cap_per_strategy_s": cap_s}
    arcs_against_chords({})
    ratios: dict[str, float] = {}
    spread: dict[str, list[float]] = {}
    cases = (
        ("mixed_at_0.2", MIXED, COARSE_MM, 1.0), ("mixed_at_0.1", MIXED, FINE_MM, 1.0),
        ("tilted_flat_at_0.2", TILTED_FLAT, COARSE_MM, 1.0), ("tilted_flat_at_0.1", TILTED_FLAT, FINE_MM, 1.0),
        ("corner_at_0.1", CORNERS, FINE_MM, 1.0),
    )  # fmt: skip
    for name, manners, pitch, share in cases:
        found = against_booleans(name, program(manners, MOVES), pitch, share * cap_s, figures)
        ratios[f"booleans_over_intervals_{name}"], spread[f"booleans_over_intervals_{name}"] = (
            round(found[0], 2),
            found[1],
        )
    chains = program(MIXED, MOVES)
    gain, spread["second_thread_over_yardstick"] = second_thread(first_moves(chains, 1600), 3)
    ratios["second_thread_over_yardstick"] = round(gain, 3)
    growth(figures, chains)
    some = first_moves(chains, 2400)
    pairs = [
        seconds_of(lambda: by_intervals(some, COARSE_MM, by=cut_measured))
        / seconds_of(lambda: by_intervals(some, COARSE_MM))
        for _ in range(3)
    ]
    ratios["measured_over_plain"] = round(statistics.median(pairs), 3)
    spread["measured_over_plain"] = [round(min(pairs), 3), round(max(pairs), 3)]
    ratios["chords_over_arc"] = round(arcs_against_chords(figures), 2)
    print(
        line(
            name="removal",
            figures=figures,
            ratios=ratios,
            targets={
                "booleans_over_intervals_mixed_at_0.2": ("at least", 60.0),
                "booleans_over_intervals_mixed_at_0.1": ("at least", 20.0),
                "booleans_over_intervals_tilted_flat_at_0.2": ("at least", 30.0),
                "booleans_over_intervals_tilted_flat_at_0.1": ("at least", 10.0),
                "booleans_over_intervals_corner_at_0.1": ("at least", 10.0),
                "second_thread_over_yardstick": ("at least", 0.85),
                "measured_over_plain": ("at most", 1.3),
                "chords_over_arc": ("at least", 5.0),
            },
            repeats=3,
            spread=spread,
            excluded=[
                "compilation of the kernels: they are called once before anything is timed",
                "booleans beyond their longest prefix: a power law through the longest three is drawn on to 20 000",
            ],
        )
    )


if __name__ == "__main__":
    main()
