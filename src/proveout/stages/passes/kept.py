"""Speed, feed and depth of a cutter whose row leaves nothing to choose: kept as written, within the limits in force."""

from __future__ import annotations

import msgspec

from proveout.cutting.chip_thickness import radial_thinning_ratio
from proveout.model.limits import Limits
from proveout.model.pace import AS_PLANNED
from proveout.model.shop import Cutter, Machine
from proveout.stages.passes.speeds import SLOT_RATIO, THINNED_MOST, FeedLimit, Speeds, speeds_of


class Kept(msgspec.Struct, frozen=True, kw_only=True):
    """One cutter in one clamping. Asked as a `Pacer` is; what that would choose by is left unread."""

    cutter: Cutter
    machine: Machine
    limits: Limits
    clamping_id: str

    def level(self, *, radial_mm: float, most_mm: float, deepest_by: str = AS_PLANNED) -> tuple[Speeds, float]:
        """Speeds of a level at a width that is kept, and its depth: the most."""
        return self._widened(radial_mm), most_mm

    def stage(
        self, *, radial_mm: float, axial_mm: float, axial_ratio: float, deepest_by: str = AS_PLANNED,
        limit: FeedLimit | None = None,
    ) -> Speeds:  # fmt: skip
        """Speeds of a cut whose depth and width are given; one eased by its depth is fed faster for its thin chip."""
        return self._widened(radial_mm) if limit is None else self.other(limit=limit)

    def wall(
        self, *, tall_mm: float, step_mm: float, radial_mm: float, wide_mm: float, bent_most_mm: float,
        may_divide: bool = True,
    ) -> tuple[Speeds, float]:  # fmt: skip
        """Speeds of finishing a wall, in the steps that are given."""
        return self.other(limit="wall_feed_ratio"), step_mm

    def strip(self, *, wide_mm: float, axial_mm: float) -> Speeds:
        """Speeds along a narrow strip of metal."""
        return self.other(limit="feed_ratio")

    def other(self, *, limit: FeedLimit | None) -> Speeds:
        """Speeds as written, the feed eased by the limit in force."""
        share = 1.0 if limit is None else self.limits.of(limit, f"{self.clamping_id}/{self.cutter.id}", 1.0)
        return speeds_of(cutter=self.cutter, machine=self.machine, feed_ratio=share)

    def _widened(self, radial_mm: float) -> Speeds:
        """Speeds as written, fed faster where a narrow cut thins the chip."""
        speeds = self.other(limit=None)
        thinning = radial_thinning_ratio(radial_engagement_mm=radial_mm, diameter_mm=self.cutter.diameter_mm)
        wide = min(THINNED_MOST, thinning, self.machine.feed_max_mm_per_s / speeds.feed_mm_per_s)
        feed = wide * speeds.feed_mm_per_s
        return msgspec.structs.replace(
            speeds, tooth_feed_mm=wide * speeds.tooth_feed_mm, feed_mm_per_s=feed,
            slot_mm_per_s=SLOT_RATIO * wide * speeds.feed_mm_per_s,
        )  # fmt: skip
