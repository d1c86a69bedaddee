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


def limit_depths_of_roots_mm(
    *, frequencies_hz: Floats, response_x_mm_per_n: Complexes, response_y_mm_per_n: Complexes, teeth_count: int,
    tangential_mpa: float, radial_ratio: float, start_rad: float, exit_rad: float, feed_rad: float = 0.0,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Greatest stable depth at each chatter frequency by either root, and the phase between waves of teeth that follow.

    Formula:  det(1 + L R A R' G) = 0 with A the mean directional factors, R the turn from the feed's direction to x and
              G the response along x and y; a = -2 pi Re L / (N K_t) (1 + (Im L / Re L)^2);
              phase = pi - 2 atan(Im L / Re L)
    Args:     frequencies_hz: (n,), > 0.   response_x_mm_per_n: (n,) at the tip along x.   response_y_mm_per_n: (n,)
              along y; all zero for a tool that gives way in one direction only.   teeth_count: N, >= 1.
              tangential_mpa: K_t, > 0.   radial_ratio: 0..2.   start_rad: 0..pi.   exit_rad: above start_rad.
              feed_rad: of the feed's direction against x, seen from above.
    Returns:  mm, (2, n), each root kept on its own row, infinite where nothing chatters, and (2, n) rad.
    Raises:   OutOfRange when an argument leaves the bounds above or the lengths differ.
    Valid:    the mean of the directional factors stands for their change over a turn: poor for cuts far narrower than
              the radius, whose other lobes it does not have; and only for that tool, holder, stick-out and spindle. A
              push along x that moves the tip along y is not in it.
    Source:   zero_order_stability, as quoted.   Departs: feeds in any direction, both roots kept.
    Checked:  tests/published/test_zero_order_stability.py
    """
    above_zero(teeth_count=teeth_count, tangential_mpa=tangential_mpa)
    if not len(frequencies_hz) == len(response_x_mm_per_n) == len(response_y_mm_per_n):
        raise OutOfRange("Frequencies and responses differ in number", value=str(len(frequencies_hz)))
    ratios = mean_direction_ratios(start_rad=start_rad, exit_rad=exit_rad, radial_ratio=radial_ratio)
    turn = np.array([[math.cos(feed_rad), -math.sin(feed_rad)], [math.sin(feed_rad), math.cos(feed_rad)]])
    (xx, xy), (yx, yy) = turn @ np.reshape(ratios, (2, 2)) @ turn.T
    gx, gy = response_x_mm_per_n, response_y_mm_per_n
    quadratic = gx * gy * (xx * yy - xy * yx)
    linear = xx * gx + yy * gy
    with np.errstate(divide="ignore", invalid="ignore"):
        root = _smooth(np.sqrt(linear**2 - 4.0 * quadratic))
        both = np.stack([-(linear + root) / (2.0 * quadratic), -(linear - root) / (2.0 * quadratic)])
        single = np.stack([-1.0 / linear, -1.0 / linear])
        found: Complexes = np.where(np.abs(quadratic) > 1e-12 * np.abs(linear) ** 2, both, single)
        real, imaginary = np.real(found), np.imag(found)
        ratio = imaginary / real
        depths = -2.0 * math.pi * real / (teeth_count * tangential_mpa) * (1.0 + ratio**2)
        phases = math.pi - 2.0 * np.arctan(ratio)
    return np.where(np.isfinite(depths) & (depths > 0.0), depths, np.inf), phases


def _smooth(roots: Complexes) -> Complexes:
    """Square roots (n,) with the sign that makes each follow the one before."""
    flips = np.where(np.real(roots[1:] * np.conj(roots[:-1])) < 0.0, -1.0, 1.0)
    return roots * np.concatenate([[1.0], np.cumprod(flips)])


def limit_depths_mm(
    *, frequencies_hz: Floats, response_x_mm_per_n: Complexes, response_y_mm_per_n: Complexes, teeth_count: int,
    tangential_mpa: float, radial_ratio: float, start_rad: float, exit_rad: float,
) -> tuple[Floats, Floats]:  # fmt: skip
    """Greatest stable depth at each chatter frequency, and the phase between waves left by teeth that follow.

    Formula:  the lesser of both roots of limit_depths_of_roots_mm, with the feed along x
    Args:     frequencies_hz: (n,), > 0.   response_x_mm_per_n: (n,) at the tip along the feed.   response_y_mm_per_n:
              (n,) across it; all zero for a tool that gives way in one direction only.   teeth_count: N, >= 1.
              tangential_mpa: K_t, > 0.   radial_ratio: 0..2.   start_rad: 0..pi.   exit_rad: above start_rad.
    Returns:  mm, (n,), infinite where nothing chatters, and (n,) rad of that root.
    Raises:   OutOfRange when an argument leaves the bounds above or the lengths differ.
    Valid:    as limit_depths_of_roots_mm.
    Source:   zero_order_stability, as quoted.   Departs: nothing.
    Checked:  tests/published/test_zero_order_stability.py
    """
    depths, phases = limit_depths_of_roots_mm(
        frequencies_hz=frequencies_hz, response_x_mm_per_n=response_x_mm_per_n,
        response_y_mm_per_n=response_y_mm_per_n, teeth_count=teeth_count, tangential_mpa=tangential_mpa,
        radial_ratio=radial_ratio, start_rad=start_rad, exit_rad=exit_rad,
    )  # fmt: skip
    better = np.argmin(depths, axis=0)
    rows = np.arange(len(frequencies_hz))
    return depths[better, rows], phases[better, rows]


def lobe_depth_mm(
    *, spindle_rad_per_s: float, frequencies_hz: Floats, depths_mm: Floats, phases_rad: Floats, teeth_count: int
) -> float:
    """Greatest stable depth at one spindle speed: the lowest of all lobes there.

    Formula:  the tooth passes in T = (phase + 2 k pi) / omega_c, k = 0, 1, ...: where (omega_c T - phase) / (2 pi) goes
              through a whole number; between frequencies it and the depth go straight
    Args:     spindle_rad_per_s: > 0.   frequencies_hz: (n,) rising.   depths_mm: (n,) of limit_depths_mm, or (2, n) of
              both roots.   phases_rad: of the same shape.   teeth_count: >= 1.
    Returns:  mm; infinite where no lobe reaches this speed.
    Raises:   OutOfRange when an argument leaves the bounds above.
    Valid:    as limit_depths_of_roots_mm; frequencies close enough that depth hardly changes from one to the next.
    Source:   zero_order_stability, as quoted.   Departs: the lower of two neighbours where several lobes lie between.
    Checked:  tests/published/test_zero_order_stability.py
    """
    above_zero(spindle_rad_per_s=spindle_rad_per_s, teeth_count=teeth_count)
    depths, phases = np.atleast_2d(depths_mm), np.atleast_2d(phases_rad)
    turns = frequencies_hz * (2.0 * math.pi / (spindle_rad_per_s * teeth_count)) - phases / (2.0 * math.pi)
    a, b = turns[:, :-1], turns[:, 1:]
    first, last = np.maximum(np.ceil(np.minimum(a, b)), 0.0), np.floor(np.maximum(a, b))
    # two neighbours belong to one lobe where neither jumps to the other root
    crossing = (first <= last) & (np.abs(np.diff(phases, axis=1)) < 1.0)
    left, right = depths[:, :-1][crossing], depths[:, 1:][crossing]
    if not len(left):
        return math.inf
    span = (b - a)[crossing]
    share = np.where(span == 0.0, 0.0, (first[crossing] - a[crossing]) / np.where(span == 0.0, 1.0, span))
    is_plain = np.isfinite(left) & np.isfinite(right) & (first == last)[crossing]
    with np.errstate(invalid="ignore"):
        between_them = left + share * (right - left)
    return float(np.where(is_plain, between_them, np.minimum(left, right)).min())
