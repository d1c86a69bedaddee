"""How many vises of a kind there are, which jaw of theirs is fixed, and where each of them stands."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

import msgspec

from proveout.intake import shop_words as words
from proveout.intake.toml_words import Place, read_words, tables_at
from proveout.model.shop import Machine, Vise
from proveout.model.table_load import places_of, spare_places
from proveout.quantities.errors import BadInput

FURTHER = "further"
FURTHER_VISE = words.Section(
    name="vise.further",
    text="where the second and each further vise of this kind stands, in order; the first one's place is the vise's "
    "own stands_x_mm and so on",
    is_list=True,
    words=tuple(msgspec.structs.replace(word, must=True) for word in words.STANDS),
)


def vise_kind_of_words(values: dict[str, Any], place: Place) -> dict[str, Any]:
    """Which jaw is fixed, as the vise's own field; the word is taken out of `values`."""
    has_middle = values.pop("fixed_jaw") == words.FIXED_JAW[1]
    if values["middle_jaw_mm"] is not None and not has_middle:
        raise BadInput(
            "Only a vise whose fixed jaw is in the middle has a middle jaw", where=place.at("middle_jaw_mm"),
            value="fixed_jaw = " + f'"{words.FIXED_JAW[0]}"', do='write fixed_jaw = "in the middle", or leave it out',
        )  # fmt: skip
    return {"has_middle_jaw": has_middle}


def further_of_words(raw: Mapping[str, Any], place: Place) -> tuple[tuple[float, float, float], ...]:
    """Where the second and each further vise of a kind stands."""
    found: list[tuple[float, float, float]] = []
    for number, row in enumerate(tables_at(raw, FURTHER, place, must=False), start=2):
        inner = Place(file=place.file, path=f"{place.path} {FURTHER} {number}")
        values = read_words(row, FURTHER_VISE.words, inner, [])
        found.append((values["stands_x"], values["stands_y"], values["stands_z"]))
    return tuple(found)


def refuse_idle_off(machine: Machine, vises: Collection[Vise], place: Place) -> None:
    """BadInput where a machine's idle vises are said to be taken off, and it never has one."""
    if machine.idle_vises_off and len(spare_places(machine, tuple(vises), ())) < 2:
        raise BadInput(
            "No vise of this machine ever stands idle", where=place.at("idle_vises_off"), value="true",
            limit="a machine without rotary axes that has two vises or more",
            do="leave idle_vises_off out, or correct vises of the machine or count of its vise",
        )  # fmt: skip


def refuse_stray_places(vise: Vise, machines: Collection[Machine], place: Place) -> None:
    """BadInput for places of vises that are not there, and for those of a vise that is on several machines."""
    if not vise.more_stand_mm:
        return
    on = [machine for machine in machines if machine.id in vise.machines]
    if len(on) > 1:
        raise BadInput(
            "Places of further vises are those of one machine", where=place.at(FURTHER), value=", ".join(vise.machines),
            limit="one machine", do="give the vises of each machine an id of their own",
        )  # fmt: skip
    if vise.stands_mm is None:
        raise BadInput(
            "Further vises have a place and the first has none", where=place.at(FURTHER), value="no stands_x_mm",
            do="add stands_x_mm, stands_y_mm and stands_z_mm of the first",
        )  # fmt: skip
    for machine in on:
        most = max((p.vise_number for p in places_of(machine, (vise,))), default=1)
        if len(vise.more_stand_mm) >= most:
            raise BadInput(
                "More places are written than there are vises of this kind", where=place.at(FURTHER),
                value=f"{len(vise.more_stand_mm) + 1} places", limit=f"{most} vises",
                do=f"correct count of this vise or vises of {machine.id}",
            )  # fmt: skip
