"""A benchmark's figures are fair, complete and held against its targets."""

from __future__ import annotations

import json
import sys
from pathlib import Path

import pytest
import run as bench_run
import yardstick


def test_pairs_alternate_who_goes_first() -> None:
    calls: list[str] = []
    found = yardstick.paired(lambda: calls.append("s"), lambda: calls.append("b"), pairs=4)
    assert "".join(calls) == "sb" + "sb" + "bs" + "sb" + "bs"
    assert found["repeats"] == 4
    assert found["spread"][0] <= found["ratio"] <= found["spread"][1]


def test_targets_are_judged_from_the_figures() -> None:
    text = yardstick.line(
        name="any",
        figures={"plan_s": 12.0},
        ratios={"speed_ratio": 3.0},
        targets={"plan_s": ("at most", 10.0), "speed_ratio": ("at least", 2.0)},
    )
    found = json.loads(text)
    assert found["met"] == {"plan_s": False, "speed_ratio": True}
    assert found["targets"] == {"plan_s": "at most 10", "speed_ratio": "at least 2"}
    assert set(found) == bench_run.KEYS


def test_a_target_without_a_figure_is_refused() -> None:
    with pytest.raises(ValueError, match="targets without a figure"):
        yardstick.line(name="any", figures={}, targets={"plan_s": ("at most", 10.0)})


@pytest.mark.parametrize("output", ["", "done", "[1]", '{"name": "any"}'])
def test_a_last_line_that_is_no_result_is_refused(output: str) -> None:
    with pytest.raises(ValueError, match="the last line"):
        bench_run.last_line(output)


def test_a_benchmark_that_does_not_end_is_stopped_and_said_so(tmp_path: Path) -> None:
    (tmp_path / "slow.py").write_text("import time\ndef main():\n    time.sleep(60)\nmain()\n")
    assert bench_run.programs(tmp_path) == [tmp_path / "slow.py"]
    with pytest.raises(ValueError, match="no end within 1 s"):
        bench_run.run_one(tmp_path / "slow.py", full=False, limit_s=1.0)


def test_a_benchmark_that_fails_gives_no_result(tmp_path: Path) -> None:
    (tmp_path / "bad.py").write_text("def main():\n    return 3\nraise SystemExit(main())\n")
    with pytest.raises(ValueError, match="ended with status 3"):
        bench_run.run_one(tmp_path / "bad.py", full=False)


def test_no_benchmark_hides_a_module_of_pythons_own() -> None:
    """They stand beside each other on the path: a file statistics.py would be what the others import."""
    paths = bench_run.programs(bench_run.FOLDER)
    assert not {path.stem for path in paths} & sys.stdlib_module_names
    names = [bench_run.name_of(path) for path in paths]
    assert len(set(names)) == len(names)
    assert {"limits", "statistics", "pmi"} <= set(names)
