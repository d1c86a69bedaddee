"""Where a spindle's meter can be read: the hardest level cut of a pass that stays the same and lasts."""

from __future__ import annotations

import math
from typing import Any

import msgspec
import numpy as np
import pytest
from stages.loads.test_loads import MILL_12
from stages.loads.test_moves import loaded

from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import Moves
from proveout.model.turn_push import SteadyCut
from proveout.model.work import Pass
from proveout.stages.loads.steady import steady_cut

ONE = Pass(
    id="p", kind="rough", clamping_id="c1", tilt_id="up", cutter_id=MILL_12.id, feature="levels", face_ids=(),
    speed_rad_per_s=300.0, tooth_feed_mm=0.06, radial_mm=3.6, axial_mm=6.0, moves_digest="", moves_count=0,
    cut_length_mm=1.0,
)  # fmt: skip


def steady(
    lengths: list[float], sections: list[float], *, feeds: list[float] | None = None, most: list[float] | None = None,
    deep: float = 6.0, plunge: float = 0.0, fall: float = 0.0, varies: float = 0.0, tool: Any = MILL_12,
    faced: bool = False, rows: list[int] | None = None, **changed: Any,
) -> SteadyCut | None:  # fmt: skip
    """Moves along x at z 10; `sections` on average, `most` where each is largest."""
    count, ways = len(lengths), np.array(lengths)
    at = np.array(rows or range(1, count + 1))
    own = np.zeros(int(at.max()) + 1)
    own[at] = feeds or [9.0] * count
    moves = Moves(points=np.zeros((len(own), 3)), feed_mm_per_s=own)
    cuts = MoveCuts(
        pass_id=ONE.id, rows=at, removed_mm3=np.array(sections) * ways, length_mm=ways,
        section_mm2=np.array(most or sections), plunge_mm2=np.full(count, plunge), deep_mm=np.full(count, deep),
        low_mm=np.full(count, 10.0 - fall), high_mm=np.full(count, 10.0),
    )  # fmt: skip
    return steady_cut(msgspec.structs.replace(ONE, **changed), moves, cuts, tool, raw_varies_mm=varies, is_faced=faced)


def test_a_stretch_worked_by_hand() -> None:
    """Worked: raw faces 0.36 off are a tenth of 3.6, and 0.06 of 6 where the top is raw.

    27 mm at 9 mm/s are 3 s; 2 pi 9 / (300 3) is 0.06283 an edge; 21.6 mm2 6 deep are 3.6 wide.
    """
    assert steady([27.0], [21.6]) == SteadyCut(tooth_feed_mm=0.06283, radial_mm=3.6, axial_mm=6.0, seconds=3.0)
    joined = steady([9.0, 18.0], [21.6, 20.4])
    assert joined is not None
    faced, raw = steady([27.0], [21.6], varies=0.36, faced=True), steady([27.0], [21.6], varies=0.36)
    assert faced is not None
    assert raw is not None
    assert (faced.section_error_ratio, raw.section_error_ratio) == (0.1, pytest.approx(0.16, abs=1e-6))
    assert (joined.seconds, joined.radial_mm) == (3.0, pytest.approx((9.0 * 21.6 + 18.0 * 20.4) / 27.0 / 6.0, abs=1e-4))


def test_a_plan_tells_it_of_the_pass_and_the_harder_stretch_is_the_one() -> None:
    """Worked: of two cuts of 30 mm the second, at half the feed, takes half as much a second, and is not read."""
    (push,) = loaded([21.6, 21.6]).value.pushes
    assert push.steady == SteadyCut(tooth_feed_mm=0.06283, radial_mm=3.6, axial_mm=6.0, seconds=3.33)
    (raw,) = loaded([21.6, 21.6], varies=1.0).value.pushes
    assert raw.steady is None
    (unmeasured,) = loaded([21.6, 21.6], measured=False).value.pushes
    assert unmeasured.steady is None


@pytest.mark.parametrize(
    ("given", "why"),
    [
        ({"kind": "finish wall"}, "its width is a few tenths"),
        ({"tool": msgspec.structs.replace(MILL_12, corner_radius_mm=1.0)}, "no square edges"),
        ({"lengths": [17.0]}, "1.9 s"), ({"feeds": [0.0]}, "a rapid"), ({"sections": [2.4]}, "0.4 mm wide"),
        ({"sections": [24.0]}, "4 mm wide where 3.6 are planned"), ({"deep": 6.7}, "deeper than planned"),
        ({"most": [24.0]}, "it varies"), ({"most": [math.nan]}, "nobody could tell"), ({"fall": 0.1}, "it goes down"),
        ({"varies": 0.46}, "raw faces may lie 0.46 off: 0.13 of the width and 0.08 of the depth"),
        ({"plunge": 30.0}, "it plunges harder"),
    ],
)  # fmt: skip
def test_what_no_meter_can_be_read_in(given: dict[str, Any], why: str) -> None:
    assert steady(**{"lengths": [27.0], "sections": [21.6], **given}) is None, why


def test_what_pushes_harder_and_lasts_stands_in_the_way() -> None:
    """Worked: 4.6 mm at 9 mm/s are 0.51 s, 4.4 are 0.49; what pushes up to a tenth harder is the same."""
    long, short = [27.0, 4.6], [27.0, 4.4]
    assert steady(long, [21.6, 15.0], most=[21.6, 30.0]) is None
    assert steady(short, [21.6, 15.0], most=[21.6, 30.0]) is not None
    assert steady(long, [21.6, 15.0], most=[21.6, 23.5]) is not None


def test_a_gap_or_another_section_parts_a_stretch() -> None:
    """Worked: 1.5 s and 1.5 s are no stretch of 3 s where moves lie between, or their sections differ."""
    assert steady([13.5, 13.5], [21.6, 21.6]) is not None
    assert steady([13.5, 13.5], [21.6, 21.6], rows=[1, 3]) is None
    assert steady([13.5, 13.5], [21.6, 18.0]) is None


def test_of_stretches_that_push_alike_the_longest_is_read() -> None:
    found = steady([27.0, 9.0, 45.0], [21.6, 10.0, 20.4])
    assert found is not None
    assert (found.seconds, found.radial_mm) == (5.0, 3.4)
    varying = steady([27.0, 9.0, 45.0], [21.6, 10.0, 20.4], most=[21.6, 10.0, 23.0])
    assert varying is not None
    assert (varying.seconds, varying.radial_mm) == (3.0, 3.6)
