"""Concerns for the designer before release: what is dear, weak or doubtful, and what would help."""

from __future__ import annotations

from typing import Literal

from proveout.model.proof import Sense
from proveout.model.shop import Noun

ConcernKind = Literal[
    "corner", "thin wall", "thin floor", "deep hole", "deep thread", "coat edge", "long cutter", "near symmetry",
]  # fmt: skip


class Concern(Noun, frozen=True, kw_only=True):
    """One thing that the designer should look at; none of them blocks release.

    subject: the feature in words.  found, limit: in `unit`, the limit None where the shop has nothing to set one.
    change: what would help, in words.  source: key of docs/sources.toml behind the limit;  is_practice: the limit is
    common practice, no source.  seconds: of the passes that cut these faces, shared by area, the most that a change
    could save; None where that cannot be reckoned.
    """

    id: str
    kind: ConcernKind
    subject: str
    face_ids: tuple[str, ...]
    found: float
    limit: float | None
    sense: Sense
    unit: str
    text: str
    change: str
    source: str
    is_practice: bool
    seconds: float | None = None
