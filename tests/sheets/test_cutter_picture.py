"""Every kind of cutter is drawn to scale, with its sizes in the system that the shop types."""

from __future__ import annotations

import math
import re
from typing import get_args

import numpy as np
import pytest
from shapes import cutter

from proveout.model.cutter import CutterKind
from proveout.model.shop import Cutter
from proveout.sheets.cutter_picture import _shapes, changer_svg, crib_svg, cutter_svg

POINT = {"drill": 118.0, "spot": 90.0, "edge break": 90.0, "undercut": 20.0}


def one(kind: str, **more: float) -> Cutter:
    shank = 4.0 if kind in ("undercut", "T-slot") else 12.0
    return cutter(
        "A-1", kind, 12.0, 20.0 if kind != "undercut" else 8.0, 40.0, shank_diameter_mm=shank,
        tip_angle_rad=math.radians(POINT.get(kind, 180.0)), pitch_mm=1.25 if kind in ("tap", "thread mill") else 0.0,
        **more,
    )  # fmt: skip


@pytest.mark.parametrize("kind", get_args(CutterKind))
def test_every_kind_draws_and_says_its_sizes(kind: str) -> None:
    svg = cutter_svg(one(kind), is_inch=False, ids="x")
    said = re.findall(r">([^<>]+)</text>", svg)
    assert "40 mm" in said
    assert "Ø12 mm" in said
    assert ("8 mm" if kind == "undercut" else "20 mm") in said
    assert f"A-1, {kind}, to scale" in svg
    assert "style" not in svg
    assert "nan" not in svg


def test_the_outline_is_that_of_the_cutter() -> None:
    outline = dict(_shapes(one("ball")))
    assert np.abs(outline["flutes"][:, 0]).max() == pytest.approx(6.0)
    assert outline["flutes"][:, 1].max() == pytest.approx(20.0)
    # a ball is as wide at 2 mm above its end as a circle of 6 mm is: sqrt(6^2 - 4^2)
    at = np.interp(2.0, outline["flutes"][:14, 1], outline["flutes"][:14, 0])
    assert at == pytest.approx(math.sqrt(20.0), rel=0.02)
    assert outline["shank"][:, 1].min() == pytest.approx(20.0)
    assert outline["shank"][:, 1].max() == outline["holder"][:, 1].min() == pytest.approx(40.0)
    drill = dict(_shapes(one("drill")))["flutes"]
    assert drill[drill[:, 0] > 5.99][:, 1].min() == pytest.approx(6.0 / math.tan(math.radians(59.0)))


def test_a_stick_out_of_twice_the_diameter_is_drawn_so() -> None:
    """To scale: the ratio on the paper is that of the sizes."""
    svg = cutter_svg(one("end mill"), is_inch=False, ids="x")
    outlines = [
        np.array([[float(v) for v in point.split()] for point in path.rstrip("Z").split("L")])
        for path in re.findall(r'd="M([^"M]+Z)" fill="(?:none|#fff)" stroke="#000"', svg)
    ]
    wide = [float(np.ptp(points[:, 0])) for points in outlines]
    tall = [float(np.ptp(points[:, 1])) for points in outlines]
    flutes = min(range(len(wide)), key=lambda i: (wide[i], -tall[i]))
    assert tall[flutes] / wide[flutes] == pytest.approx(20.0 / 12.0, rel=0.01)


def test_sizes_are_in_the_system_that_the_shop_types() -> None:
    svg = cutter_svg(one("end mill", corner_radius_mm=0.0), is_inch=True, ids="x")
    assert ">1.575 in</text>" in svg
    assert " mm</text>" not in svg


def test_a_changer_shows_each_place_that_holds_a_cutter() -> None:
    known = [cutter("A", "end mill", 6.0, 12.0, 20.0), cutter("B", "drill", 5.0, 20.0, 30.0, tip_angle_rad=2.0)]
    svg = changer_svg(["", "B", "", "A", "gone"], cutters=known, ids="c")
    assert "to one scale: 2 B, 4 A." in svg
    assert crib_svg(known, ids="k").count('<path d="M') > 6
