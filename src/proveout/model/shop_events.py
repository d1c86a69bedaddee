"""What happens to the shop's own numbers, by their owner's word."""

from __future__ import annotations

from proveout.model.batch_events import Happening
from proveout.model.fact import Fact
from proveout.model.written import counted, named
from proveout.quantities.errors import BadInput


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


ShopHappening = ValueAccepted
