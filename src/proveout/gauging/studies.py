"""Gauge studies: how much of what a gauge shows is the gauge, how much the person, and how much the parts."""

from __future__ import annotations

import math
from typing import Literal

import msgspec

from proveout.gauging.constants import mean_of_ranges_ratio, mean_range_ratio
from proveout.gauging.summary import mean_of
from proveout.gauging.variance import Cells, counts_of, crossed, one_way, pooled_parts
from proveout.quantities.bounds import zero_or_more
from proveout.quantities.errors import OutOfRange

CATEGORIES = 1.41
"""Root of 2 as the manual prints it: parts told apart for each gauge deviation."""
GOOD_RATIO, LAST_RATIO, CATEGORIES_LEAST = 0.10, 0.30, 5
Judgement = Literal["good", "may do", "not good enough"]


class GaugeStudy(msgspec.Struct, frozen=True, kw_only=True):
    """Standard deviations in the unit of the readings. repeats: of one person on one part;  persons: between them.

    gauge: both together;  parts: between the parts;  whole: everything.   repeats_freedom_count: degrees of freedom of
    the first, None where it came from ranges.   is_pooled: persons and parts did not act together, and the table was
    joined.   categories_count: classes of parts that the gauge tells apart.
    """

    repeats: float
    persons: float
    gauge: float
    parts: float
    whole: float
    repeats_freedom_count: int | None
    is_pooled: bool

    def share_ratio(self, deviation: float) -> float:
        """The share of one of these deviations of the whole spread; 0 where there is none."""
        return deviation / self.whole if self.whole > 0.0 else 0.0

    @property
    def gauge_ratio(self) -> float:
        """The gauge's share of the whole spread."""
        return self.share_ratio(self.gauge)

    @property
    def is_perfect(self) -> bool:
        """Whether the gauge shows no spread of its own, and tells all parts apart."""
        return self.gauge <= 0.0

    @property
    def categories(self) -> float:
        """Classes of parts told apart, before it is cut to a whole number; infinite for a perfect gauge."""
        return CATEGORIES * self.parts / self.gauge if self.gauge > 0.0 else math.inf

    @property
    def categories_count(self) -> int:
        """The same as a whole number, at least 1; a perfect gauge is given a million."""
        return max(1, math.floor(min(self.categories, 1e6)))


def study_by_ranges(
    *, mean_range: float, persons_range: float, parts_range: float, parts_count: int, persons_count: int,
    repeats_count: int,
) -> GaugeStudy:  # fmt: skip
    """A gauge study by averages and ranges.

    Formula:  EV = R K1, AV = sqrt((X K2)^2 - EV^2 / (n r)), none below 0, GRR = sqrt(EV^2 + AV^2), PV = Rp K3; K1 = 1
              / d2 of r, K2 and K3 = 1 / d2* of persons and of parts for one range
    Args:     mean_range: R, mean range of one person's readings of one part, >= 0.   persons_range: X, between the
              persons' means, >= 0.   parts_range: Rp, between the parts' means, >= 0.   parts_count: n, 2 to 100.
              persons_count: 1 to 100.   repeats_count: r, 2 to 25.
    Returns:  the unit of the readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    persons and parts that do not act together; else the analysis of variance.
    Source:   gauge_study_manual, as quoted.   Departs: factors computed; printed with four places, they agree.
    Checked:  tests/published/test_gauge_study.py
    """
    zero_or_more(mean_range=mean_range, persons_range=persons_range, parts_range=parts_range)
    repeats = mean_range / mean_range_ratio(group_count=repeats_count)
    persons = 0.0
    if persons_count > 1:
        square = (persons_range / mean_of_ranges_ratio(group_count=persons_count, ranges_count=1)) ** 2
        persons = math.sqrt(max(0.0, square - repeats * repeats / (parts_count * repeats_count)))
    parts = parts_range / mean_of_ranges_ratio(group_count=parts_count, ranges_count=1)
    return _study(repeats, persons, parts, freedom=None, is_pooled=False)


def ranges_study(cells: Cells) -> GaugeStudy:
    """A gauge study by averages and ranges, from the readings.

    Formula:  as study_by_ranges
    Args:     cells: [part][person][repeat], two parts or more, as many repeats everywhere, two or more.
    Returns:  the unit of the readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as study_by_ranges.
    Source:   gauge_study_manual, as quoted.   Departs: nothing.
    Checked:  tests/published/test_gauge_study.py; tests/laws/test_gauging_laws.py
    """
    parts_count, persons_count, repeats_count = counts_of(cells, least_columns=1)
    of_person = [mean_of([x for row in cells for x in row[j]]) for j in range(persons_count)]
    of_part = [mean_of([x for cell in row for x in cell]) for row in cells]
    return study_by_ranges(
        mean_range=mean_of([max(cell) - min(cell) for row in cells for cell in row]),
        persons_range=max(of_person) - min(of_person), parts_range=max(of_part) - min(of_part),
        parts_count=parts_count, persons_count=persons_count, repeats_count=repeats_count,
    )  # fmt: skip


def variance_study(cells: Cells, *, pool_above_ratio: float) -> GaugeStudy:
    """A gauge study by analysis of variance.

    Formula:  repeats^2 = E, persons^2 = (B - I) / (n r) + (I - E) / r, parts^2 = (P - I) / (o r), none below 0; E, B, P
              and I the mean squares within cells, of persons, of parts and of both; where chance makes I as large more
              often than pooled above, I and E are joined
    Args:     cells: [part][person][repeat], two parts or more, one person or more, as many repeats everywhere, two or
              more.   pool_above_ratio: 0..1; 0 joins always, 1 never.
    Returns:  the unit of the readings.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    normal readings; with one person nothing is known of others, and persons is 0.
    Source:   gauge_study_manual as quoted by sixsigma_page.   Departs: what both do together counts to the persons.
    Checked:  tests/published/test_gauge_study.py; tests/outside/test_statistics.py; tests/laws/test_gauging_laws.py
    """
    if not 0.0 <= pool_above_ratio <= 1.0:
        raise OutOfRange("A chance lies from 0 to 1", where="pool_above_ratio", value=f"{pool_above_ratio}")
    parts_count, persons_count, repeats_count = counts_of(cells, least_columns=1)
    if persons_count == 1:
        table = one_way([row[0] for row in cells])
        noise = table.within
        parts = max(0.0, table.between.mean_square - noise.mean_square) / repeats_count
        return _study(math.sqrt(noise.mean_square), 0.0, math.sqrt(parts), freedom=noise.freedom_count, is_pooled=False)
    table = crossed(cells)
    chance = table.both.chance_ratio
    is_pooled = chance is not None and chance > pool_above_ratio
    noise = pooled_parts(table.both, table.within) if is_pooled else table.within
    held = noise if is_pooled else table.both
    persons = max(0.0, table.columns.mean_square - held.mean_square) / (parts_count * repeats_count)
    together = max(0.0, held.mean_square - noise.mean_square) / repeats_count
    parts = max(0.0, table.rows.mean_square - held.mean_square) / (persons_count * repeats_count)
    return _study(
        math.sqrt(noise.mean_square), math.sqrt(persons + together), math.sqrt(parts), freedom=noise.freedom_count,
        is_pooled=is_pooled,
    )  # fmt: skip


def judged(*, gauge_ratio: float, categories_count: int) -> Judgement:
    """What the usual rule says of a gauge.

    Formula:  good up to 10 % of the spread, or of the width of the limits; may do up to 30 %; both with five classes or
              more
    Args:     gauge_ratio: share of the gauge, >= 0.   categories_count: classes told apart, >= 1.
    Returns:  good, may do or not good enough.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    a rule of thumb of one trade; whether a gauge will do hangs on what a wrong answer costs.
    Source:   gauge_study_manual, as quoted.   Departs: nothing.
    Checked:  tests/published/test_gauge_study.py
    """
    zero_or_more(gauge_ratio=gauge_ratio)
    if gauge_ratio > LAST_RATIO or categories_count < CATEGORIES_LEAST:
        return "not good enough"
    return "good" if gauge_ratio <= GOOD_RATIO else "may do"


def _study(repeats: float, persons: float, parts: float, *, freedom: int | None, is_pooled: bool) -> GaugeStudy:
    gauge = math.hypot(repeats, persons)
    return GaugeStudy(
        repeats=repeats, persons=persons, gauge=gauge, parts=parts, whole=math.hypot(gauge, parts),
        repeats_freedom_count=freedom, is_pooled=is_pooled,
    )  # fmt: skip
