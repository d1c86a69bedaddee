"""Pieces of a revision that ends, stage by stage: where they are, what they tie up, what can become of them."""

from __future__ import annotations

from proveout.model.batch import BatchState
from proveout.model.batch_events import StepKind
from proveout.model.change_events import Fate, StockFate
from proveout.model.fact import Fact
from proveout.model.proof import Verdict
from proveout.model.revision import Revision
from proveout.model.revision_book import Ending
from proveout.model.shop import Noun


class Way(Noun, frozen=True, kw_only=True):
    """One thing that can become of pieces. verdict: None where only a person can say.   batches: to go on in."""

    fate: Fate
    verdict: Verdict | None
    why: str
    batches: tuple[str, ...] = ()


class Settling(Noun, frozen=True, kw_only=True):
    """What somebody said of pieces. id: of the event."""

    id: str
    step: str
    count: int
    fate: Fate
    why: str
    to_batch: str
    person: str


class Stage(Noun, frozen=True, kw_only=True):
    """Pieces of a batch at one step. at: where they lie, as far as it is known.   behind: steps that they have passed.

    cut: of those, the ones that make or grip what changed.   each_s, each_money: in one piece, None where not shown;
    lacks: what is not in them.
    """

    step: str
    station: str
    kind: StepKind
    at: str
    waiting_count: int
    away_count: int
    kept_count: int
    behind: tuple[str, ...]
    cut: tuple[str, ...]
    each_s: Fact | None
    each_money: Fact | None
    lacks: tuple[str, ...]
    ways: tuple[Way, ...]

    @property
    def count(self) -> int:
        """All that are here or away from here."""
        return self.waiting_count + self.away_count

    @property
    def open_count(self) -> int:
        """Those of which nobody has said anything yet."""
        return self.count - self.kept_count


class HalfMade(Noun, frozen=True, kw_only=True):
    """One open batch of the revision that ends. touched: steps of its route that make or grip what changed.

    revision: the new solid against its plan, None where nobody held it against it.   papers: of its packet that change.
    lost: why its packet cannot be read, empty when it can.   finished_count: through the last step.
    """

    batch: str
    state: BatchState
    place: str
    plan: str
    currency: str
    revision: Revision | None
    touched: tuple[str, ...]
    papers: tuple[str, ...]
    stages: tuple[Stage, ...]
    settled: tuple[Settling, ...]
    finished_count: int
    lost: str = ""

    @property
    def open_count(self) -> int:
        """Pieces of which nobody has said what becomes of them."""
        return sum(one.open_count for one in self.stages)


class InStock(Noun, frozen=True, kw_only=True):
    """Stock of the revision that ends, in one place. kept_count, aside_count: of count, as somebody said of them."""

    item: str
    sort: str
    name: str
    place: str
    count: int
    kept_count: int = 0
    aside_count: int = 0

    @property
    def open_count(self) -> int:
        """Those of which nobody has said anything yet."""
        return self.count - self.kept_count - self.aside_count


class StockSaid(Noun, frozen=True, kw_only=True):
    """What somebody said of pieces in stock. id: of the event."""

    id: str
    item: str
    place: str
    count: int
    fate: StockFate
    why: str
    person: str


class ChangeTold(Noun, frozen=True, kw_only=True):
    """One engineering change with everything that it meets. new_plan: where the plan of the new revision is, in words.

    unreleased: batches of the old revision that are asked for and not released.
    """

    part: str
    ending: Ending
    new_plan: str
    batches: tuple[HalfMade, ...]
    unreleased: tuple[str, ...]
    stock: tuple[InStock, ...]
    stock_said: tuple[StockSaid, ...] = ()

    @property
    def open_count(self) -> int:
        """Half-made pieces of which nobody has said what becomes of them."""
        return sum(one.open_count for one in self.batches)

    @property
    def stock_open_count(self) -> int:
        """Pieces in stock of which nobody has said what becomes of them."""
        return sum(one.open_count for one in self.stock)
