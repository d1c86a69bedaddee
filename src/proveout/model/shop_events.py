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
        _of_batches(self.shop, self.key, self.batches)
        counted(self.pieces_count, where=f"{self.key}, pieces")


class ValueDeclined(Happening, frozen=True, kw_only=True):
    """The owner did not take over a number that batches told of. now: as it was proposed.   batches: that told of it.

    Until a further batch tells of it too, it is not proposed again.
    """

    shop: str
    key: str
    now: Fact
    batches: tuple[str, ...]
    why: str

    def __post_init__(self) -> None:
        _of_batches(self.shop, self.key, self.batches)
        named(self.why, where=f"{self.key}, why it is declined")


def _of_batches(shop: str, key: str, batches: tuple[str, ...]) -> None:
    named(shop, where="shop")
    named(key, where="key of the shop file")
    if not batches or len(set(batches)) != len(batches):
        raise BadInput("A number is answered for with the batches that told of it, each once", where=key)
    for one in batches:
        named(one, where=f"{key}, batch")


ShopHappening = ValueAccepted | ValueDeclined
