"""What a shop file was understood to mean, what nobody said, and what is unknown - of the whole, or of one item."""

from __future__ import annotations

import re
from dataclasses import dataclass

import msgspec

from proveout.intake.shop_sentences import understood, unknown
from proveout.jobs.pressure import pressure_words
from proveout.model.shop import Shop


@dataclass(frozen=True)
class ShopWords:
    """Sentences: what was understood, what was assumed, what is unknown with what it leaves not shown."""

    understood: tuple[str, ...]
    assumed: tuple[str, ...]
    unknown: tuple[str, ...]


def shop_words(shop: Shop) -> ShopWords:
    """Everything that `check-shop` says, in its three parts."""
    return ShopWords((*understood(shop), *pressure_words(shop)), shop.assumed, tuple(unknown(shop)))


LISTS = {
    "machine": "machines", "vise": "vises", "jaws": "jaws", "crib.cutter": "cutters", "rack.bar": "bars",
    "finisher": "finishers", "gauge": "gauges",
}  # fmt: skip


def unknown_of(shop: Shop, *, kind: str, place: int) -> tuple[str, ...]:
    """What is unknown of one item, with what cannot be shown without it.   place: from 0."""
    name = LISTS.get(kind, "")
    things = getattr(shop, name, ())
    if not 0 <= place < len(things):
        return ()
    # with one of its kind alone no sentence speaks of several
    alone = msgspec.structs.replace(shop, **{name: (things[place],)})
    id = re.compile(rf"(?<![\w.+-]){re.escape(things[place].id)}(?![\w+-])")
    return tuple(line for line in (*unknown(alone), *shop.assumed) if id.search(line))
