"""Which cutter does what in each clamping and tilt, with the reason, and what no cutter of the shop can do."""

from __future__ import annotations

from typing import Literal

from proveout.model.shop import Noun
from proveout.model.work import NotCut

Role = Literal["face", "rough", "finish", "surface", "undercut", "edge", "spot", "drill", "size", "ream", "bore", "tap"]

MILL_RATIO = 0.8
"""Of a hole's diameter: the widest end mill that goes round in it."""
DRILL_MATCH_MM = 0.05
"""A drill makes a hole that is wider than itself by no more; common practice, no source."""
DRILL_OVER_MM = 0.02
"""A drill makes no hole narrower than itself by more: half of it is the depth from which a cut is a gouge."""
DRILL_SPREAD_MM = 0.1
"""What a batch of drilled holes spreads over at best, in diameter: a narrower window wants more than a drill."""
REAM_MATCH_MM = 0.01
"""A reamer makes a hole whose diameter differs from its own by no more. Common practice, no source."""
REAM_STOCK_MM = (0.1, 0.5)
"""What a drill leaves for the reamer, in diameter. Common practice, no source."""
LIP_RATIO = 0.2
"""Width that an undercut or T-slot cutter takes in one run, of its diameter. Common practice, no source."""
THREAD_ROOM_MM = 0.5
"""A thread mill is narrower than its hole by so much: it must come out of its thread."""
DRILL_UNDER_MM = 0.04
"""What a drill leaves up to this width is within what a finished face may keep; the rest is milled out."""


class CutterUse(Noun, frozen=True, kw_only=True):
    """One cutter for one role at one tilt.

    subjects: face ids, or the one hole id for spot, drill, size, ream, bore and tap; a tap may be a thread mill.
    """

    clamping_id: str
    tilt_id: str
    role: Role
    subjects: tuple[str, ...]
    cutter_id: str
    why: str


class CutterChoice(Noun, frozen=True, kw_only=True):
    """All uses, in working order of the roles, and the faces and holes that have none.

    tilt_of: "clamping_id/face or hole id" to the tilt at which it is cut.   threads_mm: hole id to the major diameter
    and the pitch of its thread.
    """

    uses: tuple[CutterUse, ...]
    tilt_of: dict[str, str]
    without: tuple[NotCut, ...]
    threads_mm: dict[str, tuple[float, float]] = {}

    def of(self, *, clamping_id: str, tilt_id: str, role: Role) -> tuple[CutterUse, ...]:
        """The uses of one role at one tilt."""
        return tuple(u for u in self.uses if u.clamping_id == clamping_id and u.tilt_id == tilt_id and u.role == role)

    @property
    def cutter_ids(self) -> tuple[str, ...]:
        """Every cutter used, sorted."""
        return tuple(sorted({u.cutter_id for u in self.uses}))
