"""Steps on the way of one decision that may be taken again, whatever else of it has changed; never affects values."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Protocol, TypeVar

Value = TypeVar("Value")


class Recall(Protocol):
    """Where a decision keeps its steps, each under all that it received."""

    def get(self, stage: str, function: Callable[..., Value], /, **received: Any) -> Value:
        """What the function makes of these, taken from where it was kept when the same was made before."""
        ...


class NothingKept:
    """Works every step out anew."""

    def get(self, stage: str, function: Callable[..., Value], /, **received: Any) -> Value:  # noqa: ARG002 - as Recall
        """What the function makes of these."""
        return function(**received)


NOTHING_KEPT = NothingKept()
