"""What a job file says of its coat and a shop file of its prices, in units of people, becomes ours."""

from __future__ import annotations

from pathlib import Path

import pytest

from proveout.intake.job_file import job_from_text
from proveout.intake.shop_file import read_shop
from proveout.model.coat_way import coat_prices
from proveout.quantities.errors import BadInput, OutOfRange

JOB = """
[part]
number = "A"
step = "a.step"
[order]
quantity = 3
[coat]
process = "hard coat"
thickness_mm = { low = 0.04, nominal = 0.05, high = 0.06 }
build_up_share = 0.5
"""


def test_etch_blind_holes_and_certificate_are_read() -> None:
    """Worked: 0.0002 in is 0.00508 mm; rows of blind holes are put in order."""
    rows = "".join(
        f"[[coat.blind]]\nfrom_depth = {at}\nshare = {{ low = {low}, nominal = {low}, high = 1.0 }}\n"
        for at, low in ((3, 0.2), (1, 0.6))
    )
    coat = job_from_text(f'{JOB}etch_in = 0.0002\ncertificate = true\nseal = "none"\n{rows}').coat
    assert coat is not None
    assert coat.etch_mm is not None
    assert coat.etch_mm.high == pytest.approx(0.00508)
    assert coat.certificate is True
    assert (coat.spec, coat.colour, coat.seal) == ("", "", "none")
    assert [(row.from_depth_ratio, row.share_ratio.low) for row in coat.blind] == [(1.0, 0.6), (3.0, 0.2)]


def test_what_nobody_says_of_a_coat_stays_unknown() -> None:
    coat = job_from_text(JOB).coat
    assert coat is not None
    assert (coat.etch_mm, coat.certificate, coat.blind) == (None, None, ())


@pytest.mark.parametrize(
    ("lines", "kind", "says"),
    [
        ("[[coat.blind]]\nshare = 0.5\n", BadInput, "from_depth is missing"),
        ("[[coat.blind]]\nfrom_depth = 1\nshare = 1.5\n", OutOfRange, "share is outside"),
        ("etch_mm = -0.1\n", OutOfRange, "etch_mm is outside"),
        ("etching_mm = 0.1\n", BadInput, "etching_mm is not known"),
        ("blind = 3\n", BadInput, "blind must be a list"),
    ],
)
def test_a_wrong_word_of_a_coat_is_refused(lines: str, kind: type[Exception], says: str) -> None:
    with pytest.raises(kind, match=says):
        job_from_text(f"{JOB}{lines}")


def test_prices_of_the_example_shop_are_read(root: Path) -> None:
    """Worked: 4 to 10 minutes of honing at 45 an hour are 3 to 7.50."""
    shop = read_shop(root / "examples" / "shop.toml")
    (coated,) = [one for one in shop.finishers if one.id == "hard-coat"]
    assert coated.plug_price is not None
    assert coated.plug_price.nominal == pytest.approx(0.40)
    assert shop.bench.hone_s is not None
    assert shop.bench.hone_s.high == pytest.approx(600.0)
    (laser,) = [one for one in shop.finishers if one.id == "laser"]
    assert (laser.plug_price, laser.mask_price, laser.tighter_coat_price) == (None, None, None)
    prices = coat_prices(coat=None, finishers=shop.finishers, bench=shop.bench, currency=shop.currency)
    assert prices.plug is None
    assert prices.hone is not None
    assert (prices.hone.low, prices.hone.high) == pytest.approx((3.0, 7.5))
