"""A plan that only the rotary brake binds: it backs off and holds; where nothing helps it is refused with the reason."""

from __future__ import annotations

from pathlib import Path

import pytest
from flows.small import SHOP, plan, write_job

from proveout.model.plan import Plan

ROTARY = """
[machine.rotary]
a_low_deg = -30
a_high_deg = 110
c_is_continuous = true
pivot_x_mm = 380.0
pivot_y_mm = -215.0
pivot_z_mm = -400.0
pivot_error_mm = {{ low = 0.0, nominal = 0.006, high = 0.015, source = "ball on the table", strength = "measured here" }}
brake_torque_n_m = {{ low = {0}, nominal = {1}, high = {2}, source = "lever and spring", strength = "measured here" }}
tilt_s = 3.0

[[vise]]
"""
PLACED = """
from_c_axis_mm = { low = 20, nominal = 22, high = 24, source = "rule and square", strength = "measured here" }
above_a_axis_mm = { low = 108, nominal = 110, high = 112, source = "probe on the seat", strength = "measured here" }
"""


def braked(folder: Path, store: Path, brake: tuple[float, float, float]) -> Plan:
    """The plate on a mill that turns and tilts, its vise measured from both axes, with such a brake."""
    text = SHOP.read_text(encoding="utf-8")
    for old, new in (
        ("vises = 2 ", "vises = 1 "), ('kind = "3-axis"', 'kind = "3+2"'),
        ("\n[[vise]]\n", ROTARY.format(*brake)), ("jaw_height_mm = 40\n", f"jaw_height_mm = 40\n{PLACED}"),
    ):  # fmt: skip
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    return plan(write_job(folder), folder / "out", shop=folder / "shop.toml", store=store).parts[0].plan
