"""A batch as its events have left it: where its pieces are, step by step, and its lots outside."""

from __future__ import annotations

from typing import Literal

from proveout.model.batch_events import Check, OpenProof, StepKind
from proveout.model.shop import Noun

BatchState = Literal["asked", "planned", "ready", "released", "running", "away", "counted", "closed"]


class Book(Noun, frozen=True, kw_only=True, tag_field="book", tag=str.lower):
    """Base of what is kept up to date from events."""


class BadCount(Noun, frozen=True, kw_only=True):
    """Bad pieces of one step and one reason."""

    step: str
    reason: str
    count: int


class Waiver(Noun, frozen=True, kw_only=True):
    """A proof that does not hold and the person who answers for it. words: as every paper prints them."""

    proof_id: str
    person: str
    reason: str
    words: str


class StepCount(Noun, frozen=True, kw_only=True):
    """Pieces of a batch at one step of its route.

    in_count: all that ever came, rework too; at the first step the blanks to make, less those not made.
    away_count: at a finisher.   returned_count: of in_count, back from a later step or this one.   unmade_count: blanks
    that were released and never made.   stopped: why work stands still, empty when it does not.
    Since a revision ends: taken_count: left the batch here;  brought_count: of in_count, from another batch;
    kept_count: of those that wait or are away, that are used as they are all the same.
    """

    id: str
    station: str
    kind: StepKind
    in_count: int = 0
    good_count: int = 0
    bad_count: int = 0
    rework_count: int = 0
    away_count: int = 0
    returned_count: int = 0
    unmade_count: int = 0
    taken_count: int = 0
    brought_count: int = 0
    kept_count: int = 0
    is_started: bool = False
    is_done: bool = False
    stopped: str = ""

    @property
    def waiting_count(self) -> int:
        """Pieces that are here and not yet counted on; at the first step also blanks still to make."""
        counted = self.good_count + self.bad_count + self.rework_count + self.taken_count
        return self.in_count - counted - self.away_count


class OutsideLot(Noun, frozen=True, kw_only=True):
    """A lot at a finisher. back_count: as slips said.   missing_count: given up.   rejected_count: good no more."""

    lot: str
    step: str
    finisher: str
    sent_count: int
    promised: str
    back_count: int = 0
    good_count: int = 0
    bad_count: int = 0
    missing_count: int = 0
    rejected_count: int = 0
    claim_until: str = ""

    @property
    def away_count(self) -> int:
        """Pieces that nobody here has counted in or given up."""
        return self.sent_count - self.good_count - self.rejected_count - self.bad_count - self.missing_count

    @property
    def uncounted_count(self) -> int:
        """Pieces that slips say are back, and that nobody has counted."""
        return self.back_count - self.good_count - self.rejected_count - self.bad_count


class Batch(Book, frozen=True, kw_only=True):
    """One batch. opens, waivers: of the plan in force.   place: where its tray stands, empty when nobody said.

    alloy, sections: of the bars that it may be sawn from, empty where its release says nothing.   is_one_heat: all of
    them are of one heat.
    """

    batch: str
    part: str
    revision: str
    wanted_count: int
    due: str
    plan: str = ""
    opens: tuple[OpenProof, ...] = ()
    waivers: tuple[Waiver, ...] = ()
    blanks_count: int = 0
    steps: tuple[StepCount, ...] = ()
    checks: tuple[Check, ...] = ()
    papers: dict[str, str] = {}
    lots: tuple[OutsideLot, ...] = ()
    bad: tuple[BadCount, ...] = ()
    heats: tuple[str, ...] = ()
    alloy: str = ""
    sections: tuple[str, ...] = ()
    is_one_heat: bool = False
    place: str = ""
    is_closed: bool = False

    @property
    def unwaived(self) -> tuple[OpenProof, ...]:
        """Open proofs for which nobody answers."""
        answered = {waiver.proof_id for waiver in self.waivers}
        return tuple(one for one in self.opens if one.id not in answered)

    @property
    def is_released(self) -> bool:
        """Frozen, with its route and papers."""
        return bool(self.steps)

    @property
    def state(self) -> BatchState:
        """Where the batch stands as a whole.

        away: pieces are at finishers and none waits in the shop.   counted: nothing waits and nothing is away, and the
        first step is done.
        """
        if self.is_closed:
            return "closed"
        if not self.is_released:
            return "asked" if not self.plan else "planned" if self.unwaived else "ready"
        if not any(step.is_started for step in self.steps):
            return "released"
        waiting = sum(step.waiting_count for step in self.steps)
        away = sum(step.away_count for step in self.steps)
        if waiting or not self.steps[0].is_done:
            return "running"
        return "away" if away else "counted"
