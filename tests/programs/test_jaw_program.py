"""The program of a pocket in soft jaws: read back it is the planned moves, and it makes the pocket."""

from __future__ import annotations

import math
from pathlib import Path

import foreign_program as given
import msgspec
import pytest
from jaw_parts import BLOCK, block, of_block, target_from
from shapes import CUTTERS, MILL, VISE

from proveout.intake.shop_file import read_shop
from proveout.jobs.check_program import fingerprint_of_text
from proveout.jobs.jaw_forms import Forms, forms_of, prove_jaw_program
from proveout.jobs.store import Store
from proveout.model.program_style import ProgramStyle
from proveout.model.proof import is_ready
from proveout.model.run import Run
from proveout.model.work import PassPlan
from proveout.programs.writing.writing import write_program
from proveout.stages.passes.jaw_outline import outline_of

EXAMPLES = Path(__file__).resolve().parent.parent.parent / "examples"
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


def formed_in(machine_program: ProgramStyle | None, *, needs_form: bool = True) -> Forms:
    """The block's form as a plan gets it, in the example shop."""
    shop = read_shop(EXAMPLES / "shop.toml")
    machines = tuple(msgspec.structs.replace(m, program=machine_program) for m in shop.machines)
    held = msgspec.structs.replace(BLOCK, machine_id="mill-3", vise_id="vise-3", needs_form=needs_form)
    outline = outline_of(work=block(), target=block(), clamping=held)
    passes = PassPlan(passes=(), not_cut=(), moves={}, outlines={held.id: outline} if needs_form else {})
    return forms_of(
        number="T-1", revision="A", clampings=(held,), target=target_from(block()), passes=passes,
        general_class="m", shop=msgspec.structs.replace(shop, machines=machines), store=Store(None), run=Run(),
    )  # fmt: skip


def test_a_plan_gets_form_program_and_proofs_beside_its_passes() -> None:
    made = formed_in(STYLE)
    (form,), (sheet,) = made.forms, made.sheets
    assert (form.clamping_id, sheet.clamping_id) == ("c2-z-", "c2-z--jaws")
    assert list(made.texts) == [sheet.file] == ["clamping-2-jaws.nc"]
    assert sheet.fingerprint == fingerprint_of_text(made.texts[sheet.file])
    assert set(made.moves) == {one.moves_digest for one in form.passes}
    assert is_ready(made.proofs)
    assert len({p.id for p in made.proofs}) == len(made.proofs)
    # at least the feed moves at the machine's highest feed
    least = sum(one.cut_length_mm for one in form.passes) / 200.0
    assert form.seconds is not None
    assert form.seconds > least


def test_without_a_described_machine_there_is_a_form_and_no_program() -> None:
    made = formed_in(None)
    assert (len(made.forms), made.sheets, made.texts) == (1, (), {})
    assert is_ready(made.proofs)


def test_jaws_that_need_no_form_get_none() -> None:
    made = formed_in(STYLE, needs_form=False)
    assert (made.forms, made.proofs, made.texts) == ((), (), {})
