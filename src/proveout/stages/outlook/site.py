"""One tilt to be looked at, and one cut as reckoned."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet
from proveout.model.shop import Machine
from proveout.model.work import Clamping, PassKind, Tilt
from proveout.stages.outlook.rates import ABOVE_MM, CLEAR_MM, PLUNGE_RATIO, Metal, Rate, over_s
from proveout.stages.outlook.stock import Look


@dataclass
class Site:
    """Faces, stock and machine at one tilt; high_mm: the target's top; across_mm: a usual way between two cuts;
    cusp_mm: height allowed between two lines of a ball.

    taken: (n,) of the look's points, those that the cuts reckoned so far take.
    """

    clamping: Clamping
    tilt: Tilt
    machine: Machine
    metal: Metal
    look: Look
    facets: list[Facet]
    index_of: dict[str, int]
    high_mm: float
    across_mm: float
    cusp_mm: float
    taken: NDArray[np.bool_] = field(init=False)

    def __post_init__(self) -> None:
        self.taken = np.zeros(len(self.look.heights), dtype=np.bool_)
        self.clear_mm = max(self.high_mm, self.look.top_mm) + CLEAR_MM

    def facet(self, face_id: str) -> Facet:
        """A face as this tilt meets it."""
        return self.facets[self.index_of[face_id]]

    def over_s(self, *, to_mm: float) -> float:
        """Seconds by rapid from one cut to above the next, at clearance height."""
        return over_s(self.machine, rise_mm=max(self.clear_mm - to_mm, 0.0), across_mm=self.across_mm)

    def entry_s(self, rate: Rate, *, to_mm: float) -> float:
        """The same, and the way into the work by feed."""
        return self.over_s(to_mm=to_mm) + ABOVE_MM / (PLUNGE_RATIO * rate.feed_mm_per_s)


@dataclass(frozen=True)
class Reckoned:
    """One cut: seconds in closed form, before what our own plans take longer."""

    kind: PassKind
    cutter_id: str
    feature: str
    face_ids: tuple[str, ...]
    rate: Rate
    seconds: float
    length_mm: float
    radial_mm: float
    axial_mm: float
