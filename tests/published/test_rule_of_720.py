"""The rule of 720 for sulphuric coats, as a finishing forum quotes it with examples. As quoted, inches as printed."""

from __future__ import annotations

import pytest

from proveout.jobs.figures import figure
from proveout.quantities.coat import bath_current_a, bath_time_s
from proveout.quantities.errors import BadInput, OutOfRange

MM_PER_MIL = 0.0254
MM2_PER_FT2 = 304.8**2


@pytest.mark.parametrize(("mils", "amperes_per_ft2", "minutes"), [(1.0, 12.0, 60), (0.5, 20.0, 18), (0.7, 4.5, 112)])
def test_minutes_in_the_bath(mils: float, amperes_per_ft2: float, minutes: int) -> None:
    """H8. As quoted: 1 mil at 12, 0.5 at 20, 0.7 at 4.5 amperes a square foot take 60, 18 and 112 minutes."""
    found_s = bath_time_s(thickness_mm=mils * MM_PER_MIL, current_density_a_per_mm2=amperes_per_ft2 / MM2_PER_FT2)
    assert found_s == pytest.approx(minutes * 60.0, rel=1e-12)


def test_amperes_of_a_load() -> None:
    """H9. As quoted: 1.75 square feet at 20 amperes a square foot draw 35 A."""
    drawn_a = bath_current_a(coated_area_mm2=1.75 * MM2_PER_FT2, current_density_a_per_mm2=20.0 / MM2_PER_FT2)
    assert drawn_a == pytest.approx(35.0, rel=1e-12)


def test_typed_as_a_finisher_says_it() -> None:
    """The same examples through the verb, with the units of the trade; a density without its unit is refused."""
    typed = figure("bath-time", ["thickness=0.0005in", "current-density=20 A/ft2"])
    assert typed.results[0][1] == pytest.approx(18 * 60.0)
    load = figure("bath-current", ["coated-area=1.75 ft2", "current-density=20..24 A/ft2"])
    assert load.results[0][1:] == pytest.approx((35.0, 42.0))
    with pytest.raises(BadInput, match="unit"):
        figure("bath-time", ["thickness=0.0005in", "current-density=20"])


def test_no_current_grows_no_coat() -> None:
    with pytest.raises(OutOfRange):
        bath_time_s(thickness_mm=0.01, current_density_a_per_mm2=0.0)
