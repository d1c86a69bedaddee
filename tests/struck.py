"""Letters that a line or the edge of a box runs through, or white covers, found by drawing a finished page in parts."""

from __future__ import annotations

import ctypes
from collections.abc import Iterator

import numpy as np
import pypdfium2
from numpy.typing import NDArray
from overlaps import Box, boxes_of
from pypdfium2 import raw

DOTS_A_POINT = 3  # 216 to the inch: the thinnest line of the papers, 0.16 mm, is more than one dot wide
DARK = 128  # of 255: a dot that ink covers by half
LEAST_DOTS = 3  # fewer are two soft edges that meet
HIDE, SHOW = 0, 1
REACH_PT = 1.0  # ink of a letter beyond the box of its word

Dots = NDArray[np.bool_]


def struck(page: pypdfium2.PdfPage) -> list[str]:
    """Words whose ink a line, an outline or a black field meets, or of which something white has covered a piece.

    Lines that a word's own white rim covers are not there to be met: what is looked at is the page as it prints.
    The page is left as it was found.
    """
    letters, rest = [], []
    for one in _objects(page):
        (letters if _is_ink_of_letters(one) else rest).append(one)
    met = _dark(page, hidden=rest) & (_dark(page, hidden=letters) | ~_dark(page, hidden=[]))
    if not met.any():
        return []
    height = page.get_size()[1]
    return [box.text for box in boxes_of(page) if _within(met, box, height) >= LEAST_DOTS]


def _objects(page: pypdfium2.PdfPage) -> Iterator[ctypes.c_void_p]:
    """All that is drawn, forms opened: pictures are forms."""
    todo = [raw.FPDFPage_GetObject(page.raw, i) for i in range(raw.FPDFPage_CountObjects(page.raw))]
    while todo:
        one = todo.pop()
        if raw.FPDFPageObj_GetType(one) == raw.FPDF_PAGEOBJ_FORM:
            todo += [raw.FPDFFormObj_GetObject(one, i) for i in range(raw.FPDFFormObj_CountObjects(one))]
        else:
            yield one


def _is_ink_of_letters(one: ctypes.c_void_p) -> bool:
    """Letters filled with a dark ink; their white rims are none."""
    if raw.FPDFPageObj_GetType(one) != raw.FPDF_PAGEOBJ_TEXT:
        return False
    is_filled = raw.FPDFTextObj_GetTextRenderMode(one) != raw.FPDF_TEXTRENDERMODE_STROKE
    parts = [ctypes.c_uint() for _ in range(4)]
    raw.FPDFPageObj_GetFillColor(one, *(ctypes.byref(part) for part in parts))
    return is_filled and max(part.value for part in parts[:3]) < DARK


def _dark(page: pypdfium2.PdfPage, *, hidden: list[ctypes.c_void_p]) -> Dots:
    """Where ink lies once some of it is left away."""
    for one in hidden:
        raw.FPDFPageObj_SetIsActive(one, HIDE)
    grey = np.asarray(page.render(scale=DOTS_A_POINT, grayscale=True).to_pil())
    for one in hidden:
        raw.FPDFPageObj_SetIsActive(one, SHOW)
    return grey < DARK


def _within(dots: Dots, box: Box, height_pt: float) -> int:
    """How many dots lie in a word's box."""
    left, right = ((x + off) * DOTS_A_POINT for x, off in ((box.left, -REACH_PT), (box.right, REACH_PT)))
    top, foot = ((height_pt - y + off) * DOTS_A_POINT for y, off in ((box.top, -REACH_PT), (box.bottom, REACH_PT)))
    return int(dots[max(0, round(top)) : round(foot), max(0, round(left)) : round(right)].sum())
