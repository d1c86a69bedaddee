"""The three demo solids: valid, closed, of the stated size, with every feature that the demo relies on."""

from __future__ import annotations

import math
import sys
from pathlib import Path

import pytest

from proveout.model.solid import Face, Solid


@pytest.fixture(scope="module")
def demo(root: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Solid]:
    """The solids by name, as read back from their STEP files."""
    from proveout.solids.step import read_step

    sys.path.insert(0, str(root / "examples" / "solids"))
    try:
        import make_all  # pyright: ignore[reportMissingImports]  # a program beside its parts, no package
    finally:
        sys.path.pop(0)
    folder = tmp_path_factory.mktemp("demo")
    paths = make_all.main(str(folder))
    again = make_all.clamp_jaw.main(str(folder / "again.step"))
    assert paths[1].read_bytes() == again.read_bytes(), "the same bytes each time"
    solids = [read_step(path).solid for path in paths]
    return {solid.name: solid for solid in solids}


def _cylinders(solid: Solid, diameter_mm: float, *, inward: bool = True) -> list[Face]:
    found = [face for face in solid.faces if face.surface.kind == "cylinder" and face.inward == inward]
    return [face for face in found if abs(2.0 * face.surface.radius_mm - diameter_mm) < 1e-6]


def test_each_is_one_valid_closed_solid_of_its_name(demo: dict[str, Solid]) -> None:
    assert list(demo) == ["EX-101", "EX-102", "EX-103"]
    for solid in demo.values():
        assert solid.is_valid
        assert solid.mesh_is_closed
        assert solid.edge_tolerance_max_mm < 1e-4
        assert solid.unit_declared == "mm"


def test_the_jaw_has_its_slots_and_nearly_fits_turned_end_for_end(demo: dict[str, Solid]) -> None:
    jaw = demo["EX-102"]
    assert jaw.size_mm == pytest.approx((90.0, 21.829, 18.0), abs=1e-3)
    for diameter_mm, low_mm, high_mm in ((6.6, 0.0, 11.5), (11.0, 11.5, 18.0)):
        ends = _cylinders(jaw, diameter_mm)
        assert len(ends) == 4
        assert all((f.along_low_mm, f.along_high_mm) == pytest.approx((low_mm, high_mm)) for f in ends)
    middles = sorted(face.surface.origin_mm[0] for face in _cylinders(jaw, 11.0))
    assert middles == pytest.approx([22 - 3.7, 22 + 3.7, 67 - 3.7, 67 + 3.7])
    assert sorted(90.0 - x for x in middles) != pytest.approx(middles)
    (tapped,) = _cylinders(jaw, 5.0)
    assert tapped.surface.axis == (0.0, 1.0, 0.0)
    assert (tapped.surface.origin_mm[0], tapped.surface.origin_mm[2]) == pytest.approx((45.5, 9.0))
    assert (tapped.along_low_mm, tapped.along_high_mm) == pytest.approx((0.0, 12.0))


def test_body_and_jaw_have_the_same_flank_facing_one_another(demo: dict[str, Solid]) -> None:
    tilt = math.sin(math.radians(20.0))
    jaw = [face for face in demo["EX-102"].faces if abs(face.normal[2] - tilt) < 1e-9]
    body = [face for face in demo["EX-101"].faces if abs(face.normal[2] + tilt) < 1e-9]
    assert max(face.area_mm2 for face in jaw) > 1000.0
    assert max(face.area_mm2 for face in body) > 2000.0
    assert jaw[0].normal[1] == pytest.approx(math.cos(math.radians(20.0)))


def test_the_body_has_its_pocket_holes_and_slanting_lock_hole(demo: dict[str, Solid]) -> None:
    body = demo["EX-101"]
    assert body.size_mm == (110.0, 90.0, 25.0)
    assert len(_cylinders(body, 8.0)) == 4  # the R4 inside corners
    assert len(_cylinders(body, 6.6)) == 4
    assert len(_cylinders(body, 11.0)) == 4
    drilled = _cylinders(body, 5.0)
    upright = [face for face in drilled if face.surface.axis == (0.0, 0.0, 1.0)]
    assert len(upright) == 2
    assert all(face.along_low_mm == pytest.approx(0.0) for face in upright)
    (lock,) = [face for face in drilled if face not in upright]
    assert all(0.1 < abs(part) < 0.95 for part in lock.surface.axis), "a compound angle"
    (spot_face,) = _cylinders(body, 12.0)
    assert spot_face.surface.axis == pytest.approx(lock.surface.axis)
    seats = [
        f for f in body.faces if f.surface.kind == "plane" and f.normal == pytest.approx(lock.surface.axis, abs=1e-9)
    ]
    assert len(seats) == 1
    assert len(_cylinders(body, 1.6, inward=False)) >= 10  # the 0.8 radius all round


def test_the_knob_block_has_its_bore_cross_hole_thread_and_sculpted_top(demo: dict[str, Solid]) -> None:
    knob = demo["EX-103"]
    assert knob.size_mm == pytest.approx((40.0, 40.0, 32.0), abs=1e-5)
    (bore,) = _cylinders(knob, 20.0)
    assert (bore.along_low_mm, bore.along_high_mm) == pytest.approx((0.5, 16.0))
    (tapped,) = _cylinders(knob, 4.2)
    assert (tapped.along_low_mm, tapped.along_high_mm) == pytest.approx((16.0, 26.0))
    cross = _cylinders(knob, 6.0)
    assert len(cross) == 2
    assert all(face.surface.axis == (1.0, 0.0, 0.0) for face in cross)
    sculpted = [face for face in knob.faces if face.surface.kind == "other"]
    assert len(sculpted) == 8
    assert all(face.normal[2] > 0.2 for face in sculpted)
