"""Which way flat faces look, and that a curved one has no one way."""

from __future__ import annotations

from shapes import box, drilled, solid_of, target_of

from proveout.jobs.face_normals import flat_normals


def test_flat_faces_look_out_of_the_metal_and_a_bore_looks_every_way() -> None:
    solid = solid_of(drilled(box(20, 10, 5), at=(10.0, 5.0, 6.0), along=(0.0, 0.0, -1.0), dia=4.0, deep=20.0))
    target = target_of(solid)
    found = flat_normals(target, target.face_ids)
    assert sorted(found.values()) == [
        (-1.0, 0.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, -1.0), (0.0, 0.0, 1.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0),
    ]  # fmt: skip
    assert all(name.startswith("plane") for name in found)
    (top,) = [name for name, way in found.items() if way == (0.0, 0.0, 1.0)]
    assert top.startswith("plane +z 5.000")
    assert flat_normals(target, {top}) == {top: (0.0, 0.0, 1.0)}
    assert flat_normals(target, ()) == {}
