"""The keys of one table of an owner's file as a group of form fields, and which of them a refusal speaks of."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from proveout.intake.toml_blocks import Put
from proveout.intake.toml_edit import Step
from proveout.jobs.typed_value import KEY_PART, Field
from proveout.quantities.errors import BadInput

COMMON = frozenset(
    {
        "id",
        "name",
        "kind",
        "machines",
        "length",
        "count",
        "price",
        "table",
        "file",
        "low",
        "high",
        "step",
        "lift",
        "rotary",
        "head",
        "probe",
        "program",
    }
)
"""Stems that are also words of sentences: such a field is meant only where it was changed."""


@dataclass(frozen=True)
class Group:
    """Fields of one table of an item. title, text: "" of the item's own.   own_words: meanings by line, of a program.

    number: of a row from 1, 0 where it is none; is_new: an empty row at the end of a list.
    may_go: the table goes with its last field.
    """

    title: str
    text: str
    fields: tuple[Field, ...]
    number: int = 0
    is_new: bool = False
    is_there: bool = True
    may_go: bool = True

    @property
    def table(self) -> tuple[Step, ...]:
        """Path of the table that holds the keys."""
        return self.fields[0].table

    @property
    def is_filled(self) -> bool:
        """Whether anything is typed in any field."""
        return any(text for field in self.fields for part, text in field.typed.items() if part != KEY_PART)

    def with_typed(self, given: Mapping[str, str]) -> Group:
        """The group with what a form gave."""
        return replace(self, fields=tuple(field.with_typed(given) for field in self.fields))


def group_puts(group: Group) -> list[Put]:
    """The changes that a group asks for: a table whose every key was emptied goes, a new one is written whole."""
    if group.title and group.may_go and group.is_there and not group.is_filled:
        return [Put(group.table, None)]
    puts = [put for field in group.fields for put in field.puts()]
    if group.title and not group.is_there and puts:
        return [Put(group.table, table_of(group))]
    return puts


def table_of(group: Group) -> dict[str, Any]:
    """What is typed in a group, as the table that it makes."""
    found = {field.typed.get(KEY_PART, field.key): field.value() for field in group.fields}
    return {key: value for key, value in found.items() if value is not None}


def named_in(fault: BadInput, groups: Sequence[Group]) -> Field | None:
    """The field whose key a refusal names, in its first words rather than in its last; None for none.

    The table inside the item that the refusal's place names goes before the others.
    """
    placed = re.findall(r"[A-Za-z0-9_]+", fault.where)
    ordered = sorted(groups, key=lambda group: not group.title or group.title.replace(" ", "_") not in placed)
    for said in (fault.what, fault.where, fault.value, fault.limit, fault.do):
        words = set(re.findall(r"[A-Za-z0-9_]+", said))
        for field in (field for group in ordered for field in group.fields):
            own = {*field.word.keys, field.word.stem}
            if words & (own if field.is_changed else own - COMMON):
                return field
    return None


def with_fault(groups: Sequence[Group], fault: BadInput) -> tuple[Group, ...]:
    """The groups with a refusal beside the field that it names."""
    named = named_in(fault, groups)
    return tuple(
        replace(group, fields=tuple(
            replace(field, fault=fault.message) if field is named else field for field in group.fields
        ))
        for group in groups
    )  # fmt: skip
