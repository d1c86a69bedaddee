"""A program followed block by block: which block comes next, and what each makes the machine do.

Meaning:  NIST report 6556, 3.5 to 3.8, in the order of its table 8.
Departs:  subprograms (M98 P, M99, blocks that begin with O) are common practice, no source. The units of a block hold
          for all numbers in it. A block that a control would refuse is told, and the rest is followed all the same.
"""

from __future__ import annotations

from proveout.model.course import Course, Note
from proveout.programs.reading.acting import Acting
from proveout.programs.reading.block_words import Words, sort_out
from proveout.programs.reading.blocks import Block, ProgramText
from proveout.programs.reading.control import Control
from proveout.programs.reading.radius import beside_the_contour
from proveout.programs.reading.values import Number, whole

BLOCKS_MOST = 1_000_000
CALLS_DEEP_MOST = 16
"""Our own bounds, so that no program is followed without end."""
NOTES_MOST = 400


def follow(program: ProgramText, control: Control, *, skips: bool = False) -> Course:
    """Follow a program to its end.

    Args:     skips: whether blocks that begin with `/` are left out.
    Returns:  what it makes the machine do. Whatever is not known is noted, nothing is raised.
    Valid:    any text; at most BLOCKS_MOST blocks are followed.
    """
    return _Following(program, control, skips=skips).course()


class _Following:
    def __init__(self, program: ProgramText, control: Control, *, skips: bool) -> None:
        self.blocks = program.blocks
        self.skips = skips
        self.acting = Acting(control)
        self.keeping = self.acting.keeping
        self.subprograms = {
            number: at for at, block in enumerate(self.blocks) if (number := _number(block)) is not None
        }
        self.is_done = False

    def course(self) -> Course:
        at, calls, followed = 0, [], 0
        begun = False
        while at < len(self.blocks) and not self.is_done:
            block = self.blocks[at]
            followed += 1
            if followed > BLOCKS_MOST:
                self._tell(block, f"more than {BLOCKS_MOST} blocks are followed: does it ever end?")
                break
            if begun and not calls and _number(block) is not None:
                self._tell(block, "the program runs on into the next one: its end word is missing")
                break
            begun = True
            if block.can_be_skipped and self.skips:
                at += 1
                continue
            words = sort_out(block, self.keeping.state.parameters)
            self.acting.block(words, block)
            at = self._next(at, words, calls)
        items = tuple(beside_the_contour(self.keeping.items, self.keeping.tell))
        notes = sorted(self.keeping.notes, key=lambda note: (note.line, note.column))
        return Course(items=items, notes=tuple(_once(notes)), ended=self.is_done)

    def _tell(self, block: Block, what: str) -> None:
        self.keeping.tell(Note(line=block.line, column=1, kind="fault", what=what))

    def _next(self, at: int, words: Words, calls: list[list[int]]) -> int:
        """Where it goes on; `calls`: where each call came from and how often it is still to be repeated."""
        block = self.blocks[at]
        stop = words.codes.get("stopping", "")
        if stop in ("M2", "M30"):
            self.is_done = True
            return at
        call = words.codes.get("calls", "")
        if call == "M98":
            number = whole(words.values.get("P") or 0.0)
            times = whole(words.values.get("L") or 1.0) or 1
            if number is None or number not in self.subprograms:
                name = "it has no P" if words.values.get("P") is None else f"subprogram {number} is not in this file"
                self.keeping.tell(
                    Note(line=block.line, column=words.columns["M98"], kind="unknown", what=f"M98: {name}")
                )
                return at + 1
            if len(calls) >= CALLS_DEEP_MOST:
                self._tell(block, f"subprograms call each other more than {CALLS_DEEP_MOST} deep")
                self.is_done = True
                return at
            calls.append([at, self.subprograms[number], max(times, 1) - 1])
            return self.subprograms[number]
        if call == "M99":
            if not calls:
                self._tell(block, "M99 outside a subprogram begins the program again, without end")
                self.is_done = True
                return at
            if calls[-1][2] > 0:
                calls[-1][2] -= 1
                return calls[-1][1]
            return calls.pop()[0] + 1
        return at + 1


def _number(block: Block) -> int | None:
    """The number of the program that begins with a block."""
    first = block.words[0] if block.words else None
    if first is None or first.letter != "O" or not isinstance(first.value, Number):
        return None
    return whole(first.value.value)


def _once(notes: list[Note]) -> list[Note]:
    """Each note once however often its block is followed, and no more than a reader can take in."""
    kept = list(dict.fromkeys(notes))
    if len(kept) <= NOTES_MOST:
        return kept
    last = kept[NOTES_MOST]
    more = Note(line=last.line, column=last.column, kind="unknown", what=f"{len(kept) - NOTES_MOST} more such notes")
    return [*kept[:NOTES_MOST], more]
