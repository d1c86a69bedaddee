"""What a control's parameters hold while a program is followed, and those of its own that a call has.

Meaning:  a call with arguments (G65) has parameters 1 to 33 of its own until it is left: those that its letters name,
          the others empty. Letters name them so: A 1, B 2, C 3, I 4, J 5, K 6, D 7, E 8, F 9, H 11, M 13, Q 17 and on
          to Z 26; where I, J and K stand more than once each further group of three goes on behind the last, to 33
          (common practice of the trade, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from proveout.programs.reading.block_words import Words
from proveout.programs.reading.blocks import Word
from proveout.programs.reading.values import Held, ValueFault, evaluate_held

OWN_MOST = 33
ARGUMENTS = {
    "A": 1, "B": 2, "C": 3, "I": 4, "J": 5, "K": 6, "D": 7, "E": 8, "F": 9, "H": 11, "M": 13, "Q": 17, "R": 18,
    "S": 19, "T": 20, "U": 21, "V": 22, "W": 23, "X": 24, "Y": 25, "Z": 26,
}  # fmt: skip
"""The parameter that a letter of a call names; G, L, N, O and P name none."""


class Parameters(Mapping[int, Held]):
    """By number what each is known to hold; one that is missing was never set, and nobody knows what it holds."""

    def __init__(self, known: Mapping[int, float]) -> None:
        self._shared: dict[int, Held] = dict(known)
        self._own: list[dict[int, Held]] = []
        self._changes = [0]

    @property
    def changes(self) -> tuple[int, ...]:
        """How often any came to hold something else: the shared ones, then those of each call that is followed."""
        return tuple(self._changes)

    def __getitem__(self, number: int) -> Held:
        return self._place_of(number)[number]

    def __contains__(self, number: object) -> bool:
        return isinstance(number, int) and number in self._place_of(number)

    def __iter__(self) -> Iterator[int]:
        own = self._own[-1] if self._own else {}
        return iter(sorted({*own, *(n for n in self._shared if not own or n > OWN_MOST)}))

    def __len__(self) -> int:
        return sum(1 for _ in self)

    def _changed(self, place: dict[int, Held]) -> None:
        self._changes[0 if place is self._shared else -1] += 1

    def _place_of(self, number: int) -> dict[int, Held]:
        return self._own[-1] if self._own and number <= OWN_MOST else self._shared

    def put(self, number: int, value: Held) -> None:
        """Let one hold a value from now on."""
        place = self._place_of(number)
        if number not in place or place[number] != value:
            place[number] = value
            self._changed(place)

    def forget(self, number: int) -> None:
        """Nobody knows any longer what it holds."""
        place = self._place_of(number)
        if number in place:
            del place[number]
            self._changed(place)

    def enter(self, arguments: Mapping[int, Held], unknown: frozenset[int]) -> None:
        """A call with arguments begins; `unknown`: arguments that came to no number."""
        every: dict[int, Held] = {n: arguments.get(n) for n in range(1, OWN_MOST + 1) if n not in unknown}
        self._own.append(every)
        self._changes.append(0)

    def leave(self) -> None:
        """The call ends: its own parameters are gone."""
        self._own.pop()
        self._changes.pop()


def arguments_of(
    words: tuple[Word, ...], parameters: Mapping[int, Held], told: Words
) -> tuple[dict[int, Held], frozenset[int]]:
    """What the letters behind a G65 give, and the parameters whose argument comes to no number.

    words: those behind the G65, its P and L left out.   told: takes notes.
    """
    found: dict[int, Held] = {}
    unknown: set[int] = set()
    triples = dict.fromkeys("IJK", 0)
    for word in words:
        letter = word.letter
        told.columns[letter] = word.column
        number = ARGUMENTS.get(letter)
        if number is None:
            told.note("fault", f"{letter} names no parameter of a call", letter)
            continue
        if letter in triples:
            number += 3 * triples[letter]
            triples[letter] += 1
        if number > OWN_MOST:
            told.note("fault", f"{letter} stands more often in a call than there are parameters", letter)
            continue
        if number in found or number in unknown:
            told.note("fault", f"{letter} gives parameter {number} a second argument", letter)
        try:
            found[number] = evaluate_held(word.value, parameters)
        except ValueFault as fault:
            found.pop(number, None)
            unknown.add(number)
            told.note("unknown", f"{letter}: {fault}", letter)
    return found, frozenset(unknown)
