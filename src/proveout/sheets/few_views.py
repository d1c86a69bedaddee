"""Few views that together show what a drawing must show."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import TypeVar

K = TypeVar("K")
MOST_VIEWS = 4


def few_views(seen: Sequence[Mapping[K, float]]) -> list[int]:
    """Places of few views that show everything which shows at all, MOST_VIEWS at most; the first if nothing does.

    seen: by view, what shows in it and how much of it. The view that adds most goes first, of equals the one that shows
    more of what it adds, in whatever order that is told.
    """
    left = {key for view in seen for key in view}
    chosen: list[int] = []
    while len(chosen) < MOST_VIEWS:
        gains = [math.fsum(amount for key, amount in view.items() if key in left) for view in seen]
        counts = [len(left & set(view)) for view in seen]
        best = max(range(len(seen)), key=lambda i: (counts[i], gains[i], -i))
        if counts[best] == 0:
            break
        chosen.append(best)
        left -= set(seen[best])
    return sorted(chosen) or [0]
