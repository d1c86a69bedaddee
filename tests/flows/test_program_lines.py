"""The line of the program at which the move stands that decides a proof."""

from __future__ import annotations

import pytest

from proveout.jobs.program_lines import with_lines
from proveout.model.proof import Basis, MoveAt, Proof, prove

LINES = {"a": ("clamping-1.nc", (7, 8, 8, 12)), "b": ("clamping-2.nc", (4, 5))}


def at(name: str, row: int) -> MoveAt:
    return MoveAt(pass_id=name, row=row)


def proved(move: MoveAt | None) -> Proof:
    return prove(
        id="x", stage="loads", subject="a", claim="c", sense="at most", found_low=1.0, found_high=1.0, limit=2.0,
        unit="N", blocks_release=True, basis=Basis(formula="f", source="s", move=move),
    )  # fmt: skip


def test_a_proof_that_one_move_decides_tells_its_line() -> None:
    (told,) = with_lines([proved(at("a", 3))], LINES)
    assert told.subject == "a (clamping-1.nc line 12)"
    assert told.basis.inputs["line of clamping-1.nc"].nominal == 12.0
    assert told.verdict == "holds"


@pytest.mark.parametrize("move", [None, at("c", 1), at("a", 4), at("b", 0)])
def test_without_a_move_or_its_program_nothing_is_made_up(move: MoveAt | None) -> None:
    given = proved(move)
    assert with_lines([given], LINES) == (given,)
