"""What papers say of the batch that they are made for."""

from __future__ import annotations

from proveout.model.shop import Noun


class OfBatch(Noun, frozen=True, kw_only=True):
    """A batch on paper. waivers: words of every proof that somebody answers for; they stand on every page."""

    batch: str
    waivers: tuple[str, ...] = ()
