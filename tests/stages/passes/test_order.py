"""The working order of a tilt's passes: each finds the metal it was laid for, and cutters are called seldom."""

from __future__ import annotations

import itertools
from typing import Any

import numpy as np
import pytest

from proveout.geometry.frames import Frame
from proveout.model.work import PassKind, Tilt
from proveout.stages.passes.order import BESIDE_MM, Made, _before, in_order
from proveout.stages.passes.speeds import Speeds
from proveout.stages.passes.task import Laid
from proveout.stages.passes.track import Track

UPRIGHT = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 0.0, 0.0))
SPEEDS = Speeds(
    speed_rad_per_s=600.0, tooth_feed_mm=0.05, feed_mm_per_s=10.0, plunge_mm_per_s=3.0, ramp_mm_per_s=5.0,
    air_mm_per_s=30.0, slot_mm_per_s=5.0,
)  # fmt: skip


def made(
    kind: PassKind, cutter: Any, line: list[tuple[float, float]], *, low: float = -5.0, name: str = "", tilt: str = "t"
) -> Made:  # fmt: skip
    """A pass along a line at a height, on work whose top lies at 0."""
    track = Track(resolution_mm=0.001, clear_mm=5.0)
    track.enter(x_mm=line[0][0], y_mm=line[0][1], z_mm=low, feed_mm_per_s=3.0)
    track.along(np.array(line), z_mm=low, feed_mm_per_s=10.0)
    laid = Laid(
        kind=kind, cutter=cutter, feature=name or kind, face_ids=(), track=track, speeds=SPEEDS, radial_mm=1.0,
        axial_mm=1.0,
    )  # fmt: skip
    return Made(
        laid=laid, moves=track.moves(), tilt=Tilt(id=tilt, frame=UPRIGHT, a_rad=0.0, c_rad=0.0), top_mm=0.0
    )  # fmt: skip


def names(passes: list[Made]) -> list[str]:
    return [one.laid.feature for one in passes]


@pytest.fixture
def shop(kit: Any) -> dict[str, Any]:
    return {c.id: c for c in kit.SHOP}


def test_passes_apart_go_cutter_by_cutter(shop: dict[str, Any]) -> None:
    six, ten = shop["EM6"], shop["EM10"]
    passes = [
        made("finish wall", ten, [(0.0, 0.0), (20.0, 0.0)], name="a"),
        made("finish wall", six, [(60.0, 0.0), (80.0, 0.0)], name="b"),
        made("finish floor", ten, [(0.0, 60.0), (20.0, 60.0)], name="c"),
        made("finish floor", six, [(60.0, 60.0), (80.0, 60.0)], name="d"),
    ]
    order = names(in_order(passes))
    assert set(order[:2]) == {"a", "c"}
    assert set(order[2:]) == {"b", "d"}


def test_a_pass_stays_behind_the_one_whose_metal_it_would_meet(shop: dict[str, Any]) -> None:
    """The third was laid where the second has been: with the cutter of the first it still comes after both."""
    six, ten = shop["EM6"], shop["EM10"]
    passes = [
        made("finish wall", ten, [(0.0, 0.0), (20.0, 0.0)], name="a"),
        made("finish wall", six, [(60.0, 0.0), (80.0, 0.0)], name="b"),
        made("finish wall", ten, [(70.0, 7.9), (90.0, 7.9)], name="beside b"),
    ]
    assert names(in_order(passes)) == ["a", "b", "beside b"]
    # 3 + 5 mm of radii and a tenth apart: one hundredth farther they no longer meet
    passes[2] = made("finish wall", ten, [(70.0, 8.11), (90.0, 8.11)], name="clear of b")
    assert names(in_order(passes)) == ["a", "clear of b", "b"]


def test_ways_meet_where_their_sampled_places_come_near(shop: dict[str, Any]) -> None:
    """Drawn ways of a few bends: what is told of two of them against the least distance of places 0.1 mm apart."""
    six = shop["EM6"]
    told = 0
    for seed in range(30):
        random = np.random.default_rng(seed)
        lines = [random.uniform(0.0, 30.0, (random.integers(1, 5), 2)) for _ in range(2)]
        first, second = (made("finish wall", six, [(float(x), float(y)) for x, y in line]) for line in lines)
        places = []
        for line in lines:
            gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
            at = np.arange(0.0, gone[-1] + 0.1, 0.1)
            places.append(np.column_stack([np.interp(at, gone, line[:, k]) for k in range(2)]))
        least = float(np.linalg.norm(places[0][:, None] - places[1][None], axis=2).min())
        if abs(least - 6.0 - BESIDE_MM) > 0.08:
            assert _before([first, second])[1] == (least < 6.0 + BESIDE_MM), seed
            told += least > 6.0
    assert told > 2


def test_a_holder_below_the_top_of_the_work_reaches_as_far_as_it_is_wide(shop: dict[str, Any]) -> None:
    """EM6 stands 26 mm out of a holder 30 mm wide: 27 mm deep that may meet metal 15 mm off, 25 mm deep it cannot."""
    six, ten = shop["EM6"], shop["EM10"]

    def order(low: float) -> list[str]:
        return names(
            in_order(
                [
                    made("finish wall", six, [(-60.0, 0.0), (-80.0, 0.0)], name="a"),
                    made("finish wall", ten, [(0.0, 0.0), (20.0, 0.0)], name="b"),
                    made("finish wall", six, [(0.0, 15.0), (20.0, 15.0)], low=low, name="c"),
                ]
            )
        )

    assert order(-27.0) == ["a", "b", "c"]
    assert order(-25.0)[2] == "b"


def test_roughing_comes_before_sizes_and_broken_edges_last_however_far_apart(shop: dict[str, Any]) -> None:
    six, ten, edge = shop["EM6"], shop["EM10"], shop["EB10"]
    passes = [
        made("rough", ten, [(0.0, 0.0), (20.0, 0.0)], name="rough"),
        made("rough corners", six, [(60.0, 0.0), (80.0, 0.0)], name="corners"),
        made("finish wall", ten, [(0.0, 0.0), (20.0, 0.0)], name="wall"),
        made("finish wall", six, [(60.0, 60.0), (80.0, 60.0)], name="far wall"),
        made("break edge", edge, [(0.0, 90.0), (20.0, 90.0)], low=-1.0, name="edge"),
        made("finish surface", ten, [(0.0, 40.0), (20.0, 40.0)], name="surface"),
    ]
    order = names(in_order(passes))
    assert order[:3] == ["rough", "corners", "far wall"]
    assert set(order[3:5]) == {"wall", "surface"}
    assert order[5] == "edge"


def test_a_hole_is_spotted_drilled_and_tapped_in_turn_and_each_kind_goes_the_short_way(shop: dict[str, Any]) -> None:
    spot, drill, tap = shop["SP10"], shop["DR5"], shop["TM6"]
    holes: tuple[tuple[PassKind, Any, float], ...] = (("spot", spot, -2.0), ("drill", drill, -9.0), ("tap", tap, -8.0))
    places = [(0.0, 0.0), (90.0, 0.0), (30.0, 0.0), (60.0, 0.0)]
    passes = [
        made(kind, cutter, [place, place], name=f"{kind} {place[0]:.0f}", low=low)
        for kind, cutter, low in holes
        for place in places
    ]
    order = names(in_order(passes))
    assert [name.split()[0] for name in order] == ["spot"] * 4 + ["drill"] * 4 + ["tap"] * 4
    for k in range(0, 12, 4):
        way = [float(name.split()[1]) for name in order[k : k + 4]]
        assert sum(abs(b - a) for a, b in itertools.pairwise(way)) == 90.0


def test_the_next_tilt_begins_with_the_cutter_in_the_spindle(shop: dict[str, Any]) -> None:
    six, ten = shop["EM6"], shop["EM10"]
    passes = [
        made("finish wall", ten, [(0.0, 0.0), (20.0, 0.0)], name="a"),
        made("finish wall", six, [(60.0, 0.0), (80.0, 0.0)], name="b"),
        made("finish wall", ten, [(0.0, 0.0), (20.0, 0.0)], name="c", tilt="u"),
        made("finish wall", six, [(60.0, 0.0), (80.0, 0.0)], name="d", tilt="u"),
    ]
    assert names(in_order(passes)) == ["a", "b", "d", "c"]
    assert in_order([]) == []
