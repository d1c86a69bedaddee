"""The revisions of a part that end, or will, as their events have left them."""

from __future__ import annotations

from proveout.model.batch import Book
from proveout.model.change_events import SolidHeld
from proveout.model.shop import Noun


class Ending(Noun, frozen=True, kw_only=True):
    """One engineering change. id: of its event, which its page is found by.   person: who told it.

    held: what the new solid was held against.   stays: why it was taken back, empty while it stands.
    """

    id: str
    ends: str
    begins: str
    from_day: str
    why: str
    person: str
    held: tuple[SolidHeld, ...] = ()
    stays: str = ""

    @property
    def stands(self) -> bool:
        """Nobody took it back."""
        return not self.stays

    def holds_on(self, day: str) -> bool:
        """Whether the old revision is over on a day. day: ISO date."""
        return self.stands and day >= self.from_day


class Revisions(Book, frozen=True, kw_only=True):
    """All changes of one part, in the order in which they were told."""

    part: str
    endings: tuple[Ending, ...] = ()

    def ending_of(self, revision: str) -> Ending | None:
        """The change that stands by which a revision ends; None where it goes on."""
        return next((one for one in self.endings if one.ends == revision and one.stands), None)
