"""The calibration program and the fit of a machine's numbers from its times, timed here by the slow reference."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from stepping import Control, Piece, arc_piece, joint_speed, line_piece, section_seconds, way_in_strokes

from proveout.jobs.calibrating import MachineFit, fit_machine, slowest, stretches_s
from proveout.model.fact import Fact
from proveout.motion.calibration import Stretch, calibration_moves
from proveout.quantities.errors import BadInput, OutOfRange

STOP_RAD = math.radians(60.0)
STRETCHES = calibration_moves(travel_mm=(600.0, 450.0, 400.0), feed_mm_per_s=200.0, has_rotary=True)
MACHINE = Control((420.0, 380.0, 310.0), (2600.0, 2300.0, 1900.0), (4.0e4, 5.5e4, 3.2e4), STOP_RAD, 28.0)
CHANGE_S, TILT_S = 4.7, 2.2


def round_s(stretch: Stretch, control: Control) -> float:
    """Seconds of one round by the slow reference, section by section."""
    sections: list[list[Piece]] = [[]]
    for k in range(1, len(stretch.positions)):
        start, end, feed = stretch.positions[k - 1], stretch.positions[k], float(stretch.feeds[k])
        if stretch.arcs is None:
            piece = line_piece(start, end, feed, control)
        else:
            turn = float(stretch.arcs.turns_rad[k])
            piece = arc_piece(start, stretch.arcs.centres_mm[k], turn, 0.0, feed, control)
        if sections[-1] and joint_speed(sections[-1][-1], piece, control) == 0.0:
            sections.append([])
        sections[-1].append(piece)
    total = 0.0
    for pieces in sections:
        if len(pieces) <= 6:
            total += section_seconds(pieces, control)[0]
            continue
        joints = [0.0, *(joint_speed(a, b, control) for a, b in itertools.pairwise(pieces)), 0.0]
        cuts = range(1, len(pieces))  # all corners alike: in strokes from corner to corner, or all in one
        total += min(way_in_strokes(pieces, joints, list(cuts))[0], way_in_strokes(pieces, joints, [])[0])
    return total


def watched(control: Control, *, seed: int, noise: float = 0.01) -> dict[str, float]:
    """Times as a person with a watch would write them down, each off by some share of itself."""
    draw = np.random.default_rng(seed)
    found = {}
    for one in STRETCHES:
        true_s = one.cutter_changes_count * CHANGE_S + one.tilts_count * TILT_S
        true_s += one.times_count * (round_s(one, control) if len(one.positions) else 0.0)
        found[one.name] = true_s * (1.0 + noise * float(draw.normal()))
    return found


def numbers(fit: MachineFit) -> list[Fact | None]:
    return [
        *fit.rapid_mm_per_s, *fit.accel_mm_per_s2, *fit.jerk_mm_per_s3, fit.corner_jump_mm_per_s, fit.cutter_change_s,
        fit.tilt_s,
    ]  # fmt: skip


def truths(control: Control) -> list[float]:
    assert not isinstance(control.jump, tuple)
    return [*control.speeds, *control.accels, *control.jerks, control.jump, CHANGE_S, TILT_S]


def test_the_reference_and_the_reckoning_agree_on_every_stretch() -> None:
    kinds = (("rapid", MACHINE.speeds), ("accel", MACHINE.accels), ("jerk", MACHINE.jerks))
    values = {f"{kind}_{axis}": v for kind, limits in kinds for axis, v in zip("xyz", limits, strict=True)}
    values |= {"corner_jump": 28.0, "cutter_change": CHANGE_S, "tilt": TILT_S}
    plain = watched(MACHINE, seed=0, noise=0.0)
    reckoned = stretches_s(STRETCHES, values, stop_angle_rad=STOP_RAD)
    for one, seconds in zip(STRETCHES, reckoned, strict=True):
        assert seconds == pytest.approx(plain[one.name], rel=1e-3), one.name
        assert 4.0 < plain[one.name] < 60.0, one.name


def test_a_machines_numbers_come_back_within_the_uncertainty_stated() -> None:
    """An interval holds two standard deviations: of 36 numbers 34 are expected inside, and none beyond twice as far."""
    inside, shown = 0, 0
    for seed in range(3):
        fit = fit_machine(watched(MACHINE, seed=seed), stretches=STRETCHES, stop_angle_rad=STOP_RAD)
        assert fit.worst_ratio < 0.03
        for fact, true in zip(numbers(fit), truths(MACHINE), strict=True):
            if fact is None:
                continue
            shown += 1
            inside += fact.low <= true <= fact.high
            assert fact.low**2 / fact.nominal <= true <= fact.high**2 / fact.nominal
            assert fact.high <= 1.5 * fact.nominal
            assert fact.strength == "measured here"
    assert shown >= 33
    assert inside >= 0.88 * shown


def test_noise_of_half_the_size_gives_intervals_of_half_the_size() -> None:
    wide = fit_machine(watched(MACHINE, seed=4), stretches=STRETCHES, stop_angle_rad=STOP_RAD)
    narrow = fit_machine(
        watched(MACHINE, seed=4, noise=0.005), stretches=STRETCHES, stop_angle_rad=STOP_RAD, noise_ratio=0.005
    )
    for one, other in zip(numbers(wide)[-3:], numbers(narrow)[-3:], strict=True):
        assert one is not None
        assert other is not None
        assert (other.high - other.low) / other.nominal < 0.7 * (one.high - one.low) / one.nominal


def test_what_the_times_do_not_decide_is_not_shown() -> None:
    times = watched(MACHINE, seed=5)
    without = {name: s for name, s in times.items() if not name.startswith(("zigzag", "cutter"))}
    fit = fit_machine(without, stretches=STRETCHES, stop_angle_rad=STOP_RAD)
    assert fit.corner_jump_mm_per_s is None
    assert fit.cutter_change_s is None
    assert {"jump at corners", "cutter change"} <= set(fit.not_shown)
    assert "tilt" not in fit.not_shown
    at_once = Control(MACHINE.speeds, MACHINE.accels, (5.0e7,) * 3, STOP_RAD, 28.0)
    quick = fit_machine(watched(at_once, seed=6), stretches=STRETCHES, stop_angle_rad=STOP_RAD)
    assert quick.jerk_mm_per_s3 == (None, None, None)
    assert all(
        fact is not None and fact.low <= true <= fact.high
        for fact, true in zip(quick.accel_mm_per_s2, at_once.accels, strict=True)
    )


def test_the_slowest_axis_speaks_for_all() -> None:
    fit = fit_machine(watched(MACHINE, seed=1), stretches=STRETCHES, stop_angle_rad=STOP_RAD)
    assert slowest(fit.rapid_mm_per_s) == fit.rapid_mm_per_s[2]
    assert slowest((fit.rapid_mm_per_s[0], None, fit.rapid_mm_per_s[2])) is None


def test_times_that_no_machine_of_this_law_has_are_seen() -> None:
    times = watched(MACHINE, seed=1)
    times["drilling"] *= 1.5
    fit = fit_machine(times, stretches=STRETCHES, stop_angle_rad=STOP_RAD)
    assert fit.worst == "drilling"
    assert fit.worst_ratio > 0.2


def test_broken_times_are_refused() -> None:
    with pytest.raises(BadInput, match="does not have"):
        fit_machine({"Q 300": 1.0}, stretches=STRETCHES, stop_angle_rad=STOP_RAD)
    with pytest.raises(OutOfRange, match="above 0"):
        fit_machine({"X 300": 0.0}, stretches=STRETCHES, stop_angle_rad=STOP_RAD)
    with pytest.raises(OutOfRange, match="fewer measurements"):
        fit_machine({"X 300": 1.0}, stretches=STRETCHES, stop_angle_rad=STOP_RAD)


def test_the_program_keeps_to_half_of_each_travel() -> None:
    for one in calibration_moves(travel_mm=(200.0, 150.0, 120.0), feed_mm_per_s=100.0, has_rotary=False):
        if len(one.positions) and one.name[0] in "XYZ":
            assert np.all(np.ptp(one.positions, axis=0) <= np.array([100.0, 75.0, 60.0]))
        assert one.tilts_count == 0
