"""What the command line says of readings: capability, gauge studies and charts, with what so many readings prove."""

from __future__ import annotations

import math

from proveout.cli.words import wrapped
from proveout.gauging.capability import Between
from proveout.gauging.drift import Line
from proveout.jobs.gauged import POINTS_LEAST, CapabilityFound, ChartFound, Index, OutOfOrder, StudyFound
from proveout.jobs.wear_key import WearKey

RUNS_SHOWN = 12
STRAYS_SHOWN = 8


def capability_words(found: CapabilityFound) -> list[str]:
    """Capability in words, what it proves last."""
    one, digits = found.summary, _digits(found.summary.deviation)
    groups = f" in {found.groups_count} groups" if found.groups_count else ""
    lines = [
        f"{found.file}: {one.readings_count} readings{groups}, limits {_end(found.low)} to {_end(found.high)}",
        f"  mean {one.mean:.{digits}f}, standard deviation {one.deviation:.{digits}f}, {one.low:g} to {one.high:g}",
        f"  median {one.middle:.{digits}f}, spread without strays {one.calm:.{digits}f}",
    ]
    if found.within is not None:
        lines += ["", "Within the groups, as long as nothing changes:"]
        lines += _index(found.within, ("Cp", "Cpk"), found)
    if found.whole is not None:
        lines += ["", "All readings, as whoever gets the pieces sees them:"]
        lines += _index(found.whole, ("Pp", "Ppk"), found)
    lines += ["", "What this proves:"]
    return [*lines, *(wrapped(f"  {text}", "    ") for text in _proves(found))]


def _index(index: Index, names: tuple[str, str], found: CapabilityFound) -> list[str]:
    percent = f"{100.0 * found.confidence_ratio:g} %"
    lines: list[str] = []
    if index.width is not None and index.width_between is not None:
        lines.append(
            f"  {names[0]:4}{index.width:6.2f}   {_between(index.width_between)} ({percent}, chi-square, exact)"
        )
    lines.append(
        f"  {names[1]:4}{index.worse:6.2f}   {_between(index.worse_between)} ({percent}, Bissell, approximate)"
    )
    lines.append(f"              at least {index.proved:.2f} ({percent}, non-central t)")
    return lines


def _proves(found: CapabilityFound) -> list[str]:
    one, percent = found.summary, f"{100.0 * found.confidence_ratio:g} %"
    said: list[str] = []
    if found.whole is None:
        said.append(
            "All readings are equal: the gauge shows no spread, and nothing can be said of it. Take a finer one."
        )
    elif not found.is_mean_inside:
        said.append(f"With {percent} confidence not even that the mean lies inside the limits.")
    elif found.how_many != "many":
        said.append(
            f"{found.how_many.capitalize()} readings: {one.readings_count} of them put Ppk at "
            f"{found.whole.worse:.2f} and prove no more than "
            f"{found.whole.proved:.2f}, if they are normal. Four times as many would halve what is open."
        )
    else:
        said.append(f"Ppk is at least {found.whole.proved:.2f} with {percent} confidence, if readings are normal.")
    said.append(
        f"Outside the limits: {found.outside_count} of {one.readings_count}. Whatever the readings' distribution, up "
        f"to {found.open_percent:g} % of such pieces may be ({percent})."
    )
    if found.groups_move:
        said.append(
            "The groups lie farther apart than chance has it (less than once in 20): the work moves from group to "
            "group. Cp and Cpk are not what you get; Pp and Ppk are nearer. Draw the chart."
        )
    if found.is_coarse:
        said.append(
            f"There are only {one.values_count} different readings: the gauge's step is too coarse for this spread."
        )
    if found.stray_numbers:
        some = ", ".join(str(one) for one in found.stray_numbers[:STRAYS_SHOWN])
        said.append(
            f"Far out lie readings {some} in order of the file: gauge them again. They count while they stand here."
        )
    said.append("All this holds for the pieces gauged and for work like them, not for the next set-up.")
    return said


def study_words(found: StudyFound) -> list[str]:
    """A gauge study in words, the judgement last."""
    study, digits = found.study, _digits(found.study.gauge)
    people = "1 person" if found.persons_count == 1 else f"{found.persons_count} persons"
    lines = [
        f"{found.file}: {found.parts_count} parts, {people}, each part read {found.repeats_count} times",
        "",
        "By analysis of variance:      deviation   of the whole",
    ]
    rows = [
        ("the same person again", study.repeats), ("person to person", study.persons),
        ("the gauge, both together", study.gauge), ("part to part", study.parts), ("the whole", study.whole),
    ]  # fmt: skip
    if found.persons_count == 1:
        rows = [row for row in rows if row[0] != "person to person"]
    lines += [f"  {name:26}{value:10.{digits}f}   {100.0 * study.share_ratio(value):8.1f} %" for name, value in rows]
    lines.append(f"  classes of parts told apart: {'all' if study.is_perfect else study.categories_count}")
    percent = f"{100.0 * found.confidence_ratio:g} %"
    between = found.repeats_between
    lines.append(
        f"  the same person again lies between {between.low:.{digits}f} and {between.high:.{digits}f} ({percent}, "
        "chi-square, exact)"
    )
    ranges = found.by_ranges
    share = 100.0 * ranges.gauge_ratio
    lines += [
        "",
        (
            f"By averages and ranges: the gauge {ranges.gauge:.{digits}f}, {share:.1f} % of the whole; classes "
            f"{'all' if ranges.is_perfect else ranges.categories_count}"
        ),
    ]
    if found.limits_ratio is not None:
        lines.append(f"Six deviations of the gauge are {100.0 * found.limits_ratio:.1f} % of the width of the limits")
    lines += ["", f"Judgement by the usual rule (10 %, 30 %, five classes): {found.judgement}"]
    return [*lines, *(wrapped(f"  {text}", "    ") for text in _study_proves(found, digits))]


def _study_proves(found: StudyFound, digits: int) -> list[str]:
    said = [
        (
            f"For the shop file: uncertainty at k = 2 of at least {found.uncertainty:.{digits}f}. How far the "
            "gauge reads off as a whole is not in it: hold it against a ring or a block."
        ),
    ]
    if found.persons_count == 1:
        said.append("One person read: what another would read is not shown.")
    if found.is_few_parts:
        some = found.parts_between
        said.append(
            f"{found.parts_count} parts are few: even read without error, so many leave open from {some.low:.2g} to "
            f"{some.high:.2g} times the part to part told, and with it every share of the whole. Usual are ten that "
            "span what is made."
        )
    if found.study.is_pooled:
        said.append("Persons and parts do not act together as far as is shown; both were joined with the repeats.")
    return said


def chart_words(found: ChartFound) -> list[str]:
    """A chart in words: limits, what is out of order, and the drift."""
    chart, digits = found.chart, _digits(found.chart.deviation)
    single = chart.group_count == 1
    places = "readings" if single else f"means of {chart.group_count}"
    lines = [f"{found.file}: {found.readings_count} readings, {found.points_count} points on the chart"]
    for name, limits in ((places, chart.places), (found.by, chart.spreads)):
        lines.append(
            f"  {name + ':':34}middle {limits.middle:.{digits}f}, from {limits.low:.{digits}f} to "
            f"{limits.high:.{digits}f}"
        )
    lines.append(f"  standard deviation of one reading {chart.deviation:.{digits}f}")
    out = [
        *(_out_words(one, "reading" if single else "group") for one in found.places_out),
        *(_out_words(one, f"{found.by} of") for one in found.spreads_out),
    ]
    lines += ["", "Out of order:" if out else "Nothing is out of order by the four run rules."]
    lines += [wrapped(f"  {text}", "    ") for text in out]
    if found.is_trial:
        lines.append(
            wrapped(
                f"  {found.points_count} points are few: these limits are a trial. From {POINTS_LEAST} on they settle.",
                "    ",
            )
        )
    lines.append(wrapped("  A chart says that something changed, not that pieces are good: see capability.", "    "))
    return [*lines, *_drift(found.drift, found)] if found.drift is not None else lines


def _out_words(out: OutOfOrder, kind: str) -> str:
    told = [first if first == last else f"{first} to {last}" for first, last in out.runs[:RUNS_SHOWN]]
    more = f" and {len(out.runs) - RUNS_SHOWN} more runs" if len(out.runs) > RUNS_SHOWN else ""
    return f"{out.rule}: {kind} {', '.join(told)}{more}"


def _drift(line: Line, found: ChartFound) -> list[str]:
    digits = max(_digits(found.chart.deviation) + 2, 5)
    said = (
        f"Drift: {line.slope:+.{digits}f} a minute, between {line.slope_low:+.{digits}f} and "
        f"{line.slope_high:+.{digits}f} (95 %)"
    )
    lines = ["", said]
    if not line.is_shown:
        lines.append("  No drift is shown: it may be none, either way, or up to the ends told.")
    elif found.places_out:
        lines.append("  While a size drifts, much of a run is out of order.")
    if found.wear is None:
        lines.append(wrapped("  With --of diameter or --of length it is told as a key of the cutter.", "    "))
        return lines
    return [*lines, *_wear(found.wear, found)]


def _wear(wear: WearKey, found: ChartFound) -> list[str]:
    text = f"low = {wear.low:.4g}, nominal = {wear.nominal:.4g}, high = {wear.high:.4g}"
    source = f"chart of {found.file}, {found.readings_count} readings"
    lines = [f'  for the cutter: {wear.key} = {{ {text}, source = "{source}", strength = "measured here" }}']
    if wear.is_beyond_any:
        lines.append("  That is more than any cutter wears: look at the minutes and at the readings' unit.")
    return lines


def _between(both: Between) -> str:
    return f"between {both.low:.2f} and {both.high:.2f}"


def _end(limit: float | None) -> str:
    return "open" if limit is None else f"{limit:g}"


def _digits(deviation: float) -> int:
    """Decimals that show a deviation in three figures."""
    if deviation <= 0.0:
        return 4
    return max(0, min(9, 2 - math.floor(math.log10(deviation))))
