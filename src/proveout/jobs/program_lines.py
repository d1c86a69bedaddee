"""Where in the written programs the moves stand that decide proofs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from proveout.model.fact import exact_fact
from proveout.model.proof import Proof

PassLines = dict[str, tuple[str, tuple[int, ...]]]
"""Of each pass the file of its program, and the line of that file that brings the tip to each of its points."""


def with_lines(proofs: Sequence[Proof], lines: Mapping[str, tuple[str, tuple[int, ...]]]) -> tuple[Proof, ...]:
    """Proofs that one move decides, with the line at which it stands; others, and those without a program, as given."""
    return tuple(_with_line(proof, lines) for proof in proofs)


def _with_line(proof: Proof, lines: Mapping[str, tuple[str, tuple[int, ...]]]) -> Proof:
    move = proof.basis.move
    if move is None or move.pass_id not in lines:
        return proof
    file, rows = lines[move.pass_id]
    if not 0 < move.row < len(rows):
        return proof
    line = rows[move.row]
    inputs = {
        **proof.basis.inputs, f"line of {file}": exact_fact(float(line), "lines", "own-algorithm", "assumed")
    }  # fmt: skip
    return msgspec.structs.replace(
        proof, subject=f"{proof.subject} ({file} line {line})",
        basis=msgspec.structs.replace(proof.basis, inputs=inputs),
    )  # fmt: skip
