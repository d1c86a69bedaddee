"""A program's course replayed on the work: metal on rapid moves, strikes, turns, and what each cutter took away."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.model.checking import CutterTable, CutterUse, Finding, FindingKind, LineCut, Standing
from proveout.model.course import Course, Event, Motion, Turning
from proveout.model.cutter import Piece
from proveout.model.cutter_pieces import body_pieces, cutting_pieces
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.removal.engagement import cut_measured
from proveout.removal.fields import Fields
from proveout.removal.sweeping import cut, overlap_mm
from proveout.stages.removal_check.bodies import TOUCH_MM, Body
from proveout.stages.removal_check.near import Skyline
from proveout.stages.removal_check.placing import lines_of, place, polyline
from proveout.stages.removal_check.replay import thread_core
from proveout.stages.removal_check.taking import line_cuts, most_of
from proveout.stages.removal_check.turns import turn_finding

Floats = NDArray[np.float64]
TOP_MM = 1000.0
"""So far above a place a spindle at the top of its travel is taken to stand: only what lies below counts."""
RUN_MOST = 4000
GOUGE_LIMIT_MM = 0.01
GOUGE_LEAST_MM3 = 1e-3
"""What rays that run along a wall may seem to lose by the last digit of a place."""


@dataclass
class Replayed:
    """What the replay of a course found.  tracks: the motions that cut, in order."""

    findings: list[Finding] = field(default_factory=list)
    uses: list[CutterUse] = field(default_factory=list)
    removed_mm3: float = 0.0
    motions_count: int = 0
    tracks: list[Track] = field(default_factory=list)
    cuts: list[LineCut] = field(default_factory=list)


@dataclass(frozen=True)
class Track:
    """A run of motions that cut, of one cutter at one tilt, in the part frame; lines: (n,) of the program."""

    pieces: tuple[Piece, ...]
    axis: Floats
    starts_mm: Floats
    ends_mm: Floats
    lines: NDArray[np.int64]
    heading: str


@dataclass(frozen=True)
class _Stretch:
    """Straight moves of one cutter under the same modes, in the part frame; owner: (n,) the motion each belongs to.

    cutter: None for the bare nose.  head: what of the spindle is above the tip, empty where nobody described it.
    """

    motions: list[Motion]
    owner: NDArray[np.int64]
    cutter: Cutter | None
    head: tuple[Piece, ...]
    axis: Floats
    starts: Floats
    ends: Floats

    @property
    def name(self) -> str:
        """Of what is in the spindle."""
        return self.cutter.name if self.cutter is not None else "the bare nose"

    @property
    def edges(self) -> tuple[Piece, ...]:
        """The pieces that cut."""
        return cutting_pieces(self.cutter) if self.cutter is not None else ()

    def parts(self) -> Iterator[tuple[str, tuple[Piece, ...]]]:
        """What must not meet anything solid, by name: edges, shank and holder, head."""
        if self.cutter is not None:
            yield self.cutter.name, self.edges
            yield f"shank or holder of {self.cutter.name}", body_pieces(self.cutter)
        yield "the spindle's head", self.head

    def motion(self, row: int) -> Motion:
        """The motion that a straight move belongs to."""
        return self.motions[int(self.owner[row])]


class Replay:
    """Replays one course on fields of metal, which are cut in place.

    part: the finished part's own metal on the same grid, None when nobody knows it: what a cutter, narrower all round
    by the limit of a gouge, takes of it is gouged, whatever later lines leave of the place.
    """

    def __init__(
        self, fields: Fields, *, standing: Standing, table: CutterTable, part: Fields | None = None, run: Run
    ) -> None:
        self.fields, self.standing, self.run = fields, standing, run
        self.table = msgspec.structs.replace(table, gauge_mm={0: 0.0, **table.gauge_mm})  # 0: the bare nose
        self.part = part
        self.found = Replayed()
        self.bodies = [Body(obstacle) for obstacle in standing.obstacles]
        self.use: dict[str, float] = {}
        self.use_at: tuple[int, int, str] = (0, 0, "")
        self._cuts_before = 0
        self._probed: Motion | None = None
        self._told: set[tuple[str, int, str]] = set()

    def go(self, course: Course) -> Replayed:
        """Follow the course to its end."""
        waiting: list[Motion] = []
        total = max(len(course.items), 1)
        for number, item in enumerate(course.items):
            if isinstance(item, Motion):
                if waiting and (not _same_run(waiting[-1], item) or len(waiting) >= RUN_MOST):
                    self.run.check("program", f"line {item.line}", number / total)
                    self._motions(waiting)
                    waiting = []
                waiting.append(item)
                continue
            self._motions(waiting)
            waiting = []
            if isinstance(item, Turning):
                self._turning(item)
            elif item.kind == "cutter change":
                self._change(item)
        self._motions(waiting)
        self._close_use()
        return self.found

    def _tell(self, kind: FindingKind, line: int, heading: str, what: str, **more: object) -> None:
        key = kind, line, what if kind == "strike" else ""
        if key not in self._told:
            self._told.add(key)
            self.found.findings.append(Finding(kind=kind, line=line, heading=heading, what=what, **more))  # type: ignore[arg-type]

    def _not_known(self, motion: Motion, what: str) -> None:
        self._tell("not known", motion.line, motion.heading, what, is_sure=False)

    # --- motions -------------------------------------------------------------------------------------------------
    def _motions(self, motions: list[Motion]) -> None:
        """A run of motions of one kind under the same modes."""
        if not motions:
            return
        modes = motions[0].modes
        if not self.use_at[0] and not self.use:
            self.use_at = (modes.cutter or 0, motions[0].line, motions[0].heading)
        self.found.motions_count += len(motions)
        head = self.table.head_pieces(modes.cutter or 0)
        if modes.cutter == 0 and not head:
            return  # the nose alone: what it is has no outline here
        placed = place(modes, self.standing, self.table)
        known = [whole for motion in motions if (whole := self._whole(motion)) is not None]
        if not known:
            return
        if placed.why:
            first = known[0][0]
            self._tell("not known", first.line, first.heading, f"not followed from here: {placed.why}", is_sure=False)
            return
        starts, ends, owner = lines_of([points for _, points in known])
        stretch = _Stretch(
            motions=[motion for motion, _ in known], owner=owner, cutter=self.table.cutters.get(modes.cutter or 0),
            head=head, axis=placed.axis / np.linalg.norm(placed.axis), starts=placed.in_part(starts, self.standing),
            ends=placed.in_part(ends, self.standing),
        )  # fmt: skip
        self._sum_up(stretch)
        self._against_bodies(stretch)
        self._against_work(stretch)

    def _whole(self, motion: Motion) -> tuple[Motion, Floats] | None:
        """A motion with its points, where they are known; else the reason is told."""
        start, end = list(motion.start), list(motion.end)
        probed, self._probed = self._probed, motion if motion.kind == "probe" else None
        if motion.from_top and motion.to_top:
            return None
        if probed is not None and motion.start == probed.end:
            if motion.kind == "probe" or not _goes_back(motion, probed):
                self._not_known(motion, "where the probe touched, and so where this motion begins, is not known")
                return None
            start = list(probed.start)  # what lies between, the probe has gone through before
            motion = msgspec.structs.replace(motion, start=probed.start)
        if (motion.from_top or motion.to_top) and (None in start or None in end):
            low, high = (end, start) if motion.from_top else (start, end)
            if low[2] is None or low[0] is None or low[1] is None:
                self._not_known(motion, "where this motion passes is not known")
                return None
            if (high[0], high[1]) not in ((low[0], low[1]), (None, None)):
                self._not_known(motion, "it comes from or goes to the top of Z slanting: where it passes is not known")
                return None
            top = [low[0], low[1], max(low[2], 0.0) + TOP_MM]
            points = np.array([top, low] if motion.from_top else [low, top], dtype=np.float64)
            return motion, points
        if None in start or None in end:
            if None not in end and motion.kind == "rapid":
                self._not_known(motion, "where the tip is before this rapid move is not known")
            else:
                self._not_known(motion, "where this motion begins or ends is not known")
            return None
        return motion, polyline(motion)

    def _against_bodies(self, stretch: _Stretch) -> None:
        frame = self.standing.frame
        starts, ends = frame.into(stretch.starts), frame.into(stretch.ends)
        axis = frame.turn @ stretch.axis
        axis = axis / np.linalg.norm(axis)
        for body in self.bodies:
            for whose, pieces in stretch.parts():
                depth = body.met_mm(pieces, axis, starts, ends)
                rows = np.flatnonzero(depth > 0.0)
                for row in rows[np.argsort(-depth[rows], kind="stable")].tolist():  # of a line its deepest
                    motion, what = stretch.motion(row), f"{whose} meets the {body.name}"
                    self._tell(
                        "strike", motion.line, motion.heading, what, found=round(float(depth[row]), 3), limit=TOUCH_MM,
                        unit="mm", is_sure=body.is_sure,
                    )  # fmt: skip

    def _met(self, kind: FindingKind, motion: Motion, what: str, depth_mm: float) -> None:
        self._tell(kind, motion.line, motion.heading, what, found=round(depth_mm, 3), limit=TOUCH_MM, unit="mm")

    def _against_work(self, stretch: _Stretch) -> None:
        cutter = stretch.cutter
        cutting = stretch.edges
        body = (*(body_pieces(cutter) if cutter is not None else ()), *stretch.head)
        s, e, axis = stretch.starts, stretch.ends, stretch.axis
        skyline = Skyline(self.fields, axis)
        near_body, near_edges = skyline.near(body, s, e), skyline.near(cutting, s, e)
        near = near_body | near_edges
        if not near.any():
            return
        first = stretch.motions[0]
        if first.kind == "probe":
            return  # it ends where it touches: that it meets metal is what it is for
        is_tap = cutter is not None and cutter.kind in ("tap", "thread mill")
        is_cut = cutter is not None and first.kind != "rapid" and first.modes.spindle != "off" and not is_tap
        if is_tap and first.kind != "rapid":
            self._tap(stretch, np.flatnonzero(near_edges))
        elif not is_cut and near_edges.any():
            self._metal_met(stretch, np.flatnonzero(near_edges))
        suspects = np.flatnonzero(near_body)
        if len(suspects):
            depth = overlap_mm(self.fields, pieces=body, axis=axis, starts_mm=s[suspects], ends_mm=e[suspects])
            suspects = suspects[depth > TOUCH_MM]
        done = 0
        for row in suspects.tolist():
            # what was in the way when the stretch began may be gone by now
            if is_cut:
                self._cut(stretch, done + np.flatnonzero(near[done : row + 1]))
                done = row + 1
            for whose, pieces in list(stretch.parts())[-2 if cutter is not None else -1 :]:
                if not pieces:
                    continue
                depth = overlap_mm(self.fields, pieces=pieces, axis=axis, starts_mm=s[[row]], ends_mm=e[[row]])
                if float(depth[0]) > TOUCH_MM:
                    self._met("shank or holder", stretch.motion(row), f"{whose} meets the work", float(depth[0]))
        if is_cut:
            self._cut(stretch, done + np.flatnonzero(near[done:]))
            self._gouge(stretch, np.flatnonzero(near))
            self._keep_track(stretch, np.flatnonzero(near), cutting)

    def _tap(self, stretch: _Stretch, rows: NDArray[np.int64]) -> None:
        """A thread stands in the solid as its hole: what cuts it takes nothing here, but its core must find that hole.

        A thread mill on its way round stands so far out that its core comes to the thread's minor diameter.
        """
        tap = stretch.cutter
        assert tap is not None
        if len(rows) == 0:
            return
        s, e = stretch.starts[rows], stretch.ends[rows]
        if stretch.motions[0].modes.spindle == "off":
            met = overlap_mm(self.fields, pieces=stretch.edges, axis=stretch.axis, starts_mm=s, ends_mm=e)
            for at in np.flatnonzero(met > TOUCH_MM).tolist():
                what = f"{stretch.name} is fed into metal while the spindle stands"
                self._met("spindle", stretch.motion(rows[at]), what, float(met[at]))
        core = thread_core(tap)
        if not core:
            return
        depth = overlap_mm(self.fields, pieces=core, axis=stretch.axis, starts_mm=s, ends_mm=e)
        for at in np.flatnonzero(depth > TOUCH_MM).tolist():
            what = f"the core of {tap.name} meets metal: no hole of the thread's own size is there"
            self._met("strike", stretch.motion(rows[at]), what, float(depth[at]))

    def _metal_met(self, stretch: _Stretch, rows: NDArray[np.int64]) -> None:
        pieces, axis, s, e = stretch.edges, stretch.axis, stretch.starts, stretch.ends
        depth = overlap_mm(self.fields, pieces=pieces, axis=axis, starts_mm=s[rows], ends_mm=e[rows])
        hit = np.flatnonzero(depth > TOUCH_MM)
        for at in hit.tolist():
            motion = stretch.motion(rows[at])
            if motion.kind == "rapid":
                self._met("rapid in metal", motion, f"a rapid move takes {stretch.name} into metal", float(depth[at]))
            else:
                what = f"{stretch.name} is fed into metal while the spindle stands"
                self._met("spindle", motion, what, float(depth[at]))
        if len(hit):  # what was run through is gone: later lines do not meet it again
            cut(self.fields, pieces=pieces, axis=axis, starts_mm=s[rows[hit]], ends_mm=e[rows[hit]])
            self._keep_track(stretch, rows[hit], pieces)

    def _cut(self, stretch: _Stretch, rows: NDArray[np.int64]) -> None:
        if len(rows) == 0:
            return
        engaged = cut_measured(
            self.fields, pieces=stretch.edges, axis=stretch.axis, starts_mm=stretch.starts[rows],
            ends_mm=stretch.ends[rows],
        )  # fmt: skip
        removed = engaged.removed_mm3
        volume = float(np.median(removed.sum(axis=0)))
        self.found.removed_mm3 += volume
        self.use["removed_mm3"] = self.use.get("removed_mm3", 0.0) + volume
        met = np.median(removed, axis=1) > 0.0
        lengths = np.linalg.norm(stretch.ends[rows] - stretch.starts[rows], axis=1)
        self.use["cut_mm"] = self.use.get("cut_mm", 0.0) + float(lengths[met].sum())
        assert stretch.cutter is not None
        self.found.cuts.extend(line_cuts(stretch.motions, stretch.owner[rows], lengths, engaged, stretch.cutter))

    def _gouge(self, stretch: _Stretch, rows: NDArray[np.int64]) -> None:
        if self.part is None:
            return
        pieces = tuple(narrower(piece) for piece in stretch.edges)
        taken = cut(
            self.part, pieces=pieces, axis=stretch.axis, starts_mm=stretch.starts[rows], ends_mm=stretch.ends[rows]
        ).max(axis=1)
        by_line: dict[int, float] = {}
        for at in np.flatnonzero(taken > 0.0).tolist():  # of an arc all chords together
            line = stretch.motion(rows[at]).line
            by_line[line] = by_line.get(line, 0.0) + float(taken[at])
        for line, volume in by_line.items():
            if volume <= GOUGE_LEAST_MM3:
                continue
            heading = next(m.heading for m in stretch.motions if m.line == line)
            self._tell(
                "gouge", line, heading, f"{stretch.name} takes metal of the finished part",
                found=round(volume, 3), limit=0.0, unit="mm3",
            )  # fmt: skip

    def _keep_track(self, stretch: _Stretch, rows: NDArray[np.int64], pieces: tuple[Piece, ...]) -> None:
        self.found.tracks.append(
            Track(
                pieces=pieces, axis=stretch.axis, starts_mm=stretch.starts[rows], ends_mm=stretch.ends[rows],
                lines=np.array([stretch.motion(row).line for row in rows.tolist()], dtype=np.int64),
                heading=stretch.motions[0].heading,
            )
        )  # fmt: skip

    # --- turns, changes, sums ------------------------------------------------------------------------------------
    def _turning(self, turning: Turning) -> None:
        found = turn_finding(turning, standing=self.standing, table=self.table, fields=self.fields)
        if found is not None:
            self._tell(
                found.kind, found.line, found.heading, found.what, found=found.found, limit=found.limit,
                unit=found.unit, is_sure=found.is_sure,
            )  # fmt: skip

    def _change(self, event: Event) -> None:
        self._close_use()
        self.use_at = (int(event.value), event.line, event.heading)

    def _sum_up(self, stretch: _Stretch) -> None:
        lengths = np.linalg.norm(stretch.ends - stretch.starts, axis=1)
        first = stretch.motions[0]
        if first.kind == "rapid":
            self.use["rapid_mm"] = self.use.get("rapid_mm", 0.0) + float(lengths.sum())
            return
        if any(m.feed_mm_per_s is None for m in stretch.motions):
            self.use["unknown"] = 1.0
        feeds = np.array([m.feed_mm_per_s or math.inf for m in stretch.motions])[stretch.owner]
        self.use["feed_s"] = self.use.get("feed_s", 0.0) + float((lengths / feeds).sum())

    def _close_use(self) -> None:
        number, line, heading = self.use_at
        if self.use:
            self.found.uses.append(
                CutterUse(
                    number=number, line=line, heading=heading, removed_mm3=round(self.use.get("removed_mm3", 0.0), 3),
                    cut_mm=round(self.use.get("cut_mm", 0.0), 3), rapid_mm=round(self.use.get("rapid_mm", 0.0), 3),
                    feed_s=None if "unknown" in self.use else round(self.use.get("feed_s", 0.0), 3),
                    **most_of(self.found.cuts[self._cuts_before :]),
                )
            )  # fmt: skip
        self.use = {}
        self.use_at = (0, 0, "")
        self._cuts_before = len(self.found.cuts)


def _goes_back(motion: Motion, probed: Motion) -> bool:
    """Whether a straight motion leads from a probe's end back along its way, at least to where it began."""
    points = (motion.start, motion.end, probed.start)
    if motion.arc is not None or any(None in point for point in points):
        return False
    start, end, begun = (np.array(point, dtype=np.float64) for point in points)
    way, back = begun - start, end - start
    length = float(np.linalg.norm(way))
    if length == 0.0:
        return False
    along = float(back @ way) / length
    return along >= length - 1e-9 and float(np.linalg.norm(back - along * way / length)) <= 1e-9


def narrower(piece: Piece) -> Piece:
    """A cutter's piece with GOUGE_LIMIT_MM less of it at its end and all round."""
    by = min(GOUGE_LIMIT_MM, 0.4 * (piece.z_high_mm - piece.z_low_mm))
    low, high, is_round = piece.r_low_mm, piece.r_high_mm, piece.kind != "frustum"
    return Piece(
        kind=piece.kind, z_low_mm=piece.z_low_mm + by, z_high_mm=piece.z_high_mm - (by if is_round else 0.0),
        r_low_mm=low if piece.kind == "round corner" else max(low - by, 0.0), r_high_mm=max(high - by, 0.0),
    )  # fmt: skip


def _same_run(one: Motion, other: Motion) -> bool:
    """Whether two motions can be replayed together."""
    return one.kind == other.kind and one.modes is other.modes
