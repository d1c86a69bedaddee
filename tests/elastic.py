"""Elastic metal by other means than beams: sections of eight-cornered squares, and thin plates by differences."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_matrix, csr_matrix, diags
from scipy.sparse.linalg import spsolve

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]
POISSON = 0.33
CORNERS = ((0, 0), (2, 0), (2, 2), (0, 2), (1, 0), (2, 1), (1, 2), (0, 1))


def _slopes(x: float, y: float) -> tuple[Floats, Floats]:
    """Slopes of the eight forms of a square from -1 to 1 along x and along y."""
    along = [
        (1 - y) * (2 * x + y) / 4, (1 - y) * (2 * x - y) / 4, (1 + y) * (2 * x + y) / 4, (1 + y) * (2 * x - y) / 4,
        -x * (1 - y), (1 - y * y) / 2, -x * (1 + y), -(1 - y * y) / 2,
    ]  # fmt: skip
    up = [
        (1 - x) * (x + 2 * y) / 4, (1 + x) * (2 * y - x) / 4, (1 + x) * (2 * y + x) / 4, (1 - x) * (2 * y - x) / 4,
        -(1 - x * x) / 2, -y * (1 + x), (1 - x * x) / 2, -y * (1 - x),
    ]  # fmt: skip
    return np.array(along), np.array(up)


def section_bend(metal: Bools, *, pressed: list[tuple[int, int]], held: Bools, mirrored: Bools | None = None) -> Floats:
    """(2m + 1, 2n + 1) shift along x, as section_shifts."""
    return section_shifts(metal, pressed=pressed, held=held, mirrored=mirrored)[:, :, 0]


def section_pulls(metal: Bools, shifts: Floats, *, left_out: list[tuple[int, int]]) -> float:
    """The hardest pull at the middles of all sides of squares, but of the four about each corner that is left out."""
    worst = 0.0
    near = {(i + a, j + b) for i, j in left_out for a in (-1, 0) for b in (-1, 0)}
    for i, j in (ij for ij in map(tuple, np.argwhere(metal).tolist()) if ij not in near):
        own = np.array([shifts[2 * i + a, 2 * j + b] for a, b in CORNERS])
        for x, y in ((-1.0, 0.0), (1.0, 0.0), (0.0, -1.0), (0.0, 1.0)):
            along, up = _slopes(x, y)
            strain = 2.0 * np.array([along @ own[:, 0], up @ own[:, 1], up @ own[:, 0] + along @ own[:, 1]])
            one, other, shear = _elastic() @ strain
            worst = max(worst, 0.5 * (one + other) + float(np.hypot(0.5 * (one - other), shear)))
    return worst


def _elastic() -> Floats:
    """Stress of a strain in plane strain, modulus 1."""
    return 1.0 / ((1 + POISSON) * (1 - 2 * POISSON)) * np.array(
        [[1 - POISSON, POISSON, 0], [POISSON, 1 - POISSON, 0], [0, 0, 0.5 - POISSON]]
    )  # fmt: skip


def section_shifts(
    metal: Bools, *, pressed: list[tuple[int, int]], held: Bools, mirrored: Bools | None = None
) -> Floats:
    """(2m + 1, 2n + 1, 2) shifts of a section in plane strain, modulus 1, squares of side 1, pressure 1.

    metal: (m, n) squares.   pressed: squares whose left side is pushed along x.   held: (2m + 1, 2n + 1) corners and
    middles of sides that stand still.   mirrored: likewise, that do not leave a plane across x.
    """
    m, n = metal.shape
    elastic = _elastic()
    at, weight = np.sqrt(0.6) * np.array([-1.0, 0.0, 1.0]), np.array([5.0, 8.0, 5.0]) / 9.0
    own = np.zeros((16, 16))
    for x, of_x in zip(at, weight, strict=True):
        for y, of_y in zip(at, weight, strict=True):
            along, up = _slopes(float(x), float(y))
            strain = np.zeros((3, 16))
            strain[0, ::2], strain[1, 1::2] = 2.0 * along, 2.0 * up
            strain[2, ::2], strain[2, 1::2] = 2.0 * up, 2.0 * along
            own += strain.T @ elastic @ strain * of_x * of_y / 4.0
    tall = 2 * n + 1
    nodes = np.array([[(2 * i + a) * tall + 2 * j + b for a, b in CORNERS] for i, j in np.argwhere(metal)])
    shifts = np.stack([2 * nodes, 2 * nodes + 1], axis=2).reshape(len(nodes), 16)
    count = 2 * (2 * m + 1) * tall
    stiff = coo_matrix(
        (np.tile(own.ravel(), len(nodes)), (np.repeat(shifts, 16, axis=1).ravel(), np.tile(shifts, (1, 16)).ravel())),
        shape=(count, count),
    ).tocsc()  # fmt: skip
    load = np.zeros(count)
    for i, j in pressed:
        for b, share in ((0, 1 / 6), (1, 4 / 6), (2, 1 / 6)):
            load[2 * (2 * i * tall + 2 * j + b)] += share
    free = np.zeros(count, dtype=bool)
    free[shifts.ravel()] = True
    free &= ~np.repeat(held.ravel(), 2)
    if mirrored is not None:
        free[::2] &= ~mirrored.ravel()
    moved = np.zeros(count)
    moved[free] = np.asarray(spsolve(stiff[free][:, free], load[free]))
    return moved.reshape(2 * m + 1, tall, 2)


def plate_bend_mm(
    wall: Bools, foot: Bools, *, thick_mm: Floats, pressure_mpa: Floats, cell_mm: float, elastic_mpa: float
) -> Floats:
    """(m, n) bend of a thin plate at the middles of square cells; built in where foot is, free where neither is.

    By least energy of differences: D / 2 (w_xx + w_yy)^2 - D (1 - nu) (w_xx w_yy - w_xy^2), where a cell has no
    neighbour on one side only the bend along the other way counts, as no moment acts there.
    """
    m, n = wall.shape
    there = wall | foot
    number = np.arange(m * n).reshape(m, n)
    stiff = elastic_mpa * thick_mm**3 / 12.0 / (1.0 - POISSON**2)

    def second(axis: int) -> tuple[Any, Bools]:
        mid = [slice(None)] * 2
        low, high = [slice(None)] * 2, [slice(None)] * 2
        mid[axis], low[axis], high[axis] = slice(1, -1), slice(None, -2), slice(2, None)
        whole = there[tuple(mid)] & there[tuple(low)] & there[tuple(high)]
        own, one, other = (number[tuple(s)][whole] for s in (mid, low, high))
        rows = np.concatenate([own] * 3)
        values = np.concatenate([np.full(len(own), -2.0), np.ones(2 * len(own))]) / cell_mm**2
        known = np.zeros((m, n), dtype=bool)
        known.ravel()[own] = True
        matrix = coo_matrix((values, (rows, np.concatenate([own, one, other]))), shape=(m * n, m * n))
        return matrix.tocsr(), known

    (along, knows_x), (up, knows_y) = second(0), second(1)
    both = (knows_x & knows_y).ravel()
    d = stiff.ravel() * cell_mm**2
    lone = np.where(both, d, d * (1.0 - POISSON**2))
    energy = along.T @ diags(lone) @ along + up.T @ diags(lone) @ up
    mixed = along.T @ diags(np.where(both, d * POISSON, 0.0)) @ up
    quads = there[:-1, :-1] & there[1:, :-1] & there[:-1, 1:] & there[1:, 1:]
    corners = [number[a : m - 1 + a, b : n - 1 + b][quads] for a, b in ((0, 0), (1, 0), (0, 1), (1, 1))]
    rows = np.tile(np.arange(len(corners[0])), 4)
    signs = np.repeat([1.0, -1.0, -1.0, 1.0], len(corners[0])) / cell_mm**2
    twist = coo_matrix((signs, (rows, np.concatenate(corners))), shape=(len(corners[0]), m * n)).tocsr()
    thin = np.min([stiff.ravel()[c] for c in corners], axis=0) * cell_mm**2
    energy = energy + mixed + mixed.T + twist.T @ diags(2.0 * (1.0 - POISSON) * thin) @ twist
    free = wall.ravel()
    bend = np.zeros(m * n)
    pushed = (pressure_mpa * cell_mm**2).ravel()
    bend[free] = np.asarray(spsolve(csr_matrix(energy)[free][:, free].tocsc(), pushed[free]))
    return bend.reshape(m, n)
