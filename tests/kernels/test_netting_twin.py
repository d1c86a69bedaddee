"""The mesh of a lattice by kernels, against plain loops over every node and every pair of neighbours."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from proveout.model.cutter import Piece
from proveout.removal import netting
from proveout.removal.kernels import merging
from proveout.removal.kernels import netting as kernels
from proveout.removal.lattice import Lattice
from proveout.removal.sweeping import cut


def drawn(seed: int) -> Lattice:
    """A small box with three cuts at random."""
    draw = np.random.default_rng(seed)
    fields = Lattice.of_box(low_mm=np.zeros(3), high_mm=np.array([9.0, 7.0, 6.0]), pitch_mm=0.8)
    for _ in range(3):
        radius = float(draw.uniform(0.8, 2.0))
        axis = np.array([0.0, 0.0, 1.0]) if draw.random() < 0.5 else draw.normal(size=3)
        axis = axis / np.linalg.norm(axis)
        cut(
            fields, axis=axis, starts_mm=draw.uniform(1.0, 6.0, (1, 3)), ends_mm=draw.uniform(1.0, 6.0, (1, 3)),
            pieces=(Piece(kind="frustum", z_low_mm=0.0, z_high_mm=20.0, r_low_mm=radius, r_high_mm=radius),),
        )  # fmt: skip
    return fields


def is_metal(fields: Lattice, node: tuple[int, ...]) -> bool:
    """Two of three rays through a node say so; air beyond the lattice."""
    if any(not 0 <= n < count for n, count in zip(node, fields.cells, strict=True)):
        return False
    said = 0
    for k in range(3):
        ray = node[(k + 1) % 3] * fields.cells[(k + 2) % 3] + node[(k + 2) % 3]
        at = fields.first_node_mm[k] + node[k] * fields.pitch_mm[k]
        spans = fields.spans[k][ray, : fields.counts[k][ray]]
        said += any(low <= at <= high for low, high in spans)
    return said >= 2


@pytest.mark.parametrize("seed", range(4))
def test_every_pair_of_neighbours_that_differ_has_one_crossing_and_its_cells_one_point(seed: int) -> None:
    fields = drawn(seed)
    wanted: set[tuple[tuple[int, ...], int]] = set()
    cells: set[tuple[int, ...]] = set()
    for node in itertools.product(*(range(-1, n + 1) for n in fields.cells)):
        for k in range(3):
            other = tuple(n + (axis == k) for axis, n in enumerate(node))
            if is_metal(fields, node) != is_metal(fields, other):
                wanted.add((node, k))
                for one, two in itertools.product((0, 1), repeat=2):
                    off = {(k + 1) % 3: one, (k + 2) % 3: two}
                    cells.add(tuple(n - off.get(axis, 0) for axis, n in enumerate(node)))
    shape = np.array(fields.cells) + 2
    strides = np.array([shape[1] * shape[2], shape[2], 1])
    votes = np.zeros(int(shape.prod()), dtype=np.uint8)
    for k in range(3):
        u, v = (k + 1) % 3, (k + 2) % 3
        kernels.vote_field(
            fields.counts[k], fields.spans[k], *fields.rays_uv(k), float(fields.first_node_mm[k]),
            float(fields.pitch_mm[k]), fields.cells[k], strides[k], strides[u], strides[v], votes,
        )  # fmt: skip
    places, points, normals, _, axis = netting._crossings(fields, fields.first_node_mm, fields.pitch_mm, strides, votes)
    found = {(tuple(int(n) - 1 for n in np.unravel_index(p, shape)), int(k)) for p, k in zip(places, axis, strict=True)}
    assert found == wanted
    assert len(places) == len(wanted)
    assert np.linalg.norm(normals, axis=1) == pytest.approx(1.0)
    ends = fields.surface_points_mm()
    for point in points:
        assert np.abs(ends - point).max(axis=1).min() <= 0.5 * fields.pitch_mm.max() + 1e-6
    vertices = netting.net_of(fields).vertices_mm
    assert 0 < len(vertices) <= len(cells)
    low = np.array([fields.first_node_mm + np.array(cell) * fields.pitch_mm for cell in cells])
    for vertex in vertices:
        assert ((vertex >= low - 1e-9) & (vertex <= low + fields.pitch_mm + 1e-9)).all(axis=1).any()


def test_compiled_and_plain_kernels_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    fields = drawn(7)
    compiled = netting.net_of(fields)
    for name in ("vote_field", "cross_field", "sum_cells", "cell_points"):
        monkeypatch.setattr(netting, name, getattr(getattr(kernels, name), "py_func", getattr(kernels, name)))
    for name in ("flat_quads", "merge_rectangles"):
        monkeypatch.setattr(netting, name, getattr(getattr(merging, name), "py_func", getattr(merging, name)))
    plain = netting.net_of(fields)
    assert (plain.triangles == compiled.triangles).all()
    assert plain.vertices_mm == pytest.approx(compiled.vertices_mm, abs=1e-9)
