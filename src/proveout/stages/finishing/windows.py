"""The window of one size before the coat, at the worst end of all that may come."""

from __future__ import annotations

from proveout.model.coat_growth import Growth
from proveout.model.job import Size
from proveout.model.plan import Window
from proveout.model.shop import Noun
from proveout.quantities.coat import STEP, CoatedSize, SizeWindow
from proveout.stages.finishing.features import Feature
from proveout.stages.finishing.finished import Limits, tidy

# common practice, no source: below this a milling shop cannot be taken to hold a size piece after piece
HELD_WIDTH_MM = 0.010
# how often the build-up of one surface counts in each kind of size
SURFACES: dict[CoatedSize, float] = {
    "shaft": 2.0, "bore": 2.0, "external thread": 4.0, "internal thread": 4.0, "one face": 1.0, "one inside face": 1.0,
    STEP: 2.0,
}  # fmt: skip


class Before(Noun, frozen=True, kw_only=True):
    """The window of one size before the coat, as it is machined to.

    size: how the coat counts in it, None where none of its surfaces takes any.  worst_width_mm, best_width_mm: its
    width with what nobody said at its worst and at its best; all three alike where all is known.  is_decided: what
    nobody said does not matter, for the window bears its worst ends.
    """

    size: CoatedSize | None
    window: SizeWindow
    worst_width_mm: float
    best_width_mm: float

    @property
    def is_decided(self) -> bool:
        """What nobody said changes nothing that matters."""
        return self.worst_width_mm == self.best_width_mm or self.worst_width_mm >= HELD_WIDTH_MM

    @property
    def surfaces(self) -> float:
        """How often the build-up of one surface counts in the size."""
        return SURFACES[self.size] if self.size is not None else 0.0


def coated_size(feature: Feature, *, coated: tuple[bool, bool], is_thread: bool) -> CoatedSize | None:
    """How the coat counts in a size; None where it does not. coated: which of its two surfaces take it.

    The second of a step's surfaces is the lower one: coat on it alone brings the two nearer to each other.
    """
    if not any(coated):
        return None
    if is_thread:
        return "internal thread" if feature.is_inside else "external thread"
    if feature.is_step:
        return STEP if all(coated) else "one face" if coated[0] else "one inside face"
    if all(coated):
        return "bore" if feature.is_inside else "shaft"
    return "one inside face" if feature.is_inside else "one face"


def window_before(*, limits: Limits, size: CoatedSize | None, growth: Growth | None) -> Before:
    """Sizes before the coat that stay within the finished limits at the worst end of all that may come.

    Where what nobody said decides, the window is the one without it, and its worst width tells so.
    """
    if growth is None or size is None:
        whole = SizeWindow(low_mm=limits.low_mm, high_mm=limits.high_mm)
        return Before(size=None, window=whole, worst_width_mm=whole.width_mm, best_width_mm=whole.width_mm)
    worst = growth.window(size, limits.low_mm, limits.high_mm)
    if not growth.asks:
        return Before(size=size, window=worst, worst_width_mm=worst.width_mm, best_width_mm=worst.width_mm)
    is_borne = worst.width_mm >= HELD_WIDTH_MM
    return Before(
        size=size,
        window=worst if is_borne else growth.plain_window(size, limits.low_mm, limits.high_mm),
        worst_width_mm=worst.width_mm,
        best_width_mm=growth.best_width_mm(size, limits.low_mm, limits.high_mm),
    )


def make_window(*, size: Size, feature: Feature, limits: Limits, before: Before, is_thread: bool) -> Window:
    """The window of one size, without ways out."""
    return Window(
        balloon=size.balloon,
        letter=size.letter,
        text=size.text,
        kind="thread" if is_thread else feature.kind,
        finished_low_mm=limits.low_mm,
        finished_high_mm=limits.high_mm,
        before_low_mm=tidy(before.window.low_mm),
        before_high_mm=tidy(before.window.high_mm),
        width_mm=tidy(before.window.width_mm),
        is_masked=False,
        is_critical=size.is_critical,
        face_ids=feature.face_ids,
        is_decided=before.is_decided,
        is_inside=feature.is_inside,
        is_step=feature.is_step,
    )
