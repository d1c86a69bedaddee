"""The table of outside files calls a defect a defect; needs no outside data."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import pytest
from outside import (
    FIRST_LOOK,
    MUST_HOLD,
    Row,
    _defects,
    _wait,
    keep_row,
    kept_row,
    step_files,
    summary_lines,
    table_lines,
)

from proveout.cli.first_look_words import HEAD


def row(name: str = "0123abcd", status: int = 3, defects: tuple[str, ...] = (), **look: float) -> Row:
    return Row(
        id=name, status=status, clampings_count=2, tilts_count=3, reached_ratio=0.975, leftover_mm3=1.25,
        gouge_mm3=0.0, wall_s=12.0, processor_s=10.0, reason="fails: a | b", defects=defects, **look,
    )  # fmt: skip


def whole(place: Path) -> Path:
    out = place / "result"
    out.mkdir()
    for name in MUST_HOLD:
        (out / name).write_text("{}")
    return out


def test_a_whole_result_is_no_defect(tmp_path: Path) -> None:
    out = whole(tmp_path)
    assert list(_defects(3, out=out, place=tmp_path, told="survey\npasses\n")) == []
    assert list(_defects(0, out=out, place=tmp_path, told="")) == []


@pytest.mark.parametrize(
    ("status", "told", "words"),
    [
        (1, "Proveout is at fault: KeyError", "status 1"),
        (3, "Traceback (most recent call last):\nKeyError", "an error of ours"),
        (-9, "", "no end"),
        (-11, "", "status -11"),
        (124, "The time limit has passed", "status 124"),
        (3, "x.py:1: RuntimeWarning: overflow", "a warning"),
        (2, "", "a result folder without a plan"),
    ],
)
def test_every_kind_of_defect_is_named(tmp_path: Path, status: int, told: str, words: str) -> None:
    found = list(_defects(status, out=whole(tmp_path), place=tmp_path, told=told))
    assert any(words in text for text in found), found


def test_a_half_written_folder_is_a_defect(tmp_path: Path) -> None:
    out = whole(tmp_path)
    (out / "papers.pdf").unlink()
    (tmp_path / ".result-abc").mkdir()
    found = list(_defects(3, out=out, place=tmp_path, told=""))
    assert found == ["the result lacks papers.pdf", "left behind: .result-abc"]


def test_step_files_are_known_by_their_first_bytes(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "part.txt").write_bytes(b"ISO-10303-21;\nHEADER;")
    (tmp_path / "notes.step").write_bytes(b"not one")
    assert list(step_files(tmp_path)) == [tmp_path / "a" / "part.txt"]


def test_the_table_and_its_summary_say_what_was_found() -> None:
    rows = [row(), row("f0000000", 1, ("status 1",))]
    text = "\n".join(table_lines(rows))
    assert "| 0123abcd | 3 | 2 | 3 | 97.5 | 1.2 | 0.00 | 12 | 10 | – | – | – | fails: a / b |" in text
    assert "- f0000000: status 1" in summary_lines(rows)
    assert summary_lines([row()])[-1] == "- none"


def test_the_first_look_is_held_against_a_minute_and_against_the_plan() -> None:
    """Worked: 120 to 480 s are 2 to 8 minutes; of three looks one came after 61 s, and of two plans one is longer."""
    rows = [
        row(look_s=9.0, look_low_s=120.0, look_high_s=480.0, planned_s=480.0),
        row("f0000000", look_s=61.0, look_low_s=120.0, look_high_s=480.0, planned_s=481.0),
        row("f0000001", look_s=60.0),
        row("f0000002"),
    ]
    assert "| 12 | 10 | 9 | 2.0 to 8.0 | 8.0 |" in table_lines(rows)[2]
    said = summary_lines(rows)
    assert "- 3 of 4 gave a first look; 2 of those within a minute." in said
    assert "- The plan's machine time lay in the first look's range for 1 of 2." in said


def test_the_first_look_is_timed_by_what_the_child_has_told(tmp_path: Path) -> None:
    """A child that says it after half a second and ends after one."""
    told = tmp_path / "stderr"
    script = "import sys, time; time.sleep(0.5); print('First look', file=sys.stderr, flush=True); time.sleep(0.5)"
    begin = time.perf_counter()
    with told.open("wb") as file:
        child = subprocess.Popen([sys.executable, "-c", script], stderr=file, start_new_session=True)
        status, _, look_s = _wait(child, told=told, begin=begin, until=begin + 60.0)
    assert status == 0
    assert look_s is not None
    assert 0.5 <= look_s <= time.perf_counter() - begin - 0.3


def test_the_table_looks_for_the_words_that_are_said() -> None:
    assert HEAD.encode().startswith(FIRST_LOOK)


def test_a_stopped_run_is_taken_up_at_the_same_commit_only(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    done = row(defects=("status 1",), look_s=4.0)
    (tmp_path / done.id).mkdir()
    monkeypatch.setattr("outside.commit", lambda: "one")
    keep_row(done, tmp_path)
    assert kept_row(done.id, tmp_path) == done
    for other in ("two", "one with changes"):
        keep_row(done, tmp_path)
        monkeypatch.setattr("outside.commit", lambda other=other: other)
        assert kept_row(done.id, tmp_path) is None
        assert not (tmp_path / done.id).exists()
        (tmp_path / done.id).mkdir()
