"""The rounds against a rotary brake alone: real proofs of holding over a level whose force goes with its depth."""

from __future__ import annotations

import msgspec
import pytest
from flows.test_rounds import iterate
from shapes import VISE, fact
from stages.gripped import LOAD, held, rotary_mill

from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.plan import Round
from proveout.model.proof import Proof, is_ready

SUBJECT = "c1/mill 12"
USUAL = 0.5
PLACED = msgspec.structs.replace(
    VISE, from_c_axis_mm=fact(20.0, 22.0, 24.0, "mm"), above_a_axis_mm=fact(108.0, 110.0, 112.0, "mm")
)


def level(limits: Limits) -> PassLoad:
    """A level as deep as the limits allow, all that it asks for in proportion."""
    ratio = limits.of("axial_ratio", SUBJECT, USUAL)
    share = ratio / USUAL
    return msgspec.structs.replace(
        LOAD, plane_n=share * LOAD.plane_n, axial_n=share * LOAD.axial_n, torque_n_mm=share * LOAD.torque_n_mm,
        axial_mm=12.0 * ratio,
    )  # fmt: skip


def braked(
    monkeypatch: pytest.MonkeyPatch, brake: tuple[float, float, float]
) -> tuple[tuple[Proof, ...], tuple[Round, ...]]:
    """The proofs of the last round, and the rounds; brake: in N m."""
    mill = rotary_mill(brake_torque_n_mm=fact(1e3 * brake[0], 1e3 * brake[1], 1e3 * brake[2], "N mm"))

    def judge(limits: Limits) -> tuple[Proof, ...]:
        return held(level(limits), vise=PLACED, machine=mill, limits=limits).proofs

    judged, rounds = iterate(monkeypatch, judge)
    return judge(judged[-1][0]), rounds


def test_a_brake_that_holds_everything_asks_for_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    proofs, rounds = braked(monkeypatch, (420.0, 500.0, 560.0))
    assert is_ready(proofs)
    assert [(one.tightened, one.failing) for one in rounds] == [((), ())]


def test_a_brake_that_holds_shallower_levels_is_reached(monkeypatch: pytest.MonkeyPatch) -> None:
    """Worked. 99.35 N m at half a diameter, so 60 at 0.302: 0.98 of the share in hundredths, 0.59, is 0.295."""
    proofs, rounds = braked(monkeypatch, (60.0, 65.0, 70.0))
    assert is_ready(proofs)
    assert [[step.bound for step in one.tightened] for one in rounds] == [[0.295], []]
    assert [one.failing for one in rounds] == [("holding:c1:rotary brake",), ()]


def test_a_brake_that_no_lighter_cut_helps_is_refused_with_the_reason(monkeypatch: pytest.MonkeyPatch) -> None:
    """Worked. Of 2 N m the level at its floor, 0.02, still asks 99.35 / 25 = 3.97: no more is tightened, nothing hides.

    A step takes no more than seven tenths of what there is: 0.15, 0.045, then the floor.
    """
    proofs, rounds = braked(monkeypatch, (2.0, 2.5, 3.0))
    assert not is_ready(proofs)
    assert [[step.bound for step in one.tightened] for one in rounds] == [[0.15], [0.045], [0.02], []]
    (brake,) = [one for one in proofs if one.blocks_release and one.verdict != "holds"]
    assert brake.id == "holding:c1:rotary brake"
    assert rounds[-1].failing == (brake.id,)
    assert brake.found_high == pytest.approx(99.3466 / 25.0, abs=1.1e-3)
    assert "vise nearer to the rotation centre" in brake.remedy
