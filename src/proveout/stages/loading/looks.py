"""What the operator sees of a body in the jaws, and how large a patch of it looks different."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.removal.posing import nearest_on_page_mm, widest_patch, without_gaps

Floats = NDArray[np.float64]
LOOK_DOWN_RAD = math.radians(40.0)
"""As the pictures are drawn: a standing person looks down on a vise at about this angle."""
SEEN_MM, SEEN_DEEP_MM = 2.0, 1.0
"""Common practice, no source: with the picture beside it a person sees a patch so wide that lies so much nearer or
farther."""
PAGE_MM = 0.5
NOTHING_MM = -1e4
_S, _C = math.sin(LOOK_DOWN_RAD), math.cos(LOOK_DOWN_RAD)
PAGE = np.array([[1.0, 0.0, 0.0], [0.0, _S, _C], [0.0, -_C, _S]])
"""Rows: to the right, up the page, and towards the eye, in the clamping's frame."""


@dataclass(frozen=True)
class Sight:
    """How near to the eye a body lies in each cell of a page, NOTHING_MM where it does not show. low_mm: its corner."""

    low_mm: Floats
    cell_mm: float
    near_mm: Floats


def page_of(low_mm: Floats, high_mm: Floats) -> tuple[Floats, tuple[int, int]]:
    """Corner and numbers of cells of a page that holds a box, seen from where the operator stands."""
    corners = box_corners(low_mm, high_mm)
    flat = (corners @ PAGE.T)[:, :2]
    low = flat.min(axis=0) - 2.0 * PAGE_MM
    count = np.ceil((flat.max(axis=0) - low) / PAGE_MM).astype(int) + 2
    return low, (int(count[0]), int(count[1]))


def seen(
    points_mm: Floats, *, turn: Floats, shift_mm: Floats, above_mm: float, page: tuple[Floats, tuple[int, int]]
) -> Sight:
    """The sight of a posed body by points of its surface, no farther apart than a cell of the page.

    What lies below the jaw tops is hidden by the jaw in front and left out.
    """
    low, shape = page
    near = nearest_on_page_mm(
        points_mm, turn=turn, shift_mm=shift_mm, above_mm=above_mm, page=PAGE, low_mm=low, cell_mm=PAGE_MM, shape=shape
    )
    return Sight(low_mm=low, cell_mm=PAGE_MM, near_mm=without_gaps(near, nothing_mm=NOTHING_MM))


def different_mm(one: Sight, other: Sight) -> tuple[float, Floats]:
    """Width of the widest patch that looks different, and its middle on the page.

    Returns:  mm as seen, the diameter of a disc within the patch less a cell; 0 when nothing does.
    """
    room, at = widest_patch(one.near_mm, other.near_mm, least_mm=SEEN_DEEP_MM)
    if room == 0.0:
        return 0.0, np.zeros(2)
    wide = 2.0 * (room - 0.5) * one.cell_mm - one.cell_mm
    return max(0.0, wide), one.low_mm + (np.array(at) + 0.5) * one.cell_mm


def from_page(place_mm: Floats, near_mm: float) -> Floats:
    """(3,) the point of the clamping's frame at a place of the page that lies so near to the eye."""
    return np.array([place_mm[0], place_mm[1], near_mm]) @ PAGE
