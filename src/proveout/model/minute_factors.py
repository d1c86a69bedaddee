"""How long the work on one machine really takes, as multiples of what its moves and the bench's hands say."""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.model.fact import Fact

MinuteKind = Literal["roughing", "finishing", "holes", "changes", "loading"]
MINUTE_KINDS: tuple[MinuteKind, ...] = ("roughing", "finishing", "holes", "changes", "loading")
ROUGHING = ("face", "rough", "rough corners")
HOLES = ("spot", "drill", "peck", "counterbore", "bore", "ream", "tap", "mill thread")


class MinuteFactors(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One factor a kind, None where nobody knows and 1 is taken with the usual spread.

    roughing: faces, roughing and its corners;  finishing: walls, floors, surfaces, undercuts, edges;  holes;  changes:
    of cutters, and turns of rotary axes;  loading: by hand, blowing off with it.
    """

    roughing: Fact | None = None
    finishing: Fact | None = None
    holes: Fact | None = None
    changes: Fact | None = None
    loading: Fact | None = None

    def of(self, kind: MinuteKind) -> Fact | None:
        """The factor of one kind."""
        found: Fact | None = getattr(self, kind)
        return found


def factor_of(minutes: MinuteFactors | None, kind: MinuteKind) -> Fact | None:
    """What a machine's minutes of a kind are multiplied by; None where nobody wrote it."""
    return None if minutes is None else minutes.of(kind)


def minute_kind(pass_kind: str) -> MinuteKind:
    """The kind of minutes that a kind of pass takes."""
    if pass_kind in ROUGHING:
        return "roughing"
    return "holes" if pass_kind in HOLES else "finishing"


def factored(seconds: float, factor: Fact) -> Fact:
    """Planned seconds times a factor, with the factor's own interval."""
    return Fact(
        low=round(seconds * factor.low, 6), nominal=round(seconds * factor.nominal, 6),
        high=round(seconds * factor.high, 6), unit="s", source=factor.source, strength=factor.strength,
    )  # fmt: skip
