"""Analysis of variance: what of a spread lies between groups and what within, one way and crossed."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec

from proveout.gauging.summary import finite, mean_of, squares_about
from proveout.quantities.errors import OutOfRange

Cells = Sequence[Sequence[Sequence[float]]]


class Part(msgspec.Struct, frozen=True, kw_only=True):
    """One line of the table. squares: in the unit squared;  mean_square: over the degrees of freedom.

    ratio: over the line it is held against, None for the last lines;  chance_ratio: how often chance alone makes it
    as large.
    """

    squares: float
    freedom_count: int
    mean_square: float
    ratio: float | None = None
    chance_ratio: float | None = None


class OneWay(msgspec.Struct, frozen=True, kw_only=True):
    """Between groups and within."""

    between: Part
    within: Part


class Crossed(msgspec.Struct, frozen=True, kw_only=True):
    """Rows, columns, both together, and repeats within a cell."""

    rows: Part
    columns: Part
    both: Part
    within: Part


def counts_of(cells: Cells, *, least_columns: int) -> tuple[int, int, int]:
    """Rows, columns and repeats of a table; OutOfRange where its cells do not hold as many finite readings each.

    Args:     cells: [row][column][repeat], two rows or more, two repeats or more.   least_columns: as many or more.
    """
    columns = {len(row) for row in cells}
    repeats = {len(cell) for row in cells for cell in row}
    if len(cells) < 2 or len(columns) != 1 or min(columns) < least_columns or len(repeats) != 1 or min(repeats) < 2:
        raise OutOfRange(
            "A table of readings has as many readings in each cell",
            value=f"{len(cells)} rows, {_either(columns)} columns, {_either(repeats)} repeats",
            limit=f"{least_columns} or more columns, 2 or more rows and repeats, the same everywhere",
        )  # fmt: skip
    for row in cells:
        for cell in row:
            finite(cell, least=2)
    return len(cells), columns.pop(), repeats.pop()


def one_way(groups: Sequence[Sequence[float]]) -> OneWay:
    """Spread between groups against the spread within.

    Formula:  between: sum of n_i (m_i - m)^2 over k - 1; within: sum of (x - m_i)^2 over n - k; F their ratio
    Args:     groups: two or more, each with a reading, together more readings than groups; finite.
    Returns:  the table; the ratio is infinite where nothing is spread within.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings of one standard deviation within.
    Source:   nist_strd, certified analyses of variance.   Departs: means are taken about the whole mean, which keeps
              digits where leading digits are constant.
    Checked:  tests/published/test_small_summaries.py; tests/outside/test_statistics.py
    """
    if len(groups) < 2 or any(not group for group in groups):
        raise OutOfRange("Groups are compared from two on", value=f"{len(groups)}", limit="2 or more, none empty")
    everything = [reading for group in groups for reading in group]
    finite(everything, least=len(groups) + 1)
    whole = mean_of(everything)
    apart = [[reading - whole for reading in group] for group in groups]
    # what rounding left in the whole mean is taken back
    off = math.fsum(one for group in apart for one in group) / len(everything)
    squares = math.fsum(len(group) * (math.fsum(group) / len(group) - off) ** 2 for group in apart)
    inner = math.fsum(squares_about(group, math.fsum(group) / len(group)) for group in apart)
    within = _part(inner, len(everything) - len(groups))
    return OneWay(between=_against(_part(squares, len(groups) - 1), within), within=within)


def crossed(cells: Cells) -> Crossed:
    """Spread between rows, between columns, of both together and within the cells of a table with repeats.

    Formula:  rows b r sum (m_i - m)^2, columns a r sum (m_j - m)^2, both r sum (m_ij - m_i - m_j + m)^2, within
              sum (x - m_ij)^2; rows and columns held against both, both against within
    Args:     cells: [row][column][repeat], two rows or more, two columns or more, as many repeats in each, two or more.
    Returns:  the table.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings, rows and columns drawn from many that might have been.
    Source:   gauge_study_manual as quoted by sixsigma_page.   Departs: nothing.
    Checked:  tests/published/test_gauge_study.py; tests/outside/test_statistics.py
    """
    rows_count, columns_count, repeats_count = counts_of(cells, least_columns=2)
    everything = [reading for row in cells for cell in row for reading in cell]
    whole = mean_of(everything)
    means = [[math.fsum(reading - whole for reading in cell) / repeats_count for cell in row] for row in cells]
    of_row = [math.fsum(row) / columns_count for row in means]
    of_column = [math.fsum(row[j] for row in means) / rows_count for j in range(columns_count)]
    off = math.fsum(of_row) / rows_count
    rows = columns_count * repeats_count * math.fsum((one - off) ** 2 for one in of_row)
    columns = rows_count * repeats_count * math.fsum((one - off) ** 2 for one in of_column)
    both = repeats_count * math.fsum(
        (means[i][j] - of_row[i] - of_column[j] + off) ** 2 for i in range(rows_count) for j in range(columns_count)
    )
    inner = math.fsum(squares_about(cell, mean_of(cell)) for row in cells for cell in row)
    within = _part(inner, rows_count * columns_count * (repeats_count - 1))
    together = _part(both, (rows_count - 1) * (columns_count - 1))
    return Crossed(
        rows=_against(_part(rows, rows_count - 1), together),
        columns=_against(_part(columns, columns_count - 1), together), both=_against(together, within), within=within,
    )  # fmt: skip


def pooled_parts(one: Part, other: Part) -> Part:
    """Two lines of a table as one.

    Formula:  squares and degrees of freedom added
    Args:     one, other: lines of one table.
    Returns:  the line of both.
    Valid:    where both are taken for the same spread.
    Source:   gauge_study_manual as quoted by sixsigma_page.   Departs: nothing.
    Checked:  tests/published/test_gauge_study.py
    """
    return _part(one.squares + other.squares, one.freedom_count + other.freedom_count)


def _part(squares: float, freedom: int) -> Part:
    return Part(squares=squares, freedom_count=freedom, mean_square=squares / freedom)


def _against(part: Part, other: Part) -> Part:
    from scipy.special import fdtrc

    if other.mean_square <= 0.0:
        ratio, chance = (math.inf, 0.0) if part.mean_square > 0.0 else (0.0, 1.0)
    else:
        ratio = part.mean_square / other.mean_square
        chance = float(fdtrc(part.freedom_count, other.freedom_count, ratio))
    return Part(
        squares=part.squares, freedom_count=part.freedom_count, mean_square=part.mean_square, ratio=ratio,
        chance_ratio=chance,
    )  # fmt: skip


def _either(counts: set[int]) -> str:
    return " or ".join(str(one) for one in sorted(counts)) or "no"
