"""Ways of limited engagement, judged by a fine raster of what a disc covers step by step."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
import shapely

from proveout.stages.passes.areas import COARSE_MM, area_of, disc, grown, opened, shape_of
from proveout.stages.passes.engaging import Way, _kept_way, engaged_way
from proveout.stages.passes.laying import left_by

RADIUS, TARGET = 4.0, 1.6
CELL, STEP, WINDOW = 0.08, 0.1, 8


def box(x_low: float, y_low: float, x_high: float, y_high: float) -> Any:
    return area_of([np.array([[x_low, y_low], [x_high, y_low], [x_high, y_high], [x_low, y_high]])])


def rounded(length: float, width: float, corner: float) -> Any:
    x, y = length / 2.0 - corner, width / 2.0 - corner
    return grown(box(-x, -y, x, y), corner)


WORLD = box(-60.0, -60.0, 60.0, 60.0)
BLOCK = box(-22.0, -16.0, 22.0, 16.0)
SHAPES = {
    "open sides with a boss": (rounded(12.0, 9.0, 3.0), BLOCK),
    "closed pocket": (WORLD - rounded(34.0, 22.0, 5.0), BLOCK),
    "narrow pocket": (WORLD - rounded(36.0, 12.5, 6.2), BLOCK),
    "pocket with an island": (WORLD - (rounded(40.0, 28.0, 5.0) - disc(x_mm=4.0, y_mm=0.0, radius_mm=4.0)), BLOCK),
    "as wide as the cutter": (WORLD - rounded(20.0, 8.6, 4.2), BLOCK),
}


def areas(stand: Any, block: Any) -> tuple[Any, Any]:
    obstacle = grown(stand, RADIUS, chord_mm=COARSE_MM)
    return obstacle, block - grown(obstacle, -RADIUS, chord_mm=COARSE_MM)


def way_of(name: str) -> tuple[Way, Any, Any]:
    obstacle, todo = areas(*SHAPES[name])
    way = engaged_way(obstacle=obstacle, todo=todo, standing=todo, radius_mm=RADIUS, engagement_mm=TARGET)
    return way, obstacle, todo


class Raster:
    """Metal as cells, taken by a disc place by place."""

    def __init__(self, todo: Any) -> None:
        x_low, y_low, x_high, y_high = todo.bounds()
        self.x = np.arange(x_low, x_high, CELL) + CELL / 2.0
        self.y = np.arange(y_low, y_high, CELL) + CELL / 2.0
        x, y = np.meshgrid(self.x, self.y, indexing="ij")
        self.metal = shapely.contains_xy(shape_of(todo), x, y)

    def take(self, place: np.ndarray) -> float:
        """Area that a disc at a place takes."""
        i = slice(*np.searchsorted(self.x, [place[0] - RADIUS, place[0] + RADIUS]))
        j = slice(*np.searchsorted(self.y, [place[1] - RADIUS, place[1] + RADIUS]))
        under = (self.x[i, None] - place[0]) ** 2 + (self.y[None, j] - place[1]) ** 2 <= RADIUS**2
        part = self.metal[i, j]
        fresh = float((part & under).sum()) * CELL**2
        part[under] = False
        return fresh


def spread(line: np.ndarray) -> np.ndarray:
    """Places at most STEP apart along a polyline, its corners among them."""
    gone = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(line, axis=0), axis=1))])
    at = np.union1d(np.linspace(0.0, gone[-1], max(2, int(np.ceil(gone[-1] / STEP)) + 1)), gone)
    return np.column_stack([np.interp(at, gone, line[:, k]) for k in range(2)])


def widths(way: Way, todo: Any) -> tuple[np.ndarray, float, Raster]:
    """Area over length of every window of the cuts that meets metal, the most that a link takes, and the raster."""
    raster, found, linked = Raster(todo), [], 0.0
    for one in way.stretches:
        if one.kind == "jump":
            raster.take(one.line[0])
            continue
        places = spread(one.line)
        taken = np.array([raster.take(p) for p in places])
        if one.kind == "link":
            linked = max(linked, float(taken.sum()))
        if one.kind == "cut":
            lengths = np.linalg.norm(np.diff(places, axis=0), axis=1)
            runs = np.add.reduceat(taken[1:], np.arange(0, len(lengths), WINDOW))
            over = np.add.reduceat(lengths, np.arange(0, len(lengths), WINDOW))
            found.extend((runs / over)[over > 0.5 * WINDOW * STEP])
    met = np.array(found)
    return met[met > 0.02 * TARGET] if len(met) else met, linked, raster


@pytest.mark.parametrize("name", list(SHAPES))
def test_the_engagement_keeps_to_its_target(name: str) -> None:
    way, _, todo = way_of(name)
    met, linked, _ = widths(way, todo)
    if len(met):
        assert float(np.quantile(met, 0.99)) <= 1.2 * TARGET
    assert linked < 0.05 * TARGET * RADIUS, "links run through what is cleared"


@pytest.mark.parametrize("name", list(SHAPES))
def test_nothing_is_left_that_the_cutter_reaches(name: str) -> None:
    way, _, todo = way_of(name)
    _, _, raster = widths(way, todo)
    told = left_by(way, todo=todo, radius_mm=RADIUS)
    x, y = np.meshgrid(raster.x, raster.y, indexing="ij")
    near = shapely.contains_xy(shape_of(grown(told, 0.15)), x, y)
    assert not (raster.metal & ~near).any(), "what is left is told, so that it stays in the believed work"
    assert told.area() < 0.01 * todo.area()
    wide = opened(told, 0.1)
    assert wide.area() < 0.001 * todo.area(), "strips along walls of at most 0.2 mm, and next to nothing else"


@pytest.mark.parametrize("name", list(SHAPES))
def test_the_axis_stays_where_it_may_stand(name: str) -> None:
    way, obstacle, _ = way_of(name)
    zone = shape_of(grown(obstacle, -0.05, chord_mm=COARSE_MM))
    for one in way.stretches:
        if len(one.line) > 1:
            assert not zone.intersects(shapely.LineString(one.line)), one.kind
        else:
            assert not zone.intersects(shapely.Point(one.line[0]))


def test_open_sides_need_no_entry_into_metal() -> None:
    way, _, _ = way_of("open sides with a boss")
    assert "helix" not in {one.kind for one in way.stretches}
    assert way.stretches[0].kind == "jump"


@pytest.mark.parametrize("name", ["closed pocket", "as wide as the cutter"])
def test_a_closed_pocket_is_entered_once_down_a_ring(name: str) -> None:
    way, _, _ = way_of(name)
    kinds = [one.kind for one in way.stretches]
    assert kinds.count("helix") == 1
    assert kinds[0] == "helix"
    ring = way.stretches[0].line
    assert np.allclose(ring[0], ring[-1])


def test_the_metal_lies_on_the_right() -> None:
    """Climb cutting: round a boss the way goes clockwise seen from above, as the metal is inside."""
    way, _, _ = way_of("open sides with a boss")
    longest = max((one.line for one in way.stretches if one.kind == "cut"), key=len)
    x, y = longest[:, 0], longest[:, 1]
    assert float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum()) < 0.0


def same(one: Way, two: Way) -> bool:
    return len(one.stretches) == len(two.stretches) and all(
        a.kind == b.kind and np.array_equal(a.line, b.line) for a, b in zip(one.stretches, two.stretches, strict=True)
    )


def test_the_same_areas_give_the_same_way() -> None:
    one = way_of("pocket with an island")[0]
    _kept_way.cache_clear()
    assert same(one, way_of("pocket with an island")[0])


def test_a_way_is_kept_for_the_very_same_level_alone() -> None:
    obstacle, todo = areas(*SHAPES["narrow pocket"])
    asked = {"obstacle": obstacle, "todo": todo, "standing": todo, "radius_mm": RADIUS, "engagement_mm": TARGET}
    moved = todo.translate((0.02, 0.0))
    others = [
        asked | {"engagement_mm": 0.9 * TARGET}, asked | {"radius_mm": 0.98 * RADIUS}, asked | {"here": np.zeros(2)},
        asked | {"todo": moved}, asked | {"standing": todo + moved},
        asked | {"obstacle": obstacle.translate((0.01, 0.0))},
    ]  # fmt: skip
    kept = engaged_way(**asked)
    assert engaged_way(**asked) is kept
    for other in others:
        found = engaged_way(**other)
        assert found is not kept
        assert engaged_way(**other) is found
    assert not kept.stretches[0].line.flags.writeable
