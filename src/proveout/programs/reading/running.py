"""A program followed block by block: which block comes next, and what each makes the machine do.

Meaning:  NIST report 6556, 3.5 to 3.8, in the order of its table 8.
Departs:  subprograms (M98 P, M99, blocks that begin with O), calls with arguments (G65), jumps, conditions and loops
          are common practice, no source. The units of a block hold for all numbers in it. A block that a control would
          refuse is told, and the rest is followed all the same. A condition that comes to no number is told and taken
          as not true.
"""

from __future__ import annotations

from dataclasses import dataclass

from proveout.model.course import Course, Note
from proveout.programs.reading.acting import Acting
from proveout.programs.reading.block_words import Words, sort_out
from proveout.programs.reading.blocks import Block, Flow, ProgramText
from proveout.programs.reading.control import Control
from proveout.programs.reading.jumps import Places, number_of
from proveout.programs.reading.laying import laid_along_machine
from proveout.programs.reading.parameters import arguments_of
from proveout.programs.reading.radius import beside_the_contour
from proveout.programs.reading.values import Held, Number, ValueFault, evaluate, whole

BLOCKS_MOST = 1_000_000
JUMPS_BACK_MOST = 50_000
CALLS_DEEP_MOST = 16
"""Our own bounds, so that no program is followed without end."""
NOTES_MOST = 400
CALL_CODE = 65


def follow(program: ProgramText, control: Control, *, skips: bool = False) -> Course:
    """Follow a program to its end.

    Args:     skips: whether blocks that begin with `/` are left out.
    Returns:  what it makes the machine do. Whatever is not known is noted, nothing is raised.
    Valid:    any text; at most BLOCKS_MOST blocks are followed, and JUMPS_BACK_MOST jumps to what was followed before.
    """
    return _Following(program, control, skips=skips).course()


@dataclass
class _Call:
    """A subprogram that is followed.  caller: the block that called it.  left: how often it is still to be repeated.

    arguments: of a G65; None of an M98, which shares its caller's parameters.
    """

    caller: int
    begin: int
    left: int
    arguments: tuple[dict[int, Held], frozenset[int]] | None = None


class _Following:
    def __init__(self, program: ProgramText, control: Control, *, skips: bool) -> None:
        self.blocks = program.blocks
        self.skips = skips
        self.acting = Acting(control)
        self.keeping = self.acting.keeping
        self.parameters = self.keeping.state.parameters
        self.places = Places(self.blocks)
        self.calls: list[_Call] = []
        self.is_done, self.is_stopped = False, False
        self._jumps_back = 0
        self._held_at_jump: dict[tuple[int, ...], tuple[int, ...]] = {}

    def course(self) -> Course:
        at, followed = 0, 0
        begun = False
        while at < len(self.blocks) and not (self.is_done or self.is_stopped):
            block = self.blocks[at]
            followed += 1
            if followed > BLOCKS_MOST:
                self._tell(block, f"more than {BLOCKS_MOST} blocks are followed: does it ever end?")
                break
            if begun and not self.calls and number_of(block) is not None:
                self._tell(block, "the program runs on into the next one: its end word is missing")
                break
            # comments may stand before the first O word
            begun = begun or bool(block.words or block.settings or block.flow is not None)
            if block.can_be_skipped and self.skips:
                at += 1
                continue
            at = self._block(at, block)
        items = laid_along_machine(beside_the_contour(self.keeping.items, self.keeping.tell), self.keeping.state.planes)
        notes = sorted(self.keeping.notes, key=lambda note: (note.line, note.column))
        return Course(items=tuple(items), notes=tuple(_once(notes)), ended=self.is_done)

    def _block(self, at: int, block: Block) -> int:
        """Do what a block says; where it goes on."""
        if len(self.keeping.notes) > 100 * NOTES_MOST:
            self.keeping.notes = list(dict.fromkeys(self.keeping.notes))
        if block.flow is not None:
            to = self._flow(at, block, block.flow)
            if to is not None:
                return self._jumped(at, to)
        behind = _behind_call(block)
        if behind is not None:
            return self._called_with(at, block, behind)
        words = sort_out(block, self.parameters)
        self.acting.block(words, block)
        return self._next(at, words)

    def _tell(self, block: Block, what: str, *, column: int = 1, is_fault: bool = True) -> None:
        kind = "fault" if is_fault else "unknown"
        self.keeping.tell(Note(line=block.line, column=column, kind=kind, what=what))

    # --- jumps, conditions, loops --------------------------------------------------------------------------------
    def _flow(self, at: int, block: Block, flow: Flow) -> int | None:
        """Where a jump, condition or loop leads; None where the words of its block are to be done."""
        if flow.kind == "end":
            if at not in self.places.loop_begins:
                self._tell(block, "this END has no DO of its number before it", column=flow.column)
                return at + 1
            return self.places.loop_begins[at]
        if flow.kind == "do" and at not in self.places.loop_ends:
            self._tell(block, "this DO has no END of its number behind it", column=flow.column)
            return at + 1
        is_true = self._is_true(block, flow)
        if flow.kind == "do":
            return at + 1 if is_true else self.places.loop_ends[at] + 1
        if not is_true:
            return at + 1
        return None if flow.kind == "then" else self._label(at, block, flow)

    def _is_true(self, block: Block, flow: Flow) -> bool:
        if flow.when is None:
            return True
        try:
            return evaluate(flow.when, self.parameters) != 0.0
        except ValueFault as fault:
            what = f"which way it goes is not known, and the condition is taken as not true: {fault}"
            self._tell(block, what, column=flow.column, is_fault=False)
            return False

    def _label(self, at: int, block: Block, flow: Flow) -> int:
        """Where GOTO leads; on where it leads nowhere."""
        assert flow.number is not None
        try:
            number = whole(evaluate(flow.number, self.parameters))
        except ValueFault as fault:
            self._tell(block, f"GOTO: where it goes is not known: {fault}", column=flow.column, is_fault=False)
            return at + 1
        found = None
        if number is not None:
            found = self.places.label(number, program=self.places.program_of(at), behind=at)
        if found is None:
            self._tell(block, f"GOTO: no block of this program has the label N{number}", column=flow.column)
            return at + 1
        return found

    def _jumped(self, at: int, to: int) -> int:
        """A jump is taken; one that leads back with nothing changed that a condition could see never ends."""
        if to > at:
            return to
        self._jumps_back += 1
        key = (at, to, *(n for call in self.calls for n in (call.caller, call.left)))
        held = self.parameters.changes
        if self._held_at_jump.get(key) == held:
            self._tell(self.blocks[at], "it goes back to what it did before with nothing changed: it never ends")
            self.is_stopped = True
        elif self._jumps_back > JUMPS_BACK_MOST:
            what = f"it went back more than {JUMPS_BACK_MOST} times and is followed no further: does it ever end?"
            self._tell(self.blocks[at], what, is_fault=False)
            self.is_stopped = True
        self._held_at_jump[key] = held
        return to

    # --- calls ---------------------------------------------------------------------------------------------------
    def _next(self, at: int, words: Words) -> int:
        """Where it goes on behind a block that was done."""
        block = self.blocks[at]
        stop = words.codes.get("stopping", "")
        if stop in ("M2", "M30"):
            self.is_done = True
            return at
        call = words.codes.get("calls", "")
        if call == "M98":
            begin = self._subprogram("M98", words, words.columns["M98"])
            times = self._times(words)
            return at + 1 if begin is None else self._enter(at, _Call(at, begin, max(times, 1) - 1))
        if call == "M99":
            return self._returned(at, block, words)
        return at + 1

    def _subprogram(self, code: str, words: Words, column: int) -> int | None:
        """Where the subprogram of a call begins, None with a note where it is not in the file."""
        number = whole(words.values.get("P") or 0.0)
        if number is not None and number in self.places.subprograms and words.values.get("P") is not None:
            return self.places.subprograms[number]
        name = "it has no P" if words.values.get("P") is None else f"subprogram {number} is not in this file"
        self.keeping.tell(Note(line=words.line, column=column, kind="unknown", what=f"{code}: {name}"))
        return None

    def _enter(self, at: int, call: _Call) -> int:
        if len(self.calls) >= CALLS_DEEP_MOST:
            self._tell(self.blocks[at], f"subprograms call each other more than {CALLS_DEEP_MOST} deep")
            self.is_stopped = True
            return at
        if call.arguments is not None:
            self.parameters.enter(*call.arguments)
        self.calls.append(call)
        return call.begin

    def _called_with(self, at: int, block: Block, behind: int) -> int:
        """G65: a subprogram with parameters of its own, from the letters behind it."""
        head = [word for word in block.words[behind:] if word.letter in "PL"]
        plain = Block(
            line=block.line, text=block.text, label=None, can_be_skipped=False, words=tuple(head), settings=(),
            comments=block.comments, fault=block.fault,
        )  # fmt: skip
        words = sort_out(plain, self.parameters)
        column = block.words[behind - 1].column
        if behind > 1 or block.settings:
            words.notes.append(
                Note(line=block.line, column=1, kind="unknown", what="what stands beside G65 in its block is not done")
            )
        letters = tuple(word for word in block.words[behind:] if word.letter not in "PL")
        arguments = arguments_of(letters, self.parameters, words)
        begin = self._subprogram("G65", words, column)
        self.keeping.notes.extend(words.notes)
        if begin is None:
            return at + 1
        times = self._times(words)
        return self._enter(at, _Call(at, begin, max(times, 1) - 1, arguments))

    def _times(self, words: Words) -> int:
        """How often a call is done: L, once without it."""
        wanted = words.values.get("L")
        times = 1 if wanted is None else whole(wanted)
        if times is None or times < 1:
            what = f"L{wanted:g} of a call: controls differ on what that does; it is followed once"
            self.keeping.tell(Note(line=words.line, column=1, kind="unknown", what=what))
            return 1
        return times

    def _returned(self, at: int, block: Block, words: Words) -> int:
        """M99: the subprogram is repeated or left; with P it goes on at that label of its caller."""
        if not self.calls and words.values.get("P") is None:
            self._tell(block, "M99 outside a subprogram begins the program again, without end")
            self.is_stopped = True
            return at
        caller = at
        if self.calls:
            call = self.calls[-1]
            if call.arguments is not None:
                self.parameters.leave()
            if call.left > 0:
                call.left -= 1
                if call.arguments is not None:
                    self.parameters.enter(*call.arguments)
                return call.begin
            caller = self.calls.pop().caller
            if words.values.get("P") is None:
                return caller + 1
        number = whole(words.values.get("P") or 0.0)
        found = None
        if number is not None:
            found = self.places.label(number, program=self.places.program_of(caller), behind=caller)
        if found is None:
            self._tell(block, f"M99: no block of the caller has the label N{number}")
            return caller + 1
        return self._jumped(caller, found)


def _behind_call(block: Block) -> int | None:
    """The index of the word behind a G65, None where the block has none."""
    for k, word in enumerate(block.words):
        if word.letter == "G" and isinstance(word.value, Number) and word.value.value == CALL_CODE:
            return k + 1
    return None


def _once(notes: list[Note]) -> list[Note]:
    """Each note once however often its block is followed, and no more than a reader can take in."""
    kept = list(dict.fromkeys(notes))
    if len(kept) <= NOTES_MOST:
        return kept
    last = kept[NOTES_MOST]
    more = Note(line=last.line, column=last.column, kind="unknown", what=f"{len(kept) - NOTES_MOST} more such notes")
    return [*kept[:NOTES_MOST], more]
