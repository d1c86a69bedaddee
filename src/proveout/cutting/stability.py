"""Depths above which a cut chatters, by the zero-order solution, from a measured frequency response."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from proveout.quantities.bounds import above_zero, between
from proveout.quantities.errors import OutOfRange

Floats = NDArray[np.float64]
Complexes = NDArray[np.complex128]


def mean_direction_ratios(
    *, start_rad: float, exit_rad: float, radial_ratio: float
) -> tuple[float, float, float, float]:
    """Mean directional factors of the cutting force over the arc of the cut: xx, xy, yx, yy.

    Formula:  half of [cos 2p - 2 k p + k sin 2p], [-sin 2p - 2 p + k cos 2p], [-sin 2p + 2 p + k cos 2p] and
              [-cos 2p - 2 k p - k sin 2p], each from start to exit, p the angle of immersion and k the radial ratio
    Args:     start_rad: where a tooth enters, 0..pi; up milling enters at 0.   exit_rad: where it leaves, above
              start_rad, at most pi.   radial_ratio: k, radial to tangential force, 0..2.
    Returns:  four numbers without unit.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    x is the feed's direction, angles from y, clockwise.
    Source:   zero_order_stability, as quoted.   Departs: nothing.
    Checked:  tests/published/test_zero_order_stability.py
    """
    between(low=0.0, high=math.pi, start_rad=start_rad)
    between(low=start_rad, high=math.pi, exit_rad=exit_rad)
    between(low=0.0, high=2.0, radial_ratio=radial_ratio)
    k = radial_ratio

    def at(p: float) -> Floats:
        s, c = math.sin(2.0 * p), math.cos(2.0 * p)
        return 0.5 * np.array(
            [c - 2.0 * k * p + k * s, -s - 2.0 * p + k * c, -s + 2.0 * p + k * c, -c - 2.0 * k * p - k * s]
        )

    xx, xy, yx, yy = (float(v) for v in at(exit_rad) - at(start_rad))
    return xx, xy, yx, yy


def limit_depths_mm(
    *, frequencies_hz: Floats, response_x_mm_per_n: Complexes, response_y_mm_per_n: Complexes, teeth_count: int,
    tangential_mpa: float, radial_ratio: float, start_rad: float, exit_rad: float,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Greatest stable depth at each chatter frequency, and the phase between waves left by teeth that follow.

    Formula:  det(1 + L A G) = 0 with A the mean directional factors and G the response; a = -2 pi Re L / (N K_t)
              (1 + (Im L / Re L)^2); phase = pi - 2 atan(Im L / Re L)
    Args:     frequencies_hz: (n,), > 0.   response_x_mm_per_n: (n,) at the tip along the feed.   response_y_mm_per_n:
              (n,) across it; all zero for a tool that gives way in one direction only.   teeth_count: N, >= 1.
              tangential_mpa: K_t, > 0.   radial_ratio: 0..2.   start_rad: 0..pi.   exit_rad: above start_rad.
    Returns:  mm, (n,) the lesser of both roots, infinite where nothing chatters, and (n,) rad of that root.
    Raises:   OutOfRange when an argument leaves the bounds above or the lengths differ.
    Valid:    the mean of the directional factors stands for their change over a turn: poor for cuts far narrower than
              the radius, whose other lobes it does not have; and only for that tool, holder, stick-out and spindle.
    Source:   zero_order_stability, as quoted.   Departs: nothing.
    Checked:  tests/published/test_zero_order_stability.py
    """
    above_zero(teeth_count=teeth_count, tangential_mpa=tangential_mpa)
    if not len(frequencies_hz) == len(response_x_mm_per_n) == len(response_y_mm_per_n):
        raise OutOfRange("Frequencies and responses differ in number", value=str(len(frequencies_hz)))
    xx, xy, yx, yy = mean_direction_ratios(start_rad=start_rad, exit_rad=exit_rad, radial_ratio=radial_ratio)
    gx, gy = response_x_mm_per_n, response_y_mm_per_n
    quadratic = gx * gy * (xx * yy - xy * yx)
    linear = xx * gx + yy * gy
    with np.errstate(divide="ignore", invalid="ignore"):
        root = np.sqrt(linear**2 - 4.0 * quadratic)
        both = np.stack([-(linear + root) / (2.0 * quadratic), -(linear - root) / (2.0 * quadratic)])
        single = np.stack([-1.0 / linear, -1.0 / linear])
        found: Complexes = np.where(np.abs(quadratic) > 1e-12 * np.abs(linear) ** 2, both, single)
        real, imaginary = np.real(found), np.imag(found)
        ratio = imaginary / real
        depths = -2.0 * math.pi * real / (teeth_count * tangential_mpa) * (1.0 + ratio**2)
    depths = np.where(np.isfinite(depths) & (depths > 0.0), depths, np.inf)
    better = np.argmin(depths, axis=0)
    rows = np.arange(len(frequencies_hz))
    return depths[better, rows], math.pi - 2.0 * np.arctan(ratio[better, rows])


def lobe_depth_mm(
    *, spindle_rad_per_s: float, frequencies_hz: Floats, depths_mm: Floats, phases_rad: Floats, teeth_count: int
) -> float:
    """Greatest stable depth at one spindle speed: the lowest of all lobes there.

    Formula:  the tooth passes in T = (phase + 2 k pi) / omega_c, k = 0, 1, ...; between frequencies depth and T go
              straight
    Args:     spindle_rad_per_s: > 0.   frequencies_hz: (n,) rising.   depths_mm: (n,) of limit_depths_mm.
              phases_rad: (n,) likewise.   teeth_count: >= 1.
    Returns:  mm; infinite where no lobe reaches this speed.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as limit_depths_mm; frequencies close enough that depth hardly changes from one to the next.
    Source:   zero_order_stability, as quoted.   Departs: nothing.
    Checked:  tests/published/test_zero_order_stability.py
    """
    above_zero(spindle_rad_per_s=spindle_rad_per_s, teeth_count=teeth_count)
    wanted_s = 2.0 * math.pi / (spindle_rad_per_s * teeth_count)
    omega = 2.0 * math.pi * frequencies_hz
    most = int(wanted_s * float(omega.max()) / (2.0 * math.pi)) + 2
    least = math.inf
    for k in range(most):
        periods = (phases_rad + 2.0 * math.pi * k) / omega
        first, second = periods[:-1] - wanted_s, periods[1:] - wanted_s
        # two neighbours belong to one lobe where neither jumps to the other root
        crossing = (first * second <= 0.0) & (np.abs(np.diff(phases_rad)) < 1.0)
        for row in np.flatnonzero(crossing):
            a, b = depths_mm[row], depths_mm[row + 1]
            if math.isinf(a) or math.isinf(b):
                continue
            span = second[row] - first[row]
            share = 0.0 if span == 0.0 else -first[row] / span
            least = min(least, float(a + share * (b - a)))
    return least
