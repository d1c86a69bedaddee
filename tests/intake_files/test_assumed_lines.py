"""What a line of a file marks as assumed, however its key is written."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest

from proveout.intake.assumed_lines import marked_keys
from proveout.intake.job_file import read_job


@pytest.mark.parametrize(
    ("text", "worked"),
    [
        ("coated = false  # assumed", {"": ["coated"]}),
        ('[part]\nalloy = "6061-T6"  # assumed; say', {"part": ["alloy"]}),
        ('part.alloy = "6061-T6"  # assumed', {"part": ["alloy"]}),
        ('part . "alloy" = "6061-T6" # assumed', {"part": ["alloy"]}),
        ('"coated" = false # assumed', {"": ["coated"]}),
        ("[part]\n'name' = \"a\" # assumed", {"part": ["name"]}),
        ('[ "order" ]\nquantity = 3 # assumed', {"order": ["quantity"]}),
        ("[a.b]\nc.d = 1 # assumed", {"a.b.c": ["d"]}),
        ('[sizes]\n"3" = "20 H8" # assumed', {"sizes": ["3"]}),
        ('[[cutter]]\nrows = [\n  { id = "A1", x = 1 }, # assumed\n]', {"cutter": ["A1"]}),
        ('x = [\n  ["a", "b"],  # assumed\n]\ny = 1 # assumed', {"": ["y"]}),
        ("name = 'it is \" # assumed'", {}),
        ('name = "a \\" # assumed"', {}),
        ('name = "# assumed"', {}),
        ('note = """\nx = 1 # assumed\n[part]\n"""\ny = 1 # assumed', {"": ["y"]}),
        ("x = 1  # said # assumed", {}),
        ("# x = 1 # assumed", {}),
    ],
)
def test_a_mark_is_of_the_key_of_its_line(text: str, worked: dict[str, list[str]]) -> None:
    tomllib.loads(text)  # what it says is TOML
    assert marked_keys(text) == worked


@pytest.mark.parametrize("line", ['[part]\nalloy = "6061-T6"', '[part]\n"alloy" = "6061-T6"', 'part.alloy = "6061-T6"'])
def test_an_alloy_that_is_only_assumed_is_asked_for(tmp_path: Path, line: str) -> None:
    """Whoever writes the key otherwise has said no more for that."""
    job = tmp_path / "lid.toml"
    rest = "number", "step", "revision"
    head, _, own = line.rpartition("\n")
    prefix = "" if head else "part."
    said = "\n".join(f'{prefix}{key} = "lid.step"' for key in rest)
    for mark, is_asked in (("  # assumed", True), ("", False)):
        order = "[order]\nquantity = 3"
        job.write_text("\n".join(filter(None, (head, said, f"{own}{mark}", order))) + "\n", encoding="utf-8")
        assert ("part/alloy" in read_job(job).unsaid) is is_asked
