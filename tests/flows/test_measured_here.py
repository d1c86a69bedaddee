"""What a shop measured reaches the plan: readings change the pressure of every stage, a response lies in its inputs."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from flows.small import SHOP

from proveout.intake.job_file import job_from_step
from proveout.intake.shop_file import read_shop, shop_from_text
from proveout.jobs import rounds as rounding
from proveout.jobs.pressure import with_readings
from proveout.jobs.request import Request
from proveout.jobs.store import Store
from proveout.jobs.writing import _write_inputs
from proveout.model.proof import Decision
from proveout.model.shop import Shop
from proveout.stages.blank import raw_spread_mm

READING = """
[[spindle_reading]]
machine = "mill-3"
cutter = "{cutter}"
alloy = "6061-T6"
speed_rpm = 9000
tooth_feed_mm = 0.05
axial_mm = 6
radial_mm = 4.8
load_kw = {load}
idle_kw = 0.4
step_kw = 0.01
edge = "used"
date = 2026-02-03
efficiency = {{ low = 0.85, nominal = 0.9, high = 0.95, source = "brake test", strength = "measured here" }}
"""
RESPONSE = """
[[response]]
machine = "mill-3"
cutter = "EM12"
stick_out_mm = 38
file = "em12.csv"
"""


SCRAP = """
[[test_cut]]
machine = "mill-3"
cutter = "EM12"
alloy = "6061-T6"
stick_out_mm = 38
speed_rpm = 9000
tooth_feed_mm = 0.05
radial_mm = 4.8
quiet_mm = 4.5
date = 2026-02-03
"""


def request_of(shop: Shop) -> Request:
    job = job_from_step("plate.step", quantity=1)
    return Request(step=Path("plate.step"), job=job, shop=shop, start="", inputs={})


def test_readings_change_the_pressure_of_the_shop_and_lack_of_figures_leaves_it() -> None:
    mill, *_ = [line for line in SHOP.read_text().splitlines() if 'id = "EM12"' in line]
    three = "\n".join(mill.replace("EM12", name) for name in ("EM12", "EM12b", "EM12c"))
    readings = [READING.format(cutter=("EM12", "EM12b", "EM12c")[k % 3], load=1.6 + 0.01 * k) for k in range(6)]
    shop = shop_from_text(SHOP.read_text().replace(mill, three) + "".join(readings))
    asked = request_of(shop)
    narrowed, proofs = with_readings(asked, lack="", store=Store(None))
    assert narrowed.shop.cutting_pressure_mpa.high < shop.cutting_pressure_mpa.high
    assert "spindle readings" in narrowed.shop.cutting_pressure_mpa.source
    assert [p.id for p in proofs] == ["loads:cutting pressure:readings"]
    assert narrowed.job is asked.job
    assert with_readings(asked, lack="no figures", store=Store(None)) == (asked, ())
    plain = request_of(read_shop(SHOP))
    assert with_readings(plain, lack="", store=Store(None)) == (plain, ())


def test_what_the_readings_make_of_the_pressure_is_told_of_the_shop_file_alone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """By `check-shop` and on the desk's page of the shop, without any plan; fewer than five are too few."""
    from proveout.cli.main import main
    from proveout.jobs.shop_words import shop_words

    mill, *_ = [line for line in SHOP.read_text().splitlines() if 'id = "EM12"' in line]
    three = "\n".join(mill.replace("EM12", name) for name in ("EM12", "EM12b", "EM12c"))
    cutters = ("EM12", "EM12b", "EM12c")
    readings = [READING.format(cutter=cutters[k % 3], load=1.6 + 0.01 * k) for k in range(6)]
    text = SHOP.read_text().replace(mill, three)
    (tmp_path / "shop.toml").write_text(text + "".join(readings))
    assert main(["check-shop", str(tmp_path / "shop.toml")]) == 0
    told = " ".join(capsys.readouterr().out.split())
    shop = shop_from_text(text + "".join(readings))
    taken = with_readings(request_of(shop), lack="", store=Store(None))[0].shop.cutting_pressure_mpa
    assert f"Cutting pressure of 6061-T6 by 6 readings of its own: {taken.low:.0f} to {taken.high:.0f} MPa" in told
    assert f"written are {shop.cutting_pressure_mpa.low:.0f} to {shop.cutting_pressure_mpa.high:.0f} MPa" in told
    assert any("by 6 readings of its own" in line for line in shop_words(shop).understood)
    few = shop_words(shop_from_text(text + "".join(readings[:3]))).understood
    assert any("Its readings are too few: 2 more readings" in line for line in few)
    other = shop_words(shop_from_text(text + readings[0].replace("6061-T6", "C360"))).understood
    assert "Spindle readings in C360 are not used: [material] has no figures for it." in other
    assert not any("utting pressure of" in line for line in shop_words(read_shop(SHOP)).understood)


def test_the_table_of_a_response_lies_beside_the_shop_file_of_the_inputs(tmp_path: Path) -> None:
    rows = "\n".join(f"{300 + 10 * k},{1.0 - 0.05 * k},-0.1,{1.0 - 0.05 * k},-0.2" for k in range(60))
    (tmp_path / "em12.csv").write_text(
        f"frequency_hz,x_real_um_per_n,x_imag_um_per_n,y_real_um_per_n,y_imag_um_per_n\n{rows}\n"
    )
    text = SHOP.read_text() + RESPONSE
    (tmp_path / "shop.toml").write_text(text)
    (tmp_path / "part.step").write_text("ISO-10303-21;")
    shop = read_shop(tmp_path / "shop.toml")
    kept = tmp_path / "inputs"
    _write_inputs(kept, shop=shop, shop_text=text, job_file=None, step=tmp_path / "part.step")
    assert read_shop(kept / "shop.toml") == shop


def test_stability_is_judged_after_the_loads_with_the_shops_responses(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each stage answers at once and says what it received."""
    from proveout.stages import holding

    shop = shop_from_text(SHOP.read_text(encoding="utf-8") + SCRAP)
    received: dict[str, dict[str, Any]] = {}

    class Telling(Store):
        def get(self, stage: str, function: Any, /, **more: Any) -> Any:  # noqa: ARG002 - nothing is decided
            received[stage] = more
            answers: dict[str, Any] = {
                "removal check": SimpleNamespace(check=SimpleNamespace(passes=()), moves=(), strips=(), walls=()),
                "loads": SimpleNamespace(passes=("load",), moves=("moves",)), "stability": ("cut",), "holding": (),
            }  # fmt: skip
            return Decision(value=answers[stage], proofs=())

    monkeypatch.setattr(holding, "clamp_forces", lambda **_: ())
    nothing: Any = None
    made = rounding.Made(passes=rounding.PassPlan(passes=(), not_cut=(), moves={}), proofs=())
    target: Any = _Target()
    box: Any = _Box()
    box.bar_id = shop.bars[0].id
    cut = rounding._judge(
        request_of(shop), target, box, (), made, rounding.Limits(), 1.0, Telling(None), nothing, ()
    )  # fmt: skip
    assert list(received) == ["removal check", "loads", "stability", "holding"]
    # the bar of the shop, bent and out of size, and its saw
    bar = shop.bars[0]
    varies = raw_spread_mm(bar=bar, saw=shop.saw, cut_length_mm=_Box.cut_length_mm)
    assert received["loads"]["raw_varies_mm"] == varies >= max(bar.width_tolerance_mm, shop.saw.length_tolerance_mm) > 0
    assert received["stability"]["loads"] == ("load",)
    assert received["stability"]["moves"] == ("moves",)
    assert received["stability"]["responses"] is shop.responses
    assert [one.quiet_mm for one in received["stability"]["test_cuts"]] == [4.5]
    assert received["stability"]["pressure_mpa"] is shop.cutting_pressure_mpa
    assert cut.trial_cuts == (() if rounding.lacking(request_of(shop).job.part.alloy, shop) else ("cut",))


class _Box:
    low_mm = high_mm = (0.0, 0.0, 0.0)
    bar_id, cut_length_mm = "", 100.0


class _Target:
    vertices_mm = np.zeros((1, 3))
