"""Names that Windows keeps for devices, and dots at a name's end, become names that every system takes."""

from __future__ import annotations

import pytest

from proveout.jobs.plain_names import plain_name
from proveout.jobs.results import folder_name
from proveout.quantities.file_names import for_every_system, takes_every_system


@pytest.mark.parametrize(
    "name", ["CON", "con", "nul.txt", "Aux.1.2", "COM9", "lpt0", "LPT¹", "prn .x", "a.", "a ", "..."]
)
def test_no_system_need_take_it(name: str) -> None:
    assert not takes_every_system(name)
    assert takes_every_system(for_every_system(name))


@pytest.mark.parametrize("name", ["contour", "nullo.2", "com10", "com", "a.con", "EX-102", "part-con", "B.1"])
def test_what_only_looks_like_one_stays(name: str) -> None:
    assert takes_every_system(name)
    assert for_every_system(name) == name


@pytest.mark.parametrize(
    ("number", "folder"),
    [("CON", "part-CON"), ("nul.A", "part-nul.A"), ("EX 102.", "EX-102"), ("x" * 59 + ".rev", "x" * 59), ("", "part"),
     ("aux." + "y" * 80, "part-aux." + "y" * 51), ("...", "part")],
)  # fmt: skip
def test_the_folder_of_a_part_is_one_that_every_system_takes_and_stays(number: str, folder: str) -> None:
    assert folder_name(number) == folder
    assert folder_name(folder) == folder
    assert len(folder) <= 60
    assert takes_every_system(plain_name(number))
