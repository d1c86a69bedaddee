"""What typed readings prove: capability, a gauge study, a control chart with the drift of a cutter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from proveout.gauging.acceptance import most_bad_ratio
from proveout.gauging.capability import (
    Between,
    capability_limits,
    capability_ratio,
    in_order,
    worse_side_limits,
    worse_side_low_ratio,
    worse_side_ratio,
)
from proveout.gauging.charts import (
    BEYOND,
    EIGHT,
    FOUR_OF_FIVE,
    TWO_OF_THREE,
    ControlChart,
    Signal,
    chart_of_deviations,
    chart_of_ranges,
    chart_of_singles,
    signals,
)
from proveout.gauging.drift import Line, line_through
from proveout.gauging.studies import GaugeStudy, Judgement, judged, ranges_study, variance_study
from proveout.gauging.summary import Summary, pooled_deviation, summary_of
from proveout.gauging.variance import Part, one_way
from proveout.intake.readings_csv import Readings, read_readings
from proveout.intake.toml_words import read_text
from proveout.jobs.wear_key import Of, WearKey, wear_key
from proveout.quantities.errors import BadInput, OutOfRange

RANGES_MOST = 10
"""Readings of a group up to which its range tells as much as its standard deviation, nearly."""
POOL_ABOVE_RATIO = 0.05
"""Chance above which persons and parts are taken not to act together."""
SIX = 6.0
K_OF_UNCERTAINTY = 2.0
FEW, MANY = 30, 100
"""Readings below which they are few, and from which on they are many."""
PARTS_LEAST, POINTS_LEAST = 10, 20
"""Parts of a study and points of a chart below which they are few."""
VALUES_LEAST = 6
"""Different readings below which a gauge's step is coarse for the spread."""
CHANCE_RATIO = 0.05
"""How often chance may put groups as far apart before they are said to move."""
HowMany = Literal["few", "not many", "many"]


@dataclass(frozen=True, kw_only=True)
class Index:
    """One way of looking at the spread. width: Cp or Pp, None with one limit;  worse: Cpk or Ppk.

    at_least: what the latter is at least, with the confidence asked for;  proved: that in two decimals, rounded down.
    """

    deviation: float
    freedom_count: int
    width: float | None
    width_between: Between | None
    worse: float
    worse_between: Between
    at_least: float
    proved: float


@dataclass(frozen=True, kw_only=True)
class CapabilityFound:
    """Capability of readings. within: by the spread within groups, None without groups; whole: by that of all.

    Both are None where all readings are equal. groups_move: the groups lie farther apart than chance has it.
    is_mean_inside: with the confidence asked for the mean lies inside the limits.   outside_count: readings outside the
    limits;  open_percent: the largest share of the work that this leaves open, rounded up.   is_coarse: the gauge's
    step is too coarse for the spread.   stray_numbers: of readings far out, counted from 1.
    """

    file: str
    low: float | None
    high: float | None
    confidence_ratio: float
    summary: Summary
    how_many: HowMany
    groups_count: int
    groups_move: bool
    within: Index | None
    whole: Index | None
    is_mean_inside: bool
    outside_count: int
    open_percent: float
    is_coarse: bool
    stray_numbers: tuple[int, ...]


@dataclass(frozen=True, kw_only=True)
class StudyFound:
    """A gauge study by both ways. limits_ratio: six deviations of the gauge over the width of the limits, None without.

    uncertainty: of the gauge at k = 2, as far as a study shows it.   repeats_between: of the deviation of repeats.
    is_few_parts: too few of them to tell their spread.   parts_between: how many times as large or small the true
    spread of parts may be, were they read without error.
    """

    file: str
    parts_count: int
    persons_count: int
    repeats_count: int
    study: GaugeStudy
    by_ranges: GaugeStudy
    limits_ratio: float | None
    uncertainty: float
    repeats_between: Between
    is_few_parts: bool
    parts_between: Between
    judgement: Judgement
    confidence_ratio: float


@dataclass(frozen=True, kw_only=True)
class OutOfOrder:
    """Points that one rule calls. runs: those in a row by the names of the first and the last."""

    rule: str
    runs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, kw_only=True)
class ChartFound:
    """A chart with what is out of order on it. by: what its spreads are.   is_trial: too few points for settled limits.

    drift: over minutes, if known;  wear: that as a key of the cutter, where it is said what was read.
    """

    file: str
    points_count: int
    is_trial: bool
    by: str
    chart: ControlChart
    places_out: tuple[OutOfOrder, ...]
    spreads_out: tuple[OutOfOrder, ...]
    drift: Line | None
    wear: WearKey | None
    readings_count: int


def capability(
    path: Path, *, low: float | None, high: float | None, confidence_ratio: float = 0.95
) -> CapabilityFound:  # fmt: skip
    """Capability of the readings of a file within limits.

    Raises:   BadInput for a broken file, OutOfRange for fewer than two readings or limits that are none.
    """
    if low is None and high is None:
        raise BadInput(
            "Capability is a spread against limits", where="--low, --high", value="neither", do="give one or both"
        )
    in_order(low, high)
    table = _table(path, needed=(), also=("group", "minutes"))
    readings = table.readings
    if len(readings) < 2:
        raise OutOfRange(
            "One reading says nothing of a spread", where=path.name, limit="2 or more", do="gauge more pieces"
        )
    groups = _groups(table)
    summary = summary_of(readings)
    outside = sum((low is not None and x < low) or (high is not None and x > high) for x in readings)
    held = len(groups) > 1 and len(readings) > len(groups)
    within = pooled_deviation(tuple(groups.values())) if held else None
    whole = _index(low, high, summary, summary.deviation, len(readings) - 1, confidence_ratio)
    most_bad = most_bad_ratio(sample_count=len(readings), bad_count=outside, confidence_ratio=confidence_ratio)
    return CapabilityFound(
        file=path.name, low=low, high=high, confidence_ratio=confidence_ratio, summary=summary,
        how_many=_how_many(len(readings)), groups_count=len(groups) if held else 0,
        groups_move=held and _move(one_way(tuple(groups.values())).between),
        within=None
        if within is None
        else _index(low, high, summary, within.deviation, within.freedom_count, confidence_ratio),
        whole=whole, is_mean_inside=whole is not None and whole.at_least > 0.0, outside_count=outside,
        open_percent=math.ceil(1000.0 * most_bad - 1e-9) / 10.0,
        is_coarse=1 < summary.values_count < min(VALUES_LEAST, len(readings) / 2),
        stray_numbers=tuple(at + 1 for at in summary.strays),
    )  # fmt: skip


def _how_many(readings_count: int) -> HowMany:
    if readings_count >= MANY:
        return "many"
    return "few" if readings_count < FEW else "not many"


def _move(between: Part) -> bool:
    return between.chance_ratio is not None and between.chance_ratio < CHANCE_RATIO


def _index(
    low: float | None, high: float | None, summary: Summary, deviation: float, freedom: int, confidence: float
) -> Index | None:  # fmt: skip
    if deviation <= 0.0:
        return None
    worse = worse_side_ratio(low=low, high=high, mean=summary.mean, deviation=deviation)
    width = between = None
    if low is not None and high is not None:
        width = capability_ratio(low=low, high=high, deviation=deviation)
        between = capability_limits(found_ratio=width, freedom_count=freedom, confidence_ratio=confidence)
    count = summary.readings_count
    at_least = worse_side_low_ratio(
        found_ratio=worse, readings_count=count, freedom_count=freedom, confidence_ratio=confidence
    )
    return Index(
        deviation=deviation, freedom_count=freedom, width=width, width_between=between, worse=worse,
        worse_between=worse_side_limits(
            found_ratio=worse, readings_count=count, freedom_count=freedom, confidence_ratio=confidence
        ),
        at_least=at_least, proved=math.floor(100.0 * at_least + 1e-9) / 100.0,
    )  # fmt: skip


def gauge_study(
    path: Path, *, low: float | None, high: float | None, confidence_ratio: float = 0.95
) -> StudyFound:  # fmt: skip
    """A gauge study of the readings of a file, with columns part, person and reading.

    Raises:   BadInput for a broken file; OutOfRange where not every person read every part as often, twice or more.
    """
    if (low is None) != (high is None):
        raise BadInput(
            "A gauge is held against both limits", where="--low, --high", value="one of them", do="give both or none"
        )
    in_order(low, high)
    table = _table(path, needed=("part",), also=("person",))
    parts = table.words["part"]
    persons = table.words.get("person", ("one",) * len(parts))
    cells: dict[str, dict[str, list[float]]] = {}
    for part, person, reading in zip(parts, persons, table.readings, strict=True):
        cells.setdefault(part, {}).setdefault(person, []).append(reading)
    everyone = list(dict.fromkeys(persons))
    _refuse_gaps(cells, everyone, path.name)
    square = [[cells[part][person] for person in everyone] for part in cells]
    study = variance_study(square, pool_above_ratio=POOL_ABOVE_RATIO)
    limits = None if low is None or high is None else SIX * study.gauge / (high - low)
    freedom = study.repeats_freedom_count or 1
    share = capability_limits(found_ratio=1.0, freedom_count=freedom, confidence_ratio=confidence_ratio)
    parts = capability_limits(found_ratio=1.0, freedom_count=len(square) - 1, confidence_ratio=confidence_ratio)
    return StudyFound(
        file=path.name, parts_count=len(square), persons_count=len(everyone), repeats_count=len(square[0][0]),
        study=study, by_ranges=ranges_study(square), limits_ratio=limits,
        uncertainty=K_OF_UNCERTAINTY * study.gauge, is_few_parts=len(square) < PARTS_LEAST,
        repeats_between=Between(low=study.repeats / share.high, high=study.repeats / share.low),
        parts_between=Between(low=1.0 / parts.high, high=1.0 / parts.low),
        judgement=judged(
            gauge_ratio=study.gauge_ratio if limits is None else limits, categories_count=study.categories_count
        ),
        confidence_ratio=confidence_ratio,
    )  # fmt: skip


def _refuse_gaps(cells: dict[str, dict[str, list[float]]], everyone: list[str], file: str) -> None:
    counts = {(part, person): len(cells[part].get(person, ())) for part in cells for person in everyone}
    if len(cells) < 2:
        raise OutOfRange("A gauge study needs several parts", where=file, value=f"{len(cells)}", limit="2 or more")
    usual = max(counts.values())
    for (part, person), count in counts.items():
        if count != usual or usual < 2:
            who = f'part "{part}"' + (f', person "{person}"' if len(everyone) > 1 else "")
            raise OutOfRange(
                "In a gauge study every person reads every part as often", where=f"{file}: {who}",
                value=f"{count} {'reading' if count == 1 else 'readings'}", limit=f"{max(usual, 2)}",
                do="read what is missing, or take out the part or the person",
            )  # fmt: skip


def chart(
    path: Path, *, spread: str = "", of: Of = "", is_inch: bool = False, confidence_ratio: float = 0.95
) -> ChartFound:  # fmt: skip
    """The control chart of the readings of a file in their order; by groups where it has a column group.

    Args:     spread: range or deviation, of the groups; empty for the range up to ten readings a group.   of: what was
              read, for the cutter's key of wear.   is_inch: readings are in inches, not mm.
    Raises:   BadInput for a broken file; OutOfRange for groups of several sizes or too few of them.
    """
    table = _table(path, needed=(), also=("group", "minutes"))
    groups = _groups(table)
    if len(groups) > 1 and len(table.readings) > len(groups):
        rows = tuple(groups.values())
        _refuse_sizes(groups, path.name)
        by = spread or ("range" if len(rows[0]) <= RANGES_MOST else "deviation")
        made = chart_of_ranges(rows) if by == "range" else chart_of_deviations(rows)
        names = tuple(groups)
    else:
        if len(table.readings) < 3:
            raise OutOfRange(
                "Two readings make no chart", where=path.name, limit="3 or more", do="gauge more pieces"
            )  # fmt: skip
        by, made = "range to the reading before", chart_of_singles(table.readings)
        names = tuple(str(n) for n in range(1, len(table.readings) + 1))
    minutes = table.numbers.get("minutes")
    drift = None
    if minutes is not None:
        drift = line_through(places=minutes, readings=table.readings, confidence_ratio=confidence_ratio)
    # a range of single readings bears the name of the later one
    later = names[len(names) - len(made.spreads.points) :]
    return ChartFound(
        file=path.name, points_count=len(names), is_trial=len(names) < POINTS_LEAST, by=by, chart=made,
        places_out=_together(signals(made.places, runs=True), names),
        spreads_out=_together(signals(made.spreads, runs=False), later), drift=drift,
        wear=None if drift is None else wear_key(drift, of=of, is_inch=is_inch), readings_count=len(table.readings),
    )  # fmt: skip


def _together(called: tuple[Signal, ...], names: tuple[str, ...]) -> tuple[OutOfOrder, ...]:
    found: list[OutOfOrder] = []
    for rule in (BEYOND, TWO_OF_THREE, FOUR_OF_FIVE, EIGHT):
        runs: list[list[int]] = []
        for at in (signal.at for signal in called if signal.rule == rule):
            if runs and at == runs[-1][1] + 1:
                runs[-1][1] = at
            else:
                runs.append([at, at])
        if runs:
            found.append(OutOfOrder(rule=rule, runs=tuple((names[first], names[last]) for first, last in runs)))
    return tuple(found)


def _refuse_sizes(groups: dict[str, list[float]], file: str) -> None:
    usual = max(len(group) for group in groups.values())
    for name, group in groups.items():
        if len(group) != usual or usual < 2:
            raise OutOfRange(
                "The groups of a chart are of one size", where=f'{file}: group "{name}"',
                value=f"{len(group)} readings", limit=f"{max(usual, 2)}",
                do="fill the group or take it out; without the column every reading stands alone",
            )  # fmt: skip


def _groups(table: Readings) -> dict[str, list[float]]:
    found: dict[str, list[float]] = {}
    for name, reading in zip(table.words.get("group", ()), table.readings, strict=False):
        found.setdefault(name, []).append(reading)
    return found


def _table(path: Path, *, needed: tuple[str, ...], also: tuple[str, ...]) -> Readings:
    return read_readings(read_text(path), file=path.name, needed=needed, also=also)
