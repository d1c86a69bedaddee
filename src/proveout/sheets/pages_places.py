"""The sheet of one table load: what lies in which place, each zero, and which program when; words for other sheets."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from proveout.model.shop import Machine
from proveout.model.table_load import Place, idle_places, idle_undescribed, place_alone, spare_places
from proveout.sheets import blocks as b
from proveout.sheets.names import digest_words
from proveout.sheets.places_picture import places_svg
from proveout.sheets.writer import Writer

PICTURE_MM = (180.0, 92.0)
TAKEN_OFF = "Take every other vise OFF this table before the first start: no move was held against one."


def _load(writer: Writer, index: int) -> int | None:
    return writer.plan.load_of(writer.plan.clampings[index].id)


def _index(writer: Writer, clamping_id: str) -> int:
    return next(i for i, clamping in enumerate(writer.plan.clampings) if clamping.id == clamping_id)


def _ops(writer: Writer, load: int, *, but: int = -1) -> str:
    """The operations of a load in words, perhaps all but one."""
    ids = writer.plan.table_loads[load].clamping_ids
    return " and ".join(writer.op(i) for i in (_index(writer, id) for id in ids) if i != but)


def share_words(writer: Writer, index: int) -> str:
    """Behind the machine on the route card: in how many places, and beside which other operation."""
    load = _load(writer, index)
    if load is None:
        return ""
    one, words = writer.plan.table_loads[load], ""
    if one.pieces_count > 1:
        count = writer.ink.number("plan", "table_loads", load, "pieces_count", digits=0)
        words += f", {count} pieces a cycle"
    if len(one.clamping_ids) > 1:
        words += f", beside {_ops(writer, load, but=index)}"
    return words


def cycle_words(writer: Writer, index: int, cycle: str) -> str:
    """The whole cycle of an operation; of one that shares the table its share a piece, and the cycle of all places."""
    load = _load(writer, index)
    if load is None:
        return f"whole cycle {cycle}"
    whole = writer.ink.number("plan", "table_loads", load, "fillings", 0, "seconds", unit="min:s")
    return f"its share {cycle} a piece; a cycle with all places filled {whole}"


def places_words(writer: Writer, index: int) -> str:
    """That a program works in several places, for the caution beside its fingerprint."""
    load = _load(writer, index)
    return "" if load is None else f" It works in all places of the table: {_ops(writer, load)}."


def alone_words(writer: Writer, index: int) -> str:
    """Of an operation that has a machine of several vises to itself: where it lies, and that the others stay empty."""
    clamping, shop = writer.plan.clampings[index], writer.shop
    at, vise = writer.place("machines", clamping.machine_id), writer.place("vises", clamping.vise_id)
    place = None if at is None else place_alone(clamping, shop.machines[at], shop.vises)
    if at is None or vise is None or place is None or _load(writer, index) is not None:
        return ""
    idle = _idle_words(writer, clamping.id, shop.machines[at], (place,))
    if not idle:
        return ""
    name = writer.ink.words("shop", "vises", vise, "id")
    return f"The work lies in the first {name}, as the shop file counts them. {idle}"


def _idle_words(writer: Writer, work_id: str, machine: Machine, used: Iterable[Place]) -> str:
    """That vises which a clamping or a load leaves idle stay empty, with the verdict, or come off; "" for none."""
    vises = writer.shop.vises
    used = tuple(used)
    idle = idle_places(machine, vises, used)
    if not idle:
        return TAKEN_OFF if spare_places(machine, vises, used) else ""
    proof = next((p for p in writer.plan.proofs if p.id == f"removal check:{work_id}:idle vises"), None)
    verdict = "not shown" if proof is None else proof.verdict
    lacking = idle_undescribed(machine, vises, idle)
    if verdict != "holds":
        shown = f"that the moves meet nothing of them is {'NOT SHOWN' if verdict == 'not shown' else 'REFUTED'}"
    elif not lacking:
        shown = "the moves meet nothing of one that is empty"
    else:
        names = dict.fromkeys("its bed" if "bed" in name else name for name in lacking)
        shown = f"the moves meet nothing that is described of one that is empty; NOT LOOKED AT: {', '.join(names)}"
    return f"Every other vise on this table stays EMPTY: {shown}."


def prove_out_words(writer: Writer, index: int) -> str:
    """In which places the dry run is made, and with which program piece one is cut."""
    load = _load(writer, index)
    if load is None:
        return ""
    name = writer.plan.clampings[index].id
    for i, sheet in enumerate(writer.plan.programs):
        if sheet.clamping_id == name and len(sheet.filled) == 1:
            file = writer.ink.words("plan", "programs", i, "file")
            return f", in each place in turn; piece one alone with {file}"
    return ", in each place in turn"


def zero_rows(writer: Writer, index: int) -> list[list[b.Cell]]:
    """A row for each place in which an operation lies: boxes for its zero as measured; none for one that lies alone."""
    load = _load(writer, index)
    if load is None:
        return []
    ink, rows = writer.ink, []
    for n, laid in enumerate(writer.plan.table_loads[load].laid):
        if laid.clamping_id == writer.plan.clampings[index].id:
            at = ("plan", "table_loads", load, "laid", n)
            place = ink.number(*at, "place", "number", digits=0)
            offset = ink.words(*at, "work_offset")
            words = f"place {place}{f', {offset}' if offset else ''}, measured"
            rows.append([b.strong(words), b.BOX, b.BOX, b.BOX, b.BOX])
    return rows


def _zero_words(writer: Writer, load: int, n: int) -> list[b.Cell]:
    """Machine coordinates of a work zero as the shop file has the vise."""
    zero = writer.derived.tables[load].zeros_mm[n]
    if zero is None:
        return ["not known"] * 3
    return [writer.ink.number("derived", "tables", load, "zeros_mm", n, k, digits=1) for k in range(3)]


def place_table(writer: Writer, load: int) -> tuple[list[tuple[str, str, str]], list[list[b.Cell]]]:
    """A row for each place: vise, operation, offset, zero as expected and boxes for the measured one."""
    ink, rows = writer.ink, []
    for n, laid in enumerate(writer.plan.table_loads[load].laid):
        at = ("plan", "table_loads", load, "laid", n)
        turned = ", turned half round, stop right" if laid.place.is_turned else ""
        lies = f"{writer.op(_index(writer, laid.clamping_id))}{turned}"
        rows.append(
            [
                b.strong(ink.number(*at, "place", "number", digits=0)),
                ink.words(*at, "place", "vise_id"),
                lies,
                b.strong(ink.words(*at, "work_offset") or "-"),
                *_zero_words(writer, load, n),
                *([b.BOX] * 3),
            ]
        )
    columns = [
        ("place", "12", "r"), ("vise", "20", "l"), ("lies in it", "1fr", "l"), ("offset", "15", "l"),
        ("X about", "18", "r"), ("Y about", "18", "r"), ("Z about", "18", "r"),
        ("X", "16", "c"), ("Y", "16", "c"), ("Z", "16", "c"),
    ]  # fmt: skip
    return columns, rows


def cycle_table(writer: Writer, load: int) -> tuple[list[tuple[str, str, str]], list[list[b.Cell]]]:
    """A row for each way in which the places are filled: how often, which places, which program, how long."""
    ink, one = writer.ink, writer.plan.table_loads[load]
    rows: list[list[b.Cell]] = []
    for k, filling in enumerate(one.fillings):
        at = ("plan", "table_loads", load, "fillings", k)
        full = len(filling.filled) == len(one.laid)
        names = " and ".join(
            ink.number("plan", "table_loads", load, "laid", n, "place", "number", digits=0) for n in filling.filled
        )
        times = f"{ink.number(*at, 'cycles_count', digits=0)} times" if filling.cycles_count > 1 else "once"
        times = times if filling.cycles_count else "piece one only"
        program = next(
            (
                i
                for i, sheet in enumerate(writer.plan.programs)
                if sheet.filled == filling.filled and sheet.clamping_id in one.clamping_ids
            ),
            None,
        )
        file, mark = "-", "-"
        if program is not None:
            path = ("plan", "programs", program)
            file = ink.words(*path, "file")
            mark = ink.words(*path, "fingerprint", as_text=digest_words(writer.plan.programs[program].fingerprint))
        rows.append(
            [
                b.strong("all" if full else f"{names} alone"),
                times,
                file,
                mark,
                ink.number(*at, "seconds", unit="min:s"),
            ]
        )
    columns = [
        ("places filled", "26", "l"), ("how often", "26", "l"), ("program", "1fr", "l"), ("fingerprint", "36", "l"),
        ("min:s", "18", "r"),
    ]  # fmt: skip
    return columns, rows


def order_points(writer: Writer, load: int) -> list[str]:
    """How pieces go from place to place, and what to look at in each."""
    one = writer.plan.table_loads[load]
    points: list[str] = []
    ids = one.clamping_ids
    if len(ids) > 1:
        steps = [f"the piece of {writer.op(_index(writer, ids[-1]))} is done"]
        steps += [
            f"that of {writer.op(_index(writer, before))} goes on to {writer.op(_index(writer, after))}"
            for before, after in reversed(list(pairwise(ids)))
        ]
        first = _index(writer, ids[0])
        new = "a blank" if writer.plan.clampings[first].surface == "raw" else "the next piece"
        points.append(f"After each cycle: {', '.join(steps)}, and {new} comes to {writer.op(first)}.")
        points.append("Empty the places from the last operation backwards: no side of a vise ever holds two pieces.")
    at = writer.place("machines", one.machine_id)
    idle = "" if at is None else _idle_words(writer, one.id, writer.shop.machines[at], (n.place for n in one.laid))
    points += [idle] if idle else []
    points.append("One piece between one pair of jaws. Of two pieces there the thinner one is loose and is thrown.")
    if any(laid.place.is_turned for laid in one.laid):
        points.append(
            "Behind the middle jaw the work lies turned half round: the same face at the fixed jaw, its stop at the "
            "right. Both sides close with one force: with one side empty a slug as wide as the work lies in it."
        )
    points.append(
        "An empty place: run the program of those that are filled, jaws of the empty one as if it held a piece."
    )
    if any(zero is None for zero in writer.derived.tables[load].zeros_mm):
        points.append(
            "Nobody measured where these vises stand: travels and what stands in the other places are NOT SHOWN."
        )
    return points


def places_page(writer: Writer, load: int) -> dict[str, Any]:
    """What lies where in one cycle, on one sheet."""
    one = writer.plan.table_loads[load]
    machine = writer.shop_name("machines", one.machine_id)
    measured = all(zero is not None for zero in writer.derived.tables[load].zeros_mm)
    caption = "From above" + ("" if measured else "; distances between vises are not measured, so not to scale")
    svg = places_svg(writer, load, width_mm=PICTURE_MM[0], height_mm=PICTURE_MM[1], ids=f"p{load}")
    blocks: list[b.Block] = [
        b.pictures(
            b.picture(
                svg=svg,
                alt="The places of the table from above.",
                width_mm=PICTURE_MM[0],
                caption=f"{caption}. Hatched: jaws, the fixed one at the zero. Wedge: stop.",
            )
        ),
        b.heading(
            "What lies in each place", more="X, Y, Z about: machine coordinates from the shop file; measure each."
        ),
        b.table(*place_table(writer, load), tight=True),
        b.heading("Cycles", more=f"{_ops(writer, load)}, cutter by cutter through all places."),
        b.table(*cycle_table(writer, load), tight=True),
        b.points(order_points(writer, load)),
    ]
    title = f"{_ops(writer, load)} - {machine}, what lies where"
    return b.page(
        sheet=f"Places - {_ops(writer, load)}", title=title, blocks=blocks, one_page=True,
    )  # fmt: skip
