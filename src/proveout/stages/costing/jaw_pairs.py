"""Pairs of jaws that are made for the part."""

from __future__ import annotations

from proveout.model.shop import Jaws
from proveout.model.table_load import TableLoad
from proveout.model.work import Clamping


def made_pairs(
    clampings: tuple[Clamping, ...], jaws: tuple[Jaws, ...], loads: tuple[TableLoad, ...]
) -> tuple[Jaws, ...]:
    """One pair a clamping, or for each place in which it lies; jaws that nobody has to make are left out.

    Soft jaws that are cut to the work are made, whatever minutes the owner wrote.
    """
    by_id = {one.id: one for one in jaws}
    counts = {id: load.pieces_count for load in loads for id in load.clamping_ids}
    return tuple(
        by_id[c.jaws_id]
        for c in clampings
        for _ in range(counts.get(c.id, 1))
        if (pair := by_id.get(c.jaws_id)) is not None and (pair.make_s > 0.0 or (c.needs_form and pair.kind == "soft"))
    )
