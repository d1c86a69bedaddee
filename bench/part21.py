"""A small reader of ISO 10303-21 text: instances and their arguments, with no CAD kernel and none of our own reader."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

_TOKEN = re.compile(
    r"\s*(?:/\*.*?\*/\s*)*(?:(?P<string>'(?:[^']|'')*')|#(?P<ref>\d+)|(?P<enum>\.[A-Z0-9_]+\.)"
    r"|(?P<number>[-+]?\d+(?:\.\d*)?(?:[eE][-+]?\d+)?)|(?P<name>[A-Z][A-Z0-9_]*)|(?P<binary>\"[0-9A-F]*\")"
    r"|(?P<sign>[()=;,$*]))",
    re.DOTALL,
)


class Ref(int):
    """The number of an instance."""


@dataclass(frozen=True)
class Typed:
    """A value with its type written before it, as LENGTH_MEASURE(35.)."""

    name: str
    values: tuple[Any, ...]


@dataclass(frozen=True)
class Instance:
    """One instance: arguments by the name of each of its records; a simple one has a single record."""

    number: int
    records: dict[str, tuple[Any, ...]] = field(default_factory=dict)

    def any(self, *names: str) -> tuple[Any, ...] | None:
        """Arguments of the first of these records that it has."""
        return next((self.records[name] for name in names if name in self.records), None)


def instances(path: Path) -> dict[int, Instance]:
    """Every instance of the file's data sections by its number."""
    return instances_of(path.read_bytes().decode("utf-8", errors="replace"))


def instances_of(text: str) -> dict[int, Instance]:
    """Every instance of the text's data sections by its number."""
    found: dict[int, Instance] = {}
    for section in re.findall(r"\bDATA\s*(?:\([^;]*\))?\s*;(.*?)\bENDSEC\s*;", text, re.DOTALL):
        tokens = _Tokens(section)
        while tokens.kind is not None:
            one = _instance(tokens)
            found[one.number] = one
    return found


class _Tokens:
    """The token at hand and the way to the next."""

    def __init__(self, text: str) -> None:
        self._text, self._at = text, 0
        self.kind: str | None = None
        self.word = ""
        self.step()

    def step(self) -> None:
        match = _TOKEN.match(self._text, self._at)
        if match is None:
            if self._text[self._at :].strip():
                message = f"no token at {self._text[self._at : self._at + 40]!r}"
                raise ValueError(message)
            self.kind, self.word = None, ""
            return
        self._at = match.end()
        self.kind = match.lastgroup
        self.word = match[self.kind or ""]

    def take(self, word: str) -> None:
        if self.word != word or self.kind != "sign":
            message = f"{word!r} is wanted where {self.word!r} stands"
            raise ValueError(message)
        self.step()


def _instance(tokens: _Tokens) -> Instance:
    number = int(tokens.word)
    tokens.step()
    tokens.take("=")
    records: dict[str, tuple[Any, ...]] = {}
    if tokens.kind == "sign":
        tokens.take("(")
        while tokens.kind == "name":
            name = tokens.word
            tokens.step()
            records[name] = _list(tokens)
        tokens.take(")")
    else:
        name = tokens.word
        tokens.step()
        records[name] = _list(tokens)
    tokens.take(";")
    return Instance(number, records)


def _list(tokens: _Tokens) -> tuple[Any, ...]:
    tokens.take("(")
    values: list[Any] = []
    while not (tokens.kind == "sign" and tokens.word == ")"):
        values.append(_value(tokens))
        if tokens.kind == "sign" and tokens.word == ",":
            tokens.step()
    tokens.take(")")
    return tuple(values)


def _value(tokens: _Tokens) -> Any:
    kind, word = tokens.kind, tokens.word
    if kind == "sign" and word == "(":
        return _list(tokens)
    tokens.step()
    if kind == "ref":
        return Ref(word)
    if kind == "number":
        return float(word)
    if kind == "string":
        return word[1:-1].replace("''", "'")
    if kind == "name":
        return Typed(word, _list(tokens))
    return None if word == "$" else word
