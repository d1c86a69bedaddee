"""Certified and published figures of statistics, from the files themselves.

NIST StRD: digits that agree with the certified value, by -log10 of the relative gap. Of data whose decimals a double
cannot hold, so many leading digits are lost before anything is reckoned; the least demanded says how many are left.
"""

from __future__ import annotations

import csv
import math
import re
from pathlib import Path

import pytest

from proveout.gauging.capability import capability_ratio, worse_side_ratio
from proveout.gauging.charts import chart_of_ranges, signals
from proveout.gauging.drift import line_through
from proveout.gauging.studies import variance_study
from proveout.gauging.summary import deviation_of, mean_of, pooled_deviation
from proveout.gauging.variance import crossed, one_way

NUMBER = r"([+-]?\d+\.?\d*(?:[eE][+-]?\d+)?)"


@pytest.fixture
def folder(outside_data: Path) -> Path:
    place = outside_data / "stats"
    if not place.is_dir():
        pytest.skip(f"no {place}: this part of the outside data is not on this machine")
    return place


def digits(found: float, certified: float) -> float:
    """Digits that agree; at most 15.95, those of a double."""
    if found == certified:
        return 15.95
    return -math.log10(abs(found - certified) / abs(certified))


def numbers_below(text: str, line: int) -> list[list[float]]:
    rows = [row.split() for row in text.splitlines()[line - 1 :]]
    return [[float(field) for field in row] for row in rows if row]


@pytest.mark.parametrize(
    ("name", "of_mean", "of_deviation"),
    [("Lew", 15.9, 15.3), ("Mavro", 15.9, 13.1), ("Michelso", 15.9, 13.8), ("NumAcc1", 15.9, 15.9),
     ("NumAcc2", 15.9, 15.4)],
)  # fmt: skip
def test_means_and_deviations_are_certified(folder: Path, name: str, of_mean: float, of_deviation: float) -> None:
    text = (folder / "nist-strd" / "univariate" / f"{name}.dat").read_text(encoding="utf-8")
    first = int(re.findall(r"Data\s*:?\s*\(?\s*:?\s*lines\s+(\d+)\s+to", text)[0])
    readings = [row[0] for row in numbers_below(text, first)]
    mean = re.findall(rf"ybar:\s*{NUMBER}", text)[0]
    deviation = re.findall(rf"\bs:\s*{NUMBER}", text)[0]
    assert digits(mean_of(readings), float(mean)) >= of_mean
    assert digits(deviation_of(readings), float(deviation)) >= of_deviation


@pytest.mark.parametrize(
    ("name", "of_ratio", "of_deviation"),
    [("SiRstv", 13.0, 13.0), ("SmLs01", 15.3, 15.3), ("SmLs02", 15.3, 15.3), ("SmLs05", 10.1, 10.1),
     ("AtmWtAg", 10.1, 10.1)],
)  # fmt: skip
def test_analyses_of_variance_are_certified(folder: Path, name: str, of_ratio: float, of_deviation: float) -> None:
    text = (folder / "nist-strd" / "anova" / f"{name}.dat").read_text(encoding="utf-8")
    groups: dict[float, list[float]] = {}
    for group, reading in numbers_below(text, 61):
        groups.setdefault(group, []).append(reading)
    ratio = float(re.findall(rf"^Between \w+\s+\d+\s+{NUMBER}\s+{NUMBER}\s+{NUMBER}", text, re.MULTILINE)[0][2])
    deviation = float(re.findall(rf"Standard Deviation\s+{NUMBER}", text)[0])
    found = one_way(list(groups.values())).between.ratio
    assert found is not None
    assert digits(found, ratio) >= of_ratio
    assert digits(pooled_deviation(list(groups.values())).deviation, deviation) >= of_deviation


def test_a_line_is_certified(folder: Path) -> None:
    text = (folder / "nist-strd" / "linear" / "Norris.dat").read_text(encoding="utf-8")
    rows = numbers_below(text, 61)
    start, slope = (re.findall(rf"{b}\s+{NUMBER}\s+{NUMBER}", text)[0] for b in ("B0", "B1"))
    left = float(re.findall(rf"Standard Deviation\s+{NUMBER}", text)[0])
    line = line_through(places=[x for _, x in rows], readings=[y for y, _ in rows], confidence_ratio=0.95)
    assert digits(line.start, float(start[0])) >= 13.0
    assert digits(line.slope, float(slope[0])) >= 14.0
    assert digits(line.start_error, float(start[1])) >= 13.0
    assert digits(line.slope_error, float(slope[1])) >= 13.0
    assert digits(line.deviation, left) >= 13.0


def rings(folder: Path) -> dict[int, list[float]]:
    found: dict[int, list[float]] = {}
    for row in (folder / "qcc" / "pistonrings.txt").read_text(encoding="utf-8").splitlines():
        fields = row.split()
        if len(fields) == 3 and fields[0] != "diameter":
            found.setdefault(int(fields[1]), []).append(float(fields[0]))
    return found


def test_piston_rings_have_the_printed_chart_and_capability(folder: Path) -> None:
    """Printed, with factors of three places: 74.001176, 0.02276, 74.01431, 73.98804, 0.0481, 0.009785, 1.703, 1.663."""
    groups = [group for sample, group in sorted(rings(folder).items()) if sample <= 25]
    chart = chart_of_ranges(groups)
    assert chart.places.middle == pytest.approx(74.001176, abs=5e-7)
    assert chart.spreads.middle == pytest.approx(0.02276, abs=5e-6)
    assert (chart.places.low, chart.places.high) == pytest.approx((73.98804, 74.01431), abs=2e-5)
    assert chart.spreads.high == pytest.approx(0.0481, abs=1e-4)
    assert chart.deviation == pytest.approx(0.009785, abs=2e-6)
    assert capability_ratio(low=73.95, high=74.05, deviation=chart.deviation) == pytest.approx(1.703, abs=1e-3)
    assert worse_side_ratio(
        low=73.95, high=74.05, mean=chart.places.middle, deviation=chart.deviation
    ) == pytest.approx(1.663, abs=1e-3)
    assert signals(chart.places, runs=True) == ()


def test_the_groups_made_later_are_called_out_of_order(folder: Path) -> None:
    """The first 25 groups are of a process that stood still; the means of the last lie beyond their limits."""
    groups = [group for _, group in sorted(rings(folder).items())]
    limits = chart_of_ranges(groups[:25]).places
    beyond = [at + 1 for at, group in enumerate(groups) if not limits.low <= mean_of(group) <= limits.high]
    assert beyond
    assert min(beyond) > 25


def test_a_gauge_study_has_the_published_components(folder: Path) -> None:
    """Published beside the data, to ten places, persons and parts joined with the repeats (chance above 0.05)."""
    with (folder / "sixsigma" / "ss.data.rr.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    parts, persons = (sorted({row[name] for row in rows}) for name in ("prototype", "operator"))
    cells = [
        [
            [float(row["time1"]) for row in rows if (row["prototype"], row["operator"]) == (part, person)]
            for person in persons
        ]
        for part in parts
    ]
    study = variance_study(cells, pool_above_ratio=0.05)
    assert study.is_pooled
    assert study.repeats**2 == pytest.approx(0.0213087542, abs=5e-11)
    assert study.persons**2 == pytest.approx(0.0005735129, abs=5e-11)
    assert study.parts**2 == pytest.approx(0.0643389450, abs=5e-11)
    assert 100.0 * study.gauge**2 / study.whole**2 == pytest.approx(25.38, abs=0.005)
    assert 100.0 * study.gauge_ratio == pytest.approx(50.38, abs=0.005)
    assert study.categories_count == 2
    assert 600.0 * study.gauge / (1.8 - 0.7) == pytest.approx(80.69, abs=0.005)
    table = crossed(cells)
    for part, printed, chance in (
        (table.rows, 28.797, 0.00422), (table.columns, 1.270, 0.37415), (table.both, 0.974, 0.44619)
    ):  # fmt: skip
        assert part.ratio == pytest.approx(printed, abs=5e-4)
        assert part.chance_ratio == pytest.approx(chance, abs=5e-6)
