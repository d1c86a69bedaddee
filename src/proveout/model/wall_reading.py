"""What an indicator read on the walls of a first piece while its vise was closed and opened."""

from __future__ import annotations

from proveout.model.shop import Noun


class WallReading(Noun, frozen=True, kw_only=True):
    """Read after every pass of one clamping, on each wall before a hollow, the greatest of all, in mm.

    operation: number of the clamping.   bent_mm: how far in while the vise is closed.   stays_mm: of it once the vise
    is open.   uncertainty_mm: of the indicator, half width at k = 2.   by: when and by whom.   mark: of vise, grip and
    moves, as printed with their proof.
    """

    operation: int
    bent_mm: float
    stays_mm: float
    uncertainty_mm: float
    by: str
    mark: str
