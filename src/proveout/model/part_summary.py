"""The part that was planned, as read."""

from __future__ import annotations

from proveout.model.job import part_title
from proveout.model.shop import Noun


class PartSummary(Noun, frozen=True, kw_only=True):
    """The part as read. low_mm, size_mm: exact box of the solid, part frame. general_tolerance: class of ISO 2768-1.

    general_tolerance is empty when the job writes none.
    """

    number: str
    name: str
    revision: str
    alloy: str
    step: str
    solid_digest: str
    low_mm: tuple[float, float, float]
    size_mm: tuple[float, float, float]
    volume_mm3: float
    area_mm2: float
    faces_count: int
    other_solids: tuple[str, ...]
    quantity: int
    general_tolerance: str = ""

    @property
    def title(self) -> str:
        """As part_title has it."""
        return part_title(self.number, self.name)
