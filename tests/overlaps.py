"""Words that lie over each other on a page, and ink that is not black, found in the finished PDF."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pypdfium2

SHARE = 0.2  # of the smaller box
LEAST_PT = 0.8  # of depth in either direction: letters' boxes are taller than their ink


@dataclass(frozen=True)
class Box:
    """One run of letters, in points from the lower left corner of its page."""

    text: str
    left: float
    bottom: float
    right: float
    top: float


def boxes_of(page: pypdfium2.PdfPage) -> list[Box]:
    """Runs of letters of one size on one line; a run written twice in one place (with its rim) counts once."""
    words = page.get_textpage()
    found: dict[tuple[str, int, int], Box] = {}
    for index in range(words.count_rects()):
        left, bottom, right, top = words.get_rect(index)
        text = words.get_text_bounded(left, bottom, right, top).strip()
        if text:
            found[text, round(left), round(bottom)] = Box(text, left, bottom, right, top)
    words.close()
    return list(found.values())


def overlapping(page: pypdfium2.PdfPage) -> list[tuple[str, str]]:
    """Pairs of runs that cover more than a share of the smaller one."""
    boxes = boxes_of(page)
    if len(boxes) < 2:
        return []
    at = np.array([(b.left, b.bottom, b.right, b.top) for b in boxes])
    low = np.maximum(at[:, None, :2], at[None, :, :2])
    high = np.minimum(at[:, None, 2:], at[None, :, 2:])
    depth = high - low
    area = (at[:, 2] - at[:, 0]) * (at[:, 3] - at[:, 1])
    covered = depth.prod(axis=2) / np.minimum(area[:, None], area[None, :])
    bad = (depth > LEAST_PT).all(axis=2) & (covered > SHARE)
    return [(boxes[i].text, boxes[j].text) for i, j in np.argwhere(np.triu(bad, k=1))]


def beyond_edge(page: pypdfium2.PdfPage, *, margin_pt: float = 14.0) -> list[str]:
    """Runs that come nearer to the paper's edge than any printer prints."""
    width, height = page.get_size()
    return [
        b.text
        for b in boxes_of(page)
        if b.left < margin_pt or b.bottom < margin_pt or b.right > width - margin_pt or b.top > height - margin_pt
    ]


def is_coloured(page: pypdfium2.PdfPage) -> bool:
    """Whether any dot of the page is neither black, white nor a grey between."""
    picture = np.asarray(page.render(scale=1).to_pil().convert("RGB"), dtype=np.int16)
    return bool((picture.max(axis=2) - picture.min(axis=2)).max() > 8)
