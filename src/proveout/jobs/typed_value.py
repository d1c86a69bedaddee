"""One key of an owner's file as a form shows it, and what was typed there as changes of the file."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any, Literal

from tomlkit.items import Float, Integer

from proveout.intake.toml_blocks import NUMERAL, TOLD, Put
from proveout.intake.toml_edit import Step
from proveout.intake.toml_lines import Inline, Numeral
from proveout.intake.toml_marks import is_marked
from proveout.intake.toml_words import (
    FACT_KEYS,
    INCH_ENDINGS,
    STRENGTHS,
    WEEKDAYS,
    Word,
    default_words,
    range_words,
    unit_words,
)

Control = Literal["text", "choice", "flag", "number", "fact", "lines", "row", "weekdays", "date"]
CONTROLS: dict[str, Control] = {
    "text": "text", "id": "text", "choice": "choice", "flag": "flag", "count": "number", "number": "number",
    "fact": "fact", "texts": "lines", "counts": "row", "numbers": "row", "weekdays": "weekdays", "date": "date",
}  # fmt: skip
KEY_PART, TOLD_PART = "key", "told"
NUMBERS = FACT_KEYS[:3]
WITH_GAPS = ("changer", "shift")
"""Lists in which an empty line holds a place."""


@dataclass(frozen=True)
class Field:
    """One key. name: in the form.   table: path of the table that holds it.   key: as the file has it, else proposed.

    typed: by part what stands in the form: "" for a plain value, low to strength for a fact, key for the unit.
    stands: the same as the file has it.   above: what is written once for every row, "" where nothing is.
    fault: one sentence of what is wrong with what was typed.   is_assumed: the file marks it so.
    is_told: it was said that the value is true all the same.
    """

    name: str
    table: tuple[Step, ...]
    word: Word
    key: str
    typed: Mapping[str, str]
    stands: Mapping[str, str]
    above: str = ""
    fault: str = ""
    is_assumed: bool = False
    is_told: bool = False

    @property
    def control(self) -> Control:
        """What kind of control the form has for it."""
        return CONTROLS[self.word.kind]

    @property
    def label(self) -> str:
        """The key's stem as words."""
        return self.word.stem.replace("_", " ")

    @property
    def units(self) -> dict[str, str]:
        """Each key that may be written, with its unit in print."""
        return {key: unit_words(key.removeprefix(self.word.stem).removeprefix("_")) for key in self.word.keys}

    @property
    def hint(self) -> str:
        """What the key means, its range, and what an empty field means."""
        text = self.word.text[:1].upper() + self.word.text[1:]
        if self.word.kind in ("number", "count", "fact", "numbers", "counts"):
            text += f": {range_words(self.word, self.typed.get(KEY_PART, self.key))}"
        return f"{text}. {self._empty}".strip()

    @property
    def _empty(self) -> str:
        if self.above:
            return f"Empty: {self.above}, as it stands once above the rows."
        if self.word.must:
            return "Needed."
        default = self.word.default
        if default is None:
            return "May stay empty."
        if default in ("", [], ()):
            return ""
        unit = unit_words(self.word.ending)
        words = ", ".join(str(one) for one in default) if isinstance(default, list) else default_words(default)
        return f"Empty: {words}{f' {unit}' if unit else ''} is assumed."

    @property
    def choices(self) -> tuple[str, ...]:
        """What may be chosen, of a choice or of weekdays."""
        return WEEKDAYS if self.word.kind == "weekdays" else self.word.choices

    @property
    def strengths(self) -> tuple[str, ...]:
        """How well a fact may be known."""
        return STRENGTHS

    @property
    def in_file(self) -> str:
        """What the file says, in one line; "" where it says nothing."""
        told = [text for part, text in self.stands.items() if text and part != KEY_PART]
        return f"{', '.join(told)} {self.units[self.key]}".replace("\n", ", ").strip() if told else ""

    @property
    def is_changed(self) -> bool:
        """Whether what was typed says something else than the file."""
        return dict(self.typed) != dict(self.stands)

    def with_typed(self, given: Mapping[str, str]) -> Field:
        """The field with what a form gave; a part that the form does not have stays as it stands."""
        typed = {
            part: _tidy(given[name]) if (name := f"{self.name}.{part}" if part else self.name) in given else text
            for part, text in self.stands.items()
        }
        if typed.get(KEY_PART, self.key) not in self.word.keys:
            typed[KEY_PART] = self.key
        return replace(self, typed=typed, is_told=given.get(f"{self.name}.{TOLD_PART}") == "yes")

    def value(self) -> Any:
        """What was typed as a value for the file; None where nothing was. What is no number stays a text."""
        if self.word.kind != "fact":
            return _value(self.typed[""], self.word)
        parts: dict[str, Any] = {part: numeral(self.typed[part]) for part in NUMBERS if self.typed[part]}
        parts |= {part: self.typed[part] for part in FACT_KEYS[3:] if self.typed[part]}
        return parts["nominal"] if parts.keys() == {"nominal"} else Inline(parts) or None

    def puts(self) -> list[Put]:
        """The changes that what was typed asks for; none where it says what the file says.

        What somebody typed, or said is true, is no longer marked as assumed.
        """
        changes = self._changes()
        if self.is_assumed and (changes or self.is_told) and self.value() is not None:
            changes.append(Put((*self.table, self.typed.get(KEY_PART, self.key)), TOLD))
        return changes

    def _changes(self) -> list[Put]:
        if not self.is_changed:
            return []
        value, key, old = self.value(), self.typed.get(KEY_PART, self.key), self.key
        was_there = any(text for part, text in self.stands.items() if part != KEY_PART)
        if value is None:
            return [Put((*self.table, old), None)] if was_there else []
        if key != old and was_there:
            return [Put((*self.table, key), value, instead_of=old)]
        was_fact = isinstance(value, Inline) and any(self.stands[part] for part in (*FACT_KEYS[3:], "low", "high"))
        if was_fact:
            return [
                Put((*self.table, key, part), value.get(part))
                for part in FACT_KEYS
                if self.typed[part] != self.stands[part]
            ]
        return [Put((*self.table, key), value)]


def field_of(
    word: Word, raw: Mapping[str, Any], *, table: tuple[Step, ...], name: str, is_inch: bool, above: Mapping[str, Any]
) -> Field:  # fmt: skip
    """The field of one word.   raw: its table as the TOML library read it.   above: what stands once for every row."""
    key = next((one for one in word.keys if one in raw), "") or _proposed(word, is_inch=is_inch)
    parts: tuple[str, ...] = FACT_KEYS if word.kind == "fact" else ("",)
    stands: dict[str, str] = dict.fromkeys(parts, "")
    if len(word.keys) > 1:
        stands[KEY_PART] = key
    value = raw.get(key)
    if word.kind == "fact" and isinstance(value, Mapping):
        stands |= {part: as_typed(value[part]) for part in FACT_KEYS if part in value}
    elif value is not None:
        stands["nominal" if word.kind == "fact" else ""] = as_typed(value, by_line=CONTROLS[word.kind] != "row")
    stands = {part: _tidy(text) for part, text in stands.items()}
    shared = next((one for one in word.keys if one in above), "")
    words = ""
    if shared:
        unit = unit_words(shared.removeprefix(word.stem).removeprefix("_"))
        one = above[shared]
        words = f"{as_typed(one['nominal'] if isinstance(one, Mapping) else one, by_line=False)} {unit}".strip()
    return Field(
        name=name, table=table, word=word, key=key, typed=stands, stands=stands, above=words,
        is_assumed=is_marked(raw, key),
    )  # fmt: skip


def _proposed(word: Word, *, is_inch: bool) -> str:
    """The key for a value that is not there yet: of the system that the shop types."""
    for key in word.keys:
        if is_inch and key.removeprefix(word.stem).removeprefix("_") in INCH_ENDINGS:
            return key
    return word.key


def as_typed(value: Any, *, by_line: bool = True) -> str:
    """A value of a file as the owner typed it; lists by line, or in one row with commas."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Integer | Float):
        return value.as_string().strip()
    if isinstance(value, list | tuple):
        return ("\n" if by_line else ", ").join(as_typed(one) for one in value)
    if isinstance(value, dt.date):
        return value.isoformat()
    return str(value)


def numeral(text: str) -> Numeral | str:
    """A number as typed, or the text where it is none."""
    tidy = re.sub(r"^([+-]?)\.(?=\d)", r"\g<1>0.", re.sub(r"(?<=\d)\.$", "", text))
    tidy = re.sub(r"^([+-]?)0+(?=\d)", r"\1", tidy)
    return Numeral(tidy) if NUMERAL.fullmatch(tidy) else text


def _tidy(text: str) -> str:
    """What a form sends, with plain line ends and without blanks around."""
    lines = [line.strip() for line in text.replace("\r\n", "\n").replace("\r", "\n").split("\n")]
    while lines and not lines[-1]:
        lines.pop()
    return "\n".join(lines)


def _value(text: str, word: Word) -> Any:
    if not text:
        return None
    if word.kind in ("number", "count"):
        return numeral(text)
    if word.kind in ("numbers", "counts"):
        return [numeral(one) for one in re.split(r"[\s,;]+", text) if one]
    if word.kind == "flag":
        return {"true": True, "false": False}.get(text, text)
    if word.kind in ("texts", "weekdays"):
        return [line for line in text.split("\n") if line or word.stem in WITH_GAPS]
    return text
