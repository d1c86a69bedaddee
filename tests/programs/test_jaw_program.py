"""The program of a pocket in soft jaws: read back it is the planned moves, and it makes the pocket."""

from __future__ import annotations

import math

import foreign_program as given
import msgspec
import pytest
from jaw_parts import of_block
from shapes import CUTTERS, MILL, VISE

from proveout.jobs.jaw_forms import prove_jaw_program
from proveout.model.run import Run
from proveout.programs.writing.writing import write_program

STYLE = msgspec.structs.replace(
    given.STYLE, opening=("G21 G17 G40 G49 G80 G90 G94",), closing=("G53 G0 Y0", "M30"),
    before_change=("G53 G0 Z0", "M5"),
)  # fmt: skip
MACHINE = msgspec.structs.replace(MILL, program=STYLE)
STANDS = msgspec.structs.replace(VISE, stands_mm=(300.0, -200.0, -250.0))


def written() -> tuple[str, dict[str, int]]:
    (form,) = of_block().value.forms
    made = write_program(
        title="T-1, POCKET IN SOFT JAWS", clamping=form.clamping, machine=MACHINE, vise=STANDS, passes=form.passes,
        moves=of_block().value.moves, cutters={c.id: c for c in CUTTERS}, numbers={"mill 12": 1, "mill 4": 2},
    )  # fmt: skip
    return made.text, made.numbers


def judged(text: str, numbers: dict[str, int]) -> dict[str, str]:
    (form,) = of_block().value.forms
    proofs = prove_jaw_program(
        text=text, form=form, moves=of_block().value.moves, machine=MACHINE, vise=STANDS, numbers=numbers,
        cutters=CUTTERS, run=Run(),
    )  # fmt: skip
    assert all(p.id.startswith("program:c2-z--jaws:") for p in proofs)
    return {p.id.rpartition(":")[2]: p.verdict for p in proofs}


def test_a_pocket_s_program_reads_back_and_makes_the_pocket() -> None:
    verdicts = judged(*written())
    assert verdicts["read back"] == "holds"
    assert {verdicts[k] for k in ("part", "gouge", "left over", "strike", "rapid in metal", "shank or holder")} == {
        "holds"
    }


def test_a_program_that_goes_lower_strikes_the_slug() -> None:
    """Every height at the step lowered by two millimetres: into the step, and into the slug that stands below it."""
    text, numbers = written()
    lowered = text.replace("Z0.\n", "Z-2.\n").replace("Z0. ", "Z-2. ")
    assert lowered != text
    verdicts = judged(lowered, numbers)
    assert verdicts["read back"] == "fails"
    assert verdicts["gouge"] == "fails"
    assert verdicts["strike"] == "fails"


def test_a_program_for_the_wrong_cutter_is_refused() -> None:
    text, numbers = written()
    swapped = {name: 3 - number for name, number in numbers.items()}
    assert judged(text, swapped)["read back"] == "fails"
    assert math.isclose(sum(swapped.values()), 3.0)


@pytest.mark.parametrize("word", ["POCKET IN SOFT JAWS", "CLAMPING 2 ON"])
def test_the_head_says_what_it_is(word: str) -> None:
    assert word in written()[0]
