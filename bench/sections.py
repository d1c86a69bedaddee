"""Random sections of a chain for benchmarks and tests: straight moves, arcs and helices between two stops."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from stepping import Control, Piece, arc_piece, joint_speed, line_piece

from proveout.motion.path import Arcs

FEEDS = (15.0, 60.0, 120.0, math.inf)
STRICT = Control(
    speeds=(300.0, 250.0, 200.0),
    accels=(3000.0, 2500.0, 2000.0),
    jerks=(5.0e4, 4.0e4, 6.0e4),
    stop_angle_rad=math.radians(100.0),
    jump=(10.0, 10.0, 10.0),
)


@dataclass(frozen=True)
class Section:
    """Moves from rest to rest, for the engine as arrays and for the reference as pieces."""

    positions: np.ndarray
    feeds: np.ndarray
    centres: np.ndarray
    turns: np.ndarray
    pieces: tuple[Piece, ...]

    @property
    def arcs(self) -> Arcs:
        """The arcs, all about an axis along Z."""
        upright = np.tile([0.0, 0.0, 1.0], (len(self.turns), 1))
        return Arcs(centres_mm=self.centres, normals=upright, turns_rad=self.turns)


def random_section(
    draw: np.random.Generator, *, moves: int, size_mm: float, control: Control = STRICT, arcs: bool = True
) -> Section:  # fmt: skip
    """So many moves of lengths about a size that turn a little at each joint and stop at none."""
    positions, feeds, centres, turns = [np.zeros(3)], [1.0], [np.zeros(3)], [0.0]
    pieces: list[Piece] = []
    heading = float(draw.uniform(0.0, 2.0 * math.pi))
    while len(pieces) < moves:
        feed, here = float(draw.choice(FEEDS)), positions[-1]
        heading += float(draw.normal(0.0, 0.5))
        centre, turn = np.zeros(3), 0.0
        if arcs and draw.random() < 0.35:
            turn = float(draw.choice([-1.0, 1.0]) * draw.uniform(0.2, 2.5))
            left = np.array([-math.sin(heading), math.cos(heading), 0.0])
            centre = here + math.copysign(draw.uniform(0.3, 2.0) * size_mm, turn) * left
            rise = float(draw.choice([0.0, draw.uniform(-1.0, 1.0) * size_mm]))
            out, cosine, sine = here - centre, math.cos(turn), math.sin(turn)
            to = centre + np.array([out[0] * cosine - out[1] * sine, out[0] * sine + out[1] * cosine, rise])
            piece = arc_piece(here, centre, turn, rise, feed, control)
        else:
            course = np.array([math.cos(heading), math.sin(heading), draw.normal(0.0, 0.3)])
            to = here + draw.uniform(0.05, 3.0) * size_mm * course
            piece = line_piece(here, to, feed, control)
        if pieces and joint_speed(pieces[-1], piece, control) == 0.0:
            heading = float(draw.uniform(0.0, 2.0 * math.pi))
            continue
        heading += turn
        positions.append(to)
        feeds.append(feed)
        centres.append(centre)
        turns.append(turn)
        pieces.append(piece)
    return Section(np.array(positions), np.array(feeds), np.array(centres), np.array(turns), tuple(pieces))


def one_after_another(sections: list[Section]) -> tuple[Section, np.ndarray]:
    """All sections as one chain, each beginning where the one before ended, and where it stops (n,)."""
    positions, feeds, centres, turns = [np.zeros((1, 3))], [np.ones(1)], [np.zeros((1, 3))], [np.zeros(1)]
    stops = [np.zeros(1, dtype=bool)]
    at = np.zeros(3)
    for one in sections:
        shift = at - one.positions[0]
        positions.append(one.positions[1:] + shift)
        centres.append(one.centres[1:] + shift)
        feeds.append(one.feeds[1:])
        turns.append(one.turns[1:])
        stops.append(np.arange(1, len(one.feeds)) == len(one.feeds) - 1)
        at = positions[-1][-1]
    pieces = tuple(piece for one in sections for piece in one.pieces)
    whole = Section(
        positions=np.concatenate(positions), feeds=np.concatenate(feeds), centres=np.concatenate(centres),
        turns=np.concatenate(turns), pieces=pieces,
    )  # fmt: skip
    return whole, np.concatenate(stops)
