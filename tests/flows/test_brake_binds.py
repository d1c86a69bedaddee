"""A plan that only the rotary brake binds: it backs off and holds."""

from __future__ import annotations

from pathlib import Path

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
pivot_error_mm = {{ low = 0.0, nominal = 0.006, high = 0.015, source = "a ball", strength = "measured here" }}
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
        ("vises = 2 ", "vises = 1 "), ("idle_vises_off = true ", "idle_vises_off = false "),
        ('kind = "3-axis"', 'kind = "3+2"'),
        ("\n[[vise]]\n", ROTARY.format(*brake)), ("jaw_height_mm = 40\n", f"jaw_height_mm = 40\n{PLACED}"),
    ):  # fmt: skip
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    (folder / "shop.toml").write_text(text, encoding="utf-8")
    return plan(write_job(folder), folder / "out", shop=folder / "shop.toml", store=store).parts[0].plan


def test_a_plan_that_only_the_brake_binds_backs_off_and_holds(tmp_path: Path, store: Path) -> None:
    """The hardest cut asks 181 N m of the brake as planned, of a brake of 120: the levels get shallower until it holds.

    As no other proof asks for anything, each round's failing ones are the brake's.
    """
    found = braked(tmp_path, store, (120.0, 130.0, 140.0))
    assert found.ready
    assert found.rounds[0].failing
    for one in found.rounds[:-1]:
        assert all(":rotary brake" in name for name in one.failing)
    assert found.rounds[-1].failing == ()
    assert found.rounds[-1].piece_s > found.rounds[0].piece_s  # what it cost is told
    brakes = [p for p in found.proofs if ":rotary brake" in p.id]
    assert len(brakes) == len(found.clampings)
    for proof in brakes:
        assert proof.verdict == "holds"
        assert proof.found_high is not None
        assert proof.found_high <= 120.0
