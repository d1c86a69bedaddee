"""What is kept while a program is followed: the control's state, what happened so far, and what was noted."""

from __future__ import annotations

from proveout.model.course import Event, EventKind, Motion, Note, Turning
from proveout.programs.reading.block_words import Words
from proveout.programs.reading.control import GROUPS, Control
from proveout.programs.reading.radius import Beside
from proveout.programs.reading.state import State
from proveout.quantities.units import MM_PER_INCH


class Keeping:
    """The state of a control, with the items and notes that fill up.

    heading: the last comment.  beside: side and radius of the compensation in force, None without.  slanted: the tilted
    plane of which it was told that the cutter does not stand square to it.
    """

    def __init__(self, control: Control) -> None:
        self.control = control
        self.state = State.at_start(control)
        self.items: list[Motion | Turning | Event | Beside] = []
        self.notes: list[Note] = []
        self.heading = ""
        self.beside: tuple[int, float] | None = None
        self.slanted = 0
        self._asked: set[str] = set()

    def tell(self, note: Note) -> None:
        """Keep a note."""
        self.notes.append(note)

    def event(self, words: Words, kind: EventKind, value: float = 0.0) -> None:
        """Keep something that happens besides motion."""
        self.items.append(
            Event(line=words.line, kind=kind, value=value, modes=self.state.modes(), heading=self.heading)
        )

    def in_force(self, group: str, words: Words, instead: str, why: str) -> str:
        """The word of a group that is in force; where nobody said, the one assumed, told once."""
        word = self.state.words[group]
        if word:
            return word
        if group not in self._asked:
            self._asked.add(group)
            names = ", ".join(GROUPS[group][:2]) if group != "plane" else "G17, G18 or G19"
            words.note("unknown", f"{why}, and no {names} came before: {instead} is assumed")
        return instead

    def unit_mm(self, words: Words) -> float:
        """Length of one unit of the program."""
        return MM_PER_INCH if self.in_force("units", words, "G21", "a length is written") == "G20" else 1.0

    def feed_mm_per_s(self, words: Words, length_mm: float | None) -> float | None:
        """The feed in force for a move of a length; None with a note where nobody can know it."""
        state = self.state
        mode = self.in_force("feed", words, "G94", "a feed is needed")
        feed = state.feed if mode != "G93" else words.values.get("F")
        if feed is None:
            words.note(
                "fault", "this move needs a feed and no F gives one" + (" in its block" if mode == "G93" else "")
            )
            return None
        if feed <= 0.0:
            words.note("fault", f"a feed of {feed:g} moves nothing", "F")
            return None
        if mode == "G93":
            return None if length_mm is None else length_mm * feed / 60.0
        each = feed * self.unit_mm(words)
        if mode == "G95":
            each *= state.speed_per_min
        return each / 60.0 if each > 0.0 else None
