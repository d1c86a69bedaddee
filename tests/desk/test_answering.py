"""Answers go into the job file: what was asked and nothing else, read back before it replaces the old."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from pathlib import Path

import pytest
from msgspec.structs import replace
from small_design import small_design

from proveout.intake.drafts import draft_job
from proveout.intake.job_file import read_job
from proveout.jobs.answering import JobForm, answer, job_form, numbers_of, read_back, shown_job
from proveout.jobs.asked_part import AskedPart
from proveout.jobs.owner_file import ChangedMeanwhile, show
from proveout.jobs.questions import ask_before_plan
from proveout.model.job import ALLOY, QUANTITY
from proveout.quantities.errors import BadInput

TYPED = """# the job of a lamp's foot
general_tolerance = "m"     # as agreed
[part]
number = "F-1"
step = "foot.step"   # beside this file
[order]
quantity = 40  # by telephone
due = 2026-02-16
# what the drawing says
[sizes]
1 = "H8"   # the bore
[masked]
balloons = [
    1,  # plugged
]
"""
COATED = TYPED + '[coat]\nprocess = "hard coat"\nthickness_mm = 0.05\nbuild_up_share = 0.5\n'


@pytest.fixture
def part(tmp_path: Path) -> AskedPart:
    (tmp_path / "foot.step").write_text("ISO-10303-21;", encoding="utf-8")
    (tmp_path / "foot.toml").write_text(COATED, encoding="utf-8")
    return AskedPart(entry="foot", step=tmp_path / "foot.step", job_path=tmp_path / "foot.toml")


def drafted(part: AskedPart) -> str:
    design = small_design()
    text = draft_job(design.read, design.survey, step="foot.step", number="foot")
    part.job_path.write_text(text, encoding="utf-8")
    return text


def answered(part: AskedPart, given: Mapping[str, str], *, digest: str | None = None) -> JobForm | None:
    design = small_design()
    shown = shown_job(part, design)
    form = job_form(shown, design, is_inch=False)
    return answer(part, design, shown, form, given, shown_digest=shown.digest if digest is None else digest)


def changed(part: AskedPart, before: str) -> list[str]:
    lines = part.job_path.read_text(encoding="utf-8").splitlines()
    found = difflib.unified_diff(before.splitlines(), lines, lineterm="", n=0)
    return [line for line in found if line[:1] in "+-" and line[:3] not in ("+++", "---")]


@pytest.mark.parametrize(
    ("given", "lines"),
    [
        ({}, []),
        ({"size.1": "20 H7"}, ['-1 = "H8"   # the bore', '+1 = "20 H7"   # the bore']),
        ({"size.2": "18 ±0.05"}, ['+2 = "18 ±0.05"']),
        ({"size.1": ""}, ['-1 = "H8"   # the bore', '+1 = ""   # the bore']),
        ({"size.2": ""}, []),
        ({"masked.2": "yes"}, ["+    2,"]),
        ({"masked.1": ""}, ["-    1,  # plugged"]),
        ({"critical.1": "yes"}, ["+", "+[critical]", "+balloons = [1]"]),
        ({"show.2": "yes"}, ["+", "+[show]", '+faces = ["plane +z 18.000 #bbbbbb"]']),
        ({"order/quantity": "250"}, ["-quantity = 40  # by telephone", "+quantity = 250  # by telephone"]),
        ({"order/due": ""}, ["-due = 2026-02-16"]),
        ({"part/alloy": "6082-T6"}, ['+alloy = "6082-T6"']),
        ({"coat/thickness_mm.nominal": "0.060"}, ["-thickness_mm = 0.05", "+thickness_mm = 0.060"]),
        ({"prove_out/tilts_dry_run": "2026-01-05, A. Person", "prove_out/tilts_mark": "518c7d20"},
         ["+", "+[prove_out]", '+tilts_dry_run = "2026-01-05, A. Person"', '+tilts_mark = "518c7d20"']),
        ({"all/edge_break_mm": "0.30"}, ["+edge_break_mm = 0.30"]),
    ],
)  # fmt: skip
def test_an_answer_changes_its_own_lines(part: AskedPart, given: dict[str, str], lines: list[str]) -> None:
    assert answered(part, given) is None
    assert sorted(changed(part, COATED)) == sorted(lines)
    design = small_design()
    form = job_form(show(part.job_path), design, is_inch=False)
    for name, text in given.items():
        key, _, number = name.partition(".")
        line = form.line(int(number)) if number.isdigit() else None
        if line is not None:  # what was typed stands in the form again
            assert text == (line.size if key == "size" else "yes" if line.ticks[key] else "")


def test_a_date_that_is_typed_is_read_as_a_date(part: AskedPart) -> None:
    assert answered(part, {"order/due": "2026-03-01"}) is None
    assert read_job(part.job_path).order.due == "2026-03-01"


def test_the_coat_goes_and_comes_as_a_whole(part: AskedPart) -> None:
    parts = ("low", "nominal", "high", "source", "strength")
    empty = {f"coat/{key}.{end}": "" for key in ("thickness_mm", "build_up_share", "etch_mm") for end in parts}
    refused = answered(part, {**empty, "coat/process": ""})
    assert refused is not None  # something is still masked
    assert refused.fault is not None
    assert "there is no coat" in refused.fault.message
    assert answered(part, {**empty, "coat/process": "", "masked.1": ""}) is None
    assert read_job(part.job_path).coat is None
    coat = {"coat/process": "hard coat", "coat/thickness_mm.low": "0.04", "coat/thickness_mm.nominal": "0.05",
            "coat/thickness_mm.high": "0.060", "coat/build_up_share.nominal": "0.5"}  # fmt: skip
    assert answered(part, coat) is None
    job = read_job(part.job_path)
    assert job.coat is not None
    assert (job.coat.thickness_mm.low, job.coat.thickness_mm.high) == (0.04, 0.06)
    text = part.job_path.read_text(encoding="utf-8")
    assert "thickness_mm = { low = 0.04, nominal = 0.05, high = 0.060 }" in text
    assert text.index("[order]") < text.index("[coat]") < text.index("# what the drawing says")


@pytest.mark.parametrize(
    ("given", "number", "words"),
    [
        ({"size.2": "about 18", "order/quantity": "7"}, 2, "cannot be read as a size"),
        ({"size.1": "20 H8; nonsense"}, 1, '"nonsense" cannot be read'),
        ({"size.1": "H8; H8"}, 1, "twice or too many"),
        ({"critical.2": "yes"}, 2, "is called critical and has no size"),
    ],
)
def test_a_size_that_cannot_be_is_said_beside_its_line(
    part: AskedPart, given: dict[str, str], number: int, words: str
) -> None:
    refused = answered(part, given)
    assert refused is not None
    assert [line.number for line in refused.lines if line.fault] == [number]
    line = refused.line(number)
    assert line is not None
    assert words in line.fault
    assert line.size == given.get(f"size.{number}", line.size_stands)
    assert part.job_path.read_text(encoding="utf-8") == COATED
    assert not show(part.job_path).has_before


@pytest.mark.parametrize(
    ("given", "named"),
    [
        ({"order/quantity": "many"}, "order/quantity"),
        ({"order/quantity": ""}, "order/quantity"),
        ({"order/due": "16.2.2026"}, "order/due"),
        ({"coat/thickness_mm.nominal": "5"}, "coat/thickness_mm"),
        ({"all/general_tolerance": "x"}, "all/general_tolerance"),
        ({"part/number": " "}, "part/number"),
    ],
)
def test_a_value_that_cannot_be_is_said_beside_its_field(part: AskedPart, given: dict[str, str], named: str) -> None:
    refused = answered(part, given)
    assert refused is not None
    assert [field.name for group in refused.groups for field in group.fields if field.fault] == [named]
    assert refused.field(named).is_changed
    assert part.job_path.read_text(encoding="utf-8") == COATED


def test_nothing_but_fields_of_the_form_is_written(part: AskedPart) -> None:
    strange = {
        "part/step": "other.step", "part/solid": "x", "size.99": "H8", 'size.1"]': "x", "masked.99": "yes",
        "pins/machine": "mill", "balloons/1": "x", "kit/0/name": "x", "digest": "0", "../foot.toml": "x",
    }  # fmt: skip
    assert answered(part, strange) is None
    assert part.job_path.read_text(encoding="utf-8") == COATED


def test_a_size_is_only_ever_a_text(part: AskedPart) -> None:
    """A line end or a quote in a size ends no text and begins no section."""
    refused = answered(part, {"size.2": '18"\n[pins]\nmachine = "x'})
    assert refused is not None
    assert answered(part, {"part/name": '"\n[pins]\nmachine = "x'}) is None
    raw = tomllib.loads(part.job_path.read_text(encoding="utf-8"))
    assert raw["part"]["name"] == '"\n[pins]\nmachine = "x'
    assert "pins" not in raw


def test_a_file_that_changed_meanwhile_is_not_written(part: AskedPart) -> None:
    digest = show(part.job_path).digest
    part.job_path.write_text(COATED + "# by hand\n", encoding="utf-8")
    refused = answered(part, {"size.2": "18 ±0.05"}, digest=digest)
    assert refused is not None
    assert isinstance(refused.fault, ChangedMeanwhile)
    assert part.job_path.read_text(encoding="utf-8") == COATED + "# by hand\n"
    line = refused.line(2)
    assert line is not None
    assert (line.size, line.size_stands) == ("18 ±0.05", "")


def test_a_drafted_file_takes_numbers_and_loses_marks_where_somebody_spoke(part: AskedPart) -> None:
    before = drafted(part)
    given = {"size.1": "20 H8", "show.2": "yes", "order/quantity": "250", "part/alloy.told": "yes"}
    assert answered(part, given) is None
    assert [line for line in changed(part, before) if line.startswith("+")] == [
        '+alloy = "6061-T6"', "+quantity = 250",
        '+1 = "20 H8"  # hole, blind, flat bottom: Ø20 from 0 to 16 deep; opens to +z at (0, 0, 18)',
        "+balloons = [2]  # the customer sees these",
    ]  # fmt: skip
    job = read_job(part.job_path)
    assert [(size.balloon, size.text) for size in job.sizes] == [(1, "20 H8")]
    assert job.show_faces == ("plane +z 18.000 #bbbbbb",)
    assert not any("quantity" in line or "alloy" in line for line in job.assumed)


def test_what_a_draft_assumes_is_asked_until_somebody_says_it(part: AskedPart) -> None:
    """Quantity, metal and whether there is a coat; a coat that is written says the last by itself."""
    drafted(part)

    def asked() -> list[str]:
        design = small_design()
        found = ask_before_plan(job=read_job(part.job_path), read=design.read, survey=design.survey)
        return [question.id for question in found if question.id in ("coat", "quantity", "alloy", "show faces")]

    assert asked() == ["coat", "quantity", "alloy", "show faces"]
    assert answered(part, {"order/quantity": "250", "part/alloy.told": "yes"}) is None
    assert asked() == ["coat", "show faces"]
    bare = part.job_path.read_text(encoding="utf-8")
    assert answered(part, {"all/coated.told": "yes"}) is None
    assert asked() == []
    part.job_path.write_text(bare, encoding="utf-8")
    assert answered(part, {
        "coat/process": "hard coat", "coat/thickness_mm.low": "0.04", "coat/thickness_mm.nominal": "0.05",
        "coat/thickness_mm.high": "0.06", "coat/build_up_share.low": "0.45", "coat/build_up_share.nominal": "0.5",
        "coat/build_up_share.high": "0.55",
    }) is None  # fmt: skip
    assert asked() == ["show faces"]


def test_a_bare_solid_gets_its_file_with_the_first_answer(part: AskedPart, monkeypatch: pytest.MonkeyPatch) -> None:
    part.job_path.unlink()
    monkeypatch.setattr("proveout.jobs.answering.faces_picture", lambda _design, _numbers: "<svg/>")
    refused = answered(part, {"size.1": "nonsense"})
    assert refused is not None
    assert not part.job_path.exists()
    assert answered(part, {"size.1": "20 H8"}) is None
    job = read_job(part.job_path)
    assert (job.part.step, job.sizes[0].text) == ("foot.step", "20 H8")
    assert part.job_path.with_suffix(".svg").read_text(encoding="utf-8") == "<svg/>"


def test_an_earlier_text_about_another_solid_is_not_put_back(part: AskedPart) -> None:
    read_back(part, COATED.replace("40", "41"))
    with pytest.raises(BadInput, match="another solid"):
        read_back(part, COATED.replace("foot.step", "hand.step"))
    with pytest.raises(BadInput):
        read_back(part, "[part]\n")


def test_what_is_asked_before_a_plan_is_not_weighed(part: AskedPart) -> None:
    design = small_design()
    job = replace(read_job(part.job_path), unsaid=(QUANTITY, ALLOY))
    asked = ask_before_plan(job=job, read=design.read, survey=design.survey)
    assert [question.id for question in asked] == ["unit", "quantity", "alloy", "show faces"]
    assert not any(question.weight for question in asked)
    assert numbers_of(design, ("plane +z 18.000 #bbbbbb", "cylinder in d20.000 z #aaaaaa")) == (1, 2)
