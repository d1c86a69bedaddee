"""What reaches a face, or why nothing does and what would."""

from __future__ import annotations

from typing import Literal

from proveout.model.shop import Noun

Vector = tuple[float, float, float]
Manner = Literal["floor", "wall", "inclined", "hole", "edge", "under", "none"]


class ReachedBy(Noun, frozen=True, kw_only=True):
    """One cutter that touches a face from one direction, past the part and what holds it.

    reached_ratio: share of the face's sample points.   clamping_number: in working order, from 1.
    cut_s: seconds of feed at the least for the whole face, None where the cutter's row does not tell (not shown).
    """

    clamping_number: int
    direction: Vector
    cutter_id: str
    manner: Manner
    reached_ratio: float
    cut_s: float | None = None


class Wanted(Noun, frozen=True, kw_only=True):
    """A cutter that would reach a face: its kind, and the sizes that it needs; None where nothing bounds one.

    corner_max_mm: of the rounding at its end.   angle_rad: of an undercut flank to the axis.   flute_max_mm,
    neck_max_mm: height of a T-slot cutter's head, diameter of its neck.
    """

    kind: Literal["end mill", "ball", "drill", "T-slot", "undercut"]
    diameter_max_mm: float | None
    flute_least_mm: float | None
    stick_out_least_mm: float | None
    angle_rad: float | None = None
    flute_max_mm: float | None = None
    neck_max_mm: float | None = None


class FaceReach(Noun, frozen=True, kw_only=True):
    """One face in the chosen clampings, looked at with the fine map.

    by: what reaches it, the largest share first, then the quickest.   why_not: the exact reason when no cutter reaches
    all of it, empty when one does.   wanted: what would, would_reach: that in words.   least_s: seconds of the quickest
    that reaches it whole.   balls: of a round face every ball tried, by clamping and direction, the most first: cutters
    are chosen by them.
    """

    face_id: str
    is_reached: bool
    by: tuple[ReachedBy, ...]
    why_not: str = ""
    would_reach: str = ""
    wanted: Wanted | None = None
    least_s: float | None = None
    balls: tuple[ReachedBy, ...] = ()
