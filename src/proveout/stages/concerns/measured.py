"""One thing measured against a limit of a good design, whether it keeps it or not."""

from __future__ import annotations

import math

from proveout.model.concerns import ConcernKind
from proveout.model.features import Feature
from proveout.model.proof import Sense, margin_of
from proveout.model.shop import Noun

PRACTICE = "workshop-practice"


class Measured(Noun, frozen=True, kw_only=True):
    """As model/concerns.py has it, kept or not. limit None: the shop has nothing to set one."""

    kind: ConcernKind
    subject: str
    face_ids: tuple[str, ...]
    found: float
    limit: float | None
    sense: Sense
    unit: str
    text: str
    change: str
    source: str = PRACTICE

    @property
    def is_kept(self) -> bool:
        """The limit is there and kept."""
        if self.limit is None:
            return False
        return self.found <= self.limit if self.sense == "at most" else self.found >= self.limit

    @property
    def margin(self) -> float:
        """As of a proof; lowest of all where there is no limit."""
        return -99.0 if self.limit is None else margin_of(found=self.found, limit=self.limit, sense=self.sense)


def no_less(least: float) -> str:
    """A number to make something by that must not be smaller: up to the next hundredth, so that it does keep it."""
    return f"{math.ceil(100.0 * least - 1e-6) / 100.0:g}"


def no_more(most: float) -> str:
    """A number to make something by that must not be larger: down to the hundredth before."""
    return f"{math.floor(100.0 * most + 1e-6) / 100.0:g}"


def label(feature: Feature) -> str:
    """The first words of a feature's name."""
    return feature.name.split(", ")[0]
