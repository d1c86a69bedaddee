"""What the stages may not exceed; iteration only ever tightens it, in fixed steps."""

from __future__ import annotations

from proveout.model.proof import Tighten
from proveout.model.shop import Noun

QUANTITIES = ("axial_ratio", "radial_ratio", "wall_ratio", "wall_feed_ratio", "feed_ratio", "preload_ratio")


class Limits(Noun, frozen=True, kw_only=True):
    """Bounds of the cutting, 1.0 = as the cutter's maker allows.

    axial_ratio: share of a rougher's diameter taken per level.  radial_ratio: share of its diameter kept engaged.
    wall_ratio: share of a finishing cutter's diameter taken per step down a wall.  wall_feed_ratio: share of the tooth
    feed there.  feed_ratio: share of the tooth feed of passes that are not taken in steps.
    preload_ratio: share of the vise's usual torque that a clamping is closed with; for a clamping only.
    Every other can be tightened for one clamping, or for one cutter in it: keys are "clamping id" and
    "clamping id/cutter id".
    """

    axial_ratio: dict[str, float] = {}
    radial_ratio: dict[str, float] = {}
    wall_ratio: dict[str, float] = {}
    wall_feed_ratio: dict[str, float] = {}
    feed_ratio: dict[str, float] = {}
    preload_ratio: dict[str, float] = {}

    def of(self, quantity: str, subject: str, default: float) -> float:
        """The bound in force: for "clamping id/cutter id" the tighter of its own and the clamping's."""
        table: dict[str, float] = getattr(self, quantity)
        clamping_id, _, _ = subject.partition("/")
        return min((table[s] for s in (subject, clamping_id) if s in table), default=default)

    def tightened(self, remedies: tuple[Tighten, ...]) -> Limits:
        """These limits with each remedy applied where it is tighter."""
        tables = {q: dict(getattr(self, q)) for q in QUANTITIES}
        for remedy in remedies:
            table = tables[remedy.quantity]
            now = table.get(remedy.subject)
            if now is None or remedy.bound < now:
                table[remedy.subject] = remedy.bound
        return Limits(**tables)
