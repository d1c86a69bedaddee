"""What the stages may not exceed; iteration only ever tightens it, in fixed steps."""

from __future__ import annotations

from proveout.model.proof import Tighten
from proveout.model.shop import Noun

QUANTITIES = ("axial_ratio", "radial_ratio", "wall_ratio", "feed_ratio")


class Limits(Noun, frozen=True, kw_only=True):
    """Bounds of the cutting, 1.0 = as the cutter's maker allows.

    axial_ratio: share of a rougher's diameter taken per level.  radial_ratio: share of its diameter per loop.
    wall_ratio: share of a finishing cutter's diameter taken per step down a wall.  feed_ratio: share of the tooth feed.
    Each can be tightened for one clamping: keys are clamping ids.
    """

    axial_ratio: dict[str, float] = {}
    radial_ratio: dict[str, float] = {}
    wall_ratio: dict[str, float] = {}
    feed_ratio: dict[str, float] = {}

    def of(self, quantity: str, subject: str, default: float) -> float:
        """The bound in force."""
        table: dict[str, float] = getattr(self, quantity)
        return table.get(subject, default)

    def tightened(self, remedies: tuple[Tighten, ...]) -> Limits:
        """These limits with each remedy applied where it is tighter."""
        tables = {q: dict(getattr(self, q)) for q in QUANTITIES}
        for remedy in remedies:
            table = tables[remedy.quantity]
            now = table.get(remedy.subject)
            if now is None or remedy.bound < now:
                table[remedy.subject] = remedy.bound
        return Limits(**tables)
