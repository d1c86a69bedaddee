"""The table of outside files calls a defect a defect; needs no outside data."""

from __future__ import annotations

from pathlib import Path

import pytest
from outside import MUST_HOLD, Row, _defects, step_files, summary_lines, table_lines


def row(name: str = "0123abcd", status: int = 3, defects: tuple[str, ...] = ()) -> Row:
    return Row(
        id=name, status=status, clampings_count=2, tilts_count=3, reached_ratio=0.975, leftover_mm3=1.25,
        gouge_mm3=0.0, wall_s=12.0, processor_s=10.0, reason="fails: a | b", defects=defects,
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
    assert "| 0123abcd | 3 | 2 | 3 | 97.5 | 1.2 | 0.00 | 12 | 10 | fails: a / b |" in text
    assert "- f0000000: status 1" in summary_lines(rows)
    assert summary_lines([row()])[-1] == "- none"
