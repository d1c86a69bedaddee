"""One section of an owner's file: its name, what it is for, and its words."""

from __future__ import annotations

import msgspec

from proveout.intake.toml_words import Word


class Section(msgspec.Struct, frozen=True, kw_only=True):
    """One section of a file: `name` as written in brackets, `is_list` for [[name]], what it is for, its words."""

    name: str
    text: str
    words: tuple[Word, ...]
    is_list: bool = False
    must: bool = False
