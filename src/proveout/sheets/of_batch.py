"""What papers say of the batch that they are made for."""

from __future__ import annotations

from proveout.model.shop import Noun


class OfBatch(Noun, frozen=True, kw_only=True):
    """A batch on paper. waivers: words of every proof that somebody answers for; they stand on every page.

    first_piece: what is asked of the first piece, or who answers for it that nothing is; empty where it ran before.
    """

    batch: str
    waivers: tuple[str, ...] = ()
    first_piece: str = ""
