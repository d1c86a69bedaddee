"""The replay itself: moves taken as they are, in order, by an engine that knows nothing of what was meant."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.checking import Obstacle
from proveout.model.cutter import Piece
from proveout.model.cutter_pieces import body_pieces, cutting_pieces
from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import Moves
from proveout.model.proof import MoveAt
from proveout.model.shop import Cutter, Machine, Vise
from proveout.model.work import Clamping, Pass, PassCut, work_zero_mm
from proveout.removal.fields import Fields
from proveout.stages.removal_check.bodies import TOUCH_MM, Body, bodies_about
from proveout.stages.removal_check.legs import BODY_CHORD_MM, Legs, legs_of
from proveout.stages.removal_check.moves import move_cuts, windows
from proveout.stages.removal_check.near import Skyline

# a cut section is the mean over a stretch of path: a quarter of the cutter's diameter, within these bounds. Long moves
# are divided, so that air at their ends or a thin web in their middle does not water the section down
WINDOW_LEAST_MM, WINDOW_MOST_MM = 1.0, 3.0
# moves with less than this share of the largest section do not count for the feed: even at three times the feed they
# push with an eighth of the largest force
SLIGHT_RATIO = 0.05
STEEP_RATIO = 0.7
# a thread stands in the solid as its hole: its flanks go beyond it on purpose and are not in the replay
THREAD_KINDS = ("tap", "mill thread")
THREAD_DEPTHS = 1.2269
"""A thread cutter's core is narrower than the thread by so many pitches: twice 17/24 of the height of a 60 degree
profile, as the external thread of ISO 68-1 (from memory)."""


@dataclass(frozen=True)
class Strike:
    """A pass that meets a body: its name, a sentence, whether the body is known to stand there, the deepest move."""

    body: str
    what: str
    is_sure: bool
    move: MoveAt


def replay_pass(
    fields: Fields, *, one: Pass, moves: Moves, frame: Frame, cutter: Cutter
) -> tuple[PassCut, NDArray[np.float64]]:
    """Take one pass out of the fields (in place).

    Returns:  what was measured, and the volume removed by each of the three fields (3,) mm3.
    """
    cut, removed, _ = replay_moves(fields, one=one, moves=moves, frame=frame, cutter=cutter)
    return cut, removed


def replay_moves(
    fields: Fields, *, one: Pass, moves: Moves, frame: Frame, cutter: Cutter
) -> tuple[PassCut, NDArray[np.float64], MoveCuts]:
    """As replay_pass, and what was measured of every move that met metal."""
    cutting, body = cutting_pieces(cutter), body_pieces(cutter)
    if one.kind in THREAD_KINDS:  # a thread's core must find its hole, like the shank
        body = (*body, *thread_core(cutter))
    window = max(WINDOW_LEAST_MM, min(WINDOW_MOST_MM, cutter.diameter_mm / 4.0))
    legs = legs_of(moves, frame, most_mm=window)
    rapid = legs.feeds <= 0.0
    removed = np.zeros((len(legs), 3))
    rapid_mm, body_mm, rapid_leg, body_leg = 0.0, 0.0, -1, -1
    # what this pass cuts still stands in the skyline: it names some moves too many, never one too few
    skyline = Skyline(fields, legs.axis)
    chords = legs.chords()
    body_near, near = (_near(skyline, pieces, chords, len(legs)) for pieces in (body, cutting))
    near |= body_near
    for first, last in _runs(rapid):
        rows = first + np.flatnonzero(near[first:last])
        if len(rows) == 0:
            continue
        run = legs.of(rows)
        if rapid[first]:
            depths = run.overlap_mm(fields, cutting)
            if depths.max() > rapid_mm:
                rapid_mm, rapid_leg = float(depths.max()), int(rows[depths.argmax()])
        edges = cutting if not rapid[first] and one.kind not in THREAD_KINDS else ()
        met, at, removed[rows] = _cut_and_watch(fields, edges, body, run, body_near=body_near[rows])
        if met > body_mm:
            body_mm, body_leg = met, int(rows[at])
    lengths = legs.lengths_mm
    each = np.median(removed, axis=1)
    # a plunge cuts with the end, not with the side: its section says nothing of an engagement
    is_down = legs.drops_mm > STEEP_RATIO * lengths
    sideways, down = ~rapid & ~is_down, ~rapid & is_down
    across, plunging = (windows(each[own], lengths[own], window_mm=window) for own in (sideways, down))
    sections, plunged = across.sections_mm2, plunging.sections_mm2
    most = float(sections.max()) if len(sections) else 0.0
    meets = (each > SLIGHT_RATIO * most * lengths) & (each > 0.0) & ~rapid
    turns_per_s = one.speed_rad_per_s / (2.0 * np.pi)
    tooth_feed = float(legs.feeds[meets].max()) / (turns_per_s * max(cutter.flutes_count, 1)) if meets.any() else 0.0
    cut_result = PassCut(
        pass_id=one.id, removed_mm3=float(np.median(removed.sum(axis=0))),
        section_max_mm2=most,
        section_p95_mm2=float(np.quantile(sections, 0.95)) if len(sections) else 0.0,
        rapid_mm=rapid_mm, body_mm=body_mm, low_mm=float(moves.points[:, 2].min()),
        high_mm=float(moves.points[:, 2].max()), tooth_feed_max_mm=tooth_feed,
        plunge_max_mm2=float(plunged.max()) if len(plunged) else 0.0,
        rapid_row=int(legs.owner[rapid_leg]) + 1 if rapid_leg >= 0 else 0,
        body_row=int(legs.owner[body_leg]) + 1 if body_leg >= 0 else 0,
    )  # fmt: skip
    # what is slimmer than the rays are apart may lie between them: of such a cut the plan is believed, and every move
    # that comes near metal counts.  Else the field that sees most counts: too much is no danger, too little is one
    pitch_mm = float(fields.pitch_mm.max())
    is_measured = one.kind not in THREAD_KINDS and min(one.radial_mm, one.axial_mm) >= pitch_mm
    most_seen = removed.max(axis=1)
    taken = ((most_seen > 0.0) | (near & (not is_measured))) & ~rapid
    highest = np.zeros(len(legs))
    radius = max(max(p.r_low_mm, p.r_high_mm) for p in cutting)
    starts, ends, owner = chords
    asked = np.flatnonzero(taken[owner])
    np.maximum.at(highest, owner[asked], skyline.deep_mm(radius, starts[asked], ends[asked]))
    by_move = move_cuts(
        one, moves, legs, taken=taken, removed_mm3=each, deep_mm=highest,
        across=(sideways, windows(most_seen[sideways], lengths[sideways], window_mm=window)),
        down=(down, windows(most_seen[down], lengths[down], window_mm=window)), is_measured=is_measured,
    )  # fmt: skip
    return cut_result, removed.sum(axis=0), by_move


def thread_core(cutter: Cutter) -> tuple[Piece, ...]:
    """What of a tap or a thread mill lies inside its thread: it comes no further out than the thread's hole."""
    radius = 0.5 * (cutter.diameter_mm - THREAD_DEPTHS * cutter.pitch_mm)
    if radius <= 0.0:
        return ()
    long = cutter.flute_length_mm
    return (Piece(kind="frustum", z_low_mm=0.0, z_high_mm=long, r_low_mm=radius, r_high_mm=radius),)


def _near(
    skyline: Skyline, pieces: Sequence[Piece],
    chords: tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.int64]], count: int,
) -> NDArray[np.bool_]:  # fmt: skip
    starts, ends, owner = chords
    found = np.zeros(count, dtype=bool)
    found[owner[skyline.near(pieces, starts, ends)]] = True
    return found


def _cut_and_watch(
    fields: Fields, edges: Sequence[Piece], body: Sequence[Piece], run: Legs, *, body_near: NDArray[np.bool_]
) -> tuple[float, int, NDArray[np.float64]]:
    """Cuts a run of moves; returns the longest metal that shank and holder meet, at which move, and what each removed.

    What each removed: (n, 3), mm3.

    Metal that stands when the body comes by counts, though a later move of the run may take it away: where the body
    would meet the metal of before the run, the moves are taken one by one.   body_near: (n,) where it may meet any.
    """
    removed = np.zeros((len(run), 3))
    depths = np.zeros(len(run))
    if body_near.any():
        depths[body_near] = run.of(np.flatnonzero(body_near)).overlap_mm(fields, body)
    if not edges:
        return float(depths.max()), int(depths.argmax()), removed
    met, where, done = 0.0, 0, 0
    for at in np.flatnonzero(depths > TOUCH_MM).tolist():
        removed[done : at + 1] = run.of(slice(done, at + 1)).cut(fields, edges)
        now = float(run.of(slice(at, at + 1)).overlap_mm(fields, body).max())
        if now > met:
            met, where = now, at
        done = at + 1
    if done < len(run):
        removed[done:] = run.of(slice(done, len(run))).cut(fields, edges)
    return met, where, removed


def _runs(rapid: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Stretches of moves of one kind, as (first, last + 1)."""
    if len(rapid) == 0:
        return []
    borders = np.flatnonzero(np.diff(rapid.astype(np.int8))) + 1
    edges = [0, *borders.tolist(), len(rapid)]
    return list(itertools.pairwise(edges))


def bodies_of(clamping: Clamping, vise: Vise, machine: Machine | None) -> tuple[Obstacle, ...]:
    """What the work of a clamping stands in and on, in the clamping's frame."""
    zero_mm = (None, None, None) if vise.stands_mm is None else work_zero_mm(clamping, vise.stands_mm)
    return bodies_about(clamping, vise, machine, zero_mm)


def strikes_of(
    clamping: Clamping, *, bodies: Sequence[Obstacle], machine: Machine | None,
    passes: Sequence[tuple[Pass, Moves, Cutter, Frame]],
) -> tuple[Strike, ...]:  # fmt: skip
    """Passes in which cutter, shank, holder or head meets one of the bodies; these in the clamping's frame."""
    struck: list[Strike] = []
    head = machine.head if machine is not None else None
    for body in (Body(one) for one in bodies):
        for one, moves, cutter, frame in passes:
            straight, owner = moves.divided(within_mm=BODY_CHORD_MM)
            points = clamping.frame.into(frame.out_of(straight.points))
            axis = clamping.frame.turn @ np.array(frame.z)
            axis = axis / np.linalg.norm(axis)
            own = (*cutting_pieces(cutter), *body_pieces(cutter))
            for pieces, whose in ((own, ""), (() if head is None else head.pieces(cutter.gauge_mm), " by the head")):
                depth = body.met_mm(pieces, axis, points[:-1], points[1:])
                if len(depth) and float(depth.max()) > TOUCH_MM:
                    row = int(owner[int(np.argmax(depth)) + 1])
                    what = f"{one.id}: {body.name} met{whose} {float(depth.max()):.2f} mm deep at move {row}"
                    move = MoveAt(pass_id=one.id, row=row)
                    struck.append(Strike(body=body.name, what=what, is_sure=body.is_sure, move=move))
    return tuple(struck)
