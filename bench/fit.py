"""500 slots, holes, corners and gaps of known sizes: how many fits are answered wrongly.

Sizes of cutter and place differ by 0.1 mm at the least. A run of minutes on one core; a tenth of it unless FULL=1.
"""

from __future__ import annotations

import sys

from fit_cases import MAKERS, wrong_answers
from yardstick import is_full, line, seconds_of, yardstick_s

CASES, SOME, SEED = 500, 180, 20


def main() -> None:
    """Ask, count and print the line."""
    count = CASES if is_full() else SOME
    wrong_answers(len(MAKERS), SEED + 1)
    wrong: list[str] = []
    seconds = seconds_of(lambda: wrong.extend(wrong_answers(count, SEED)))
    for text in wrong:
        print(text, file=sys.stderr)
    yard = yardstick_s()
    print(
        line(
            name="fit",
            figures={
                "cases_count": count, "kinds_count": len(MAKERS), "wrong_count": len(wrong),
                "seconds_s": round(seconds, 2),
                "yardstick_s": yard,
            },
            ratios={"case_over_yardstick": round(seconds / count / yard, 4)},
            targets={"wrong_count": ("at most", 0.0)},
            excluded=["compilation of the kernels: one case of each kind is asked before anything is timed"],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
