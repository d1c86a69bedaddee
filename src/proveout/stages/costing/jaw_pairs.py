"""Pairs of jaws that are made for the part."""

from __future__ import annotations

from proveout.model.shop import Jaws
from proveout.model.table_load import TableLoad
from proveout.model.work import Clamping


def made_pairs(
    clampings: tuple[Clamping, ...], jaws: tuple[Jaws, ...], loads: tuple[TableLoad, ...]
) -> tuple[Jaws, ...]:
    """One pair a clamping, or for each place in which it lies; jaws that nobody has to make are left out."""
    by_id = {one.id: one for one in jaws}
    counts = {id: load.pieces_count for load in loads for id in load.clamping_ids}
    return tuple(
        by_id[c.jaws_id]
        for c in clampings
        for _ in range(counts.get(c.id, 1))
        if c.jaws_id in by_id and by_id[c.jaws_id].make_s > 0.0
    )
