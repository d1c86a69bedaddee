"""What goes to an outside finisher with a lot, in the words that finishers ask for."""

from __future__ import annotations

from proveout.model.fact import Fact
from proveout.model.marking import Marking
from proveout.model.shop import Noun


class PieceReading(Noun, frozen=True, kw_only=True):
    """A size that is measured before the lot goes out and again when it is back. mark: balloon and letter.

    is_decided: False where the sizes before the coat are not known.
    """

    balloon: int
    mark: str
    text: str
    before_low_mm: float
    before_high_mm: float
    finished_low_mm: float
    finished_high_mm: float
    is_decided: bool = True


class FinishOrder(Noun, frozen=True, kw_only=True):
    """One lot of one part to one finisher.

    process: what is asked for.  prior: how the pieces are when they come.  pieces_count: planned, spares included; the
    exact count is written when they are packed.  thickness_mm, build_up_mm: of each coated surface, build-up less the
    etch; None for what is no coat.  coated_area_mm2: of one piece, all its holes counted; 0 for what is no coat.
    masks: hole or face, size and how.  watch: blind holes that hold acid or beads, thin walls.
    rack_may, rack_not, show: ids of faces, the largest first; rack_may is empty where nobody said which faces show.
    readings: sizes wanted before and after.  certificate: wanted or not, None where nobody said.
    due: day on which the whole order is wanted, ISO 8601, empty when not said; days_low, days_high: working days away.
    after: what is done outside once this is back.  same_load: numbers of the parts that ride in one load, for shade.
    markings: what is marked on the piece, and where.
    lacks: what a finisher asks for and nobody has said.  spec, colour, seal: of the coat, empty when nobody said.
    """

    finisher_id: str
    process: str
    part: str
    name: str
    revision: str
    pieces_count: int
    alloy: str
    prior: str
    thickness_mm: Fact | None
    build_up_mm: Fact | None
    coated_area_mm2: float
    masks: tuple[str, ...]
    watch: tuple[str, ...]
    rack_may: tuple[str, ...]
    rack_not: tuple[str, ...]
    show: tuple[str, ...]
    readings: tuple[PieceReading, ...]
    certificate: bool | None
    due: str
    days_low: int
    days_high: int
    after: tuple[str, ...]
    same_load: tuple[str, ...]
    lacks: tuple[str, ...]
    spec: str = ""
    colour: str = ""
    seal: str = ""
    markings: tuple[Marking, ...] = ()
