"""Copper and silicon in wrought alloys, as far as a hard coat asks for them."""

from __future__ import annotations

import re
from typing import NamedTuple

from proveout.model.fact import Strength

# hard coating to the usual process: more than these need a special one (iso_10074_text)
COPPER_MOST_PERCENT = 5.0
SILICON_MOST_PERCENT = 8.0


class Contents(NamedTuple):
    """Least and most of copper and silicon that the alloy's limits allow, in percent, and how well that is known."""

    copper_percent: tuple[float, float]
    silicon_percent: tuple[float, float]
    strength: Strength = "from memory"
    source: str = "aluminium_limits"


# registered limits
CONTENTS: dict[str, Contents] = {
    "2011": Contents((5.0, 6.0), (0.0, 0.40)),
    "2024": Contents((3.8, 4.9), (0.0, 0.50)),
    "5083": Contents((0.0, 0.10), (0.0, 0.40)),
    "5754": Contents((0.0, 0.10), (0.0, 0.40)),
    "6061": Contents((0.15, 0.40), (0.40, 0.80), "published as quoted", "aluminium_6061_limits"),
    "6063": Contents((0.0, 0.10), (0.20, 0.60)),
    "6082": Contents((0.0, 0.10), (0.70, 1.30)),
    "7075": Contents((1.2, 2.0), (0.0, 0.40)),
}


def contents_of(alloy: str) -> Contents | None:
    """The contents by the four figures in an alloy's name, None for one that is not in the table."""
    found = re.search(r"(?<!\d)(\d{4})(?!\d)", alloy)
    return CONTENTS.get(found[1]) if found else None
