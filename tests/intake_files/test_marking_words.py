"""What a job file says that a finisher marks on the part, and where."""

from __future__ import annotations

import pytest

from proveout.intake.job_file import job_from_text
from proveout.model.marking import Marking
from proveout.quantities.errors import BadInput

JOB = """
[part]
number = "A"
step = "a.step"
[order]
quantity = 3
[balloons]
4 = "plane +x 20.000 #f5d4b9"
[outside]
finishers = ["laser"]
"""
ROW = """[[outside.marking]]
text = "A 17"
"""


def test_a_marking_is_read_with_its_face_place_and_height() -> None:
    """Worked: 0.1 in is 2.54 mm; the only finisher of the job is meant."""
    (one,) = job_from_text(f'{JOB}{ROW}balloons = [4]\nwhere = "in the middle"\nheight_in = 0.1\n').markings
    assert (one.finisher, one.text, one.where) == ("laser", "A 17", "in the middle")
    assert one.face_ids == ("plane +x 20.000 #f5d4b9",)
    assert one.height_mm == pytest.approx(2.54)


def test_what_nobody_says_of_a_marking_stays_open() -> None:
    assert job_from_text(f"{JOB}{ROW}").markings == (Marking(finisher="laser", text="A 17"),)
    assert job_from_text(JOB).markings == ()


def test_of_several_finishers_a_marking_names_its_own() -> None:
    two = JOB.replace('["laser"]', '["laser", "plate"]')
    assert job_from_text(f'{two}{ROW}finisher = "plate"\n').markings[0].finisher == "plate"
    with pytest.raises(BadInput, match="asked of no finisher"):
        job_from_text(f"{two}{ROW}")


@pytest.mark.parametrize(
    ("line", "says"),
    [
        ('finisher = "hard-coat"', "asked of no finisher"),
        ("balloons = [9]", "9"),
        ('size = "big"', "size"),
    ],
)  # fmt: skip
def test_a_marking_that_cannot_be_meant_is_refused(line: str, says: str) -> None:
    with pytest.raises(BadInput, match=says):
        job_from_text(f"{JOB}{ROW}{line}\n")


def test_a_marking_without_a_finisher_is_refused() -> None:
    nobody = JOB.replace('[outside]\nfinishers = ["laser"]\n', "")
    with pytest.raises(BadInput, match="asked of no finisher"):
        job_from_text(f"{nobody}{ROW}")
