"""What a shop file says of the cutters that stand in a machine's changer."""

from __future__ import annotations

from collections.abc import Iterable

from proveout.intake.toml_words import Place
from proveout.model.shop import Cutter, Machine
from proveout.quantities.errors import BadInput

KEY = "changer"


def refuse_strange_changer(machine: Machine, cutters: Iterable[Cutter], place: Place) -> None:
    """Refuse more cutters than places, and what is no cutter of the shop."""
    known = [cutter.id for cutter in cutters]
    if len(machine.changer) > machine.pockets_count:
        raise BadInput(
            "More stands in the changer than it has places", where=place.at(KEY),
            value=f"{len(machine.changer)} cutters",
            limit=f"pockets = {machine.pockets_count}", do="correct one of the two",
        )  # fmt: skip
    for number, id in enumerate(machine.changer, start=1):
        if id and id not in known:
            raise BadInput(
                "No cutter of the shop has this id", where=place.at(KEY), value=f'"{id}" in place {number}',
                limit=", ".join(known), do="write the id of a cutter, or an empty text where none stands",
            )  # fmt: skip
