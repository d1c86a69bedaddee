"""What differs between two plans, and nothing of what does not."""

from __future__ import annotations

from typing import Literal

from proveout.model.plan import Window
from proveout.model.proof import Proof
from proveout.model.shop import Noun
from proveout.model.work import Pass

Ends = tuple[float, float]


class Swap(Noun, frozen=True, kw_only=True):
    """A choice that came out otherwise. old, new: ids or words, empty where there is none."""

    what: str
    old: str
    new: str


class Shift(Noun, frozen=True, kw_only=True):
    """A number that came out otherwise. old, new: its low and high end in `unit`, None where it is not known.

    is_new, is_gone: only one of the plans has such a number at all.
    """

    what: str
    unit: str
    old: Ends | None
    new: Ends | None
    is_new: bool = False
    is_gone: bool = False


class ProofChange(Noun, frozen=True, kw_only=True):
    """One proof before and after. old: None for one that is new; new: None for one that is gone."""

    old: Proof | None
    new: Proof | None

    @property
    def shown(self) -> Proof:
        """The one to name it by: as it is now, else as it was."""
        one = self.new if self.new is not None else self.old
        assert one is not None
        return one

    @property
    def kind(self) -> Literal["new", "gone", "verdict", "margin"]:
        """What of it changed; the verdict before the margin."""
        if self.old is None:
            return "new"
        if self.new is None:
            return "gone"
        return "verdict" if self.old.verdict != self.new.verdict else "margin"

    @property
    def stands_in_the_way(self) -> bool:
        """Whether it now stops the release and did not before."""
        stops = self.new is not None and self.new.blocks_release and self.new.verdict != "holds"
        return stops and (self.old is None or self.old.verdict == "holds" or not self.old.blocks_release)


class PassChange(Noun, frozen=True, kw_only=True):
    """One pass before and after; None where it is new or gone. numbers: of one that stays, what moved.

    are_moves_other: its moves are not the same ones.
    """

    old: Pass | None
    new: Pass | None
    numbers: tuple[Shift, ...] = ()
    are_moves_other: bool = False

    @property
    def shown(self) -> Pass:
        """The one to name it by."""
        one = self.new if self.new is not None else self.old
        assert one is not None
        return one


class SizeChange(Noun, frozen=True, kw_only=True):
    """One size before the coat, before and after; None where it is new or gone."""

    old: Window | None
    new: Window | None

    @property
    def shown(self) -> Window:
        """The one to name it by."""
        one = self.new if self.new is not None else self.old
        assert one is not None
        return one


class Differences(Noun, frozen=True, kw_only=True):
    """From one plan to another. All of it is empty when both say the same.

    choices, numbers: decisions.   proofs: weakest first as they stand now, those that are gone last.
    minutes, money, dates: what the decisions come to.   ready: before and after, None where it is the same.
    """

    choices: tuple[Swap, ...] = ()
    numbers: tuple[Shift, ...] = ()
    passes: tuple[PassChange, ...] = ()
    proofs: tuple[ProofChange, ...] = ()
    sizes: tuple[SizeChange, ...] = ()
    minutes: tuple[Shift, ...] = ()
    money: tuple[Shift, ...] = ()
    dates: tuple[Swap, ...] = ()
    ready: tuple[bool, bool] | None = None

    @property
    def is_empty(self) -> bool:
        """Nothing differs."""
        return self == Differences()

    @property
    def stopping(self) -> tuple[ProofChange, ...]:
        """Proofs that now stop the release and did not before."""
        return tuple(change for change in self.proofs if change.stands_in_the_way)
