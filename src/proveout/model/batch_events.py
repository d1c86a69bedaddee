"""What happens to a batch inside the shop, as it is written down: release, counts, readings, stops."""

from __future__ import annotations

import re
from typing import Literal

from proveout.model.proof import Verdict
from proveout.model.shop import Noun
from proveout.model.written import counted, dated, named
from proveout.quantities.errors import BadInput

StepKind = Literal["saw", "mill", "bench", "cabinet", "inspection", "outside", "packing"]
REASON_LENGTH, REASON_MOST = 10, 300
"""A written reason has at least so many signs: "ok" is none. It stands on every paper, and so has no more than that."""
_SHA256 = re.compile(r"[0-9a-f]{64}")


def spoken(name: str) -> str:
    """The word for a kind of event as it is written: "reading taken" for ReadingTaken."""
    return re.sub(r"(?<!^)([A-Z])", r" \1", name).lower()


class Happening(Noun, frozen=True, kw_only=True, tag_field="what", tag=spoken):
    """Base of what can happen."""


def fingerprinted(digest: str, *, where: str) -> None:
    """Refuse what is no sha256 in small letters.

    Raises:   BadInput.
    """
    if not _SHA256.fullmatch(digest):
        raise BadInput("A fingerprint is needed", where=where, value=repr(digest[:70]), limit="sha256, 64 signs 0-f")


def reasoned(reason: str, *, where: str) -> None:
    """Refuse a reason of fewer than REASON_LENGTH signs, or of more than REASON_MOST.

    Raises:   BadInput.
    """
    if not REASON_LENGTH <= len(reason.strip()) <= REASON_MOST:
        raise BadInput("A written reason is needed", where=where, value=repr(reason[:REASON_MOST]),
                       limit=f"{REASON_LENGTH} to {REASON_MOST} signs")  # fmt: skip


class OpenProof(Noun, frozen=True, kw_only=True):
    """A proof that blocks release and does not hold. may_waive: a named person's written reason may stand for it."""

    id: str
    claim: str
    verdict: Verdict
    may_waive: bool


class RouteStep(Noun, frozen=True, kw_only=True):
    """One line of the route card. id: unlike any other of the route.  station: where it is done; a finisher's id."""

    id: str
    station: str
    kind: StepKind
    text: str

    def __post_init__(self) -> None:
        named(self.id, where="a step of the route")
        named(self.station, where=f"step {self.id}, station")


class Check(Noun, frozen=True, kw_only=True):
    """One characteristic measured at a step, with the limits that hold there.

    mark: balloon and letter.   low, high: what passes, both among it.   react_low, react_high: beyond these somebody
    is told though the piece passes; None where nothing is said.   unit: of all of them and of every reading.
    names_gauge: every reading names its gauge, one that is known and in date.
    """

    step: str
    mark: str
    text: str
    low: float | None
    high: float | None
    react_low: float | None = None
    react_high: float | None = None
    unit: str = "mm"
    names_gauge: bool = False

    def __post_init__(self) -> None:
        named(self.mark, where=f"a check of step {self.step}")
        ends = [self.low, self.react_low, self.react_high, self.high]
        there = [end for end in ends if end is not None]
        if not there or there != sorted(there):
            raise BadInput(
                "A check needs a limit, and its reaction limits inside it", where=f"check {self.mark}",
                value=", ".join("none" if end is None else f"{end:g}" for end in ends),
                limit="low <= react low <= react high <= high",
            )  # fmt: skip


class Asked(Happening, frozen=True, kw_only=True):
    """Somebody wants so many pieces of a part at a revision. due: ISO date, empty when not said."""

    part: str
    revision: str
    wanted_count: int
    due: str = ""

    def __post_init__(self) -> None:
        named(self.part, where="part")
        named(self.revision, where=f"part {self.part}, revision")
        counted(self.wanted_count, where=f"part {self.part}, pieces wanted", least=1)
        dated(self.due, where=f"part {self.part}, due")


class Planned(Happening, frozen=True, kw_only=True):
    """The batch has a plan. plan: its fingerprint.   opens: proofs that block release and do not hold."""

    plan: str
    opens: tuple[OpenProof, ...] = ()

    def __post_init__(self) -> None:
        fingerprinted(self.plan, where="plan")
        ids = [one.id for one in self.opens]
        if len(set(ids)) != len(ids):
            raise BadInput("An open proof is named twice", where="plan", value=", ".join(ids))


class Waived(Happening, frozen=True, kw_only=True):
    """The person of this event answers for a proof that does not hold, in writing; printed on every paper."""

    proof_id: str
    reason: str

    def __post_init__(self) -> None:
        reasoned(self.reason, where=f"proof {self.proof_id}")


class Released(Happening, frozen=True, kw_only=True):
    """The plan becomes a batch to run, and nothing of it changes any more.

    plan, revision: those planned and asked.   blanks_count: to saw, spares among them.   route: in order of work.
    papers: fingerprint of every file that goes to the floor, by its name.   alloy, sections: of the bars that the plan
    is sawn from, empty where it says nothing of them.   is_one_heat: all of them are of one heat, that is read off.
    first_through: the clampings that the first piece goes through before the second is cut, in their order; empty where
    the batch is run as one that ran well before.   is_measured_daily: after a night the next piece is a first again.
    """

    plan: str
    revision: str
    blanks_count: int
    route: tuple[RouteStep, ...]
    checks: tuple[Check, ...]
    papers: dict[str, str]
    alloy: str = ""
    sections: tuple[str, ...] = ()
    is_one_heat: bool = False
    first_through: tuple[str, ...] = ()
    is_measured_daily: bool = False

    def __post_init__(self) -> None:
        fingerprinted(self.plan, where="plan")
        counted(self.blanks_count, where="blanks to saw", least=1)
        steps = [step.id for step in self.route]
        if not steps or len(set(steps)) != len(steps):
            raise BadInput(
                "A route needs steps, each with its own name", where="route", value=", ".join(steps) or "no step"
            )
        if list(self.first_through) != [step.id for step in self.route if step.id in self.first_through]:
            raise BadInput("The first piece goes through steps of the route, in their order", where="first piece",
                           value=", ".join(self.first_through), limit=", ".join(steps))  # fmt: skip
        marks = [(check.step, check.mark) for check in self.checks]
        if len(set(marks)) != len(marks) or not {check.step for check in self.checks} <= set(steps):
            raise BadInput(
                "A check needs a step of the route and its own mark there", where="checks",
                value=", ".join(f"{mark} at {step}" for step, mark in marks),
            )  # fmt: skip
        if not self.papers:
            raise BadInput("A batch is released with its papers", where="papers", value="none")
        for name, digest in self.papers.items():
            fingerprinted(digest, where=f"paper {name}")


class Started(Happening, frozen=True, kw_only=True):
    """Work on the batch begins at a step, or at a clamping that needs a start again: after its first piece, after other
    work on its machine, or where the table is filled otherwise.
    """

    step: str


class Bad(Noun, frozen=True, kw_only=True):
    """Pieces that are lost, and why."""

    reason: str
    count: int

    def __post_init__(self) -> None:
        named(self.reason, where="reason of a bad piece")
        counted(self.count, where=f"bad, {self.reason}", least=1)


class Rework(Noun, frozen=True, kw_only=True):
    """Pieces that go back to a step, the same or an earlier one, and why."""

    to_step: str
    reason: str
    count: int

    def __post_init__(self) -> None:
        named(self.reason, where="reason of rework")
        counted(self.count, where=f"rework, {self.reason}", least=1)


class EdgeUse(Noun, frozen=True, kw_only=True):
    """Seconds that one cutter of a machine was in cut. is_reckoned: by the plan at its worst end, not measured."""

    machine: str
    cutter: str
    used_s: float
    is_reckoned: bool = False

    def __post_init__(self) -> None:
        named(self.machine, where="machine")
        named(self.cutter, where="cutter")
        if self.used_s < 0.0:
            raise BadInput("A cutter cannot be used backwards", where=self.cutter, value=f"{self.used_s:g} s")


class Counted(Happening, frozen=True, kw_only=True):
    """Pieces that left a step: good to the next one, bad for ever, back for rework. used: what it took of cutters."""

    step: str
    good_count: int = 0
    bad: tuple[Bad, ...] = ()
    rework: tuple[Rework, ...] = ()
    used: tuple[EdgeUse, ...] = ()

    def __post_init__(self) -> None:
        counted(self.good_count, where=f"step {self.step}, good")
        if not self.good_count and not self.bad and not self.rework:
            raise BadInput("Nothing was counted", where=f"step {self.step}", limit="at least one piece")

    @property
    def pieces_count(self) -> int:
        """All of them, whatever became of each."""
        return self.good_count + sum(one.count for one in (*self.bad, *self.rework))


class Packed(Happening, frozen=True, kw_only=True):
    """Pieces went into a box. code: on its label.

    place: where the box stands, from when on they are stock of that part and revision; empty in events of before boxed
    pieces were stock, which hold no part either. part, revision: of the batch; a tablet leaves them to the desk.
    """

    step: str
    count: int
    code: str = ""
    place: str = ""
    part: str = ""
    revision: str = ""

    def __post_init__(self) -> None:
        counted(self.count, where=f"step {self.step}, packed", least=1)
        for what, words in (("box", self.code), ("place", self.place)):
            if words:
                named(words, where=f"step {self.step}, {what}")


class ReadingTaken(Happening, frozen=True, kw_only=True):
    """A size was read. piece: which one, empty when nobody said.   lot: of a finisher, empty inside the shop.

    gauge: by which, empty where nobody said.
    """

    step: str
    mark: str
    value: float
    piece: str = ""
    lot: str = ""
    gauge: str = ""


class Ran(Happening, frozen=True, kw_only=True):
    """One cycle of a machine, as its own stream told it. program: empty when not shown.   pieces_count: it made.

    begun: UTC, ISO 8601.   run_s: while it ran;  held_s: while it stood between begin and end, held_count: how often.
    """

    step: str
    program: str
    begun: str
    run_s: float
    held_s: float = 0.0
    held_count: int = 0
    pieces_count: int = 1

    def __post_init__(self) -> None:
        counted(self.held_count, where=f"step {self.step}, interruptions")
        counted(self.pieces_count, where=f"step {self.step}, pieces of a cycle", least=1)
        if self.run_s <= 0.0 or self.held_s < 0.0:
            raise BadInput("A cycle takes time", where=f"step {self.step}",
                           value=f"{self.run_s:g} s, held {self.held_s:g} s")  # fmt: skip


class Stopped(Happening, frozen=True, kw_only=True):
    """Work at a step stands still and somebody has been told.

    is_moved: work, vise or zero may stand elsewhere than they were measured; by its words it may mean that without it.
    """

    step: str
    why: str
    told: str
    is_moved: bool = False

    def __post_init__(self) -> None:
        named(self.why, where=f"step {self.step}, why it stopped")
        named(self.told, where=f"step {self.step}, who was told")


class Resumed(Happening, frozen=True, kw_only=True):
    """Work at a stopped step goes on. why: what was done about it."""

    step: str
    why: str

    def __post_init__(self) -> None:
        named(self.why, where=f"step {self.step}, why it goes on")


class Done(Happening, frozen=True, kw_only=True):
    """Nothing more of the batch will be done at a step."""

    step: str


class Closed(Happening, frozen=True, kw_only=True):
    """The batch is put away. why: anything to remember, may be empty."""

    why: str = ""


def waiver_words(*, person: str, waived: Waived, claim: str) -> str:
    """A waiver as every paper prints it."""
    return f"Released although not shown or failing: {claim} ({waived.proof_id}). {person}: {waived.reason.strip()}"


BatchHappening = (
    Asked | Planned | Waived | Released | Started | Counted | Packed | ReadingTaken | Ran | Stopped | Resumed | Done
    | Closed
)  # fmt: skip
