"""The lobes with their stated margins against a semi-discretisation that shares nothing with them, on drawn tools."""

from __future__ import annotations

import math

import numpy as np
import pytest
from semi_discretisation import Spring, growth

from proveout.cutting.stability import limit_depths_of_roots_mm
from proveout.model.fact import exact_fact
from proveout.model.measured import Response
from proveout.quantities.units import rad_per_s_from_rpm
from proveout.stages.stability.decide import NARROWEST_RATIO
from proveout.stages.stability.lobes import RADIAL_RATIOS, Engagement, Lobes

PRESSURE = 600.0
DIAMETER = 12.0


def response_of(x: Spring, y: Spring, *, error: float = 0.0, frequency_error: float = 0.0) -> Response:
    """As a table in steps of 2 Hz would have it."""
    hz = np.arange(300.0, 2600.0, 2.0)
    gx, gy = x.response(hz), y.response(hz)
    return Response(
        machine_id="mill", cutter_id="mill 12", stick_out_mm=38.0, measured="", file="r.csv",
        error_ratio=exact_fact(error, "ratio", "shop-file", "assumed"),
        frequency_error_ratio=exact_fact(frequency_error, "ratio", "shop-file", "assumed"),
        rows=tuple(
            (float(f), float(a.real), float(a.imag), float(b.real), float(b.imag))
            for f, a, b in zip(hz, gx, gy, strict=True)
        ),
    )  # fmt: skip


def lobes(response: Response, *, teeth: int, radial_ratio: float, feed: float = 0.0) -> Lobes:
    """Lobes with a force that does not change with the thickness of the chip, so that K_t is PRESSURE."""
    cut = Engagement(
        diameter_mm=DIAMETER, teeth_count=teeth, radial_mm=radial_ratio * DIAMETER, tooth_feed_mm=0.06,
        feeds_rad=(feed,),
    )  # fmt: skip
    return Lobes(
        response, cut, pressure_mpa=exact_fact(PRESSURE, "MPa", "shop-file", "assumed"), exponent_ratio=0.0
    )  # fmt: skip


def spring(rng: np.random.Generator) -> Spring:
    return Spring(900.0 * rng.uniform(0.8, 1.3), rng.uniform(0.01, 0.05), rng.uniform(4e3, 2e4))


@pytest.mark.parametrize("seed", range(12))
def test_below_the_least_limit_nothing_grows_and_above_the_greatest_waves_do(seed: int) -> None:
    """Teeth, width, speed and both springs are drawn; up and down milling, at each end of the radial ratio."""
    rng = np.random.default_rng(seed)
    x, y, teeth = spring(rng), spring(rng), int(rng.integers(2, 5))
    wide, rpm = rng.uniform(NARROWEST_RATIO, 1.0), rng.uniform(5000.0, 16000.0)
    low, high = lobes(response_of(x, y, frequency_error=0.02), teeth=teeth, radial_ratio=wide).depth_mm(
        speed_rad_per_s=rad_per_s_from_rpm(rpm)
    )
    arc = math.acos(1.0 - 2.0 * wide)
    waves = 1200.0 * 60.0 / (rpm * teeth)  # of the highest spring in a tooth period
    for start, leave in ((0.0, arc), (math.pi - arc, math.pi)):
        for radial in (RADIAL_RATIOS[0], RADIAL_RATIOS[-1]):

            def grown(depth_mm: float, start: float = start, leave: float = leave, radial: float = radial) -> float:
                return growth(
                    x=x, y=y, depth_mm=depth_mm, rpm=rpm, teeth=teeth, start_rad=start, exit_rad=leave,
                    tangential_mpa=PRESSURE, radial_ratio=radial, steps=max(40, int(16.0 * waves)),
                )  # fmt: skip

            assert grown(low) < 1.0
            assert math.isinf(high) or grown(high) > 1.0


@pytest.mark.parametrize(("depth_mm", "radius"), [(0.2, 0.8192), (0.7, 1.2197)])
def test_the_semi_discretisation_in_two_directions_gives_published_multipliers(depth_mm: float, radius: float) -> None:
    """The classic tool gives way along x alone; a spring a million times as stiff stands for no spring along y."""
    found = growth(
        x=Spring(922.0, 0.011, 1340.05), y=Spring(922.0, 0.011, 1e9), depth_mm=depth_mm, rpm=5000.0, teeth=2,
        start_rad=0.0, exit_rad=math.pi, tangential_mpa=600.0, radial_ratio=1.0 / 3.0, steps=200,
    )  # fmt: skip
    assert found == pytest.approx(radius, rel=0.01)


def test_a_feed_along_y_is_a_feed_along_x_of_the_turned_response() -> None:
    x, y = Spring(800.0, 0.03, 8000.0), Spring(1100.0, 0.02, 12000.0)
    hz = np.arange(300.0, 2600.0, 1.0)
    given = {
        "frequencies_hz": hz, "teeth_count": 3, "tangential_mpa": 600.0, "radial_ratio": 0.3, "start_rad": 0.0,
        "exit_rad": 1.2,
    }  # fmt: skip
    along_y, _ = limit_depths_of_roots_mm(
        response_x_mm_per_n=x.response(hz), response_y_mm_per_n=y.response(hz), feed_rad=math.pi / 2.0, **given
    )
    turned, _ = limit_depths_of_roots_mm(
        response_x_mm_per_n=y.response(hz), response_y_mm_per_n=x.response(hz), feed_rad=0.0, **given
    )
    assert np.allclose(along_y.min(axis=0), turned.min(axis=0))
    straight, _ = limit_depths_of_roots_mm(
        response_x_mm_per_n=x.response(hz), response_y_mm_per_n=y.response(hz), feed_rad=0.0, **given
    )
    assert not np.allclose(straight.min(axis=0), turned.min(axis=0))


def test_every_error_widens_the_interval_and_a_stiffer_tool_cuts_deeper() -> None:
    x, y, speed = Spring(800.0, 0.03, 8000.0), Spring(1100.0, 0.02, 12000.0), rad_per_s_from_rpm(9000.0)
    plain = lobes(response_of(x, y), teeth=3, radial_ratio=0.4).depth_mm(speed_rad_per_s=speed)
    for more in ({"error": 0.2}, {"frequency_error": 0.03}):
        low, high = lobes(response_of(x, y, **more), teeth=3, radial_ratio=0.4).depth_mm(speed_rad_per_s=speed)
        assert low <= plain[0]
        assert high >= plain[1]
        assert (low, high) != plain
    twice = [Spring(s.natural_hz, s.damping, 2.0 * s.stiffness_n_per_mm) for s in (x, y)]
    stiff = lobes(response_of(*twice), teeth=3, radial_ratio=0.4).depth_mm(speed_rad_per_s=speed)
    assert stiff == pytest.approx((2.0 * plain[0], 2.0 * plain[1]), rel=1e-9)
    by_error = lobes(response_of(x, y, error=0.25), teeth=3, radial_ratio=0.4).depth_mm(speed_rad_per_s=speed)
    assert by_error == pytest.approx((plain[0] / 1.25, plain[1] / 0.75))
