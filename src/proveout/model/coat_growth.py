"""How far a coat moves the surfaces of one size: what is known of it, and what nobody said."""

from __future__ import annotations

from msgspec import structs

from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Coat, Job
from proveout.model.shop import Finisher, Noun
from proveout.quantities.coat import CoatedSize, SizeWindow, before_coat_window, build_up_mm, size_growth_mm

# common practice, no source: a blind hole no deeper than this many diameters takes the coat of the outside, where
# nobody said otherwise
SHALLOW_RATIO = 1.0
# common practice, no source: what an etch before the coat can take off each surface where nobody says
UNKNOWN_ETCH = Fact(
    low=0.0, nominal=0.0, high=0.025, unit="mm", source="workshop-practice", strength="common practice"
)  # fmt: skip
UNKNOWN_SHARE = Fact(low=0.0, nominal=1.0, high=1.0, unit="ratio", source="own-algorithm", strength="assumed")
FULL = exact_fact(1.0, "ratio", "own-algorithm", "assumed")
SAME_THICKNESS_RATIO = 1e-3
"""Two nominal thicknesses are one where they differ by no more: the same number, typed in another unit (our own)."""
NO_ETCH = exact_fact(0.0, "mm", "own-algorithm", "assumed")


class Growth(Noun, frozen=True, kw_only=True):
    """What comes on the surfaces of one size.

    depth_ratio: of a blind hole, its depth in diameters; 0 for anything else.  etch_mm, share_ratio: as said, or the
    widest that can be where nobody said.  asks: what the finisher has to say, empty when all is known.
    """

    coat: Coat
    depth_ratio: float
    etch_mm: Fact
    share_ratio: Fact
    asks: tuple[str, ...] = ()

    @property
    def is_etch_said(self) -> bool:
        """The etch was written."""
        return self.coat.etch_mm is not None

    @property
    def is_share_said(self) -> bool:
        """How much comes in this hole was written, or the hole is shallow or none."""
        return self.depth_ratio <= SHALLOW_RATIO or self.coat.blind_share(self.depth_ratio) is not None

    @property
    def middle_mm(self) -> float:
        """Growth of one surface outside of blind holes with all at nominal; no etch where nobody said."""
        if self.coat.grown_mm is not None:
            return self.coat.grown_mm.nominal
        etch = 0.0 if self.coat.etch_mm is None else self.coat.etch_mm.nominal
        return self.coat.comes_mm.nominal * self.coat.build_up_ratio.nominal - etch

    @property
    def build_up_mm(self) -> tuple[float, float]:
        """Least and most growth of one surface, what nobody said at its worst ends."""
        if self.coat.grown_mm is not None:
            return _grown_ends(self.coat.grown_mm, self.etch_mm, self.share_ratio)
        return _said_ends(self.coat, self.etch_mm, self.share_ratio)

    def window(self, size: CoatedSize, low_mm: float, high_mm: float) -> SizeWindow:
        """Sizes before the coat that end within low to high whatever comes, what nobody said at its worst ends."""
        return _window(self.coat, size, (low_mm, high_mm), etch=self.etch_mm, share=self.share_ratio)

    def plain_window(self, size: CoatedSize, low_mm: float, high_mm: float) -> SizeWindow:
        """The same where what nobody said is left out: no etch, and the coat of the outside in a blind hole."""
        etch = self.etch_mm if self.is_etch_said else NO_ETCH
        return _window(
            self.coat, size, (low_mm, high_mm), etch=etch, share=self.share_ratio if self.is_share_said else FULL
        )  # fmt: skip

    def best_width_mm(self, size: CoatedSize, low_mm: float, high_mm: float) -> float:
        """Width of the window if what nobody said turned out at its best: an even etch, and no coat in the hole."""
        if self.is_share_said:
            return self.plain_window(size, low_mm, high_mm).width_mm
        etch = self.etch_mm if self.is_etch_said else NO_ETCH
        none = exact_fact(0.0, "ratio", "own-algorithm", "assumed")
        return _window(self.coat, size, (low_mm, high_mm), etch=etch, share=none).width_mm


def growth_of(coat: Coat, *, depth_ratio: float) -> Growth:
    """What is known of the growth at a size; depth_ratio 0 for anything but a blind hole."""
    asks: list[str] = []
    said = coat.blind_share(depth_ratio) if depth_ratio > 0.0 else None
    share = said if said is not None else FULL
    if said is None and depth_ratio > SHALLOW_RATIO:
        share = UNKNOWN_SHARE
        asks.append(f"how much of the thickness comes in a blind hole {depth_ratio:.1f} diameters deep")
    # what was read on coated pieces holds their etch; in a blind hole of another share it counts for itself again
    if coat.etch_mm is None and (coat.grown_mm is None or share.low < 1.0):
        asks.append("how much the etch before the coat takes off each surface")
    return Growth(
        coat=coat, depth_ratio=depth_ratio, etch_mm=coat.etch_mm or UNKNOWN_ETCH, share_ratio=share, asks=tuple(asks)
    )  # fmt: skip


def as_read(job: Job, finishers: tuple[Finisher, ...]) -> Job:
    """The job, its coat with what was read of that finisher's growth and thickness where this one is asked for."""
    coat = job.coat
    own = None if coat is None else next((one for one in finishers if one.id == coat.finisher), None)
    if coat is None or own is None:
        return job
    grown = own.coat_growth_mm if _is_at(own.coat_growth_at_mm, coat) else None
    read = own.coat_thickness_mm if _is_at(own.coat_thickness_at_mm, coat) else None
    if grown is None and read is None:
        return job
    return structs.replace(job, coat=structs.replace(coat, grown_mm=grown, read_mm=read))


def _is_at(at_mm: float | None, coat: Coat) -> bool:
    """Whether it was read of coats that were asked for as this one is."""
    nominal = coat.thickness_mm.nominal
    return at_mm is not None and abs(at_mm - nominal) <= SAME_THICKNESS_RATIO * nominal


def _thickness_ends(coat: Coat, *, on_flanks: bool) -> tuple[float, float]:
    """Ends of the thickness that comes. Nobody reads it on flanks of a thread: there what was asked for counts too."""
    comes, asked = coat.comes_mm, coat.thickness_mm
    return (min(comes.low, asked.low), max(comes.high, asked.high)) if on_flanks else (comes.low, comes.high)


def _said_ends(coat: Coat, etch: Fact, share: Fact, *, on_flanks: bool = False) -> tuple[float, float]:
    """Ends of thickness times share, less the etch."""
    low_mm, high_mm = _thickness_ends(coat, on_flanks=on_flanks)
    return build_up_mm(
        thickness_low_mm=low_mm * share.low, thickness_high_mm=high_mm * share.high,
        share_low_ratio=coat.build_up_ratio.low, share_high_ratio=coat.build_up_ratio.high,
        etch_low_mm=etch.low, etch_high_mm=etch.high,
    )  # fmt: skip


def _grown_ends(grown: Fact, etch: Fact, share: Fact) -> tuple[float, float]:
    """Ends of what was read outside, in a hole that takes a share q of the thickness: q g - (1 - q) e."""
    least = share.low * grown.low - (1.0 - share.low) * etch.high
    most = share.high * grown.high - (1.0 - share.high) * etch.low
    return least, most


def _window(coat: Coat, size: CoatedSize, finished_mm: tuple[float, float], *, etch: Fact, share: Fact) -> SizeWindow:
    if coat.grown_mm is not None:
        low_mm, high_mm = _grown_ends(coat.grown_mm, etch, share)
        if size.endswith("thread"):  # nobody read it on flanks: what was said holds as well
            said = _said_ends(coat, etch, share, on_flanks=True)
            low_mm, high_mm = min(low_mm, said[0]), max(high_mm, said[1])
        least, most = size_growth_mm(size=size, build_low_mm=low_mm, build_high_mm=high_mm)
        return SizeWindow(low_mm=finished_mm[0] - least, high_mm=finished_mm[1] - most)
    low_mm, high_mm = _thickness_ends(coat, on_flanks=size.endswith("thread"))
    return before_coat_window(
        size=size,
        finished_low_mm=finished_mm[0],
        finished_high_mm=finished_mm[1],
        thickness_low_mm=low_mm * share.low,
        thickness_high_mm=high_mm * share.high,
        share_low_ratio=coat.build_up_ratio.low,
        share_high_ratio=coat.build_up_ratio.high,
        etch_low_mm=etch.low,
        etch_high_mm=etch.high,
    )
