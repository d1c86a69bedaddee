"""The job: the part, what is written about it, and the order."""

from __future__ import annotations

import math
from typing import Literal

from msgspec.structs import replace

from proveout.model.fact import Fact
from proveout.model.inspection import InspectionWish
from proveout.model.marking import Marking
from proveout.model.packing import Bag, KitItem
from proveout.model.selling import Demand, Selling
from proveout.model.shop import Noun
from proveout.model.signature import FaceSign
from proveout.model.wall_reading import WallReading

QUANTITY, ALLOY, COATED = "order/quantity", "part/alloy", "coated"
"""Keys that are asked for as long as only a draft says them."""


def part_title(number: str, name: str) -> str:
    """Number and name of a part, once where they are the same."""
    return " ".join(dict.fromkeys((number, name))).strip()


class PartText(Noun, frozen=True, kw_only=True):
    """Names of the part; `step` is the file name as the owner typed it."""

    number: str
    name: str
    revision: str
    step: str
    solid: str = ""
    alloy: str = "6061-T6"

    @property
    def title(self) -> str:
        """As part_title has it."""
        return part_title(self.number, self.name)


class Order(Noun, frozen=True, kw_only=True):
    """How many and when; dates are ISO 8601, empty when not said.

    trial_count: blanks sawn beside pieces and spares, for the first pieces that prove the programs; none is delivered.
    """

    quantity: int
    start: str = ""
    due: str = ""
    spare_count: int | None = None
    trial_count: int = 0

    def spares(self, scrap_ratio: Fact) -> int:
        """Pieces sawn beyond the order: as said, else such that the worst scrap share of all leaves it; at least two.

        The share is of the pieces begun: of q / (1 - s) begun the share s is lost and q are left.
        """
        if self.spare_count is not None:
            return self.spare_count
        return max(2, math.ceil(self.quantity / (1.0 - scrap_ratio.high) - 1e-9) - self.quantity)


class BlindShare(Noun, frozen=True, kw_only=True):
    """Share of a coat's thickness that comes in blind holes from `from_depth_ratio` diameters deep on."""

    from_depth_ratio: float
    share_ratio: Fact


class Coat(Noun, frozen=True, kw_only=True):
    """The outside coat: thickness per surface and the share of it that builds up outward.

    etch_mm: metal that goes off each surface before the coat; None when nobody said.  blind: how much of the thickness
    comes in blind holes, the shallowest first; empty when nobody said.  certificate: whether the finisher is to write
    one.  spec: specification with its type and class;  colour, seal: as written; all three empty when nobody said.
    grown_mm: how far a coated surface of this finisher was read to stand outside the cut one, as the shop file has it
    for this thickness; None where it has nothing.  It takes the place of thickness times share less etch.
    read_mm: thickness of this finisher's coats as read, where it was asked for as here; None where nobody read it.
    """

    process: str
    thickness_mm: Fact
    build_up_ratio: Fact
    finisher: str = ""
    blast: bool = False
    etch_mm: Fact | None = None
    certificate: bool | None = None
    blind: tuple[BlindShare, ...] = ()
    spec: str = ""
    colour: str = ""
    seal: str = ""
    grown_mm: Fact | None = None
    read_mm: Fact | None = None

    @property
    def comes_mm(self) -> Fact:
        """How thick it comes: as read of that finisher's coats, else as it is asked for."""
        return self.thickness_mm if self.read_mm is None else self.read_mm

    def blind_share(self, depth_ratio: float) -> Fact | None:
        """The share in a blind hole so many diameters deep; None when nobody said."""
        rows = [row for row in self.blind if row.from_depth_ratio <= depth_ratio]
        return rows[-1].share_ratio if rows else None


# of the sizes written at one balloon, in their order
LETTERS = ("", "b", "c", "d", "e", "f", "g", "h")


class Size(Noun, frozen=True, kw_only=True):
    """One written characteristic. `balloon` is the number on the drawing; `face_ids` its faces by id, if named.

    kind: "hole" or "shaft" (diameter), "length" (between two faces), "thread".
    text is what the owner typed: "H8", "M6 6H", "18 +0.05/-0.02", "mask".
    letter tells the second and later sizes at one balloon from the first: "", "b", "c".
    origin: who wrote it, the job file or the STEP file.
    """

    balloon: int
    text: str
    face_ids: tuple[str, ...] = ()
    is_masked: bool = False
    is_critical: bool = False
    letter: str = ""
    origin: Literal["job-file", "step-file"] = "job-file"

    @property
    def mark(self) -> str:
        """Balloon and letter, such as 1 and 1b: one of a kind in a job."""
        return f"{self.balloon}{self.letter}"


class Balloon(Noun, frozen=True, kw_only=True):
    """A balloon number tied to its face or hole by id, so that it survives another export of the same solid."""

    number: int
    id: str


class Pin(Noun, frozen=True, kw_only=True):
    """Something that is fixed; kept or refused with the reason. Several values are parted by line ends.

    torque: in N mm, at the handle of every vise.   by: who fixed it, the owner or the order's choice of its blanks.
    """

    quantity: Literal[
        "bar", "machine", "vise", "jaws", "up", "ups", "machines", "tilts", "pieces_a_cycle", "side_by_side", "torque"
    ]  # fmt: skip
    value: str
    by: Literal["owner", "order"] = "owner"


class Job(Noun, frozen=True, kw_only=True):
    """Everything that is written. `assumed` lists each default filled in, in words.

    marks: by the number of a clamping, how the work is marked before it is loaded there.
    as_bought: sides of the part, as "-z", that stay as bar or saw left them.
    show_faces: ids of faces, and of holes whose every face is meant.
    step_max_mm: largest step allowed where one clamping cuts on from another; bow_max_mm: largest bow of the finished
    part; cusp_mm: height of ridges between two lines of a ball; None when the owner wrote none.
    inspection: what this job asks for beside the shop's own.
    kit, bag: hardware that goes with one piece, and its bag.   selling, demand: None where the owner wrote none.
    drafted: the faces of the solid that the job was drafted for; empty when nobody wrote them.
    markings: what outside finishers mark on the part.
    unsaid: keys that nobody has said yet and for which something is assumed, such as "order/quantity" and COATED.
    tilts_dry_run: when and by whom every tilt was run dry, empty when not; tilts_mark: of the moves that were run.
    wall_readings: what an indicator read on walls that the jaws press on.
    """

    part: PartText
    order: Order
    coat: Coat | None
    sizes: tuple[Size, ...]
    masked_balloons: tuple[int, ...]
    show_faces: tuple[str, ...]
    general_tolerance: Literal["f", "m", "c", "v"] | None
    edge_break_mm: float | None
    other_finishers: tuple[str, ...]
    pins: tuple[Pin, ...] = ()
    balloons: tuple[Balloon, ...] = ()
    tilts_dry_run: str = ""
    tilts_mark: str = ""
    wall_readings: tuple[WallReading, ...] = ()
    marks: tuple[tuple[int, str], ...] = ()
    as_bought: tuple[str, ...] = ()
    step_max_mm: float | None = None
    bow_max_mm: float | None = None
    cusp_mm: float | None = None
    inspection: InspectionWish = InspectionWish()
    kit: tuple[KitItem, ...] = ()
    bag: Bag = Bag()
    assumed: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()
    drafted: tuple[FaceSign, ...] = ()
    selling: Selling | None = None
    demand: Demand | None = None
    markings: tuple[Marking, ...] = ()

    def wanting(self, quantity: int) -> Job:
        """The same job for another number of pieces, which is thereby said."""
        return replace(
            self, order=replace(self.order, quantity=quantity),
            unsaid=tuple(one for one in self.unsaid if one != QUANTITY),
        )  # fmt: skip

    @property
    def finisher_ids(self) -> tuple[str, ...]:
        """Outside finishers in the order in which the work goes to them, the coater first; none that is not named."""
        coaters = (self.coat.finisher,) if self.coat is not None and self.coat.finisher else ()
        return (*coaters, *self.other_finishers)


class OrderItem(Noun, frozen=True, kw_only=True):
    """One part of an order. `job` is the file as typed; items with the same `coat_load` ride in one coat load."""

    job: str
    quantity: int
    start: str = ""
    due: str = ""
    coat_load: str = ""


class FitSide(Noun, frozen=True, kw_only=True):
    """One part of a fit: its number, and the size or face by its mark, such as 3 or 3b."""

    part: str
    mark: str

    @property
    def words(self) -> str:
        """As the owner writes it."""
        return f"{self.part} {self.mark}"


class Fit(Noun, frozen=True, kw_only=True):
    """Two coated parts that go together, and the clearance wanted, below 0 for an interference.

    sides: of sizes the one that goes around first, a hole or slot, then the one inside; of faces in any order.
    gap_mm: between two faces as drawn, by the tolerances of both parts but without the coat; None for two sizes.
    """

    name: str
    sides: tuple[FitSide, FitSide]
    clearance_low_mm: float
    clearance_high_mm: float
    gap_mm: Fact | None = None


class OrderFile(Noun, frozen=True, kw_only=True):
    """Several parts ordered together; an item without dates has those of the order.

    blanks: "alone", each part's by its own plan, or "together": what costs the order less is planned again and taken.
    """

    name: str
    items: tuple[OrderItem, ...]
    start: str = ""
    due: str = ""
    fits: tuple[Fit, ...] = ()
    blanks: Literal["alone", "together"] = "alone"
