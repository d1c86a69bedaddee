"""Where jumps of a program lead: its subprograms, the labels of each, and which END belongs to which DO.

Meaning:  common practice of the trade, no source. A program goes from one O block to the next. A jump looks for its
          label behind itself first, then from the beginning of its program. An END belongs to the nearest DO of its
          number before it that is still open.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence

from proveout.programs.reading.blocks import Block
from proveout.programs.reading.values import Number, whole


class Places:
    """The places in a program that something can lead to, as indices of its blocks.

    subprograms: by number, their O block.   loop_ends: by DO, its END.   loop_begins: by END, its DO.
    """

    def __init__(self, blocks: Sequence[Block]) -> None:
        self.subprograms: dict[int, int] = {}
        self.loop_ends: dict[int, int] = {}
        self.loop_begins: dict[int, int] = {}
        self._program_begins = [0]
        self._labels: dict[tuple[int, int], list[int]] = {}
        waiting: list[tuple[int, int]] = []
        for at, block in enumerate(blocks):
            number = number_of(block)
            if number is not None:
                self.subprograms[number] = at
                waiting = []
                if at:
                    self._program_begins.append(at)
            if block.label is not None:
                self._labels.setdefault((self.program_of(at), block.label), []).append(at)
            loop = _loop_number(block)
            if loop is None or block.flow is None:
                continue
            if block.flow.kind == "do":
                waiting.append((loop, at))
            elif loop in (number for number, _ in waiting):
                while True:
                    other, begin = waiting.pop()
                    if other == loop:
                        break
                self.loop_ends[begin], self.loop_begins[at] = at, begin

    def program_of(self, at: int) -> int:
        """Which program of the file a block stands in, counted from 0."""
        return bisect_right(self._program_begins, at) - 1

    def label(self, number: int, *, program: int, behind: int) -> int | None:
        """The block with a label, the first behind a place or else the first of the program; None without one."""
        found = self._labels.get((program, number), [])
        return next((at for at in found if at > behind), found[0] if found else None)


def number_of(block: Block) -> int | None:
    """The number of the program that begins with a block."""
    first = block.words[0] if block.words else None
    if first is None or first.letter != "O" or not isinstance(first.value, Number):
        return None
    return whole(first.value.value)


def _loop_number(block: Block) -> int | None:
    """The number of a DO or END; one that is no plain number names no loop."""
    flow = block.flow
    if flow is None or flow.kind not in ("do", "end") or not isinstance(flow.number, Number):
        return None
    return whole(flow.number.value)
