"""The shop file as forms: its items by kind, one item's fields, and what was typed there back in the file."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import zip_longest
from pathlib import Path
from typing import Any

import tomlkit

from proveout.intake.program_words import MEANINGS, OWN_WORDS, PLANE, PROGRAM
from proveout.intake.sections import Section
from proveout.intake.shop_file import shop_from_text
from proveout.intake.shop_words import SHOP_SECTIONS
from proveout.intake.toml_blocks import Put, edited
from proveout.intake.toml_edit import Step
from proveout.intake.toml_lines import Inline
from proveout.intake.toml_marks import row_is_marked, without_row_mark
from proveout.intake.toml_words import load_toml
from proveout.intake.vise_places import FURTHER_VISE
from proveout.jobs.owner_file import Shown, replace_text
from proveout.jobs.typed_group import Group, group_puts, table_of, with_fault
from proveout.jobs.typed_value import Field, as_typed, field_of
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput

SECTIONS = (*SHOP_SECTIONS, PROGRAM, PLANE, FURTHER_VISE)
ROWS = {"crib.cutter": "crib", "rack.bar": "rack"}
"""Lists whose rows take what they lack from the section around them."""
TOP = "shop"
"""The name under which the keys above every section are edited."""
TITLES = {
    TOP: "The shop itself", "machine": "Machines", "vise": "Vises", "jaws": "Jaws", "crib.cutter": "Cutters",
    "crib": "What holds for every cutter", "rack.bar": "Bars", "rack": "What holds for every bar", "saw": "The saw",
    "finisher": "Finishers", "people": "People", "calendar": "Days off", "bench": "Hand work", "gauge": "Gauges",
    "material": "Metal",
    "money": "Money", "channel": "Ways of selling", "remnant": "Remnants", "supply": "Suppliers",
    "inspection": "Inspection", "response": "Measured responses", "spindle_reading": "Spindle readings",
    "test_cut": "Test cuts in scrap",
}  # fmt: skip
COLUMNS_MOST = 6
WITH_VISE, ROW_TOLD = "with_vise", "row_told"


@dataclass(frozen=True)
class Item:
    """One item as a form.   place: from 0; None of a new one.   own_words: what a program's own words do, by line.

    vises: of a new machine, those that it may be used with; with_vises: those that were chosen.
    row_is_assumed: the file marks the whole row so.
    """

    kind: str
    title: str
    text: str
    place: int | None
    is_list: bool
    groups: tuple[Group, ...]
    own_words: str | None = None
    own_words_stand: str = ""
    fault: BadInput | None = None
    vises: tuple[str, ...] = ()
    with_vises: tuple[str, ...] = ()
    row_is_assumed: bool = False

    @property
    def fields(self) -> tuple[Field, ...]:
        """Every field of every group."""
        return tuple(field for group in self.groups for field in group.fields)


@dataclass(frozen=True)
class Row:
    """One item in a list of its kind: its name and the values that every item of the kind must have."""

    place: int | None
    name: str
    cells: tuple[str, ...]


@dataclass(frozen=True)
class Kind:
    """All items of one kind.   heads: of the cells.   may_add: whether another may be added."""

    kind: str
    title: str
    text: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    is_list: bool


def kinds(text: str, *, file: str) -> tuple[Kind, ...]:
    """What a shop file holds, by kind, in the order in which people look for it; also of one that is refused.

    Raises:   Unreadable when it is no TOML.
    """
    raw = _parsed(text, file=file)
    return tuple(_kind(_section(name), name, raw) for name in kind_names())


def kind_names() -> tuple[str, ...]:
    """Every kind that has a form of its own: those of TITLES, then what the shop file has beside them."""
    lists = {one.name for one in SHOP_SECTIONS if one.is_list}
    own = [one.name or TOP for one in SHOP_SECTIONS if one.name in ROWS or one.name.rpartition(".")[0] not in lists]
    return (*TITLES, *(name for name in own if name not in TITLES))


def item_form(text: str, *, file: str, kind: str, place: int | None, like: int | None = None) -> Item:
    """The form of one item.   place: from 0, None for a new one.   like: the item that a new one begins as.

    Raises:   BadInput for a kind or place that there is none of.
    """
    raw = _parsed(text, file=file)
    section = _section(kind)
    rows = _rows(raw, kind)
    if section.is_list:
        if place is not None and not 0 <= place < len(rows):
            raise BadInput("There is no such item in the shop file", where=file, value=f"{kind} {place + 1}")
        if like is not None and not 0 <= like < len(rows):
            raise BadInput("There is no such item to copy", where=file, value=f"{kind} {like + 1}")
        source = place if place is not None else like
        table = rows[source] if source is not None else {}
        path = (*_path(kind), len(rows) if place is None else place)
    else:
        table, path = (raw if kind == TOP else _at(raw, _path(kind))), _path(kind)
    above = {}
    if kind in ROWS:
        above = {key: one for key, one in _at(raw, (ROWS[kind],)).items() if not isinstance(one, list)
                 or not any(isinstance(inner, Mapping) for inner in one)}  # fmt: skip
    is_inch = raw.get("units") == "inch"
    groups = tuple(_groups(section, table, path, "", is_inch=is_inch, above=above))
    words = _own_words(table) if kind == "machine" else None
    title = "A new one" if section.is_list and place is None else _name(table, section, place)
    made = Item(
        kind=kind, title=title, text=section.text, place=place, is_list=section.is_list, groups=groups,
        own_words=words, own_words_stand=words or "",
        row_is_assumed=kind in ROWS and place is not None and row_is_marked(text, str(table.get("id", ""))),
        vises=tuple(str(vise.get("id")) for vise in _rows(raw, "vise")) if kind == "machine" and place is None else (),
    )  # fmt: skip
    return _emptied(made, is_copy=like is not None) if section.is_list and place is None else made


def save_item(shown: Shown, item: Item, given: Mapping[str, str], *, shown_digest: str) -> Item | None:
    """Write what was typed into the shop file; the form with its faults when it is refused, None when it is written.

    Fields that the form does not name stay as they are. Nothing but keys of the shop file's own words is written.
    """
    typed = replace(item, groups=tuple(
        replace(group, fields=tuple(field.with_typed(given) for field in group.fields)) for group in item.groups
    ))  # fmt: skip
    if item.own_words is not None and OWN_WORDS in given:
        typed = replace(typed, own_words=given[OWN_WORDS].replace("\r", "").strip())
    if item.vises:
        chosen = given.get(WITH_VISE, "").replace("\r", "").split("\n")
        typed = replace(typed, with_vises=tuple(vise for vise in item.vises if vise in chosen))
    try:
        text = edited(shown.text, [*_puts(typed), *_puts_of_vises(typed, shown)])
        if item.row_is_assumed and given.get(ROW_TOLD) == "yes":
            text = without_row_mark(text, next(f.typed[""] for f in typed.fields if f.name == "id"))
        if text != shown.text:
            write_shop(shown.path, text, shown_digest=shown_digest)
    except BadInput as fault:
        return replace(typed, fault=fault, groups=with_fault(typed.groups, fault))
    return None


def remove_item(shown: Shown, *, kind: str, place: int, shown_digest: str) -> None:
    """Take an item out of the shop file; with a machine its id in each vise's list, and the vises of no other.

    Raises:   BadInput when there is none, the shop cannot be without it, or the file has changed meanwhile.
    """
    if not _section(kind).is_list:
        raise BadInput("Only one of several can be taken out", where=shown.path.name, value=kind)
    item_form(shown.text, file=shown.path.name, kind=kind, place=place)
    puts = [Put((*_path(kind), place), None)]
    if kind == "machine":
        raw = load_toml(shown.text, file=shown.path.name)
        puts += _puts_without_machine(raw.get("vise", []), raw["machine"][place].get("id"))
    text = edited(shown.text, puts)
    write_shop(shown.path, text, shown_digest=shown_digest)


def write_shop(path: Path, text: str, *, shown_digest: str) -> None:
    """Put a text in the place of the shop file that was shown, once it reads as a shop."""
    replace_text(path, text, shown_digest=shown_digest, check=lambda new: read_as_shop(path, new))


def read_as_shop(path: Path, text: str) -> Shop:
    """The shop that a text means where it would lie."""
    return shop_from_text(text, file=path.name, folder=path.parent)


# --- reading


def _section(kind: str) -> Section:
    name = "" if kind == TOP else kind
    found = next((one for one in SHOP_SECTIONS if one.name == name), None)
    if found is None or kind not in kind_names():
        raise BadInput("The shop file has no such kind of thing", value=kind[:60], limit=", ".join(kind_names()))
    return found


@lru_cache(maxsize=2)
def _parsed(text: str, *, file: str) -> Mapping[str, Any]:
    """The text with its numbers as typed; nobody changes what comes out."""
    load_toml(text, file=file)
    return tomlkit.parse(text)


def _path(kind: str) -> tuple[Step, ...]:
    return () if kind == TOP else tuple(kind.split("."))


def _at(raw: Mapping[str, Any], path: Sequence[Step]) -> Mapping[str, Any]:
    for step in path:
        inner = raw.get(step) if isinstance(raw, Mapping) else None  # type: ignore[call-overload]
        if not isinstance(inner, Mapping):
            return {}
        raw = inner
    return raw


def _rows(raw: Mapping[str, Any], kind: str) -> list[Mapping[str, Any]]:
    *outer, last = _path(kind) or ("",)
    found = _at(raw, outer).get(str(last), [])
    return [one for one in found if isinstance(one, Mapping)] if isinstance(found, list) else []


def _kind(section: Section, kind: str, raw: Mapping[str, Any]) -> Kind:
    must = [word for word in section.words if word.must and word.stem != "id"][:COLUMNS_MOST]
    if section.is_list:
        rows = tuple(
            Row(place, _name(table, section, place), tuple(_cell(word.keys, word.stem, table) for word in must))
            for place, table in enumerate(_rows(raw, kind))
        )
    else:
        rows = ()
    heads = tuple(word.stem.replace("_", " ") for word in must)
    return Kind(kind, TITLES.get(kind, kind.replace("_", " ").capitalize()), section.text, heads, rows, section.is_list)


def _cell(keys: Mapping[str, float], stem: str, table: Mapping[str, Any]) -> str:
    from proveout.intake.toml_words import unit_words

    key = next((one for one in keys if one in table), "")
    if not key:
        return ""
    unit = unit_words(key.removeprefix(stem).removeprefix("_"))
    return f"{as_typed(table[key], by_line=False)} {unit}".strip()


def _name(table: Mapping[str, Any], section: Section, place: int | None) -> str:
    for key in ("id", "what"):
        if isinstance(table.get(key), str) and table[key]:
            return str(table[key])
    return f"number {place + 1}" if place is not None else section.text[:1].upper() + section.text[1:]


def _groups(
    section: Section, table: Mapping[str, Any], path: tuple[Step, ...], name: str, *, is_inch: bool,
    above: Mapping[str, Any], number: int = 0, is_new: bool = False,
) -> Iterator[Group]:  # fmt: skip
    """The item's own fields, then those of the tables inside it."""
    fields = tuple(
        field_of(word, table, table=path, name=f"{name}{word.key}", is_inch=is_inch, above=above)
        for word in section.words
    )
    title = section.name.rpartition(".")[2].replace("_", " ") if name else ""
    yield Group(title, section.text if name else "", fields, number, is_new, is_there=bool(table) or not name)
    for inner in SECTIONS:
        outer, _, key = inner.name.rpartition(".")
        if outer != section.name or not outer or f"{outer}.{key}" in ROWS:
            continue
        if not inner.is_list:
            yield from _groups(inner, _at(table, (key,)), (*path, key), f"{name}{key}/", is_inch=is_inch, above={})
            continue
        rows = [one for one in table.get(key, []) if isinstance(one, Mapping)]
        for place, row in enumerate([*rows, {}]):
            yield from _groups(
                inner, row, (*path, key, place), f"{name}{key}/{place}/", is_inch=is_inch, above={},
                number=place + 1, is_new=place == len(rows),
            )  # fmt: skip


def _own_words(table: Mapping[str, Any]) -> str:
    words = _at(table, ("program", OWN_WORDS))
    return "\n".join(f"{word} = {meaning}" for word, meaning in words.items())


def own_word_meanings() -> tuple[str, ...]:
    """What a word of a control's own may mean."""
    return MEANINGS


def _emptied(item: Item, *, is_copy: bool) -> Item:
    """A new item: what is typed there is not yet in the file, and a copy needs an id of its own."""

    def fresh(field: Field) -> Field:
        nothing = {part: text if part == "key" else "" for part, text in field.stands.items()}
        typed = dict(field.stands) if is_copy and field.name not in ("id", "what") else nothing
        return replace(field, typed=typed, stands=nothing, is_assumed=False)

    groups = tuple(
        replace(group, fields=tuple(map(fresh, group.fields)), is_there=is_copy and group.is_there)
        for group in item.groups
    )
    words = None if item.own_words is None else item.own_words if is_copy else ""
    return replace(item, groups=groups, own_words=words, own_words_stand="")


# --- writing


def _puts(item: Item) -> Iterator[Put]:
    """The changes of the file that the form asks for."""
    if item.is_list and item.place is None:
        yield _new(item)
        return
    there: list[Put] = []
    gone: list[Put] = []
    for group in item.groups:
        puts = group_puts(group)
        (gone if puts == [Put(group.table, None)] else there).extend(puts)
    yield from there
    yield from _puts_of_own_words(item)
    yield from reversed(gone)


def _puts_of_vises(item: Item, shown: Shown) -> Iterator[Put]:
    """A new machine's id in the lists of the vises that were chosen for it."""
    id = next((field.typed[""] for field in item.fields if field.name == "id"), "")
    if not item.with_vises or not id:
        return
    for place, vise in enumerate(load_toml(shown.text, file=shown.path.name).get("vise", [])):
        named = vise.get("machines", [])
        if vise.get("id") in item.with_vises and isinstance(named, list) and id not in named:
            yield Put(("vise", place, "machines"), [*named, id])


def _puts_without_machine(vises: Sequence[Mapping[str, Any]], id: Any) -> Iterator[Put]:
    """The last vise first, so that places before it stay."""
    for place, vise in reversed(list(enumerate(vises))):
        named = vise.get("machines", [])
        if isinstance(named, list) and id in named:
            left = [one for one in named if one != id]
            yield Put(("vise", place, "machines"), left) if left else Put(("vise", place), None)


def _new(item: Item) -> Put:
    """A whole new section or row, with its tables inside."""
    whole: dict[str, Any] = {}
    first = item.groups[0].table
    for group in item.groups:
        values = table_of(group)
        inner = group.table[len(first) :]
        if not values and inner:
            continue
        holder: Any = whole
        for step, following in zip_longest(inner, inner[1:]):
            if isinstance(step, int):
                holder.append({})
                holder = holder[-1]
            else:
                holder = holder.setdefault(step, [] if isinstance(following, int) else {})
        holder.update(values)
    words = _words_typed(item)
    if words:
        whole.setdefault("program", {})[OWN_WORDS] = words
    return Put(first, Inline(whole) if item.kind in ROWS and not whole.keys() & {"program"} else whole)


def _puts_of_own_words(item: Item) -> Iterator[Put]:
    if item.own_words is None or item.own_words == item.own_words_stand:
        return
    path = (*item.groups[0].table, "program", OWN_WORDS)
    old, new = _words_in(item.own_words_stand), _words_typed(item)
    for word in old:
        if word not in new:
            yield Put((*path, word), None)
    for word, meaning in new.items():
        if old.get(word) != meaning:
            yield Put((*path, word), meaning)


def _words_typed(item: Item) -> dict[str, str]:
    return _words_in(item.own_words or "")


def _words_in(text: str) -> dict[str, str]:
    lines = [line.partition("=") for line in text.split("\n") if line.strip()]
    return {word.strip(): meaning.strip() for word, _, meaning in lines}
