"""Ways of holding the work that the clampings stage names, before a blank is known."""

from __future__ import annotations

from proveout.model.reach import FaceReach
from proveout.model.shop import Noun
from proveout.model.work import Access, Clamping, Vector


class Grip(Noun, frozen=True, kw_only=True):
    """Two parallel finished faces between the jaws, for one way up.

    across: unit normal towards the fixed jaw, part frame.  faces: ids on both sides.  patch_length_mm: along the
    jaws where both sides are present; patch_height_mm from low_mm above the seat.  gap_mm: between the faces.
    seat_faces: ids of the finished faces the work stands on, empty when it would stand on an edge.
    is_round: the faces are one round about `up`, held in soft jaws bored to it; nothing but friction keeps it from
    turning.
    """

    across: Vector
    faces: tuple[str, ...]
    patch_length_mm: float
    patch_height_mm: float
    low_mm: float
    gap_mm: float
    seat_faces: tuple[str, ...]
    is_round: bool = False


class Hold(Noun, frozen=True, kw_only=True):
    """One clamping as a candidate: way up, machine, tilts, what it makes.

    up: unit direction, part frame.  grip: None for the raw bar held by its strip; of a first clamping with a grip the
    faces are as bought.  directions: cutter axes used.
    """

    up: Vector
    machine_id: str
    vise_id: str
    jaws_id: str
    grip: Grip | None
    directions: tuple[Vector, ...]
    makes_faces: tuple[str, ...]
    makes_holes: tuple[str, ...]


class Sequence(Noun, frozen=True, kw_only=True):
    """Clampings in working order with what is foreseen of their cost, in money per piece.

    bound_each: set-ups, quickest loads, jaws made and the blank: no full plan of this sequence can cost less.
    tilts_each: the time of its tilts.  leaning_each: against tall work on a narrow grip, money in name only.
    """

    holds: tuple[Hold, ...]
    bound_each: float
    reached_ratio: float
    unreached: tuple[str, ...]
    why: str
    tilts_each: float = 0.0
    leaning_each: float = 0.0

    @property
    def keeps_strip(self) -> bool:
        """The strip that the first clamping holds is never taken off."""
        return len(self.holds) == 1 and self.holds[0].grip is None

    @property
    def foreseen_each(self) -> float:
        """What the choice goes by."""
        return self.bound_each + self.tilts_each + self.leaning_each


class ClampingChoice(Noun, frozen=True, kw_only=True):
    """The best sequences in order, how many were worked out, the accesses found, and what nothing reaches.

    reach: every face in the first sequence, looked at finely.
    """

    sequences: tuple[Sequence, ...]
    named_count: int
    access: tuple[Access, ...]
    unreached: tuple[str, ...]
    reach: tuple[FaceReach, ...] = ()


class Placed(Noun, frozen=True, kw_only=True):
    """The clampings of the chosen sequence on the chosen blank."""

    clampings: tuple[Clamping, ...]
