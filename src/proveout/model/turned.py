"""What goes over from one clamping to the next: where their cuts meet, how far off, the bow, and the slab faced."""

from __future__ import annotations

from typing import Literal

from proveout.model.fact import Fact
from proveout.model.shop import Noun


class ErrorLine(Noun, frozen=True, kw_only=True):
    """One share of how far two cuts may lie off each other: in words, mm, and how often it counts.

    each_mm: one of them, already times its lever.
    """

    text: str
    each_mm: Fact
    count: int = 1


class Meeting(Noun, frozen=True, kw_only=True):
    """Where cuts of two clampings meet: a step on one surface, or a size from a face of the one to a face of the other.

    clamping_ids: the earlier, the later.  mark: of a written size, empty for a step and for a size of the part's box.
    off_mm: how far off at most, from its best to its worst case; None where lacks says what nobody knows.
    limit_mm: None when nobody wrote any.  size_mm: of a size, as it is meant to leave the machine; 0 for a step.
    """

    kind: Literal["step", "size"]
    subject: str
    text: str
    clamping_ids: tuple[str, str]
    face_ids: tuple[str, ...]
    off_mm: Fact | None
    limit_mm: float | None
    lines: tuple[ErrorLine, ...] = ()
    lacks: tuple[str, ...] = ()
    mark: str = ""
    size_mm: float = 0.0


class FacingStage(Noun, frozen=True, kw_only=True):
    """Stages of a facing pass that take alike much off, of the last of them: height above the seat, what jaws leave it.

    depth_mm: of the deepest.  above_jaws_mm: of the new face over the jaw tops.  reserve_low: times the jaw force at
    which the slab that is left bows away, at the worst end; None where jaw force or metal is not known.
    """

    count: int
    height_mm: float
    depth_mm: float
    above_jaws_mm: float
    reserve_low: float | None
    reserve_high: float | None


class Facing(Noun, frozen=True, kw_only=True):
    """The stages of one facing pass, in working order; the last is the skim where there is more than one.

    count: of all stages.
    """

    clamping_id: str
    pass_id: str
    count: int
    stages: tuple[FacingStage, ...]


class Bow(Noun, frozen=True, kw_only=True):
    """How far the work bows once this clamping has faced it and the jaws are open; None where nobody measured it."""

    clamping_id: str
    length_mm: float
    thickness_mm: float
    bow_mm: Fact | None


class Turned(Noun, frozen=True, kw_only=True):
    """All that goes over from one clamping to the next; empty where one clamping makes the part."""

    meetings: tuple[Meeting, ...] = ()
    facings: tuple[Facing, ...] = ()
    bows: tuple[Bow, ...] = ()
