"""What a whole folder of parts comes to: the keys of catalogue.json."""

from __future__ import annotations

from typing import Literal

from proveout.model.fact import Fact
from proveout.model.proof import Proof
from proveout.model.shop import Noun

EntryKind = Literal["order", "job", "solid"]
EntryState = Literal["ready", "not ready", "refused", "failed"]


class CataloguePart(Noun, frozen=True, kw_only=True):
    """One planned part. folder: of its result, inside the catalogue's.  open_count: blocking proofs that do not hold.

    piece_s: seconds of machine and hand a piece.  cost_each, batch: money, None where the shop's figures are of another
    metal.  machine_ids: in the order of the clampings.
    """

    number: str
    name: str
    revision: str
    quantity: int
    folder: str
    ready: bool
    open_count: int
    weakest: str
    machine_ids: tuple[str, ...]
    piece_s: Fact | None
    cost_each: Fact | None
    batch: Fact | None


class CatalogueEntry(Noun, frozen=True, kw_only=True):
    """One file of the folder and what came of it. path: below the folder that was planned, with slashes.

    state: "refused" as bad input, "failed" by a fault of the program; `said` then tells why.
    """

    path: str
    kind: EntryKind
    folder: str
    state: EntryState
    said: str = ""
    parts: tuple[CataloguePart, ...] = ()


class SharedCutter(Noun, frozen=True, kw_only=True):
    """A cutter and the parts that use it on one machine. place: in the changer for good, None where it comes and goes.

    piece_s: seconds that it runs a piece, by part in the order of `parts`; None where they are not known.
    """

    cutter_id: str
    parts: tuple[str, ...]
    piece_s: tuple[float | None, ...]
    place: int | None


class Changer(Noun, frozen=True, kw_only=True):
    """The changer of one machine over all parts: what stays, and how many are loaded when each part is run once.

    guests: by part, ids that are loaded for it.  status: "cannot" where `too_many` parts need more cutters than there
    are places.
    """

    machine_id: str
    places_count: int
    cutters: tuple[SharedCutter, ...]
    guests: dict[str, tuple[str, ...]]
    loads_count: int
    bound_count: int
    status: Literal["proved", "not proved", "cannot"]
    too_many: tuple[str, ...] = ()

    @property
    def cutters_count(self) -> int:
        """Cutters over all parts."""
        return len(self.cutters)

    @property
    def key(self) -> str:
        """What stays, as a line for the machine in the shop file; empty where nothing does."""
        by_place = {cutter.place: cutter.cutter_id for cutter in self.cutters if cutter.place is not None}
        ids = [f'"{by_place.get(place, "")}"' for place in range(1, max(by_place, default=0) + 1)]
        return f"changer = [{', '.join(ids)}]" if ids else ""


class SharedSection(Noun, frozen=True, kw_only=True):
    """A bar section and the parts that are sawn from it. bars_count: whole bars, each part sawn by itself."""

    bar_id: str
    parts: tuple[str, ...]
    pieces_count: int
    bars_count: int
    price: float


class Sharing(Noun, frozen=True, kw_only=True):
    """What the parts of a catalogue share: changers, in the machines' order, and sections, in order of id."""

    changers: tuple[Changer, ...] = ()
    sections: tuple[SharedSection, ...] = ()


class Catalogue(Noun, frozen=True, kw_only=True):
    """A folder of parts, planned: its entries in order of path, and what their parts share."""

    schema_version: int
    entries: tuple[CatalogueEntry, ...]
    sharing: Sharing
    proofs: tuple[Proof, ...]
    notes: tuple[str, ...] = ()

    @property
    def ready(self) -> bool:
        """Whether every entry is ready."""
        return all(entry.state == "ready" for entry in self.entries)
