"""Hidden-line drawings of a plate with a hole, checked by where its lines must lie."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from proveout.model.solid import Drawing
from proveout.quantities.errors import OutOfRange


def _draw(shape: Any, view: tuple[float, float, float], up: tuple[float, float, float]) -> Drawing:
    from proveout.solids.drawing import hidden_line_drawing
    from proveout.solids.shapes import brep_from_shape

    return hidden_line_drawing(brep_from_shape(shape), view_direction=view, up=up)


def _length_mm(lines: tuple[Any, ...]) -> float:
    return float(sum(np.linalg.norm(np.diff(line, axis=0), axis=1).sum() for line in lines))


def test_seen_from_above_the_plate_shows_its_outline_and_its_hole(plate_with_hole: Any) -> None:
    drawing = _draw(plate_with_hole, (0.0, 0.0, -1.0), (0.0, 1.0, 0.0))
    points = np.concatenate(drawing.visible_mm)
    assert points.min(axis=0) == pytest.approx([0.0, 0.0], abs=1e-6)
    assert points.max(axis=0) == pytest.approx([40.0, 30.0], abs=1e-6)
    assert _length_mm(drawing.visible_mm) == pytest.approx(2 * (40 + 30) + 8 * np.pi, abs=0.1)
    near_hole = np.linalg.norm(points - np.array([12.0, 15.0]), axis=1)
    assert near_hole.min() == pytest.approx(4.0, abs=1e-6)


def test_seen_from_the_front_the_hole_is_hidden(plate_with_hole: Any) -> None:
    """Two hidden lines at x = 8 and x = 16, 10 mm long, and none of them visible."""
    drawing = _draw(plate_with_hole, (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))
    assert _length_mm(drawing.visible_mm) == pytest.approx(2 * (40 + 10), abs=1e-6)
    upright = {round(float(line[0, 0]), 3) for line in drawing.hidden_mm if np.ptp(line[:, 0]) < 1e-6}
    assert {8.0, 16.0} <= upright
    inner = [line for line in drawing.visible_mm if 1.0 < line[:, 0].mean() < 39.0 and np.ptp(line[:, 0]) < 1e-6]
    assert not inner


def test_from_behind_left_and_right_change_places(plate_with_hole: Any) -> None:
    drawing = _draw(plate_with_hole, (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))
    points = np.concatenate(drawing.visible_mm)
    assert points[:, 0].min() == pytest.approx(-40.0, abs=1e-6)
    assert points[:, 0].max() == pytest.approx(0.0, abs=1e-6)


def test_the_same_view_gives_the_same_lines_twice(plate_with_hole: Any) -> None:
    first, second = (_draw(plate_with_hole, (-1.0, 1.0, -1.0), (0.0, 0.0, 1.0)) for _ in range(2))
    for a, b in zip(first.visible_mm + first.hidden_mm, second.visible_mm + second.hidden_mm, strict=True):
        assert np.array_equal(a, b)


def test_up_along_the_view_is_refused(plate_with_hole: Any) -> None:
    with pytest.raises(OutOfRange, match="must not lie along the view"):
        _draw(plate_with_hole, (0.0, 0.0, -1.0), (0.0, 0.0, 1.0))
