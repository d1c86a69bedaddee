"""What batches tell of the shop's own numbers, before the owner takes any of it over."""

from __future__ import annotations

from typing import Literal, get_args

from msgspec.structs import replace

from proveout.model.fact import Fact
from proveout.model.shop import Noun

LearnedKind = Literal["minutes", "bench", "days", "scrap", "growth", "thickness", "pressure"]
"""All that batches may tell. What holds the work is not among it: friction, clamp forces and grips are told by pull
tests alone, and no batch that went well makes any of them larger. How hard a metal pushes back, "pressure", is told by
what spindles' meters read in a cut, never by a batch that went well."""
KINDS: tuple[LearnedKind, ...] = get_args(LearnedKind)


class Key(Noun, frozen=True, kw_only=True):
    """One number of the shop. of: machine, finisher or alloy, empty where there is one;  stem: which of its numbers."""

    kind: LearnedKind
    of: str = ""
    stem: str = ""

    @property
    def words(self) -> str:
        """As it is named on the command line and in the record."""
        return ".".join(part for part in (self.kind, self.of, self.stem) if part)

    @property
    def group(self) -> str:
        """Numbers that are off together are learned together: all of a machine, all of the bench; others alone."""
        return replace(self, stem="").words


def key_of(words: str) -> Key | None:
    """The key of those words; None for words of none."""
    said, _, rest = words.partition(".")
    kind: LearnedKind | None = next((one for one in KINDS if one == said), None)
    if kind is None:
        return None
    if kind == "minutes":
        of, _, stem = rest.rpartition(".")
        return Key(kind=kind, of=of, stem=stem)
    return Key(kind=kind, stem=rest) if kind == "bench" else Key(kind=kind, of=rest)


class Proposal(Noun, frozen=True, kw_only=True):
    """A number as it is written and as it would be. was: None where nothing is written and `taken` counts instead.

    batches: that tell of it, in order of time;  pieces_count: in them;  events_count: counts, cycles, slips, readings.
    worth_count: batches, or pieces of a share, that what was written weighs as much as.   cautions: what contradicts.
    is_writable: False where the number stands in no shop file.   how: its ends were found, where that needs saying.
    at_mm: thickness of the coat of which it was read, None for what is no coat.   rows: what is written into the shop
    file in place of the number, where it rests on rows of its own: each with its keys.
    """

    key: Key
    text: str
    was: Fact | None
    taken: Fact
    now: Fact
    batches: tuple[str, ...]
    pieces_count: int
    events_count: int
    worth_count: float
    cautions: tuple[str, ...]
    is_writable: bool
    how: str = ""
    at_mm: float | None = None
    rows: tuple[dict[str, float | str], ...] = ()


class Declined(Noun, frozen=True, kw_only=True):
    """A proposal that somebody did not take over; no further batch has told of it since."""

    proposal: Proposal
    person: str
    why: str


class Coverage(Noun, frozen=True, kw_only=True):
    """Of one sort of planned interval in closed batches: how many there were, and how many held what happened."""

    text: str
    held_count: int
    count: int


class Lesson(Noun, frozen=True, kw_only=True):
    """All proposals. unread: batches left out, with why.   silent: numbers of which batches say too little, and why.

    declined: what the owner did not take over.   coverage: how planned intervals of those batches held.
    """

    shop: str
    batches: tuple[str, ...]
    proposals: tuple[Proposal, ...]
    unread: tuple[str, ...]
    silent: tuple[str, ...]
    declined: tuple[Declined, ...] = ()
    coverage: tuple[Coverage, ...] = ()
