"""What a cut in scrap that was made and listened to says of the passes it stands for."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from proveout.cutting.easing import tighten_cut
from proveout.model.fact import Fact, exact_fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.measured import ScrapCut
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Cutter
from proveout.model.work import Pass
from proveout.quantities.units import rpm_from_rad_per_s
from proveout.stages.stability.pairs import Pair

SAME_SPEED, SAME_FEED = 0.005, 0.02
"""So near to the speed and the feed of a tooth of a pass a cut in scrap stands for it."""
SAME_MM = 0.01
"""Papers tell widths and depths in hundredths."""
CLAIM = (
    "the cutter cuts no deeper than it did in scrap without chatter, at the same speed and feed of a tooth and no wider"
)
FORMULA = (
    "depth of the pass against the depth at which the cut in scrap was still quiet, and that at which it howled; "
    f"speeds within {SAME_SPEED:.1%} and feeds within {SAME_FEED:.0%} of each other. A narrower or shallower cut is "
    "taken to be as quiet. Cut along one way in a block as stiff as scrap: other ways of the feed, thin walls and work "
    "that gives way are not in it"
)


@dataclass(frozen=True)
class _Told:
    """A width and depth of a pass: quiet up to quiet_mm in scrap; howled_mm infinite where nothing that is met howled.

    cut: the cut in scrap that says so, None where none stands for it.
    """

    one: Pass
    pair: Pair
    quiet_mm: float
    howled_mm: float
    cut: ScrapCut | None

    @property
    def fails(self) -> bool:
        """It howled no deeper than the pass goes."""
        return self.howled_mm <= self.pair.axial_mm

    @property
    def reserve(self) -> tuple[float, str]:
        """Weakest first."""
        return self.quiet_mm / max(self.pair.axial_mm, 1e-9), self.one.id


def own_cuts(
    cuts: Sequence[ScrapCut], *, machine_id: str, cutter: Cutter, alloys: Sequence[str], stick_out_mm: float
) -> tuple[ScrapCut, ...]:
    """Those of a cutter on a machine in this metal, out of its holder as far as now within stick_out_mm."""
    known = {name.strip().casefold() for name in alloys}
    return tuple(
        cut for cut in cuts
        if (cut.machine_id, cut.cutter_id) == (machine_id, cutter.id) and cut.alloy.strip().casefold() in known
        and abs(cut.stick_out_mm - cutter.stick_out_mm) <= stick_out_mm
    )  # fmt: skip


def tried_proof(
    proof_id: str, *, stage: str, passes: Sequence[Pass], pairs: Mapping[str, tuple[Pair, ...]],
    loads: Mapping[str, PassLoad], cuts: Sequence[ScrapCut], cutter: Cutter, limits: Limits,
) -> Proof | None:  # fmt: skip
    """Of some passes of one cutter, by its own cuts in scrap; None where no such cut stands for any of them."""
    told = [_told(one, pair, cuts) for one in passes for pair in pairs[one.id]]
    if all(t.cut is None for t in told):
        return None
    failing = [t for t in told if t.fails]
    worst = min(failing or told, key=lambda t: t.reserve)
    deep = worst.pair.axial_mm
    high = worst.howled_mm if math.isfinite(worst.howled_mm) else max(cutter.flute_length_mm, deep)
    if worst.fails:
        # it chattered before it was as deep as the pass goes
        high = min(high, deep) * (1.0 - 1e-6)
    least = min(worst.quiet_mm, high)
    whole = loads[worst.one.id]
    return prove(
        id=proof_id, stage=stage, subject=worst.one.id, claim=CLAIM, sense="at least", found_low=round(least, 4),
        found_high=high if worst.fails else round(high, 4), limit=round(deep, 4), unit="mm",
        blocks_release=worst.fails,
        basis=Basis(formula=FORMULA, source="workshop-practice", inputs=_inputs(worst)),
        decides="a cut in scrap at speed, feed and width of this pass, as deep as it goes, or the first piece at "
        "reduced depth, listened to",
        remedy=f"a depth of {math.floor(100.0 * least) / 100.0:g} mm at this speed, or another speed, tried in scrap",
        tighten=tighten_cut(
            whole, least / max(deep, 1e-9), worst.one, cutter.diameter_mm, limits
        ) if worst.fails else None,
    )  # fmt: skip


def _told(one: Pass, pair: Pair, cuts: Sequence[ScrapCut]) -> _Told:
    like = [
        cut for cut in cuts
        if abs(cut.speed_rad_per_s / one.speed_rad_per_s - 1.0) <= SAME_SPEED
        and abs(cut.tooth_feed_mm / one.tooth_feed_mm - 1.0) <= SAME_FEED
    ]  # fmt: skip
    wide = [cut for cut in like if cut.radial_mm >= pair.radial_mm - SAME_MM]
    # nothing howls for sure in a cut that no move is known to make
    loud = [
        cut for cut in like
        if pair.is_met and cut.howled_mm is not None and cut.radial_mm <= pair.radial_mm + SAME_MM
    ]  # fmt: skip
    quietest = max(wide, key=lambda c: (c.quiet_mm, c.date), default=None)
    loudest = min(loud, key=lambda c: (c.howled_mm or 0.0, c.date), default=None)
    howled = math.inf if loudest is None or loudest.howled_mm is None else loudest.howled_mm
    is_loud, quiet = howled <= pair.axial_mm, 0.0 if quietest is None else quietest.quiet_mm
    # the cut ends at a hundredth that is no deeper than the pass
    quiet = pair.axial_mm if pair.axial_mm - SAME_MM <= quiet < pair.axial_mm else quiet
    return _Told(
        one=one, pair=pair, quiet_mm=min(quiet, howled), howled_mm=howled,
        cut=loudest if is_loud or quietest is None else quietest,
    )  # fmt: skip


def _inputs(worst: _Told) -> dict[str, Fact]:
    inputs = {
        "width of the pass": exact_fact(round(worst.pair.radial_mm, 4), "mm", "replay", "assumed"),
        "n of the pass": exact_fact(
            round(rpm_from_rad_per_s(worst.one.speed_rad_per_s), 3), "1/min", "own-algorithm", "assumed"
        ),
        "f_z of the pass": exact_fact(worst.one.tooth_feed_mm, "mm", "own-algorithm", "assumed"),
    }  # fmt: skip
    if worst.cut is None:
        return inputs
    cut, source = worst.cut, f"shop-file: cut in scrap of {worst.cut.date}"
    read = {"quiet in scrap down to": cut.quiet_mm, "width in scrap": cut.radial_mm, "f_z in scrap": cut.tooth_feed_mm}
    if cut.howled_mm is not None:
        read["howled in scrap at"] = cut.howled_mm
    told = {name: exact_fact(value, "mm", source, "measured here") for name, value in read.items()}
    speed = round(rpm_from_rad_per_s(cut.speed_rad_per_s), 3)
    return inputs | told | {"n in scrap": exact_fact(speed, "1/min", source, "measured here")}
