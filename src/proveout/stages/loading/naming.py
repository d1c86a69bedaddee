"""Poses and places in the words of someone who stands before the vise and knows how the work lies rightly."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.model.loading import Pose

Floats = NDArray[np.float64]
SQUARE = 0.985
SIDES = (("right end", "left end"), ("back", "front"), ("top", "underside"))
TOWARDS = (("to the right", "to the left"), ("to the fixed jaw", "to you"), ("up", "down"))
RIGHT_WAY = "the right way round"


def side_up(turn: Floats) -> str:
    """Which side of the rightly lying work looks up in a pose; empty when none does squarely."""
    return _named(turn[2], SIDES)


def way_words(pose: Pose, *, at_stop: bool = True) -> str:
    """A pose in words: "turned end for end", "right end up, its top to you", "upside down, tipped over the jaws"."""
    return turn_words(np.array(pose.turn)) + ("" if at_stop else ", on the far side of the stop")


def turn_words(turn: Floats) -> str:
    """A turn in words. turn: (3, 3), from as the work lies rightly."""
    up = side_up(turn)
    if up == "top":
        angle = math.degrees(math.atan2(turn[1, 0], turn[0, 0]))
        if abs(angle) < 0.5:
            return RIGHT_WAY
        if abs(abs(angle) - 180.0) < 0.5:
            return "turned end for end"
        return f"turned {abs(angle):.0f}° {'to the left' if angle > 0.0 else 'to the right'}"
    if up == "underside":
        if _named(turn[:, 0], TOWARDS) == "to the right":
            return "upside down, its right end still at the right"
        if _named(turn[:, 0], TOWARDS) == "to the left":
            return "upside down, its right end now at the left"
        return f"upside down, its right end {_named(turn[:, 0], TOWARDS) or 'at a slant'}"
    if up:
        return f"{up} up, its top {_named(turn[:, 2], TOWARDS) or 'at a slant'}"
    lean = math.degrees(math.acos(max(-1.0, min(1.0, float(turn[2, 2])))))
    return f"leaning {lean:.0f}° on a slanted side"


def place_words(place_mm: Floats, low_mm: Floats, high_mm: Floats) -> str:
    """Where on the work a place is, as the operator sees it: "at the left end, near you"."""
    share = (place_mm - low_mm) / np.maximum(high_mm - low_mm, 1e-9)
    along = (
        "at the left end" if share[0] < 1.0 / 3.0 else "at the right end" if share[0] > 2.0 / 3.0 else "in the middle"
    )
    across = ", near you" if share[1] < 1.0 / 3.0 else ", near the fixed jaw" if share[1] > 2.0 / 3.0 else ""
    return f"{along}{across}"


def _named(direction: Floats, names: tuple[tuple[str, str], ...]) -> str:
    axis = int(np.argmax(np.abs(direction)))
    if abs(float(direction[axis])) < SQUARE:
        return ""
    return names[axis][0 if direction[axis] > 0.0 else 1]
