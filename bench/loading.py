"""Wrong loads of random blocks with planted near-symmetries: escapes missed and false alarms, against brute force.

Ten blocks; a hundred with PROVEOUT_BENCH_FULL=1, half of them with holes, half with pockets or steps. On every other
one of either another part of the order lies about, half-made and finished, here and there its blank. Truth is made by
exact bodies and rays (loading_cases.py). Poses whose difference lies near to what can be told are left out of the false
alarms and counted.
"""

from __future__ import annotations

import sys

from loading_cases import case_of, decided, judged, shaped_case_of
from yardstick import is_full, line, seconds_of, yardstick_s

from proveout.model.loading import Loading
from proveout.model.proof import Proof

FEW, MANY = 10, 100


def main() -> None:
    """Judges the blocks and prints the line."""
    count = MANY if is_full() else FEW
    missed, alarms, poses, left_out, taken = [], [], 0, 0, 0.0
    decided(case_of(0))
    cases = [make(seed) for seed in range(count // 2) for make in (case_of, shaped_case_of)]
    for seed, case in enumerate(cases):
        kept: list[tuple[Loading, Proof]] = []
        taken += seconds_of(lambda case=case, out=kept: out.append(decided(case)))
        own = judged(case, kept[0])
        missed += own[0]
        alarms += own[1]
        poses += own[2]
        left_out += own[3]
        for words in (*own[0], *own[1]):
            print(f"block {seed}: {words}", file=sys.stderr)
        print(
            f"{seed + 1} blocks, {poses} poses, {len(missed)} missed, {len(alarms)} false alarms", file=sys.stderr,
            flush=True,
        )  # fmt: skip
    yard = yardstick_s()
    print(
        line(
            name="loading",
            figures={
                "blocks_count": count, "poses_count": poses, "escapes_missed_count": len(missed),
                "false_alarms_count": len(alarms), "left_out_ratio": left_out / max(poses, 1),
            },
            ratios={"block_to_yardstick": taken / count / yard},
            targets={"escapes_missed_count": ("at most", 0), "false_alarms_count": ("at most", 0)},
            excluded=("poses within a band of what can be told, from the false alarms",),
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
