"""The depth that a cutter takes without chatter at one engagement and speed, as an interval."""

from __future__ import annotations

import math
from collections.abc import Sequence

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.cutting.chip_thickness import engagement_angle_rad, mean_chip_thickness_mm
from proveout.cutting.specific_force import specific_force_mpa
from proveout.cutting.stability import limit_depths_of_roots_mm, lobe_depth_mm
from proveout.model.fact import Fact
from proveout.model.measured import Response

Floats = NDArray[np.float64]
STEP_RATIO = 1.0 / 600.0
"""From one frequency to the next, between which the response goes straight."""
RADIAL_RATIOS = (0.15, 0.35, 0.6)
"""Radial to tangential force: the span of the coefficients that are listed for aluminium (milling_force_review)."""
SHIFTS = (-1.0, -0.5, 0.0, 0.5, 1.0)
MODEL_LEAST, MODEL_MOST = 0.6, 1.8
"""The true limit in shares of the zero-order one: tests/laws/test_stability_margin.py draws tools and holds this."""
THINNEST_MM = 0.001


class Engagement(msgspec.Struct, frozen=True, kw_only=True):
    """What decides the lobes of one pass. feeds_rad: directions of feed against machine X, modulo half a turn."""

    diameter_mm: float
    teeth_count: int
    radial_mm: float
    tooth_feed_mm: float
    feeds_rad: tuple[float, ...]


class Lobes:
    """Depths at every speed for one cutter, its response and one engagement.

    Args:     pressure_mpa: k_c1.1.   exponent_ratio: m_c.
    """

    def __init__(
        self, response: Response, cut: Engagement, *, pressure_mpa: Fact, exponent_ratio: float
    ) -> None:  # fmt: skip
        hz, x, y = _even(response)
        self._hz, self._teeth = hz, cut.teeth_count
        self._shift = response.frequency_error_ratio.high
        size = response.error_ratio.high
        chip = max(
            THINNEST_MM,
            mean_chip_thickness_mm(
                feed_per_tooth_mm=cut.tooth_feed_mm, radial_engagement_mm=cut.radial_mm, diameter_mm=cut.diameter_mm
            ),
        )
        # a wave changes the force by the slope of k_c h, which is (1 - m_c) k_c
        low, high = (
            (1.0 - exponent_ratio)
            * specific_force_mpa(unit_force_mpa=end, exponent_ratio=exponent_ratio, chip_thickness_mm=chip)
            for end in (pressure_mpa.low, pressure_mpa.high)
        )
        self.tangential_mpa = (low, high)
        self._least = MODEL_LEAST / (1.0 + size)
        self._most = MODEL_MOST / (1.0 - size) * high / low
        arc = engagement_angle_rad(radial_engagement_mm=cut.radial_mm, diameter_mm=cut.diameter_mm)
        sides = [(0.0, arc)] if arc >= math.pi - 1e-9 else [(0.0, arc), (math.pi - arc, math.pi)]
        self._curves = [
            [
                limit_depths_of_roots_mm(
                    frequencies_hz=hz, response_x_mm_per_n=x, response_y_mm_per_n=y, teeth_count=cut.teeth_count,
                    tangential_mpa=high, radial_ratio=ratio, start_rad=start, exit_rad=leave, feed_rad=feed,
                )
                for feed in cut.feeds_rad
            ]
            for start, leave in sides for ratio in RADIAL_RATIOS
        ]  # fmt: skip

    def depth_mm(self, *, speed_rad_per_s: float) -> tuple[float, float]:
        """Least and greatest depth that may be the true limit at a speed; infinite where no lobe comes near.

        Each is for the feed of the pass that chatters first; up or down milling, radial ratio and the place of the
        lobes may be any.
        """
        speeds = {speed_rad_per_s * (1.0 + share * self._shift) for share in SHIFTS}
        found = [depth for speed in sorted(speeds) for depth in self._at(speed)]
        return min(found) * self._least, max(found) * self._most

    def _at(self, speed_rad_per_s: float) -> list[float]:
        """The zero-order depth at one speed, by side of milling and radial ratio."""
        return [
            min(
                lobe_depth_mm(
                    spindle_rad_per_s=speed_rad_per_s, frequencies_hz=self._hz, depths_mm=depths, phases_rad=phases,
                    teeth_count=self._teeth,
                )
                for depths, phases in feeds
            )
            for feeds in self._curves
        ]  # fmt: skip

    def quiet_speed_rad_per_s(
        self, *, depth_mm: float, speed_rad_per_s: float, most_rad_per_s: float, shares: Sequence[float]
    ) -> float | None:
        """The speed nearest to a given one at which a depth stays below the least limit; None when none is tried.

        shares: of the given speed, tried from the nearest on.
        """
        for share in sorted(shares, key=lambda s: (abs(s - 1.0), -s)):
            speed = share * speed_rad_per_s
            if speed > most_rad_per_s or min(self._at(speed)) * self._least < depth_mm:
                continue
            if self.depth_mm(speed_rad_per_s=speed)[0] >= depth_mm:
                return speed
        return None


def _even(response: Response) -> tuple[Floats, NDArray[np.complex128], NDArray[np.complex128]]:
    """Frequencies in even ratios over the measured band, and both responses there, straight between measured rows."""
    table = np.array(response.rows)
    low, high = float(table[0, 0]), float(table[-1, 0])
    count = math.ceil(math.log(high / low) / STEP_RATIO) + 1
    hz = np.clip(np.geomspace(low, high, count), low, high)
    x, y = (
        np.interp(hz, table[:, 0], table[:, column]) + 1j * np.interp(hz, table[:, 0], table[:, column + 1])
        for column in (1, 3)
    )
    return hz, x, y
