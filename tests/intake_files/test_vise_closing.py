"""How hard a vise presses: by a measured force, by its maker's chart, by hand; worked on small numbers."""

from __future__ import annotations

from pathlib import Path

import pytest
from flows.small import SHOP

from proveout.intake.shop_file import read_shop
from proveout.intake.shop_sentences import understood, unknown
from proveout.intake.vise_closing import by_hand
from proveout.model.fact import Fact
from proveout.model.shop import Shop
from proveout.quantities.errors import ProveoutError

PRELOAD = (
    'preload_kn = { low = 15, nominal = 17.5, high = 20, source = "load cell between the jaws, ten closings", '
    'strength = "measured here" }\n'
)
CHART = "chart_torques_n_m = [30, 60, 90]\nchart_forces_kn = [8, 16, 20]\n"


def shop(folder: Path, *, preload: str = PRELOAD, more: str = "", torque: str = "torque_n_m = 60\n") -> Shop:
    lines = SHOP.read_text(encoding="utf-8").splitlines(keepends=True)
    text = "".join(line for line in lines if not line.startswith("chart_"))
    assert text.count(PRELOAD) == 1
    assert text.count("rating_kn = 30\ntorque_n_m = 60\n") == 1
    text = text.replace(PRELOAD, preload).replace(
        "rating_kn = 30\ntorque_n_m = 60\n", f"rating_kn = 30\n{torque}{more}"
    )
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    return read_shop(folder / "shop.toml")


def force_of(found: Shop) -> Fact:
    force = found.vises[0].preload_n
    assert force is not None
    return force


def test_the_makers_chart_gives_the_force_at_the_torque_used(tmp_path: Path) -> None:
    """Worked: at 60 N m 16 kN, a tenth either way 14.4 to 17.6; at 75 halfway to 20: 18 kN."""
    force = force_of(shop(tmp_path, preload="", more=f"{CHART}chart_spread = 0.1\n"))
    assert (force.low, force.nominal, force.high) == pytest.approx((14400.0, 16000.0, 17600.0))
    assert force.is_backed
    assert "chart" in force.source
    found = shop(tmp_path, preload="", more=f"{CHART}chart_spread = 0.1\n").vises[0]
    assert found.chart_torques_n_mm == pytest.approx((30e3, 60e3, 90e3))
    assert found.chart_forces_n == pytest.approx((8e3, 16e3, 20e3))
    higher = shop(tmp_path, preload="", more=f"{CHART}chart_spread = 0.1\n", torque="torque_n_m = 75\n")
    assert force_of(higher).nominal == pytest.approx(18000.0)


def test_a_chart_without_a_spread_is_not_leant_on(tmp_path: Path) -> None:
    found = shop(tmp_path, preload="", more=CHART)
    assert force_of(found).nominal == pytest.approx(16000.0)
    assert not force_of(found).is_backed
    assert any("preload of vise-3" in line for line in unknown(found))


def test_what_somebody_measured_counts_before_the_chart(tmp_path: Path) -> None:
    assert force_of(shop(tmp_path, more=f"{CHART}chart_spread = 0.1\n")).nominal == 17500.0


def test_a_vise_closed_by_hand_spans_what_a_hand_may_do(tmp_path: Path) -> None:
    """Worked: 17.5 kN less and more 40 %: 10.5 to 24.5, and the torque is nobody's to set."""
    found = shop(tmp_path, more='closed_by = "hand"\n')
    force = force_of(found)
    assert (force.low, force.nominal, force.high) == pytest.approx((10500.0, 17500.0, 24500.0))
    assert (force.strength, force.is_backed) == ("common practice", True)
    assert found.vises[0].is_hand_tight
    assert "closed by hand" in force.source
    assert not shop(tmp_path).vises[0].is_hand_tight


def test_what_the_owner_asks_of_the_grip_is_read_and_never_less_than_once(tmp_path: Path) -> None:
    assert shop(tmp_path).vises[0].grip_reserve_ratio == 1.0
    careful = shop(tmp_path, more="grip_reserve = 2.5\n")
    assert careful.vises[0].grip_reserve_ratio == 2.5
    assert any("its grip to bear 2.5 times the cutting force" in line for line in understood(careful))
    assert not any("its grip to bear" in line for line in understood(shop(tmp_path)))
    with pytest.raises(ProveoutError, match="grip_reserve"):
        shop(tmp_path, more="grip_reserve = 0.9\n")


def test_by_hand_an_interval_only_grows_and_a_bare_number_stays_unbacked() -> None:
    wide = Fact(low=2.0, nominal=10.0, high=30.0, unit="N", source="shop-file: scale", strength="measured here")
    assert (by_hand(wide).low, by_hand(wide).high) == (2.0, 30.0)
    bare = Fact(low=10.0, nominal=10.0, high=10.0, unit="N", source="shop-file", strength="owner's guess")
    assert (by_hand(bare).low, by_hand(bare).high) == (6.0, 14.0)
    assert not by_hand(bare).is_backed


@pytest.mark.parametrize(
    ("more", "torque", "says"),
    [
        ("chart_torques_n_m = [30, 60]\n", "torque_n_m = 60\n", "as many torques as forces"),
        ("chart_torques_n_m = [30, 60]\nchart_forces_kn = [8]\n", "torque_n_m = 60\n", "as many torques as forces"),
        ("chart_torques_n_m = [60, 30]\nchart_forces_kn = [8, 16]\n", "torque_n_m = 60\n", "runs upward"),
        ("chart_torques_n_m = [30, 60]\nchart_forces_kn = [16, 8]\n", "torque_n_m = 60\n", "runs upward"),
        (CHART, "", "only at a torque"),
        (CHART, "torque_n_m = 95\n", "beyond the chart"),
        ('closed_by = "feel"\n', "torque_n_m = 60\n", "closed_by"),
    ],
)
def test_a_chart_that_cannot_be_read_is_refused(tmp_path: Path, more: str, torque: str, says: str) -> None:
    with pytest.raises(ProveoutError, match=says):
        shop(tmp_path, preload="", more=more, torque=torque)
