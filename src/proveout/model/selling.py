"""What owners say of money beyond prices: how far prices may be off, channels, the price, and the demand."""

from __future__ import annotations

from proveout.model.fact import Fact
from proveout.model.shop import Noun


class Selling(Noun, frozen=True, kw_only=True):
    """For what a piece is sold, and for what it could be bought ready made.

    price: before fees;  margin_ratio: share of the price that is to be left;  bought_each: delivered, of the same
    finish; all None where the owner wrote none.   channels: names of the shop's channels, empty for all.
    """

    price: float | None = None
    margin_ratio: float | None = None
    bought_each: Fact | None = None
    channels: tuple[str, ...] = ()


class Demand(Noun, frozen=True, kw_only=True):
    """How many are wanted in a year.

    holding_ratio: what a year of lying costs, as a share of what a piece costs; None: the shop's.
    shared_setup_ratio: share of the set-up minutes that fall away where another part with the same set-up runs just
    before; None where the owner wrote none.
    """

    per_year: Fact
    holding_ratio: Fact | None = None
    shared_setup_ratio: Fact | None = None
