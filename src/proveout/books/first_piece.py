"""The first piece of a batch goes through every clamping before the second one is cut.

The saw may cut all blanks. Then one piece is made in the first clamping, taken out, made in the second, and so on; each
clamping's sizes are read of it. Only when it left the last one good is the next piece cut anywhere: what is wrong in
the last clamping is mostly found to come from the first, and then one piece is lost and not all of them. A piece that
turns out bad on its way leaves the way free for another first one.
"""

from __future__ import annotations

from collections.abc import Sequence

from proveout.model.batch import Batch

FIRST_PIECE = "floor:first piece:through all clampings"
"""What a named person answers for in writing who has pieces cut before that."""


def is_first_piece_freed(batch: Batch) -> bool:
    """Whether somebody answers for cutting the second piece before the first one is through."""
    return any(one.proof_id == FIRST_PIECE for one in batch.waivers)


def is_first_piece_due(batch: Batch) -> bool:
    """Whether a first piece has still to go through all clampings, by the counts alone and if nobody answers for it."""
    if len(batch.first_through) < 2 or is_first_piece_freed(batch):
        return False
    return not next(step.good_count for step in batch.steps if step.id == batch.first_through[-1])


def is_first_piece_step(batch: Batch, step: str) -> bool:
    """Whether the first piece goes on from this clamping to another, so that the next ones wait for it here."""
    return step in batch.first_through[:-1]


def pieces_ahead(batch: Batch, step: str) -> tuple[tuple[str, int], ...]:
    """Where pieces wait between a clamping that the first piece goes through and the end of its way, with how many."""
    ids = [one.id for one in batch.steps]
    first, last = ids.index(step), ids.index(batch.first_through[-1])
    return tuple((one.id, one.waiting_count) for one in batch.steps[first + 1 : last + 1] if one.waiting_count)


def first_way_words(first_through: Sequence[str]) -> str:
    """What is asked of the first piece, for papers and pages; empty where nothing is."""
    if len(first_through) < 2:
        return ""
    steps = ", ".join(first_through)
    return (
        f"Piece one goes through {steps} and is read in each before piece two is cut: "
        "the floor's pages hold it back until then."
    )
