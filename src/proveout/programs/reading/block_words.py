"""The words of one block as numbers: which codes it names, and what its letters come to."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from proveout.model.course import Note
from proveout.programs.reading.blocks import Block
from proveout.programs.reading.control import GROUP_OF, LETTERS, ONCE
from proveout.programs.reading.values import Held, ValueFault, evaluate, evaluate_held, parameter_number

CODE_WITHIN = 1e-4


@dataclass
class Words:
    """A block sorted out.

    codes: G and M words by their group (a word in force on its line alone under its own name).  own: words of the
    control's own or of nobody, in order, with their columns.  values: by letter, None where it comes to no number.
    columns: by letter or code.  settings: parameters and what they are set to, None for empty.  lost: parameters set to
    what comes to no number.
    """

    line: int
    codes: dict[str, str] = field(default_factory=dict)
    own: list[tuple[str, int]] = field(default_factory=list)
    values: dict[str, float | None] = field(default_factory=dict)
    columns: dict[str, int] = field(default_factory=dict)
    notes: list[Note] = field(default_factory=list)
    settings: dict[int, Held] = field(default_factory=dict)
    lost: set[int] = field(default_factory=set)

    def note(self, kind: str, what: str, at: str = "") -> None:
        """Keep a note about a letter or code of this line, or about the whole."""
        column = self.columns.get(at, 1)
        self.notes.append(
            Note(line=self.line, column=column, kind="fault" if kind == "fault" else "unknown", what=what)
        )

    def has(self, letters: str) -> bool:
        """Whether any of the letters stands in the block."""
        return any(letter in self.values for letter in letters)


def sort_out(block: Block, parameters: Mapping[int, Held]) -> Words:
    """The words of a block with their values, reckoned before any parameter of the block is set.

    What comes to no number keeps its letter with None and leaves a note; what is empty is left out. Nothing is raised.
    """
    words = Words(line=block.line)
    if block.fault is not None:
        words.notes.append(
            Note(line=block.line, column=block.fault.column, kind="unknown", what=f"not understood: {block.fault.what}")
        )
    for word in block.words:
        try:
            value = evaluate_held(word.value, parameters)
            if value is None:
                continue
        except ValueFault as fault:
            value = None
            words.notes.append(
                Note(line=block.line, column=word.column, kind="unknown", what=f"{word.letter}: {fault}")
            )
        if word.letter in "GM":
            _code(words, word.letter, value, word.column)
        elif word.letter not in LETTERS:
            words.own.append((word.letter, word.column))
        elif word.letter in words.values:
            words.columns[word.letter] = word.column
            words.note("fault", f"{word.letter} stands twice in one block", word.letter)
        else:
            words.values[word.letter] = value
            words.columns[word.letter] = word.column
    for setting in block.settings:
        try:
            number = parameter_number(evaluate(setting.number, parameters))
        except ValueFault as fault:
            words.notes.append(Note(line=block.line, column=setting.column, kind="unknown", what=str(fault)))
            continue
        words.lost.discard(number)
        try:
            words.settings[number] = evaluate_held(setting.value, parameters)
        except ValueFault as fault:
            words.settings.pop(number, None)
            words.lost.add(number)
            words.notes.append(Note(line=block.line, column=setting.column, kind="unknown", what=f"#{number}: {fault}"))
    return words


def _code(words: Words, letter: str, value: float | None, column: int) -> None:
    if value is None:
        return
    tenths = round(value * 10.0)
    if abs(value * 10.0 - tenths) > 10.0 * CODE_WITHIN or tenths < 0:
        words.own.append((f"{letter}{value:g}", column))
        return
    code = f"{letter}{tenths // 10}" if tenths % 10 == 0 else f"{letter}{tenths / 10:.1f}"
    group = GROUP_OF.get(code, code if code in ONCE else "")
    if not group:
        words.own.append((code, column))
        return
    words.columns[code] = column
    if group == "coolant" and group in words.codes and "M9" not in (code, words.codes[group]):
        return  # mist and flood may come together
    if group in words.codes and words.codes[group] != code:
        words.note("fault", f"{words.codes[group]} and {code} exclude each other in one block", code)
        return
    words.codes[group] = code
