"""The built-in starting shop, assumed when the owner gives no shop file."""

from __future__ import annotations

from importlib.resources import files

import msgspec

from proveout.intake.shop_file import shop_from_text
from proveout.intake.shop_sentences import understood, unknown
from proveout.model.shop import Shop

FILE = "starting_shop.toml"


def starting_shop_text() -> str:
    """The starting shop as TOML text."""
    return (files("proveout.intake") / FILE).read_text(encoding="utf-8")


def starting_shop() -> Shop:
    """The starting shop; `assumed` says of every line that it is assumed, and what stays unknown."""
    shop = shop_from_text(starting_shop_text(), file=FILE)
    lines = [f"No shop file, assumed: {line}" for line in understood(shop)]
    return msgspec.structs.replace(shop, assumed=(*lines, *unknown(shop)))
