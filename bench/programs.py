"""Reading programs: blocks a second, ten thousand spoiled programs, and a whole check against its replay alone.

The program is the one of tests/foreign_program.py, written by hand. Spoiled ones have up to six lines, words or letters
changed (tests/programs/test_mutated.py); none may break the reader or keep it longer than a few seconds.
"""

from __future__ import annotations

import random
import sys
import time
from pathlib import Path

import numpy as np
from yardstick import line, paired

TESTS = Path(__file__).resolve().parent.parent / "tests"
sys.path[:0] = [str(TESTS), str(TESTS / "programs")]

import foreign_program as given  # noqa: E402  # pyright: ignore[reportMissingImports] - lies with the tests
from test_mutated import mutated  # noqa: E402  # pyright: ignore[reportMissingImports] - as above

from proveout.programs.reading.blocks import read_program  # noqa: E402 - the path comes first
from proveout.programs.reading.running import follow  # noqa: E402 - the path comes first

COUNT = 10_000
LONGEST_S = 5.0


def spoiled(count: int) -> dict[str, float]:
    """Follow so many spoiled programs; how many break the reader (0 is wanted), and the longest seconds of one."""
    draw = random.Random(20270301)  # noqa: S311 - a fixed seed is wanted
    control = given.control()
    broken, longest, told = 0, 0.0, 0
    for _ in range(count):
        text = mutated(draw)
        begun = time.process_time()
        try:
            told += bool(follow(read_program(text), control).notes)
        except Exception:  # noqa: BLE001 - whatever it raises is what is counted here
            broken += 1
        longest = max(longest, time.process_time() - begun)
    return {"spoiled": count, "spoiled_broken": broken, "spoiled_longest_s": round(longest, 4), "spoiled_told": told}


def main() -> None:
    """Measure and print the line."""
    control = given.control()
    blocks = len(read_program(given.PROGRAM).blocks)
    long = given.PROGRAM.replace("%\n", "") * 200  # it is taken apart, not followed
    begun = time.process_time()
    taken_apart = read_program(long)
    apart_s = time.process_time() - begun
    found = paired(
        lambda: [follow(read_program(given.PROGRAM), control) for _ in range(20)],
        lambda: [np.array([line.split() for line in given.PROGRAM.splitlines()], dtype=object) for _ in range(20)],
    )
    figures: dict[str, float] = {
        "blocks": blocks,
        "blocks_followed_per_s": round(20 * blocks / found["subject_s"]),
        "blocks_taken_apart_per_s": round(len(taken_apart.blocks) / max(apart_s, 1e-9)),
        **spoiled(COUNT),
    }
    print(
        line(
            name="programs", figures=figures, ratios={"splitting_text_over_following": round(found["ratio"], 4)},
            targets={
                "blocks_followed_per_s": ("at least", 5000.0), "spoiled_broken": ("at most", 0.0),
                "spoiled_longest_s": ("at most", LONGEST_S),
            },
            repeats=found["repeats"],
            spread={"splitting_text_over_following": [round(end, 4) for end in found["spread"]]},
            excluded=["the replay on metal: bench/removal.py has it"],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
