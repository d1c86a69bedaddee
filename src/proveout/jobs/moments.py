"""The work at any moment: the metal at the end of each pass or part of the way through it, and where its cutter is."""

from __future__ import annotations

import threading
import zlib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.jobs.check_plan import kept_passes
from proveout.jobs.held import Held
from proveout.jobs.store import Store
from proveout.jobs.turns import Turns
from proveout.model.cutter_pieces import cutting_pieces
from proveout.model.moves import Moves
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine, Noun, Shop
from proveout.model.work import Clamping, Pass
from proveout.quantities.errors import BadInput

Floats = NDArray[np.float64]
FINE_MM, COARSE_MM, CELLS_ALONG, CELLS_ALL = 0.3, 0.8, 225.0, 2.0e7
CUTTING, FIELDS = "metal at a moment", "fields at a moment"
LEG_MM = 1.0
"""Feed moves are stopped at places so far apart at the most."""
HELD_COUNT, HELD_BYTES = 6, 128 * 1024 * 1024  # states of the work that are kept in memory
STORED_BYTES = 2 * 1024**3  # of metals and states of all parts that are kept on disk
AT_A_TIME, WAITING_MOST, WAIT_S = 2, 6, 8.0  # metals that are worked out
KEPT_EVERY = 6  # passes of which the last one's fields are stored


class Place(Noun, frozen=True, kw_only=True):
    """Where the cutter is: its tip and the way from tip to shank, in the clamping's frame; seconds into the pass.

    move: of the pass, counted from 1, at the end of which or in which it is; 0 before the first.
    """

    tip_mm: tuple[float, float, float]
    axis: tuple[float, float, float]
    move: int
    at_s: float


class Metal(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """The metal at a moment: a closed mesh in the part frame, its creases, and what the fields say of its volume.

    place: of the cutter, None before the first pass.
    """

    vertices_mm: Floats
    triangles: NDArray[np.int32]
    edges: NDArray[np.int32]
    volume_mm3: float
    pitch_mm: float
    place: Place | None


@dataclass(frozen=True)
class _Step:
    """One pass as the replay needs it. cuts: False of a thread, whose flanks go beyond its hole on purpose."""

    one: Pass
    moves: Moves
    frame: Frame
    clamping: Clamping
    cutter: Cutter
    machine: Machine | None
    cuts: bool

    @property
    def mark(self) -> tuple[Any, ...]:
        """All that the metal behind it depends on."""
        return (self.one.moves_digest, self.frame, cutting_pieces(self.cutter) if self.cuts else ())


class Moments:
    """The metal of one plan, worked out where it was not before, and kept.

    Args:     folder: the result folder with the plan's moves.   store: keeps what was worked out.
              turns: of those who have a metal worked out, which what is kept does not wait for.
    Raises:   BadInput where moves are missing or the shop lacks a cutter of the plan.
    """

    def __init__(self, *, plan: Plan, shop: Shop, folder: Path, store: Store, turns: Turns | None = None) -> None:
        from proveout.stages.removal_check.replay import THREAD_KINDS

        self.plan, self._store = plan, store
        kept = kept_passes(folder, plan)
        clampings = {c.id: c for c in plan.clampings}
        frames = {(c.id, t.id): t.frame for c in plan.clampings for t in c.tilts}
        cutters = {c.id: c for c in shop.cutters}
        machines = {m.id: m for m in shop.machines}
        lacking = sorted({one.cutter_id for one in plan.passes} - set(cutters))
        if lacking:
            raise BadInput("The shop file lacks cutters of the plan", value=", ".join(lacking))
        self._steps = tuple(
            _Step(
                one=one, moves=kept.moves[one.moves_digest], frame=frames[(one.clamping_id, one.tilt_id)],
                clamping=clampings[one.clamping_id], cutter=cutters[one.cutter_id],
                machine=machines.get(clampings[one.clamping_id].machine_id), cuts=one.kind not in THREAD_KINDS,
            )
            for one in plan.passes
        )  # fmt: skip
        self.pitch_mm = display_pitch_mm(np.array(plan.blank.chosen.high_mm) - np.array(plan.blank.chosen.low_mm))
        self._turns = turns if turns is not None else turns_of_metal()
        self._held: Held[int, Any] = Held(most_count=HELD_COUNT, most_bytes=HELD_BYTES, size=_bytes_of_fields)
        self._lock = threading.Lock()

    def metal(self, *, index: int, share: float = 1.0, run: Run | None = None) -> Metal:
        """The metal when a share of the pass at that place of plan.passes is done; index -1: the blank.

        run: may end it while it waits, and between two passes that it cuts.
        Raises:   BadInput when there is no such pass or the share is not from 0 to 1; Busy when no turn comes in time.
        """
        if not -1 <= index < len(self._steps):
            raise BadInput(
                "The plan has no such pass", value=str(index + 1), limit=f"1 to {len(self._steps)}",
                do="name one of them",
            )  # fmt: skip
        if not 0.0 <= share <= 1.0:
            raise BadInput("A share of a pass is from 0 to 1", value=f"{share:g}", limit="0 to 1")
        going = run if run is not None else Run()

        def make(**_: Any) -> bytes:
            with self._turns.turn(going):
                return zlib.compress(_packed(self._metal(index, share, going)), 1)

        packed: bytes = self._store.get(
            CUTTING, make, chain=self._chain(index), share=round(share, 6)
        )  # fmt: skip
        return _unpacked(zlib.decompress(packed))

    def way(self, index: int) -> tuple[Floats, NDArray[np.bool_]]:
        """The tip's way in a pass: (n, 3) points in the clamping's frame, and (n - 1,) which stretches are rapid."""
        step = self._steps[index]
        straight = step.moves.straight(within_mm=0.02)
        points = step.clamping.frame.into(step.frame.out_of(straight.points))
        return points, straight.feed_mm_per_s[1:] <= 0.0

    def share_of_move(self, index: int, move: int) -> float:
        """The share of a pass that is done when one of its moves, counted from 1, ends."""
        step = self._steps[index]
        return _share_of(step, move)

    def _chain(self, index: int) -> tuple[Any, ...]:
        blank = self.plan.blank.chosen
        clamping = self._steps[index].clamping.frame if index >= 0 else None
        marks = tuple(step.mark for step in self._steps[: index + 1])
        return (blank.low_mm, blank.high_mm, self.pitch_mm, marks, clamping)

    def _metal(self, index: int, share: float, run: Run) -> Metal:
        from proveout.removal.netting import net_of

        with self._lock:
            run.check(CUTTING)
            if index < 0 or share >= 1.0:
                lattice, place = self._lattice(index, run), None if index < 0 else _whole(self._steps[index])
            else:
                lattice = self._lattice(index - 1, run).copy()
                place = _cut_share(lattice, self._steps[index], share)
        net = net_of(lattice)
        return Metal(
            vertices_mm=net.vertices_mm, triangles=net.triangles, edges=net.edges,
            volume_mm3=float(np.median(lattice.volume_mm3())), pitch_mm=self.pitch_mm, place=place,
        )  # fmt: skip

    def _lattice(self, index: int, run: Run) -> Any:
        """The fields behind a pass: those held in memory, or worked out from the last that are held or stored."""
        start, lattice = self._nearest(index)
        for n in range(start + 1, index + 1):
            run.check(CUTTING)
            lattice = lattice.copy()
            _cut_share(lattice, self._steps[n], 1.0)
            self._held.put(n, lattice)
            if n % KEPT_EVERY == KEPT_EVERY - 1:
                self._store.get(FIELDS, lambda kept=lattice, **_: kept, chain=self._chain(n))
        return lattice

    def _nearest(self, index: int) -> tuple[int, Any]:
        from proveout.removal.lattice import Lattice

        for n in range(index, -1, -1):
            held = self._held.get(n)
            if held is not None:
                return n, held
            kept = self._store.kept(FIELDS, chain=self._chain(n))
            if kept is not None:
                self._held.put(n, kept[0])
                return n, kept[0]
        blank = self.plan.blank.chosen
        full = Lattice.of_box(
            low_mm=np.array(blank.low_mm), high_mm=np.array(blank.high_mm), pitch_mm=self.pitch_mm
        )  # fmt: skip
        self._held.put(-1, full)
        return -1, full


def turns_of_metal() -> Turns:
    """Turns for everybody who asks one desk for metal."""
    return Turns(at_a_time=AT_A_TIME, waiting_most=WAITING_MOST, wait_s=WAIT_S)


def store_of_metal(folder: Path | None) -> Store:
    """Where metal is kept between runs, within its bound.   folder: of all that is kept; None keeps nothing."""
    return Store(None if folder is None else folder / "metal", most_bytes=STORED_BYTES)


def _bytes_of_fields(lattice: Any) -> int:
    return sum(array.nbytes for array in (*lattice.counts, *lattice.spans))


def display_pitch_mm(size_mm: Floats) -> float:
    """How far apart the rays of a picture stand, by the size of the blank.

    Formula:  p = max(min(max(longest / 225, 0.3), 0.8), (volume / 2e7)^(1/3))
    Args:     size_mm: (3,) edges of the blank, mm.
    Returns:  mm, from 0.3.
    Valid:    for pictures alone; the plan's replay has its own.
    Source:   own-algorithm.   Departs: nothing.
    Checked:  tests/flows/test_moments.py
    """
    fine = min(max(float(size_mm.max()) / CELLS_ALONG, FINE_MM), COARSE_MM)
    return round(max(fine, float(np.prod(size_mm) / CELLS_ALL) ** (1.0 / 3.0)), 3)


def _timed(step: _Step) -> tuple[Any, Floats]:
    """The legs of a pass, and seconds at the end of each: feed moves at their feed, rapid ones at the machine's."""
    from proveout.stages.removal_check.legs import legs_of

    legs = legs_of(step.moves, step.frame, most_mm=LEG_MM)
    rapid = step.machine.rapid_mm_per_s if step.machine is not None else float(legs.feeds.max(initial=1.0))
    return legs, np.cumsum(legs.lengths_mm / np.where(legs.feeds > 0.0, legs.feeds, rapid))


def _share_of(step: _Step, move: int) -> float:
    legs, ends = _timed(step)
    own = np.flatnonzero(legs.owner < move)
    return float(ends[own[-1]] / ends[-1]) if len(own) and ends[-1] > 0.0 else 0.0


def _cut_share(lattice: Any, step: _Step, share: float) -> Place:
    """Takes what a share of a pass cuts out of the fields; returns where the cutter is then."""
    legs, ends = _timed(step)
    total = float(ends[-1]) if len(ends) else 0.0
    done = len(legs) if share >= 1.0 else int(np.searchsorted(ends, share * total, side="right"))
    if step.cuts:
        rows = np.flatnonzero(legs.feeds[:done] > 0.0)
        if len(rows):
            legs.of(rows).cut(lattice, cutting_pieces(step.cutter))
    if done == len(legs):
        return _whole(step)
    tip = legs.ends_mm[done - 1] if done else step.moves.points[0]
    if legs.feeds[done] <= 0.0:  # no metal is cut by a rapid move: the cutter may stand anywhere on it
        before = float(ends[done - 1]) if done else 0.0
        tip = tip + (legs.ends_mm[done] - tip) * (share * total - before) / max(float(ends[done]) - before, 1e-9)
    return _placed(step, tip, int(legs.owner[done]) + 1, share * total)


def _whole(step: _Step) -> Place:
    _, ends = _timed(step)
    return _placed(step, step.moves.points[-1], len(step.moves.points) - 1, float(ends[-1]) if len(ends) else 0.0)


def _placed(step: _Step, tip: Floats, move: int, at_s: float) -> Place:
    at = step.clamping.frame.into(step.frame.out_of(tip.reshape(1, 3)))[0]
    axis = step.clamping.frame.turn @ np.array(step.frame.z)
    return Place(
        tip_mm=tuple(float(v) for v in at), axis=tuple(float(v) for v in axis),  # type: ignore[arg-type]
        move=move, at_s=at_s,
    )  # fmt: skip


def _packed(metal: Metal) -> bytes:
    """As it is stored: positions in whole steps of a 65 535th of the box, which is finer than any picture."""
    head = msgspec.json.encode(
        {
            "volume_mm3": metal.volume_mm3, "pitch_mm": metal.pitch_mm, "place": metal.place,
            "counts": (len(metal.vertices_mm), len(metal.triangles), len(metal.edges)),
        }
    )  # fmt: skip
    return b"".join(
        (
            len(head).to_bytes(4, "little"), head, metal.vertices_mm.astype("<f4").tobytes(),
            metal.triangles.astype("<i4").tobytes(), metal.edges.astype("<i4").tobytes(),
        )
    )  # fmt: skip


class _Head(msgspec.Struct):
    volume_mm3: float
    pitch_mm: float
    place: Place | None
    counts: tuple[int, int, int]


def _unpacked(whole: bytes) -> Metal:
    size = int.from_bytes(whole[:4], "little")
    head = msgspec.json.decode(whole[4 : 4 + size], type=_Head)
    arrays, at = [], 4 + size
    for count, width, kind in zip(head.counts, (3, 3, 2), ("<f4", "<i4", "<i4"), strict=True):
        arrays.append(np.frombuffer(whole, kind, count * width, at).reshape(-1, width))
        at += 4 * count * width
    return Metal(
        vertices_mm=arrays[0].astype(np.float64), triangles=arrays[1].astype(np.int32),
        edges=arrays[2].astype(np.int32), volume_mm3=head.volume_mm3, pitch_mm=head.pitch_mm, place=head.place,
    )  # fmt: skip
