"""What an engineering change does: a revision of a part ends, its pieces find their end, or it stays after all."""

from __future__ import annotations

from typing import Final, Literal

from proveout.model.batch_events import Happening, fingerprinted, reasoned
from proveout.model.written import counted, dated, named
from proveout.quantities.errors import BadInput

Fate = Literal["use as they are", "go on in another batch", "set aside", "scrap"]
"""What becomes of half-made pieces of a revision that ends."""
StockFate = Literal["use as they are", "set aside", "scrap"]
"""What becomes of pieces in stock."""
KEPT: Final = "use as they are"
ASIDE: Final = "set aside"
GO_ON: Fate = "go on in another batch"


class RevisionEnds(Happening, frozen=True, kw_only=True):
    """From a day on nothing of a revision of a part is begun any more, and another one takes its place.

    ends, begins: the revisions, as release writes them.   from_day: ISO date, the first day of the new one.
    """

    part: str
    ends: str
    begins: str
    from_day: str
    why: str

    def __post_init__(self) -> None:
        named(self.part, where="part")
        for revision in (self.ends, self.begins):
            named(revision, where=f"part {self.part}, revision")
        if self.ends == self.begins:
            raise BadInput("A revision does not follow upon itself", where=f"part {self.part}", value=self.ends,
                           do="name the new revision")  # fmt: skip
        dated(self.from_day, where=f"part {self.part}, the day from which revision {self.begins} holds")
        if not self.from_day:
            raise BadInput("A change needs its day", where=f"part {self.part}", limit="YYYY-MM-DD")
        reasoned(self.why, where=f"part {self.part}, why revision {self.ends} ends")


class SolidHeld(Happening, frozen=True, kw_only=True):
    """The new solid was held against a plan of the revision that ends.

    plan, solid, found: fingerprints of the plan, of the new STEP file, and of what was found, kept beside the plans.
    """

    part: str
    ends: str
    plan: str
    solid: str
    found: str

    def __post_init__(self) -> None:
        named(self.part, where="part")
        named(self.ends, where=f"part {self.part}, revision")
        for digest in (self.plan, self.solid, self.found):
            fingerprinted(digest, where=f"part {self.part}, the solid held against it")


class RevisionStays(Happening, frozen=True, kw_only=True):
    """A change is taken back: the revision does not end."""

    part: str
    ends: str
    why: str

    def __post_init__(self) -> None:
        named(self.part, where="part")
        named(self.ends, where=f"part {self.part}, revision")
        reasoned(self.why, where=f"part {self.part}, why revision {self.ends} stays")


class PiecesSettled(Happening, frozen=True, kw_only=True):
    """The person of this event says what becomes of pieces that wait at a step, since their revision ends.

    to_batch: in which pieces go on, empty for any other fate.   heats: those that go on may be of.
    """

    step: str
    count: int
    fate: Fate
    why: str
    to_batch: str = ""
    heats: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        counted(self.count, where=f"step {self.step}, pieces", least=1)
        reasoned(self.why, where=f"step {self.step}, {self.fate}")
        if (self.fate == GO_ON) != bool(self.to_batch):
            raise BadInput("Pieces that go on need another batch, others need none", where=f"step {self.step}",
                           value=self.to_batch or "none", limit=self.fate)  # fmt: skip


class StockSettled(Happening, frozen=True, kw_only=True):
    """The person of this event says what becomes of pieces in stock, since their revision ends."""

    item: str
    place: str
    count: int
    fate: StockFate
    why: str

    def __post_init__(self) -> None:
        named(self.item, where="stock")
        named(self.place, where=f"{self.item}, place")
        counted(self.count, where=f"{self.item}, pieces", least=1)
        reasoned(self.why, where=f"{self.item}, {self.fate}")


ChangeHappening = RevisionEnds | SolidHeld | RevisionStays | PiecesSettled | StockSettled
