"""Single sampling by attributes: code letters, sample sizes and acceptance numbers by lot, level and quality limit.

The master tables are laid out along diagonals: with the letters counted from A = 0 and the quality limits from
0.010 = 0, the acceptance number depends on the sum of both alone, and so do the arrows. An arrow leads to a plan of
another letter, and with it to another sample size.
"""

from __future__ import annotations

import msgspec

from proveout.model.inspection import Level, Strictness
from proveout.quantities.errors import OutOfRange

LEVELS: tuple[Level, ...] = ("S-1", "S-2", "S-3", "S-4", "I", "II", "III")
LETTERS = "ABCDEFGHJKLMNPQR"
SIZES = (2, 3, 5, 8, 13, 20, 32, 50, 80, 125, 200, 315, 500, 800, 1250, 2000)
# largest lot of each row of table I, and its letters by level; the last row has no end
LOT_ROWS: tuple[tuple[int, str], ...] = (
    (8, "AAAAAAB"), (15, "AAAAABC"), (25, "AABBBCD"), (50, "ABBCCDE"), (90, "BBCCCEF"), (150, "BBCDDFG"),
    (280, "BCDEEGH"), (500, "BCDEFHJ"), (1_200, "CCEFGJK"), (3_200, "CDEGHKL"), (10_000, "CDFGJLM"),
    (35_000, "CDFHKMN"), (150_000, "DEGJLNP"), (500_000, "DEGJMPQ"), (0, "DEHKNQR"),
)  # fmt: skip
# percent of pieces that are not right; smaller and larger limits of the tables are left out
QUALITY_LIMITS = (0.10, 0.15, 0.25, 0.40, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0)
FIRST_PLACE = 5
# along a diagonal: acceptance number by the sum of both places; between the first and the second lie arrows
DIAGONALS: dict[Strictness, dict[int, int]] = {
    "normal": {14: 0, 17: 1, 18: 2, 19: 3, 20: 5, 21: 7, 22: 10, 23: 14, 24: 21},
    "tightened": {15: 0, 18: 1, 19: 2, 20: 3, 21: 5, 22: 8, 23: 12, 24: 18},
}
UP = {"normal": (15,), "tightened": ()}


class SamplingPlan(msgspec.Struct, frozen=True, kw_only=True):
    """A single sampling plan. letter: that of the lot;  used_letter: that of the plan an arrow led to.

    is_every: the sample is as large as the lot or larger: every piece is gauged.
    """

    letter: str
    used_letter: str
    sample_count: int
    accept_count: int
    is_every: bool


def code_letter(*, lot_count: int, level: Level) -> str:
    """The code letter of a lot at an inspection level.

    Formula:  the row of table I whose lot sizes hold N, the column of the level
    Args:     lot_count: N, >= 2.   level: S-1, S-2, S-3, S-4, I, II or III.
    Returns:  a letter from A to R without I and O.
    Raises:   OutOfRange for a smaller lot or another level.
    Valid:    as the table, whose last row has no end.
    Source:   sampling_by_attributes table I, seen directly.   Departs: nothing.
    Checked:  tests/published/test_sampling_by_attributes.py
    """
    if lot_count < 2 or level not in LEVELS:
        raise OutOfRange(
            "A lot is sampled from two pieces on, at a level of the tables", value=f"{lot_count} pieces, level {level}",
            limit=f"2 or more, {', '.join(LEVELS)}", do="gauge every piece",
        )  # fmt: skip
    row = next(letters for end, letters in LOT_ROWS if lot_count <= end or not end)
    return row[LEVELS.index(level)]


def sampling_plan(
    *, lot_count: int, level: Level, aql_percent: float, strictness: Strictness = "normal"
) -> SamplingPlan:  # fmt: skip
    """Sample size and acceptance number of a lot, with the sample size of the plan that an arrow leads to.

    Formula:  the cell of table II-A (normal) or II-B (tightened) at letter and quality limit; an arrow down or up leads
              to the first plan below or above it in its column
    Args:     lot_count: N, >= 2.   level: as code_letter.   aql_percent: one of 0.10 to 10 in the steps of the tables.
              strictness: normal or tightened.
    Returns:  letter, letter used, sample, acceptance number; the whole lot where the sample is as large.
    Raises:   OutOfRange for a quality limit that is no step of the tables, a smaller lot or another level.
    Valid:    a series of lots; a lone lot is judged by lot_accept_ratio. Reduced inspection is left out: its tables
              differ between the editions, and switching to it needs a record of ten lots.
    Source:   sampling_by_attributes tables II-A and II-B, as quoted.   Departs: the cells follow from the diagonals
              that the tables are laid out along; compared cell by cell with the table quoted.
    Checked:  tests/published/test_sampling_by_attributes.py
    """
    place = next((i for i, limit in enumerate(QUALITY_LIMITS) if abs(limit - aql_percent) < 1e-9), None)
    if place is None or strictness not in DIAGONALS:
        raise OutOfRange(
            "The tables have no such quality limit", where="aql_percent", value=f"{aql_percent:g}, {strictness}",
            limit=", ".join(f"{limit:g}" for limit in QUALITY_LIMITS) + "; normal or tightened", do="take one of these",
        )  # fmt: skip
    letter = code_letter(lot_count=lot_count, level=level)
    at = _follow(LETTERS.index(letter), FIRST_PLACE + place, strictness)
    sample = SIZES[at]
    accept = DIAGONALS[strictness][at + FIRST_PLACE + place]
    is_every = sample >= lot_count
    return SamplingPlan(
        letter=letter, used_letter=LETTERS[at], sample_count=min(sample, lot_count),
        accept_count=0 if is_every else accept, is_every=is_every,
    )  # fmt: skip


def _follow(at: int, column: int, strictness: Strictness) -> int:
    """Place of the letter whose plan holds: its own, or that an arrow leads to."""
    numbers = DIAGONALS[strictness]
    zero, last = min(numbers), max(numbers)
    while True:
        diagonal = at + column
        # at the head of a column the plan without bad pieces is left out: the next one down is used
        if diagonal in numbers and not (at == 0 and column == zero and column == FIRST_PLACE + len(QUALITY_LIMITS) - 1):
            return at
        goes_up = diagonal > last or (diagonal in UP[strictness] and at > 0)
        at += -1 if goes_up else 1
