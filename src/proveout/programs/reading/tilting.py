"""Calls of a tilted plane, as the machine's description declares them."""

from __future__ import annotations

import math

import numpy as np

from proveout.model.program_style import TiltedPlane
from proveout.programs.reading.block_words import Words
from proveout.programs.reading.keeping import Keeping
from proveout.programs.reading.moving import Moving
from proveout.programs.reading.turned import Plane, square_to, turn_by

ALWAYS_ALLOWED = frozenset("FST")


class Tilting:
    """Calls, turns to and leaves tilted planes in one control's state."""

    def __init__(self, keeping: Keeping, moving: Moving) -> None:
        self.keeping, self.moving = keeping, moving
        self.meaning = keeping.control.tilted_plane

    def is_own(self, word: str) -> bool:
        """Whether a word of the control's own belongs to its tilted planes."""
        meaning = self.meaning
        return meaning is not None and bool(word) and word in (meaning.call, meaning.cancel, meaning.turn_word)

    def run(self, words: Words) -> bool:
        """Do what the block says of a tilted plane; whether that takes the block's axis words."""
        own = {word for word, _ in words.own}
        meaning = self.meaning
        if meaning is None or own.isdisjoint((meaning.call, meaning.cancel, meaning.turn_word)):
            return False
        if self.keeping.beside is not None:
            words.note("fault", "a tilted plane is called or left while the cutter's radius is allowed for")
        if meaning.cancel in own:
            self._leave()
        if meaning.call in own:
            self._call(words, meaning)
            return True
        if meaning.turn_word and meaning.turn_word in own:
            self._stray(words, meaning.turn_word, "")
            self._turn(words, meaning.turn_word)
            return True
        return False

    def _leave(self) -> None:
        state = self.keeping.state
        before = state.frame()
        state.plane = None
        state.stays(before)

    def _call(self, words: Words, meaning: TiltedPlane) -> None:
        state = self.keeping.state
        letters = "".join(letter for letter, _ in meaning.angles) + "".join(meaning.shift)
        self._stray(words, meaning.call, letters)
        if state.plane is not None:
            words.note("fault", f"a tilted plane is called and that of line {state.plane.line} was not left before")
        if any(state.shift_mm):
            words.note("fault", "a tilted plane is called while a shift of G92 is in force")
        unit = self.keeping.unit_mm(words) if words.has("".join(meaning.shift)) else 1.0
        shift = [0.0 if not letter else words.values.get(letter, 0.0) for letter in meaning.shift]
        degrees = [words.values.get(letter, 0.0) for letter, _ in meaning.angles]
        turn = np.full((3, 3), np.nan)
        if None not in degrees:
            turn = turn_by(
                [(axis, math.radians(value or 0.0)) for (_, axis), value in zip(meaning.angles, degrees, strict=True)],
                each_as_turned=meaning.about == "axes as turned so far",
            )  # fmt: skip
        x, y, z = (None if value is None else value * unit for value in shift)
        before = state.frame()
        state.plane = Plane(number=len(state.planes) + 1, line=words.line, turn=turn, shift_mm=(x, y, z))
        state.planes[state.plane.number] = state.plane
        state.stays(before)
        if meaning.rotary == "turn with the call":
            self._turn(words, meaning.call)

    def _stray(self, words: Words, code: str, letters: str) -> None:
        """Letters that the description does not name beside a word of tilted planes."""
        for letter in words.values:
            if letter not in letters and letter not in ALWAYS_ALLOWED:
                words.note("unknown", f"what {letter} means beside {code} is not declared", letter)

    def _turn(self, words: Words, code: str) -> None:
        """Turn the rotary axes so that the cutter stands square to the plane."""
        state, meaning = self.keeping.state, self.meaning
        assert meaning is not None
        if state.plane is None:
            words.note("fault", f"{code} turns to a tilted plane and none was called")
            return
        a, b, c = state.turned
        normal = state.plane.turn[:, 2]
        if a is None or c is None or b is None or b != 0.0 or np.isnan(normal).any():
            words.note("unknown", f"to where {code} turns the rotary axes is not known")
            self.moving.turn_to([None, b, None], words, "rapid", moves_too=False)
            return
        a, c = square_to(
            normal, now=(a, c), a_is_positive=meaning.a_is_positive, a_travel_rad=self.keeping.control.a_travel_rad
        )
        self.moving.turn_to([a, b, c], words, "rapid", moves_too=False)
