"""What owners write of money: how far prices may be off, channels, a finisher's invoice, price and demand."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.intake.job_file import check_job_in_shop, job_from_text, read_job
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.intake.shop_sentences import check_words
from proveout.model.shop import Shop
from proveout.quantities.errors import BadInput, OutOfRange

JOB = """
general_tolerance = "m"
[part]
number = "EX-1"
step = "part.step"
[order]
quantity = 10
"""
WISHES = (
    JOB
    + """
[selling]
price = 40.0
margin_percent = 25
bought_each = { low = 30, nominal = 33, high = 41, source = "two quotes", strength = "owner's guess" }
channels = ["dealers"]
[demand]
per_year = { low = 100, nominal = 150, high = 260 }
holding_percent = 20
shared_setup_percent = { low = 30, nominal = 50, high = 60 }
"""
)


@pytest.fixture
def shop_text(root: Path) -> str:
    return (root / "examples" / "shop.toml").read_text(encoding="utf-8")


def shop_of(text: str, root: Path) -> Shop:
    return shop_from_text(text, file="shop.toml", folder=root / "examples")


def test_price_and_demand_are_read_in_the_units_inside() -> None:
    job = job_from_text(WISHES)
    assert job.selling is not None
    assert (job.selling.price, job.selling.margin_ratio, job.selling.channels) == (40.0, 0.25, ("dealers",))
    assert job.selling.bought_each is not None
    assert job.selling.bought_each.source == "job-file: two quotes"
    assert job.demand is not None
    assert (job.demand.per_year.low, job.demand.per_year.high) == (100.0, 260.0)
    assert job.demand.holding_ratio is not None
    assert job.demand.holding_ratio.nominal == pytest.approx(0.2)
    assert job.demand.shared_setup_ratio is not None
    assert job.demand.shared_setup_ratio.high == pytest.approx(0.6)


def test_a_job_that_says_nothing_of_money_has_neither() -> None:
    job = job_from_text(JOB)
    assert (job.selling, job.demand) == (None, None)


def test_a_demand_of_nothing_and_an_unknown_channel_are_refused(root: Path) -> None:
    with pytest.raises(OutOfRange, match="Some pieces are wanted"):
        job_from_text(JOB + "[demand]\nper_year = 0\n")
    shop = read_shop(root / "examples" / "shop.toml")
    check_job_in_shop(job_from_text(WISHES), shop)
    with pytest.raises(BadInput, match=r"channel that the shop does not have.*own-shop, dealers"):
        check_job_in_shop(job_from_text(WISHES.replace('["dealers"]', '["fair"]')), shop)


def test_the_demo_says_how_far_its_prices_may_be_off_and_where_it_sells(root: Path) -> None:
    shop = read_shop(root / "examples" / "shop.toml")
    assert shop.money.rate_ratio is not None
    assert (shop.money.rate_ratio.low, shop.money.rate_ratio.high) == (0.92, 1.12)
    assert shop.money.cutter_ratio is None
    assert [(one.id, one.fee_ratio, one.fee_each) for one in shop.money.channels] == [
        ("own-shop", pytest.approx(0.03), 0.35), ("dealers", pytest.approx(0.35), 0.0),
    ]  # fmt: skip
    for name in ("body", "jaw", "knob"):
        job = read_job(root / "examples" / f"{name}.toml")
        assert job.demand is not None
        assert job.selling is not None


def test_a_channel_named_twice_and_charges_without_price_are_refused(root: Path, shop_text: str) -> None:
    with pytest.raises(BadInput, match="same id"):
        shop_of(shop_text.replace('id = "dealers"', 'id = "own-shop"'), root)
    charged = shop_text.replace("price_each = 0.80", "price_each = 0.80\ncharges_plugs = true")
    with pytest.raises(BadInput, match="charges plugs and masks at no price"):
        shop_of(charged, root)


def test_an_invoice_s_words_are_read(root: Path, shop_text: str) -> None:
    words = "price_each = 6.50\nloading_price = 38\nfurther_part_price = 12\ncharges_plugs = true"
    shop = shop_of(shop_text.replace("price_each = 6.50", words), root)
    coater = next(one for one in shop.finishers if one.id == "hard-coat")
    assert (coater.loading_price, coater.further_part_price, coater.charges_plugs) == (38.0, 12.0, True)
    plain = read_shop(root / "examples" / "shop.toml").finishers[0]
    assert (plain.loading_price, plain.further_part_price, plain.charges_plugs) == (0.0, 0.0, False)


def test_what_was_understood_of_money_is_told(root: Path, shop_text: str) -> None:
    told = " ".join(check_words(read_shop(root / "examples" / "shop.toml")))
    assert "metal 0.97 to 1.1, rates an hour 0.92 to 1.12, finishers 1 to 1.08" in told
    assert "counted as exact: cutters a minute." in told
    assert "A kilogram of chips brings 0.6 to 1.1 EUR; a year of lying costs 15 to 30 % of a piece." in told
    assert "Sold by own-shop for 3 % of the price and 0.35 EUR a piece, dealers for 35 % of the price." in told
    assert "how far prices and rates may be off" not in told
    words = "price_each = 6.50\nloading_price = 38\ncharges_plugs = true"
    charged = " ".join(check_words(shop_of(shop_text.replace("price_each = 6.50", words), root)))
    assert "loading a lot 38.00 EUR more; every plug and mask is charged" in charged
    bare = shop_of(shop_text.split("[money]", maxsplit=1)[0], root)
    assert "Unknown: how far prices and rates may be off" in " ".join(check_words(bare))
