"""Programs of moves for the benchmarks: chains of short moves in a block, cutters and manners in turn.

A program is made of chains of 40 moves of about 2 mm, each with one cutter at one tilt. Chains of all manners take
turns, their places are spread evenly over the block and they go deeper from first to last, so that every beginning
of a program has the mix of the whole.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from proveout.model.cutter import Piece

LOW = np.zeros(3)
HIGH = np.array([100.0, 60.0, 30.0])
CHAIN = 40
STEP_MM = 2.0
UPRIGHT = np.array([0.0, 0.0, 1.0])
TILTED = np.array([0.0, 0.5, math.sqrt(0.75)])
TOP_MM = 25.0


def _frustum(low: float, high: float, radius: float) -> Piece:
    return Piece(kind="frustum", z_low_mm=low, z_high_mm=high, r_low_mm=radius, r_high_mm=radius)


FLAT = (_frustum(0.0, TOP_MM, 5.0),)
BALL = (
    Piece(kind="ball", z_low_mm=0.0, z_high_mm=6.0, r_low_mm=3.0, r_high_mm=3.0),
    _frustum(3.0, TOP_MM, 3.0),
)
CORNER = (
    Piece(kind="round corner", z_low_mm=0.0, z_high_mm=2.0, r_low_mm=4.0, r_high_mm=5.0),
    _frustum(1.0, TOP_MM, 5.0),
)
MIXED = (
    (FLAT, "level"), (BALL, "level"), (CORNER, "level"), (FLAT, "ramp"), (BALL, "ramp"), (CORNER, "ramp"),
    (FLAT, "plunge"), (FLAT, "oblique"), (BALL, "oblique"), (CORNER, "oblique"), (FLAT, "level"), (BALL, "plunge"),
)  # fmt: skip
TILTED_FLAT = ((FLAT, "oblique"),)
CORNERS = ((CORNER, "level"), (CORNER, "ramp"), (CORNER, "oblique"), (CORNER, "level"))


@dataclass(frozen=True, kw_only=True)
class Chain:
    """Moves of one cutter at one tilt."""

    pieces: tuple[Piece, ...]
    axis: np.ndarray
    starts: np.ndarray
    ends: np.ndarray


def program(manners: Sequence[tuple[tuple[Piece, ...], str]], moves: int) -> list[Chain]:
    """Chains of the manners in turn, 40 moves each, together at least so many moves."""
    draw = np.random.default_rng(2)
    chains = []
    count = -(-moves // CHAIN)
    for number in range(count):
        pieces, manner = manners[number % len(manners)]
        share = np.modf((number + 1) * np.array([0.7548776662466927, 0.5698402909980532]))[0]
        depth = 1.0 + 21.0 * number / count + draw.uniform(0.0, 2.0)
        spot = np.array([*(share * HIGH[:2]), HIGH[2] - depth])
        turn = draw.uniform(0.0, 2.0 * math.pi) + np.cumsum(draw.uniform(-0.4, 0.4, CHAIN))
        axis = TILTED if manner == "oblique" else UPRIGHT
        one = np.array([1.0, 0.0, 0.0])
        two = np.cross(axis, one)
        ways = STEP_MM * (np.cos(turn)[:, None] * one + np.sin(turn)[:, None] * two)
        if manner == "ramp":
            ways[:, 2] -= 0.05
        elif manner == "oblique":
            ways -= 0.02 * axis
        points = spot + np.vstack([np.zeros(3), np.cumsum(ways, axis=0)])
        starts, ends = points[:-1], points[1:]
        if manner == "plunge":
            starts = ends + np.array([0.0, 0.0, 6.0])
        chains.append(Chain(pieces=pieces, axis=axis, starts=starts, ends=ends))
    return chains


def first_moves(chains: Sequence[Chain], moves: int) -> list[Chain]:
    """The first moves of a program; whole chains, and the last in part."""
    found = []
    for chain in chains:
        if moves <= 0:
            break
        found.append(Chain(pieces=chain.pieces, axis=chain.axis, starts=chain.starts[:moves], ends=chain.ends[:moves]))
        moves -= len(chain.starts)
    return found
