"""Bands of drawn money against closed forms: one cause, several, together and apart, and what is lost by chance."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from cost import LOST, PIECES, invoice, plain_draws

from proveout.gauging.acceptance import share_accept_ratio
from proveout.model.fact import Fact, exact_fact
from proveout.money.band import band_of, share_below, widths
from proveout.money.draws import Amount, Drawing, Drawn, causes_of
from proveout.money.spread import Spread, exact, spread_of
from proveout.quantities.distribution import common_cause_sd
from proveout.quantities.errors import OutOfRange

NOTHING_LOST = ("scrap", exact(0.0))
APART = Drawing(is_together=False)
BOOK = Spread(low=10.0, likely=12.0, high=17.0, shape="triangular")
MONTE = 3.0 / math.sqrt(Drawing().count)  # three standard deviations of a mean of so many draws


def amount(line: str, cause: str, spread: Spread, scale: float = 1.0) -> Amount:
    return Amount(line=line, per="lot", scale=scale, factors=((cause, spread),))


def total(amounts: tuple[Amount, ...], drawing: Drawing | None = None) -> np.ndarray:
    return Drawn(amounts, NOTHING_LOST, drawing or Drawing()).at(1).total


def even(mean: float, sd: float) -> Spread:
    """A uniform distribution of that mean and deviation."""
    half = math.sqrt(3.0) * sd
    return Spread(low=mean - half, likely=mean, high=mean + half, shape="uniform")


def test_one_triangular_cause_has_its_mean_deviation_and_ends() -> None:
    """worked: of (10, 12, 17) a tenth lies below 10 + sqrt(0.1 x 7 x 2) = 11.1832, and above 17 - sqrt(0.1 x 7 x 5)."""
    found = total((amount("a", "x", BOOK),))
    assert found.mean() == pytest.approx(13.0, abs=1e-3)
    assert found.std() == pytest.approx(1.47196, abs=1e-3)
    band = band_of(found)
    assert band.p10 == pytest.approx(10.0 + math.sqrt(1.4), abs=2e-3)
    assert band.p50 == pytest.approx(17.0 - math.sqrt(0.5 * 35.0), abs=2e-3)
    assert band.p90 == pytest.approx(17.0 - math.sqrt(3.5), abs=2e-3)
    assert share_below(found, 12.0) == pytest.approx(2.0 / 7.0, abs=1e-3)


def test_an_even_cause_has_its_ends_at_a_tenth_and_nine_tenths() -> None:
    band = band_of(total((amount("a", "x", Spread(low=2.0, likely=2.0, high=4.0, shape="uniform")),)))
    assert (band.p10, band.p50, band.p90) == pytest.approx((2.2, 3.0, 3.8), abs=1e-3)


def test_what_has_one_cause_adds_its_deviations_and_what_has_several_their_squares() -> None:
    spreads = [even(10.0, 1.0), even(20.0, 2.0), even(5.0, 0.5)]
    same = tuple(amount(f"l{k}", "x", s) for k, s in enumerate(spreads))
    own = tuple(amount(f"l{k}", f"x{k}", s) for k, s in enumerate(spreads))
    assert total(same).std() == pytest.approx(3.5, abs=2e-3)
    assert total(own).std() == pytest.approx(math.sqrt(1.0 + 4.0 + 0.25), rel=MONTE)
    assert total(same).mean() == pytest.approx(35.0, rel=1e-4)  # 10 + 20 + 5
    assert total(own).mean() == pytest.approx(35.0, rel=1e-4)


def test_ten_lines_that_share_three_tenths_of_their_variance_and_the_narrower_band_without() -> None:
    """worked: sqrt(10 (1 + 9 x 0.3)) = 6.083 together, sqrt 10 = 3.162 with every line on its own."""
    lines = tuple(
        one
        for k in range(10)
        for one in (
            amount(f"l{k}", f"own {k}", even(10.0, math.sqrt(0.7))),
            amount(f"l{k}", "common", even(0.0, math.sqrt(0.3))),
        )
    )  # fmt: skip
    together, apart = total(lines).std(), total(lines, APART).std()
    assert together == pytest.approx(common_cause_sd(sds=[1.0] * 10, correlation_ratio=0.3), rel=MONTE)
    assert apart == pytest.approx(common_cause_sd(sds=[1.0] * 10, correlation_ratio=0.0), rel=MONTE)
    assert band_of(total(lines, APART)).width < 0.6 * band_of(total(lines)).width


def test_a_product_of_two_causes_has_the_deviation_of_a_product() -> None:
    """worked: sd^2 = (s1^2 + m1^2)(s2^2 + m2^2) - m1^2 m2^2 for independent factors."""
    one, other = even(10.0, 1.0), even(3.0, 0.5)
    found = total((Amount(line="a", per="lot", scale=2.0, factors=(("x", one), ("y", other))),))
    variance = (1.0 + 100.0) * (0.25 + 9.0) - 900.0
    assert found.std() == pytest.approx(2.0 * math.sqrt(variance), rel=MONTE)


def test_a_cause_that_is_known_leaves_all_other_draws_as_they_were() -> None:
    parts = (amount("a", "x", BOOK), amount("b", "y", BOOK))
    held = total(parts, Drawing(fixed=frozenset({"y"})))
    assert np.array_equal(held, total(parts[:1]) + 12.0)
    assert np.array_equal(total(parts)[:7], total(tuple(reversed(parts)))[:7])


def test_the_cause_whose_knowledge_narrows_most_comes_first() -> None:
    parts = (
        amount("a", "small", even(10.0, 0.5)),
        amount("b", "large", even(10.0, 2.0)),
        amount("c", "none", exact(3.0)),
    )
    found = widths(parts, NOTHING_LOST, quantity=1, drawing=Drawing())
    assert [one.cause for one in found] == ["large", "small"]
    assert causes_of(parts) == ("large", "small")
    assert found[0].known.width < found[1].known.width < band_of(total(parts)).width
    assert found[0].known.width == pytest.approx(0.8 * 2.0 * math.sqrt(3.0) * 0.5, abs=2e-3)


def test_money_scales_with_its_unit_and_the_same_seed_gives_the_same_draws() -> None:
    parts = (amount("a", "x", BOOK, 3.0), amount("b", "y", BOOK))
    cents = tuple(amount(p.line, p.factors[0][0], p.factors[0][1], 100.0 * float(p.scale_at(1))) for p in parts)
    assert total(cents) == pytest.approx(100.0 * total(parts))
    assert np.array_equal(total(parts), total(parts))
    assert not np.array_equal(total(parts), total(parts, Drawing(seed=42)))


@pytest.mark.parametrize(("quantity", "ratio"), [(100, 0.02), (40, 0.1), (7, 0.3)])
def test_lost_pieces_are_binomial_trials_until_the_last_good_one(quantity: int, ratio: float) -> None:
    """That at most s are lost is that of quantity + s begun at most s are bad: the two counts are one."""
    lost = Drawn((), ("scrap", exact(ratio)), Drawing()).lost_pieces(quantity)
    mean, sd = quantity * ratio / (1.0 - ratio), math.sqrt(quantity * ratio) / (1.0 - ratio)
    assert lost.mean() == pytest.approx(mean, abs=MONTE * sd)
    for spare in (0, 2, 5):
        wanted = share_accept_ratio(bad_ratio=ratio, sample_count=quantity + spare, accept_count=spare)
        assert share_below(lost, spare + 0.5) == pytest.approx(wanted, abs=3.0 * 0.5 / math.sqrt(lost.size))


def test_lost_pieces_cost_the_work_in_them_alone() -> None:
    """worked: 10 a piece in work, 100 a lot, 4 sold back a piece; at an exact tenth lost of 90 good pieces 10 begun
    more on average: 1 000 in work, 100, 360 back."""
    parts = (
        Amount(line="work", per="piece", scale=10.0), Amount(line="lot", per="lot", scale=100.0),
        Amount(line="chips", per="sold", scale=-4.0), Amount(line="once", per="design", scale=70.0),
    )  # fmt: skip
    drawn = Drawn(parts, ("scrap", exact(0.1)), Drawing())
    batch = drawn.at(90)
    assert batch.lines["work"].mean() == 900.0
    assert batch.lines["scrap"].mean() == pytest.approx(100.0, abs=3.0)
    assert batch.total.mean() == pytest.approx(900.0 + 100.0 + 100.0 - 360.0 + 70.0, abs=3.0)
    assert drawn.means()[1] == pytest.approx(10.0 * 0.1 / 0.9)


def test_lost_pieces_beyond_the_spares_cost_what_they_are_made_of() -> None:
    """worked: of one good piece at a half lost L is k with 0.5^(k+1): mean 1, mean of what is beyond one spare
    1/8 + 2/16 + 3/32 + ... = 1/2. Metal at 7 a piece in bars of two for 14, paid again beyond the spares."""

    def bars(_: int, more: int) -> float:
        return 14.0 * math.ceil(more / 2)

    metal = Amount(line="metal", per="lot", scale=14.0, beyond=lambda _, more: 7.0 * more)
    lost = ("scrap", exact(0.5))
    for spares, wanted in ((0, 7.0), (1, 3.5), (60, 0.0)):
        batch = Drawn((metal,), lost, Drawing(), spares=lambda _, s=spares: s).at(1)  # type: ignore[misc]
        assert batch.lines["scrap"].mean() == pytest.approx(wanted, abs=0.2)
        assert batch.lines["metal"].mean() == 14.0
    assert not Drawn((metal,), lost, Drawing()).at(1).lines["scrap"].any()  # spares without end
    whole = Drawn((dataclasses.replace(metal, beyond=bars),), lost, Drawing(), spares=lambda _: 0).at(1)
    assert np.array_equal(whole.lines["scrap"], 14.0 * np.ceil(whole.lost / 2.0))


def test_a_fact_is_triangular_where_somebody_knows_it_and_even_where_nobody_does() -> None:
    ends = {"low": 1.0, "nominal": 2.0, "high": 5.0, "unit": "s", "source": "shop-file"}
    assert spread_of(Fact(**ends, strength="owner's guess")).shape == "triangular"
    assert spread_of(Fact(**ends, strength="assumed")).shape == "uniform"
    assert spread_of(exact_fact(3.0, "s", "shop-file", "assumed")) == exact(3.0)
    with pytest.raises(OutOfRange, match="low <= likely"):
        Spread(low=2.0, likely=1.0, high=3.0, shape="uniform")


def test_fifteen_lines_have_the_band_that_a_plain_loop_draws() -> None:
    """Every cause and every piece drawn one by one: ends within three deviations of a quantile of so many draws."""
    parts, count = invoice(), 3000
    plain = np.array(plain_draws(parts, count))
    band = band_of(Drawn(parts, LOST, Drawing()).at(PIECES).each)
    assert plain.mean() == pytest.approx(
        Drawn(parts, LOST, Drawing()).at(PIECES).each.mean(), abs=3.0 * plain.std() / math.sqrt(count)
    )
    for share, end in ((0.1, band.p10), (0.5, band.p50), (0.9, band.p90)):
        spread = 3.0 * math.sqrt(share * (1.0 - share) / count)
        low, high = np.quantile(plain, (share - spread, share + spread))
        assert low <= end <= high
