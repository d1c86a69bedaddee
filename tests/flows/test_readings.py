"""The verbs that read readings: what they print, what they prove of few, and how they refuse what is no table."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from flows.small import proveout

from proveout.cli.main import main
from proveout.gauging.drift import line_through
from proveout.jobs.gauged import capability, chart, gauge_study
from proveout.jobs.wear_key import wear_key
from proveout.quantities.errors import BadInput, OutOfRange

TEN = (20.012, 20.015, 20.011, 20.013, 20.016, 20.014, 20.012, 20.013, 20.015, 20.014)
STUDY = "part,person,reading\n" + "".join(
    f"{part},{person},{20.0 + 0.1 * part + 0.01 * who + 0.002 * again:.3f}\n"
    for part in range(1, 4)
    for who, person in enumerate(("Ann", "Bo"))
    for again in (0, 1)
)
Write = Callable[[str], Path]


@pytest.fixture
def write(tmp_path: Path) -> Write:
    def put(text: str) -> Path:
        path = tmp_path / "r.csv"
        path.write_text(text, encoding="utf-8")
        return path

    return put


def column(*readings: float) -> str:
    return "reading\n" + "".join(f"{x}\n" for x in readings)


def said(capsys: pytest.CaptureFixture[str], *arguments: str | Path) -> tuple[int, str, str]:
    status = main([str(one) for one in arguments])
    out = capsys.readouterr()
    return status, re.sub(r"\s+", " ", out.out), out.err


def test_the_command_line_tells_capability_and_what_few_readings_prove(tmp_path: Path) -> None:
    """Worked: mean 20.0135, deviation 0.00158: Ppk 13.5 / 3 / 1.58 = 2.85; proved, summing the non-central t, 1.71."""
    (tmp_path / "r.csv").write_text(column(*TEN), encoding="utf-8")
    ran = proveout("capability", "r.csv", "--low", "20", "--high", "20.033", cwd=tmp_path)
    assert ran.returncode == 0, ran.stderr
    assert "r.csv: 10 readings, limits 20 to 20.033" in ran.stdout
    assert re.search(r"Ppk\s+2\.85", ran.stdout)
    assert "Few readings: 10 of them put Ppk at 2.85 and prove no more than 1.71" in re.sub(r"\s+", " ", ran.stdout)
    assert "up to 25.9 % of such pieces may be" in re.sub(r"\s+", " ", ran.stdout)
    assert "Cpk" not in ran.stdout
    refused = proveout("capability", "nowhere.csv", "--low", "20", cwd=tmp_path)
    assert (refused.returncode, refused.stdout) == (2, "")
    assert "There is no such file; where: nowhere.csv" in refused.stderr


def test_groups_give_cpk_and_groups_that_move_are_called(write: Write, capsys: pytest.CaptureFixture[str]) -> None:
    text = "reading,group\n" + "".join(f"{20.0 + 0.01 * g + 0.001 * k},{g}\n" for g in range(6) for k in range(3))
    status, out, _ = said(capsys, "capability", write(text), "--low=19.9", "--high=20.2")
    assert status == 0
    assert "18 readings in 6 groups" in out
    assert "Cpk" in out
    assert "the work moves from group to group" in out
    found = capability(write(text), low=19.9, high=20.2)
    assert found.within is not None
    assert found.whole is not None
    assert (found.within.freedom_count, found.whole.freedom_count) == (12, 17)
    assert found.within.worse > found.whole.worse
    one_sided = capability(write(text), low=None, high=20.2)
    assert one_sided.whole is not None
    assert (one_sided.whole.width, one_sided.outside_count) == (None, 0)


def test_equal_readings_coarse_gauges_and_strays_are_told(write: Write, capsys: pytest.CaptureFixture[str]) -> None:
    _, out, _ = said(capsys, "capability", write(column(*(20.01,) * 12)), "--low", "20")
    assert "All readings are equal: the gauge shows no spread" in out
    coarse = [20.01, 20.02] * 10
    _, out, _ = said(capsys, "capability", write(column(*coarse)), "--low", "20")
    assert "There are only 2 different readings" in out
    _, out, _ = said(capsys, "capability", write(column(*TEN, 20.9)), "--low", "20")
    assert "Far out lie readings 11 in order of the file" in out
    _, out, _ = said(capsys, "capability", write(column(20.0, 20.3, 19.7)), "--low", "20", "--high", "20.1")
    assert "not even that the mean lies inside the limits" in out


def test_confidence_is_the_askers_and_more_of_it_proves_less(write: Write) -> None:
    path = write(column(*TEN))
    proved = [
        one.whole.at_least
        for share in (0.8, 0.95, 0.99)
        if (one := capability(path, low=20.0, high=20.033, confidence_ratio=share)).whole is not None
    ]
    assert proved == sorted(proved, reverse=True)
    assert len(proved) == 3


def test_a_gauge_study_tells_both_ways_and_judges_by_the_limits(
    write: Write, capsys: pytest.CaptureFixture[str]
) -> None:
    """Worked: six cells of two 0.002 apart: squares 1.2e-5 on 6 degrees, joined with 2: sqrt(1.5e-6)."""
    path = write(STUDY)
    status, out, _ = said(capsys, "gauge-study", path, "--low", "20", "--high", "20.5")
    assert status == 0
    assert "3 parts, 2 persons, each part read 2 times" in out
    assert "the same person again 0.00122" in out
    assert "By averages and ranges: the gauge" in out
    assert "3 parts are few" in out
    found = gauge_study(path, low=20.0, high=20.5)
    assert found.limits_ratio == pytest.approx(6.0 * found.study.gauge / 0.5)
    assert (found.uncertainty, found.is_few_parts) == (pytest.approx(2.0 * found.study.gauge), True)
    assert f"uncertainty at k = 2 of at least {found.uncertainty:.5f}" in out
    assert found.repeats_between.low < found.study.repeats < found.repeats_between.high
    assert gauge_study(path, low=20.2, high=20.21).judgement == "not good enough"
    alone = write(STUDY.replace("Bo", "Ann"))
    assert "what another would read is not shown" in said(capsys, "gauge-study", alone)[1]


@pytest.mark.parametrize(
    ("text", "limits", "says"),
    [
        (STUDY + "1,Ann,20.1\n", {}, '"1", person "Bo"'),
        (STUDY.replace("3,Bo,20.312\n", ""), {}, 'part "3", person "Bo"; found: 1 reading'),
        ("part,reading\n1,2.0\n1,2.1\n", {}, "several parts"),
        ("part,reading\n1,2.0\n2,2.1\n", {}, "as often"),
        (STUDY, {"low": 20.0}, "give both or none"),
        (STUDY, {"low": 21.0, "high": 20.0}, "swap the two"),
        ("reading\n1\n", {}, "column part is missing"),
    ],
)
def test_a_study_with_gaps_says_which_part_and_person(
    write: Write, text: str, limits: dict[str, float], says: str
) -> None:
    with pytest.raises(BadInput) as refused:
        gauge_study(write(text), low=limits.get("low"), high=limits.get("high"))
    assert says in refused.value.message


def test_a_chart_calls_runs_and_a_drift_becomes_the_cutters_key(
    write: Write, capsys: pytest.CaptureFixture[str]
) -> None:
    """Worked: a diameter that grows 0.0004 mm a minute: the surface moves 0.2 um a minute."""
    rows = [f"{20.0 + 0.0004 * m + (0.001 if m % 2 else -0.001):.4f},{m}\n" for m in range(30)]
    status, out, _ = said(capsys, "chart", write("reading,minutes\n" + "".join(rows)), "--of", "diameter")
    assert status == 0
    assert re.search(r"wear_um_per_min = \{ low = 0\.1\d+, nominal = 0\.20\d*, high = 0\.2\d+", out)
    assert "eight in a row on one side of the middle: reading 8 to" in out
    steady = write("reading,minutes\n" + "".join(f"{20.0 + (0.001 if m % 2 else -0.001)},{m}\n" for m in range(12)))
    _, out, _ = said(capsys, "chart", steady, "--of", "length", "--inch")
    assert "No drift is shown" in out
    assert "wear_thou_per_min = { low = 0," in out
    assert "12 points are few" in out


def test_a_drift_in_inches_is_told_in_thousandths_and_too_fast_a_one_is_called() -> None:
    """Worked: 0.00196 a minute are 1.96 thou; of a diameter half; more than 50 um a minute is 0.001968... inch."""
    slow, fast = (
        line_through(places=(0.0, 1.0, 2.0), readings=(1.0, 1.0 - step, 1.0 - 2.0 * step), confidence_ratio=0.95)
        for step in (0.00196, 0.00198)
    )
    key = wear_key(slow, of="length", is_inch=True)
    assert key is not None
    assert (key.key, key.is_beyond_any) == ("wear_thou_per_min", False)
    assert (key.low, key.nominal, key.high) == pytest.approx((1.96, 1.96, 1.96))
    half = wear_key(fast, of="diameter", is_inch=True)
    assert half is not None
    assert (half.nominal, half.is_beyond_any) == (pytest.approx(0.99), False)
    for line, is_inch, is_beyond in ((fast, True, True), (fast, False, False)):
        found = wear_key(line, of="length", is_inch=is_inch)
        assert found is not None
        assert found.is_beyond_any == is_beyond
    assert wear_key(slow, of="", is_inch=True) is None


@pytest.mark.parametrize(("count", "said_of"), [(29, "few"), (30, "not many"), (99, "not many"), (100, "many")])
def test_how_many_readings_there_are_is_said_as_they_count(write: Write, count: int, said_of: str) -> None:
    found = capability(write(column(*(TEN * 10)[:count])), low=20.0, high=20.033)
    assert (found.how_many, found.is_coarse, found.is_mean_inside) == (said_of, False, True)
    assert found.whole is not None
    assert 0.0 <= found.whole.at_least - found.whole.proved < 0.01


def test_a_chart_of_groups_takes_range_or_deviation_and_refuses_odd_ones(write: Write) -> None:
    text = "reading,group\n" + "".join(
        f"{20.0 + 0.001 * (g * 7 % 5) + 0.002 * k},{g}\n" for g in range(5) for k in range(4)
    )
    path = write(text)
    assert chart(path).by == "range"
    assert chart(path, spread="deviation").by == "deviation"
    assert chart(path).chart.group_count == 4
    with pytest.raises(OutOfRange, match='group "4"'):
        chart(write(text.rstrip("\n").rpartition("\n")[0] + "\n"))
    with pytest.raises(OutOfRange, match="make no chart"):
        chart(write(column(1.0, 2.0)))
    assert chart(write(column(1.0, 2.0, 3.0))).by == "range to the reading before"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("capability", "r.csv"), "Capability is a spread against limits"),
        (("capability", "r.csv", "--low", "21", "--high", "20"), "swap the two"),
        (("capability", "r.csv", "--low", "x"), "a number is needed"),
        (("capability", "r.csv", "--low", "20", "--confidence", "100"), "from 50 to 99.9 percent"),
    ],
)
def test_wrong_calls_end_in_one_line(
    write: Write, arguments: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:  # fmt: skip
    path = write(column(*TEN))
    status = main([str(path) if one == "r.csv" else one for one in arguments])
    assert status == 2
    assert says in capsys.readouterr().err


def test_one_reading_says_nothing_of_a_spread(write: Write) -> None:
    with pytest.raises(OutOfRange, match="nothing of a spread"):
        capability(write(column(20.0)), low=19.0, high=21.0)
