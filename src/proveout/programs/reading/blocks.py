"""Program text taken apart into blocks of words, parameter settings and comments; nothing is executed here.

Meaning:  NIST report 6556, 3.3: spaces and tabs count for nothing outside comments, letters may be small or large,
          `/` first makes a block one that can be skipped, `N` labels it, `(` to `)` is a comment, `%` alone on a line
          begins and ends the program.
Departs:  `;` begins a comment to the end of its line, a label may have any digits, and what a parameter is set to may
          be a sum without brackets, as many controls have it (common practice, no source). `O` is a word like any
          other here. A line may be longer than 256 characters. A block that breaks a rule keeps the words before the
          fault, and the next is read on. `GOTO`, `IF [..] GOTO`, `IF [..] THEN`, `WHILE [..] DO`, `DO` and `END` are
          common practice, no source. A comparison beside another, or beside AND, OR or XOR, in one pair of brackets is
          a fault: controls differ in which they do first.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Literal

from proveout.programs.reading.values import BETWEEN, NAMED, SIGN, Number, Operation, Parameter, Value

# our own bounds, so that no text can take the reader long or deep
CHARACTERS_MOST = 4096  # a line
NESTED_MOST = 40
_DIGITS = re.compile(r"[0-9]+\.?[0-9]*|\.[0-9]+")
_LABEL = re.compile(r"[0-9]+")
_NAMES = sorted(NAMED, key=lambda name: -len(name))
_SIGNS = sorted(BETWEEN, key=lambda name: -len(name))
_COMPARISONS = frozenset({"EQ", "NE", "GT", "GE", "LT", "LE"})
_LOGICAL = frozenset({"AND", "OR", "XOR"})


@dataclass(frozen=True)
class Word:
    """A letter and its value; column counts from 1."""

    letter: str
    value: Value
    column: int


@dataclass(frozen=True)
class Setting:
    """A parameter that a block sets: which, and to what."""

    number: Value
    value: Value
    column: int


FlowKind = Literal["goto", "then", "do", "end"]


@dataclass(frozen=True)
class Flow:
    """Which block comes next.

    kind: a jump to a label, the rest of its own block, or the beginning or end of a loop.   when: what must be true
    for it, None for always.   number: of the label or of the loop, None behind THEN.
    """

    kind: FlowKind
    when: Value | None
    number: Value | None
    column: int


@dataclass(frozen=True)
class Fault:
    """What is wrong, and where; line and column count from 1."""

    line: int
    column: int
    what: str


@dataclass(frozen=True)
class Block:
    """One line of the program.

    fault: None when every character of the line was understood.   flow: None where simply the next line follows.
    """

    line: int
    text: str
    label: int | None
    can_be_skipped: bool
    words: tuple[Word, ...]
    settings: tuple[Setting, ...]
    comments: tuple[str, ...]
    fault: Fault | None
    flow: Flow | None = None


@dataclass(frozen=True)
class ProgramText:
    """A program's blocks in order without blank lines; ends_at: the line of the `%` that ends it, None without one."""

    blocks: tuple[Block, ...]
    ends_at: int | None

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What was not understood, in order."""
        return tuple(block.fault for block in self.blocks if block.fault is not None)


def lines_of(text: str) -> list[str]:
    """The lines of a program as they are counted, without their ends; one more, empty, behind a last line end."""
    return re.split(r"\r\n|\r|\n", text)


def read_program(text: str) -> ProgramText:
    """Take a program apart.

    Args:     text: the whole file; any line ends.
    Returns:  its blocks. What is not understood stands in the block it belongs to; nothing is raised.
    Valid:    any text; linear in its length.
    """
    blocks: list[Block] = []
    is_between_signs = False
    for number, line in enumerate(lines_of(text.removeprefix("\ufeff")), start=1):
        bare = line.strip()
        if not bare:
            continue
        if bare == "%":
            if is_between_signs:
                return ProgramText(tuple(blocks), number)
            if not blocks:
                is_between_signs = True
                continue
        blocks.append(_Reader(number, line).block())
    return ProgramText(tuple(blocks), None)


class _Broken(Exception):
    """The rest of the line is not understood."""

    def __init__(self, what: str, at: int) -> None:
        super().__init__(what)
        self.what, self.at = what, at


@dataclass
class _Found:
    label: int | None = None
    can_be_skipped: bool = False
    words: list[Word] = field(default_factory=list)
    settings: list[Setting] = field(default_factory=list)
    comments: list[str] = field(default_factory=list)
    flow: Flow | None = None


class _Reader:
    """One line, without its spaces and comments, and where in the line each character left stood."""

    def __init__(self, line_number: int, line: str) -> None:
        self.line_number, self.line = line_number, line
        self.found = _Found()
        self.at = 0
        self.text, self.columns = "", [0]
        self.ill_comment: tuple[str, int] | None = None

    def block(self) -> Block:
        fault = None
        try:
            self._strip()
            self._items()
        except _Broken as broken:
            column = self.columns[min(broken.at, len(self.columns) - 1)] + 1
            fault = Fault(self.line_number, column, broken.what)
        if fault is None and self.ill_comment is not None:
            fault = Fault(self.line_number, self.ill_comment[1] + 1, self.ill_comment[0])
        found = self.found
        return Block(
            line=self.line_number,
            text=self.line,
            label=found.label,
            can_be_skipped=found.can_be_skipped,
            words=tuple(found.words),
            settings=tuple(found.settings),
            comments=tuple(found.comments),
            fault=fault,
            flow=found.flow,
        )

    def _strip(self) -> None:
        if len(self.line) > CHARACTERS_MOST:
            raise _Broken(f"the line has {len(self.line)} characters; {CHARACTERS_MOST} are read", 0)
        kept = list(self._kept())
        self.text = "".join(letter for _, letter in kept)
        self.columns = [*(column for column, _ in kept), len(self.line)]

    def _kept(self) -> Iterator[tuple[int, str]]:
        """The characters outside comments that count, upper case, with their places."""
        at = 0
        while at < len(self.line):
            letter = self.line[at]
            if letter == ";":
                self.found.comments.append(self.line[at + 1 :].strip())
                return
            if letter == "(":
                end = self.line.find(")", at)
                inner = self.line[at + 1 : end if end >= 0 else len(self.line)]
                if end < 0 or "(" in inner:
                    what = "never closed" if end < 0 else "opened again before it is closed"
                    self.ill_comment = f"a comment is {what}", at
                    return
                self.found.comments.append(inner.strip())
                at = end + 1
                continue
            if not letter.isspace():
                # upper() may make two letters of one; what is not plain is told as it stands
                yield at, letter.upper() if letter.isascii() else letter
            at += 1

    def _items(self) -> None:
        if self._next("/"):
            self.found.can_be_skipped = True
        if self.text[self.at : self.at + 1] == "N":
            label = _LABEL.match(self.text, self.at + 1)
            if label is None:
                raise _Broken("N has no whole number behind it", self.at)
            self.found.label = int(label[0])
            self.at = label.end()
        while self.at < len(self.text):
            begin = self.at
            letter = self.text[begin]
            column = self.columns[begin] + 1
            if letter in "DEGIW" and self._flow(column):
                continue
            if letter == "#":
                self.at += 1
                number = self._value(0)
                if not self._next("="):
                    raise _Broken("a parameter is named and no = follows", self.at)
                self.found.settings.append(Setting(number, self._sum(0), column))
            elif "A" <= letter <= "Z" and letter != "N":
                self.at += 1
                self.found.words.append(Word(letter, self._value(0), column))
            elif letter == "N":
                raise _Broken("a label stands behind other words", begin)
            else:
                raise _Broken(f"{letter!r} begins no word", begin)

    def _flow(self, column: int) -> bool:
        """Whether a jump, a condition or a loop stands here; it is taken then."""
        begin, when = self.at, None
        kind: FlowKind = "goto"
        if self.text.startswith("IF[", self.at):
            self.at += 2
            when = self._bracket("IF", 0)
            if self._next("THEN"):
                kind = "then"
            elif not self._next("GOTO"):
                raise _Broken("neither THEN nor GOTO follows a condition", self.at)
        elif self._next("WHILE"):
            when, kind = self._bracket("WHILE", 0), "do"
            if not self._next("DO"):
                raise _Broken("WHILE has no DO behind its condition", self.at)
        elif self._next("DO"):
            kind = "do"
        elif self._next("END"):
            kind = "end"
        elif not self._next("GOTO"):
            return False
        if self.found.flow is not None or self.found.words or self.found.settings:
            raise _Broken("a jump, a condition or a loop stands behind other words", begin)
        self.found.flow = Flow(kind, when, None if kind == "then" else self._value(0), column)
        return True

    def _next(self, sign: str) -> bool:
        if self.text.startswith(sign, self.at):
            self.at += len(sign)
            return True
        return False

    def _value(self, depth: int) -> Value:
        """A number, a parameter, an expression or a named operation, perhaps with a sign before it."""
        if depth > NESTED_MOST:
            raise _Broken(f"brackets and signs are nested more than {NESTED_MOST} deep", self.at)
        begin = self.at
        if self._next("-"):
            value = self._value(depth + 1)
            return Number(-value.value) if isinstance(value, Number) else Operation(SIGN, (value,))
        if self._next("+"):
            return self._value(depth + 1)
        digits = _DIGITS.match(self.text, self.at)
        if digits is not None:
            self.at = digits.end()
            if not math.isfinite(float(digits[0])):
                raise _Broken("the number is too large", begin)
            return Number(float(digits[0]))
        if self._next("#"):
            return Parameter(self._value(depth + 1))
        if self._next("["):
            return self._inside(depth)
        for name in _NAMES:
            if self._next(name):
                first = self._bracket(name, depth)
                if name != "ATAN":
                    return Operation(name, (first,))
                if not self._next("/"):
                    raise _Broken("ATAN takes two values in brackets, parted by /", self.at)
                return Operation(name, (first, self._bracket(name, depth)))
        raise _Broken("a number is missing", begin)

    def _bracket(self, name: str, depth: int) -> Value:
        if not self._next("["):
            raise _Broken(f"{name} has no [ behind it", self.at)
        return self._inside(depth)

    def _inside(self, depth: int) -> Value:
        """What stands up to the ] that closes the [ just passed."""
        value = self._sum(depth + 1)
        if not self._next("]"):
            what = "a [ is never closed" if self.at >= len(self.text) else "an operation or ] is missing"
            raise _Broken(what, self.at)
        return value

    def _sum(self, depth: int) -> Value:
        """Values with operations between them, as far as they go."""
        values = [self._value(depth)]
        signs: list[str] = []
        while sign := next((sign for sign in _SIGNS if self._next(sign)), ""):
            signs.append(sign)
            values.append(self._value(depth))
        compared = [sign for sign in signs if sign in _COMPARISONS]
        if len(compared) > 1 or (compared and not _LOGICAL.isdisjoint(signs)):
            raise _Broken("a comparison needs brackets of its own beside AND, OR, XOR or another comparison", self.at)
        for rank in sorted({rank for rank, _ in BETWEEN.values()}):
            values, signs = _joined(values, signs, rank)
        return values[0]


def _joined(values: list[Value], signs: list[str], rank: int) -> tuple[list[Value], list[str]]:
    """The operations of one rank done, from the left."""
    left, waiting = [values[0]], []
    for sign, value in zip(signs, values[1:], strict=True):
        if BETWEEN[sign][0] == rank:
            left[-1] = Operation(sign, (left[-1], value))
        else:
            left.append(value)
            waiting.append(sign)
    return left, waiting
