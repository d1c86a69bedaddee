"""What a canned cycle of a program does at each of its places, as moves and what the spindle does between them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from proveout.programs.reading.arcs import Point

StepKind = Literal[
    "rapid", "feed", "dwell", "stop spindle", "orient spindle", "start spindle", "reverse spindle", "hand"
]
"""`start spindle` turns it as before the cycle, `reverse spindle` the other way; at `hand` a person draws it out."""
CODES = (81, 82, 83, 84, 85, 86, 87, 88, 89)
NEEDS_DWELL = (82, 86, 88, 89)
DECIMALS = 9
"""Heights in mm that a cycle reckons are rounded so, which leaves what decimal numbers add up to."""
PECKS_MOST = 1000
"""Our own bound, so that no number makes a cycle endless."""


class CycleFault(Exception):
    """A cycle that a control refuses; the message says why."""


@dataclass(frozen=True)
class Step:
    """One thing a cycle does. to: where a move ends, mm, or the point is left by hand; dwell_s: how long it waits."""

    kind: StepKind
    to: Point | None = None
    dwell_s: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Cycle:
    """A canned cycle with its numbers made absolute, mm and s.

    plane: the two axes that are kept while it goes down; it goes down along the third, whose heights these are:
    bottom_mm, near_mm (the R word: feed begins there), back_mm (where it goes at the end of each place).
    peck_mm: G83.   back_off_mm: how far above the last bottom G83 comes back, the control's own number.
    aside_mm, top_mm: G87, from each place along the plane's axes, and the height that is counterbored to.
    """

    code: int
    plane: tuple[int, int]
    bottom_mm: float
    near_mm: float
    back_mm: float
    peck_mm: float | None = None
    back_off_mm: float = 0.0
    dwell_s: float | None = None
    aside_mm: tuple[float, float] = (0.0, 0.0)
    top_mm: float | None = None


def return_height(*, before_mm: float, near_mm: float, returns_to_start: bool) -> float:
    """Height of the retract: that before the cycle (G98) unless it lies below the R height, or the R height (G99)."""
    return max(before_mm, near_mm) if returns_to_start else near_mm


def steps_of(cycle: Cycle, *, at: Point, places_mm: list[tuple[float, float]]) -> list[Step]:
    """All that a cycle does at its places, one after the other.

    Args:     at: where the point is before, mm.   places_mm: along the plane's two axes, in order.
    Returns:  the steps; moves of no length are left out.
    Raises:   CycleFault when the code is no such cycle, a number that it needs is missing or out of bounds, or the R
              height lies below the bottom.
    Valid:    all three planes. G84 and G87 are listed with what the spindle does; that it turns before is the caller's
              to see.
    Source:   nist-program-report (3.5.16)
    Departs:  the little that G83 backs off is not said there: it comes with the cycle.
    Checked:  tests/published/test_nist_program_report.py, tests/programs/test_cycles.py
    """
    _refuse(cycle)
    path = _Path(cycle.plane, at)
    if path.height < cycle.near_mm:
        path.move("rapid", height=cycle.near_mm)
    for place in places_mm:
        path.move("rapid", place=place)
        path.move("rapid", height=cycle.near_mm)
        if cycle.code == 87:
            _from_behind(cycle, path, place)
        else:
            _down_and_back(cycle, path)
    return path.steps


def _refuse(cycle: Cycle) -> None:
    if cycle.code not in CODES:
        raise CycleFault(f"G{cycle.code} is no canned cycle that is known")
    if cycle.near_mm < cycle.bottom_mm:
        raise CycleFault(f"the R height {cycle.near_mm:g} mm lies below the bottom {cycle.bottom_mm:g} mm")
    if cycle.code == 83:
        if cycle.peck_mm is None or cycle.peck_mm <= 0.0:
            raise CycleFault("G83 needs a Q above 0")
        if cycle.near_mm - cycle.bottom_mm > PECKS_MOST * cycle.peck_mm:
            raise CycleFault(f"Q of {cycle.peck_mm:g} mm makes more than {PECKS_MOST} pecks of the hole")
    if cycle.code in NEEDS_DWELL and (cycle.dwell_s is None or cycle.dwell_s < 0.0):
        raise CycleFault(f"G{cycle.code} needs a P that is not below 0")
    if cycle.code == 87 and cycle.top_mm is None:
        raise CycleFault("G87 needs a K")


class _Path:
    """The steps so far, and where they end."""

    def __init__(self, plane: tuple[int, int], at: Point) -> None:
        self.plane, self.axis = plane, 3 - sum(plane)
        self.at = list(at)
        self.steps: list[Step] = []

    @property
    def height(self) -> float:
        return self.at[self.axis]

    def move(self, kind: StepKind, *, place: tuple[float, float] | None = None, height: float | None = None) -> None:
        to = list(self.at)
        if place is not None:
            to[self.plane[0]], to[self.plane[1]] = place
        if height is not None:
            to[self.axis] = height
        if to != self.at:
            self.at = to
            self.steps.append(Step(kind, (to[0], to[1], to[2])))

    def do(self, kind: StepKind, dwell_s: float = 0.0) -> None:
        self.steps.append(Step(kind, dwell_s=dwell_s))


def _down_and_back(cycle: Cycle, path: _Path) -> None:
    if cycle.code == 83 and cycle.peck_mm is not None:
        _pecks(cycle, path, cycle.peck_mm)
    else:
        path.move("feed", height=cycle.bottom_mm)
    if cycle.dwell_s is not None and cycle.code in NEEDS_DWELL:
        path.do("dwell", cycle.dwell_s)
    if cycle.code in (84, 86, 88):
        path.do("stop spindle")
    if cycle.code == 84:
        path.do("reverse spindle")
    if cycle.code == 88:
        path.move("hand", height=cycle.back_mm)
    else:
        path.move("feed" if cycle.code in (84, 85, 89) else "rapid", height=cycle.back_mm)
    if cycle.code == 84:
        path.do("stop spindle")
    if cycle.code in (84, 86, 88):
        path.do("start spindle")


def _pecks(cycle: Cycle, path: _Path, peck_mm: float) -> None:
    count = 0
    while True:
        count += 1
        depth = max(round(cycle.near_mm - count * peck_mm, DECIMALS), cycle.bottom_mm)
        path.move("feed", height=depth)
        if depth <= cycle.bottom_mm:
            return
        path.move("rapid", height=cycle.back_mm)
        path.move("rapid", height=min(round(depth + cycle.back_off_mm, DECIMALS), cycle.back_mm))


def _from_behind(cycle: Cycle, path: _Path, place: tuple[float, float]) -> None:
    aside = (place[0] + cycle.aside_mm[0], place[1] + cycle.aside_mm[1])
    path.move("rapid", place=aside)
    path.do("orient spindle")
    path.move("rapid", height=cycle.bottom_mm)
    path.move("rapid", place=place)
    path.do("start spindle")
    path.move("feed", height=cycle.top_mm)
    path.move("feed", height=cycle.bottom_mm)
    path.do("orient spindle")
    path.move("rapid", place=aside)
    path.move("rapid", height=cycle.back_mm)
    path.move("rapid", place=place)
    path.do("start spindle")
