"""The owner's order file (TOML): several jobs ordered together."""

from __future__ import annotations

from pathlib import Path

from proveout.intake import job_words as words
from proveout.intake.fit_words import fit_of
from proveout.intake.job_file import refuse_late_start
from proveout.intake.toml_words import Place, load_toml, read_text, read_words, refuse_twice, refuse_unknown, tables_at
from proveout.model.job import OrderFile, OrderItem
from proveout.quantities.errors import BadInput


def read_order(path: Path) -> OrderFile:
    """The order written in a TOML file; the job files that it names are looked for by `jobs_of_order`."""
    return order_from_text(read_text(path), file=path.name)


def is_order_text(text: str, *, file: str = "file") -> bool:
    """Whether TOML text is an order rather than a job: it has items and no part."""
    raw = load_toml(text, file=file)
    return "item" in raw and "part" not in raw


def order_from_text(text: str, *, file: str = "order file") -> OrderFile:
    """The order written in TOML text; `file` is the name said in messages."""
    raw = load_toml(text, file=file)
    top = Place(file=file)
    own = [word.key for word in words.ORDER_TOP.words]
    refuse_unknown(raw.keys(), [*own, "item", "fit"], top)
    head = read_words({key: raw[key] for key in own if key in raw}, words.ORDER_TOP.words, top, [])
    refuse_late_start(head["start"], head["due"], top)
    items: list[OrderItem] = []
    for number, table in enumerate(tables_at(raw, "item", top, must=True, why=words.ITEM.text), start=1):
        place = Place(file=file, path=f"item number {number}")
        item = OrderItem(**read_words(table, words.ITEM.words, place, []))
        refuse_late_start(item.start or head["start"], item.due or head["due"], place)
        if item.job in [one.job for one in items]:
            raise BadInput(
                "A job file is ordered twice", where=place.at("job"), value=f'"{item.job}"',
                do="join the two items into one quantity",
            )  # fmt: skip
        items.append(item)
    loads = [item.coat_load for item in items if item.coat_load]
    for number, item in enumerate(items, start=1):
        if item.coat_load and loads.count(item.coat_load) == 1:
            raise BadInput(
                "This item rides in a coat load with no other",
                where=f"{file}: item number {number} same_coat_load",
                value=f'"{item.coat_load}"',
                do="write the same word at the items that ride together, or leave it out",
            )
    tables = tables_at(raw, "fit", top, must=False)
    fits = tuple(fit_of(table, Place(file=file, path=f"fit number {k}")) for k, table in enumerate(tables, start=1))
    refuse_twice([fit.name for fit in fits], "[[fit]]", top)
    return OrderFile(items=tuple(items), fits=fits, **head)


def jobs_of_order(path: Path, order: OrderFile) -> tuple[Path, ...]:
    """The job files of an order file at `path`, in its order; relative names are looked for beside it."""
    found: list[Path] = []
    for number, item in enumerate(order.items, start=1):
        job = path.parent / item.job
        if not job.is_file():
            raise BadInput(
                "The order names a job file that is not there", where=f"{path.name}: item number {number} job",
                value=f'"{item.job}"', do="correct the name; it counts from the folder of the order file",
            )  # fmt: skip
        found.append(job)
    return tuple(found)
