"""What happens to the shop's own numbers and to a machine's offsets, by a person's word."""

from __future__ import annotations

import math

from proveout.model.batch_events import Happening
from proveout.model.fact import Fact
from proveout.model.written import counted, named
from proveout.quantities.errors import BadInput, OutOfRange

OFFSET_MOST_MM = 0.1
"""No wear offset is changed by more at once: beyond it something else is wrong (our own)."""


class ValueAccepted(Happening, frozen=True, kw_only=True):
    """The owner took over a number that batches told of. key: its path in the shop file.   shop: the shop's name.

    was: as the file had it, None where it had nothing;  now: as it is written there.   batches: that told of it.
    """

    shop: str
    key: str
    was: Fact | None
    now: Fact
    batches: tuple[str, ...]
    pieces_count: int

    def __post_init__(self) -> None:
        named(self.shop, where="shop")
        named(self.key, where="key of the shop file")
        counted(self.pieces_count, where=f"{self.key}, pieces")
        if not self.batches or len(set(self.batches)) != len(self.batches):
            raise BadInput("A number is taken over with the batches that told of it, each once", where=self.key)
        for one in self.batches:
            named(one, where=f"{self.key}, batch")


class OffsetChanged(Happening, frozen=True, kw_only=True):
    """A wear offset of a cutter was changed by what readings said. added_mm: signed.   mark: the size that asked.

    asked_by: whoever read the chart; the person of this event is another one, who looked as well.
    """

    machine: str
    cutter: str
    mark: str
    added_mm: float
    asked_by: str

    def __post_init__(self) -> None:
        for name, what in ((self.machine, "machine"), (self.cutter, "cutter"), (self.mark, "mark"),
                           (self.asked_by, "who asked")):  # fmt: skip
            named(name, where=what)
        if not (math.isfinite(self.added_mm) and 0.0 < abs(self.added_mm) <= OFFSET_MOST_MM):
            raise OutOfRange("A change of an offset is out of range", where=f"{self.machine}, {self.cutter}",
                             value=f"{self.added_mm:+g} mm", limit=f"at most {OFFSET_MOST_MM:g} mm, not 0")  # fmt: skip


ShopHappening = ValueAccepted | OffsetChanged
