"""Bed, table, head and probe of a shop file: all of one or none of it, and a vise stands on the table, not in it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from proveout.intake.machine_words import HEAD, TABLE
from proveout.intake.probe_words import PROBE
from proveout.intake.shop_words import BED
from proveout.intake.toml_words import Place, plain, read_words
from proveout.model.bodies import Bed, Head, Table
from proveout.model.shop import Probe, Shop
from proveout.quantities.errors import BadInput, OutOfRange

SUNK_MM = 1.0
"""Two measurements of one height that lie so far apart are no longer a matter of reading a rule."""


def bed_of_words(values: dict[str, Any], place: Place) -> Bed | None:
    """The vise's bed, whose words are taken out of `values`; None when none of them is given."""
    sizes = {word.key: values.pop(word.stem) for word in BED}
    _refuse_part(sizes, "A vise's bed", place)
    if None in sizes.values():
        return None
    bed = Bed(**{key.removeprefix("bed_"): value for key, value in sizes.items()})
    if bed.behind_mm > bed.length_mm:
        raise OutOfRange(
            "The bed reaches farther behind the fixed jaw than it is long", where=place.at(),
            value=f"bed_behind {plain(bed.behind_mm)} mm", limit=f"bed_length {plain(bed.length_mm)} mm or less",
            do="correct one of the two",
        )  # fmt: skip
    return bed


def table_of_words(raw: Mapping[str, Any] | None, place: Place) -> Table | None:
    """The table; None when it is not described."""
    if raw is None:
        return None
    inner = Place(file=place.file, path=f"{place.path} table")
    values = read_words(raw, TABLE.words, inner, [])
    shape = values["shape"]
    wanted, others = ("diameter",), ("length", "width")
    if shape == "rectangular":
        wanted, others = others, wanted
    lacking = [f"{name}_mm" for name in wanted if values[f"{name}_mm"] is None]
    surplus = [f"{name}_mm" for name in others if values[f"{name}_mm"] is not None]
    if lacking or surplus:
        raise BadInput(
            f"A {shape} table has {' and '.join(f'{name}_mm' for name in wanted)} and no other size", where=inner.at(),
            value=f"no {lacking[0]}" if lacking else surplus[0], do="add what is missing, or correct the shape",
        )  # fmt: skip
    middle = {f"middle_{axis}_mm": values[f"middle_{axis}"] for axis in "xy"}
    _refuse_part(middle, "The middle of a table", inner)
    x, y = middle.values()
    return Table(
        shape=shape, size_mm=(values[f"{wanted[0]}_mm"], values[f"{wanted[-1]}_mm"]),
        thickness_mm=values["thickness_mm"], top_z_mm=values["top_z_mm"],
        middle_mm=None if x is None or y is None else (x, y),
    )  # fmt: skip


def head_of_words(raw: Mapping[str, Any] | None, place: Place) -> Head | None:
    """The head; None when it is not described."""
    if raw is None:
        return None
    inner = Place(file=place.file, path=f"{place.path} head")
    values = read_words(raw, HEAD.words, inner, [])
    _refuse_part({key: values[key] for key in ("diameter_mm", "length_mm")}, "The head above the nose", inner)
    return Head(**values)


def probe_of_words(raw: Mapping[str, Any] | None, place: Place, *, has_probe: bool) -> Probe | None:
    """The touch probe; None when it is not described."""
    if raw is None:
        return None
    inner = Place(file=place.file, path=f"{place.path} probe")
    if not has_probe:
        raise BadInput(
            "A machine without a probe describes one", where=inner.at(), value="has_probe = false",
            do="write has_probe = true, or leave [machine.probe] out",
        )  # fmt: skip
    return Probe(**read_words(raw, PROBE.words, inner, []))


def refuse_sunk_vise(shop: Shop, top: Place) -> None:
    """BadInput where a vise's foot, by its own sizes, would lie below the top of the table that it stands on."""
    tables = {machine.id: machine.table for machine in shop.machines}
    for vise in shop.vises:
        for name in vise.machines:
            table = tables[name]
            if vise.bed is None or vise.stands_mm is None or table is None or table.top_z_mm is None:
                continue
            foot = vise.stands_mm[2] - vise.bed.foot_mm
            if foot < table.top_z_mm - SUNK_MM:
                raise OutOfRange(
                    "The foot of this vise would lie below the top of the table", where=top.at(f'vise "{vise.id}"'),
                    value=f"foot at machine Z {plain(round(foot, 3))} mm",
                    limit=f"top_z of {name} {plain(table.top_z_mm)} mm or above",
                    do="measure stands_z, bed_below, bed_height and top_z again",
                )  # fmt: skip


def _refuse_part(sizes: Mapping[str, float | None], what: str, place: Place) -> None:
    lacking = [key for key, value in sizes.items() if value is None]
    if lacking and len(lacking) < len(sizes):
        raise BadInput(
            f"{what} needs all of {', '.join(sizes)}", where=place.at(), value=f"no {lacking[0]}",
            do="add what is missing, or leave all of them out",
        )  # fmt: skip
