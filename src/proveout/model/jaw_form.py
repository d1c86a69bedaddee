"""The pocket cut in a pair of soft jaws before they hold the work: its shape, its slug and its passes."""

from __future__ import annotations

from proveout.model.shop import Noun
from proveout.model.work import Clamping, Pass

Point = tuple[float, float]


class Relief(Noun, frozen=True, kw_only=True):
    """Where the cutter dips past a corner of the work, so that the corner does not touch.

    from_mm, to_mm: places of the cutter's axis, seen from above.  beyond_mm: farthest that it cuts beyond the outline.
    """

    from_mm: Point
    to_mm: Point
    beyond_mm: float


class JawForm(Noun, frozen=True, kw_only=True):
    """The pocket of one pair of jaws, in the frame of the clamping that they hold the work in.

    clamping: a clamping of its own for the pocket, in the same frame and upright, named after the one it serves.
    outline_mm: rings of what stands between seat and jaw tops, seen from above, holes filled, and opened at the end
    away from the stop.   slug_width_mm: between the jaws while the pocket is cut.   slug_below_mm: the slug's top lies
    at least so far below the step.   bite_mm: how far the pocket goes into each jaw.   depth_mm: from the jaw tops to
    the step that carries the work.   below_mm: from that step down to the bed.   low_mm, high_mm: ends of the jaws
    along x.   stop: the end wall that is the stop, in words; empty when there is none.   cutter_id: of the cutter that
    finishes the pocket; empty when none reaches, and then there are no reliefs, passes and seconds.   contact_mm: span
    along the jaws of what touches the step.   length_mm: of the work along the jaws.
    """

    clamping_id: str
    clamping: Clamping
    thickness_mm: float
    slug_width_mm: float
    slug_below_mm: float
    bite_mm: float
    depth_mm: float
    below_mm: float
    low_mm: float
    high_mm: float
    outline_mm: tuple[tuple[Point, ...], ...]
    stop: str
    contact_mm: float
    length_mm: float
    cutter_id: str
    cutter_radius_mm: float
    reliefs: tuple[Relief, ...]
    passes: tuple[Pass, ...]
    seconds: float | None = None

    @property
    def gap_mm(self) -> float:
        """Between the walls that touch the work."""
        return self.clamping.gap_mm

    @property
    def jaw_bounds_mm(self) -> tuple[tuple[float, float, float, float], ...]:
        """Fixed and moving jaw from above while they hold the slug: x and y of the lower corner, then of the upper."""
        bite, thick, gap = self.bite_mm, self.thickness_mm, self.gap_mm
        return (
            (self.low_mm, -bite, self.high_mm, thick - bite),
            (self.low_mm, bite - gap - thick, self.high_mm, bite - gap),
        )
