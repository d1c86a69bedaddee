"""What happens to a lot at an outside finisher."""

from __future__ import annotations

from proveout.model.batch_events import Bad, Happening
from proveout.model.written import counted, dated, named
from proveout.quantities.errors import BadInput


class SentOut(Happening, frozen=True, kw_only=True):
    """A lot leaves for a finisher. step: of the route.   promised: day it is to be back, empty when nobody promised."""

    step: str
    lot: str
    finisher: str
    count: int
    promised: str = ""

    def __post_init__(self) -> None:
        named(self.lot, where="lot")
        named(self.finisher, where=f"lot {self.lot}, finisher")
        counted(self.count, where=f"lot {self.lot}, sent", least=1)
        dated(self.promised, where=f"lot {self.lot}, promised")


class CameBack(Happening, frozen=True, kw_only=True):
    """Pieces of a lot stand in the shop again, as many as the finisher's slip says; nobody has counted them yet."""

    lot: str
    count: int

    def __post_init__(self) -> None:
        counted(self.count, where=f"lot {self.lot}, back", least=1)


class CountedIn(Happening, frozen=True, kw_only=True):
    """Pieces of a lot that is back, counted here. What the slip says beyond that is short, and stays away."""

    lot: str
    good_count: int
    bad: tuple[Bad, ...] = ()

    def __post_init__(self) -> None:
        counted(self.good_count, where=f"lot {self.lot}, good")
        if not self.good_count and not self.bad:
            raise BadInput("Nothing was counted", where=f"lot {self.lot}", limit="at least one piece")


class Rejected(Happening, frozen=True, kw_only=True):
    """Pieces counted in as good turn out not to be, and the finisher is told. claim_until: last day for that."""

    lot: str
    count: int
    reason: str
    claim_until: str = ""

    def __post_init__(self) -> None:
        counted(self.count, where=f"lot {self.lot}, rejected", least=1)
        named(self.reason, where=f"lot {self.lot}, reason")
        dated(self.claim_until, where=f"lot {self.lot}, claim until")


class GivenUp(Happening, frozen=True, kw_only=True):
    """Pieces of a lot that will not come back any more: they count as bad."""

    lot: str
    count: int
    reason: str

    def __post_init__(self) -> None:
        counted(self.count, where=f"lot {self.lot}, given up", least=1)
        named(self.reason, where=f"lot {self.lot}, reason")


OutsideHappening = SentOut | CameBack | CountedIn | Rejected | GivenUp
