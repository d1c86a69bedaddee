"""Minutes of a clamping's cycle from its moves: cutting, rapids, cutter changes, tilts."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from itertools import pairwise

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.moves import Moves
from proveout.model.outlook import Outlook
from proveout.model.shop import Machine
from proveout.model.table_load import TableLoad
from proveout.model.work import Clamping, Pass, PassPlan
from proveout.motion.chain_time import chain_times_s
from proveout.motion.path import Arcs

# common practice, no source: a control stops at sharp corners and rounds blunt ones off at a little speed; the jump
# is assumed where the machine's own is not written
STOP_ANGLE_RAD = math.radians(60.0)
JUMP_MM_PER_S = 20.0


class PassTime(msgspec.Struct, frozen=True, kw_only=True):
    """Seconds of one pass's moves, from rest to rest, and of the way to it from a pass of the same cutter and tilt."""

    work: Pass
    seconds: float


class Shared(msgspec.Struct, frozen=True, kw_only=True):
    """A clamping's share of the cycles that work in several places, over the whole batch.

    change_s, ways_s: seconds a piece.  changes_count, ways_count, cycle_s: of a full cycle.  places_count: in which
    this clamping lies; is_first: it is the first of its load.
    """

    change_s: float
    ways_s: float
    changes_count: int
    ways_count: int
    cycle_s: float
    places_count: int
    is_first: bool


class Cycle(msgspec.Struct, frozen=True, kw_only=True):
    """One clamping's run: its passes, and the changes between them, the way back to the first included.

    shared: where a cycle works in several places; then change_s is this clamping's share a piece.
    """

    clamping: Clamping
    machine: Machine
    passes: tuple[PassTime, ...]
    cutter_changes_count: int
    tilts_count: int
    shared: Shared | None = None

    @property
    def changes_a_cycle(self) -> int:
        """Cutter changes of one full cycle."""
        return self.cutter_changes_count if self.shared is None else self.shared.changes_count

    @property
    def change_s(self) -> float:
        """Seconds of cutter changes a piece, chip to chip."""
        if self.shared is not None:
            return self.shared.change_s
        return self.cutter_changes_count * self.machine.cutter_change_s

    @property
    def tilt_s(self) -> float:
        """Seconds of rotary moves between tilts."""
        return self.tilts_count * (self.machine.rotary.tilt_s if self.machine.rotary is not None else 0.0)

    @property
    def seconds(self) -> float:
        """Machine running for one piece, without loading."""
        ways_s = 0.0 if self.shared is None else self.shared.ways_s
        return sum(one.seconds for one in self.passes) + self.change_s + self.tilt_s + ways_s


def moves_time_s(moves: Moves, machine: Machine) -> float:
    """Seconds of a pass's moves, from rest to rest, as `move_times_s` reckons each."""
    return float(move_times_s(moves, machine).sum())


def run_once_s(passes: Sequence[Pass], moves: Mapping[str, Moves], machine: Machine) -> float | None:
    """Seconds of passes run once, with the change to the first cutter and those between them; None without passes."""
    if not passes:
        return None
    names = [one.cutter_id for one in passes]
    changes = 1 + sum(a != b for a, b in pairwise(names))
    cut_s = sum(moves_time_s(moves[one.moves_digest], machine) for one in passes)
    cut_s += sum(over_s(before, after, moves, machine) for before, after in pairwise(passes))
    return round(cut_s + changes * machine.cutter_change_s, 3)


def move_times_s(moves: Moves, machine: Machine) -> NDArray[np.float64]:
    """Seconds of each move: feeds held to the machine's, rapids at its slower diagonal, corners slowed for.

    moves as in the model: points (n, 3) in mm, feed 0 for a rapid.  Rates are those along the path, so that the
    answer is the same at every tilt and never quicker than per axis.  A machine without a jerk has an unlimited one.
    """
    feeds = np.where(moves.feed_mm_per_s > 0.0, np.minimum(moves.feed_mm_per_s, machine.feed_max_mm_per_s), np.inf)
    return chain_times_s(
        moves.points,
        feeds,
        rapid_mm_per_s=machine.rapid_mm_per_s,
        accel_mm_per_s2=machine.accel_mm_per_s2,
        jerk_mm_per_s3=math.inf if machine.jerk_mm_per_s3 is None else machine.jerk_mm_per_s3,
        stop_angle_rad=STOP_ANGLE_RAD,
        jump_mm_per_s=corner_jump_mm_per_s(machine),
        arcs=arcs_of(moves),
    )


def arcs_of(moves: Moves) -> Arcs | None:
    """The arcs of a pass as the motion engine takes them, None without any."""
    if not len(moves.arcs):
        return None
    centres = np.column_stack([moves.centres_mm, moves.points[:, 2]])
    normals = np.tile([0.0, 0.0, 1.0], (len(centres), 1))
    return Arcs(centres_mm=centres, normals=normals, turns_rad=moves.turns_rad)


def corner_jump_mm_per_s(machine: Machine) -> float:
    """The machine's jump of velocity at corners in mm/s, or the one assumed where nobody wrote it."""
    return JUMP_MM_PER_S if machine.corner_jump_mm_per_s is None else machine.corner_jump_mm_per_s


def cycle_of(*, clamping: Clamping, machine: Machine, plan: PassPlan, shared: Shared | None = None) -> Cycle:
    """The cycle of one clamping, piece after piece: what the last pass left in the spindle the first one finds."""
    own = [work for work in plan.passes if work.clamping_id == clamping.id]
    seconds = [moves_time_s(plan.moves[w.moves_digest], machine) for w in own]
    if shared is None:
        for k, (before, after) in enumerate(pairwise(own), start=1):
            seconds[k] += over_s(before, after, plan.moves, machine)
    timed = tuple(PassTime(work=w, seconds=s) for w, s in zip(own, seconds, strict=True))
    return msgspec.structs.replace(_cycle(clamping, machine, timed), shared=shared)


def over_s(before: Pass, after: Pass, moves: Mapping[str, Moves], machine: Machine) -> float:
    """Seconds of the rapid way from the end of a pass to the beginning of the next; 0 where cutter or tilt change.

    A change of cutter holds its way, as it is timed from chip to chip.
    """
    if before.cutter_id != after.cutter_id or before.tilt_id != after.tilt_id:
        return 0.0
    ends = np.array([moves[before.moves_digest].points[-1], moves[after.moves_digest].points[0]])
    return moves_time_s(Moves(points=ends, feed_mm_per_s=np.zeros(2)), machine)


def shared_by(
    clamping: Clamping, machine: Machine, passes: Sequence[Pass], loads: Sequence[TableLoad], pieces_count: int
) -> Shared | None:  # fmt: skip
    """What a clamping shares of its load's cycles, by the changes that each would make alone; None where it lies so."""
    load = next((one for one in loads if clamping.id in one.clamping_ids), None)
    if load is None:
        return None
    alone = {id: _turns([p.cutter_id for p in passes if p.clamping_id == id]) for id in load.clamping_ids}
    share = alone[clamping.id] / sum(alone.values()) if any(alone.values()) else 1.0 / len(alone)
    each, full = share / max(pieces_count, 1), load.fillings[0]
    return Shared(
        change_s=machine.cutter_change_s * sum(f.changes_count * f.cycles_count for f in load.fillings) * each,
        ways_s=sum(f.ways_s * f.cycles_count for f in load.fillings) * each, changes_count=full.changes_count,
        ways_count=full.ways_count, cycle_s=full.seconds, places_count=load.pieces_count,
        is_first=load.clamping_ids[0] == clamping.id,
    )  # fmt: skip


def foreseen_cycle(*, clamping: Clamping, machine: Machine, outlook: Outlook) -> Cycle:
    """The cycle of one clamping before any move is laid, with the nominal seconds of the outlook."""
    own = (cut for cut in outlook.cuts if cut.work.clamping_id == clamping.id)
    return _cycle(clamping, machine, tuple(PassTime(work=c.work, seconds=c.seconds.nominal) for c in own))


def _cycle(clamping: Clamping, machine: Machine, timed: tuple[PassTime, ...]) -> Cycle:
    return Cycle(
        clamping=clamping,
        machine=machine,
        passes=timed,
        cutter_changes_count=_turns([one.work.cutter_id for one in timed]),
        tilts_count=_turns([one.work.tilt_id for one in timed]),
    )


def _turns(names: list[str]) -> int:
    """How often the name changes going round once."""
    return sum(here != names[k - 1] for k, here in enumerate(names))
