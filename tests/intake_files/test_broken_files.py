"""Owners mistype: every broken file is refused in one sentence that names place, value, limit and what to do."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from proveout.intake.cutters_csv import cutter_rows
from proveout.intake.job_file import job_from_text, read_job, step_of_job
from proveout.intake.order_file import jobs_of_order, order_from_text, read_order
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.toml_words import FILE_BYTES_MAX
from proveout.quantities.errors import BadInput, Unreadable

HERE = Path(__file__).parent
EXAMPLES = HERE.parents[1] / "examples"
READERS: dict[str, tuple[str, Callable[..., Any]]] = {
    "shop": ("shop.toml", shop_from_text),
    "job": ("jaw.toml", job_from_text),
    "order": ("order.toml", order_from_text),
    "csv": ("cutters.csv", cutter_rows),
}
CASES = [
    pytest.param(noun, case, id=f"{noun}: {case['name']}")
    for noun, cases in tomllib.loads((HERE / "broken.toml").read_text(encoding="utf-8")).items()
    for case in cases
]


@pytest.mark.parametrize(("noun", "case"), CASES)
def test_a_broken_file_is_refused_with_its_message(noun: str, case: dict[str, str]) -> None:
    name, read = READERS[noun]
    text = (EXAMPLES / name).read_text(encoding="utf-8")
    if noun == "job":  # without its masks and pins: the cases write their own
        text = text.partition("\n[masked]")[0]
    if "find" in case:
        assert case["find"] in text
        broken = text.replace(case["find"], case["replace"], 1)
    else:
        broken = case["replace"]
    with pytest.raises(BadInput) as caught:
        read(broken, file=name)
    assert caught.value.message == case["message"]


def test_there_are_many_kinds_of_broken_file() -> None:
    counts = {noun: sum(case.values[0] == noun for case in CASES) for noun in READERS}
    assert counts["shop"] >= 20
    assert counts["job"] >= 20
    assert counts["order"] >= 5
    assert counts["csv"] >= 10


@pytest.mark.parametrize("read", [read_shop, read_job, read_order])
def test_a_folder_and_a_solid_under_another_name_are_told_as_what_they_are(
    read: Callable[[Path], Any], tmp_path: Path
) -> None:
    (tmp_path / "bars.toml").mkdir()
    with pytest.raises(BadInput, match=r"^The path is a folder; where: bars\.toml; do: name the file itself$"):
        read(tmp_path / "bars.toml")
    (tmp_path / "part.toml").write_bytes(b"ISO-10303-21;\nHEADER;\n\xff")
    with pytest.raises(Unreadable, match=r"^This is a STEP file.*; where: part\.toml; do: end its name in \.step"):
        read(tmp_path / "part.toml")


def test_a_folder_in_place_of_the_step_file_of_a_job_is_told(tmp_path: Path) -> None:
    job = job_from_text((EXAMPLES / "jaw.toml").read_text(encoding="utf-8"))
    (tmp_path / job.part.step).mkdir(parents=True)
    with pytest.raises(BadInput, match=r"names a folder where a STEP file is needed; where: jaw\.toml: part step"):
        step_of_job(tmp_path / "jaw.toml", job)


def test_a_missing_file_is_refused_without_its_folder(tmp_path: Path) -> None:
    with pytest.raises(
        BadInput, match=r"^There is no such file; where: shop\.toml; do: check the name and the folder$"
    ):
        read_shop(tmp_path / "shop.toml")


def test_a_file_that_is_no_text_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(b"name = \xff\xfe")
    with pytest.raises(Unreadable, match=r"not a UTF-8 text file; where: job\.toml; found: byte 7"):
        read_job(path)


def test_a_huge_file_is_refused_before_it_is_read(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_bytes(b"#" * (FILE_BYTES_MAX + 1))
    with pytest.raises(Unreadable, match="too large for one typed by a person"):
        read_shop(path)


def test_a_deep_nest_is_refused() -> None:
    with pytest.raises(Unreadable, match="nested too deeply"):
        shop_from_text("name = " + "[" * 100_000)


def test_a_mark_of_byte_order_is_no_fault(tmp_path: Path) -> None:
    path = tmp_path / "shop.toml"
    path.write_bytes(b"\xef\xbb\xbf" + (EXAMPLES / "shop.toml").read_bytes())
    assert read_shop(path) == read_shop(EXAMPLES / "shop.toml")


def test_a_3_plus_2_machine_needs_its_rotary_axes() -> None:
    text = (EXAMPLES / "shop.toml").read_text(encoding="utf-8")
    start = text.index("[machine.rotary]")
    broken = text[:start] + text[text.index("[[machine]]", start) :]
    with pytest.raises(BadInput, match=r'found: kind = "3\+2" without \[machine\.rotary\]'):
        shop_from_text(broken)


def test_a_job_whose_solid_is_missing_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "jaw.toml"
    path.write_text((EXAMPLES / "jaw.toml").read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(BadInput, match=r'STEP file that is not there; where: jaw\.toml: part step; found: "solids/out'):
        step_of_job(path, read_job(path))


def test_an_order_whose_job_is_missing_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "order.toml"
    path.write_text((EXAMPLES / "order.toml").read_text(encoding="utf-8"), encoding="utf-8")
    with pytest.raises(
        BadInput, match=r'job file that is not there; where: order\.toml: item number 1 job; found: "body'
    ):
        jobs_of_order(path, read_order(path))
