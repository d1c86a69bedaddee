"""Blocks with planted near-symmetries, and what is true of their wrong loads by other means than Proveout's own.

A block is turned over for its second clamping. Holes, pockets and steps that were cut in the first lie nearly alike
about its middle, but for one that is off by a little. What may be put in is the work, the raw blank, a finished piece,
a left-hand piece of either, and a finished piece of another part. Truth comes from exact bodies: every pose of the
block's box is tried, its difference from the right body is a boolean of meshes, its thickness twice its volume over its
surface, and a reading of the probe is a ball let down on the triangles.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import Any

import manifold3d
import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.fact import Fact
from proveout.model.loading import Loading, Sister, Touch, WrongLoad
from proveout.model.moves import Moves
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine, Probe, Vise
from proveout.model.work import Blank, Clamping, Pass, PassPlan, Tilt
from proveout.stages import loading

Floats = NDArray[np.float64]
OFFSETS_MM = (0.05, 0.1, 0.15, 0.3, 0.5, 0.7, 1.0, 2.0, 3.5, 5.0)
TOLERANCE_MM, RAW_MM = 0.03, 0.2
PROBE = Probe(
    error_mm=Fact(low=0.002, nominal=0.005, high=0.01, unit="mm", source="invented", strength="measured here"),
    ball_mm=2.0, stylus_mm=60.0, body_mm=12.0,
)  # fmt: skip
SURE_MM = 2.0 * 0.01 + 2.0 * 0.03 + 2.0 * 0.05
"""What two readings of faces that were cut must differ by: probe, slop and what both pieces vary, twice."""
BAND_MM = 0.12
"""Truth is not asked about differences this near to the limit: the search tries places a millimetre apart."""
RAW_SURE_MM = 2.0 * 0.01 + 2.0 * 0.03 + 2.0 * RAW_MM
HARMLESS_MM = 0.015
SLOPS_MM = ((0.0, 0.0), *((sign * aside, 0.0) for aside in (0.05, 0.1) for sign in (1.0, -1.0)),
            *((0.0, sign * aside) for aside in (0.05, 0.1) for sign in (1.0, -1.0)))  # fmt: skip
"""Sideways a touch lies off by the slop, and what was cut lies off by as much again from piece to piece: on the
shoulder of a hole a tenth of a millimetre aside reads half a millimetre deeper.
"""
PAGE_MM = 0.5
SEEN_MM, SEEN_BAND_MM = 2.0, 1.5
JAW_TOP_MM, OPENING_MM, JAWS_MM = 4.0, 45.0, 40.0
SEGMENTS = 48
LEFT = {"the work": "a left-hand piece", "a finished piece": "a finished left-hand piece"}
SISTER = "a finished piece of EX-9"


@dataclass(frozen=True)
class Case:
    """A block: its size, holes cut before (x, y, diameter, depth from the side then up), and those cut now.

    offset_mm: by how much one of the holes, pockets or steps lies off its twin.   has_probe: of the machine.   slots:
    cut before by straight moves (x and y of both ends, diameter, depth); one that runs off the block is a step.
    has_sister: whether another part of the order lies about, the same block with its first hole farther in.
    """

    size_mm: tuple[float, float, float]
    before: tuple[tuple[float, float, float, float], ...]
    now: tuple[tuple[float, float, float, float], ...]
    offset_mm: float
    has_probe: bool
    slots: tuple[tuple[float, float, float, float, float, float], ...] = ()
    has_sister: bool = False


def case_of(seed: int) -> Case:
    """The random block of a seed; its offset goes through OFFSETS_MM, and every third machine has no probe."""
    rng = np.random.default_rng(seed)
    long, wide, high = (float(v) for v in (rng.integers(46, 70), rng.integers(26, 38), rng.integers(12, 18)))
    offset = OFFSETS_MM[seed % len(OFFSETS_MM)]
    holes: list[tuple[float, float, float, float]] = []
    through = high + 1.0
    for k in range(int(rng.integers(1, 3))):
        x, y = 9.0 + 8.0 * k + float(rng.integers(0, 3)), 8.0 + float(rng.integers(0, int(wide) - 16))
        size = float(rng.choice([4.2, 5.0, 6.6]))
        move = offset if k == 0 else 0.0
        holes += [(x + move, y, size, through), (long - x, wide - y, size, through)]
    now = ((long / 2.0, wide / 2.0, 5.0, through),)
    return Case(size_mm=(long, wide, high), before=tuple(holes), now=now, offset_mm=offset, has_probe=seed % 3 != 2)


def shaped_case_of(seed: int) -> Case:
    """A block with two windows, pockets or steps, alike but for the offset, and a sister on every other one."""
    rng = np.random.default_rng(1000 + seed)
    plain = case_of(seed)
    long, wide, _ = plain.size_mm
    offset, deep = plain.offset_mm, float(rng.choice([2.0, 3.0]))
    if seed % 2 == 0:
        size, from_end = float(rng.choice([6.0, 8.0])), 12.0
        deep = plain.size_mm[2] + 1.0 if seed % 4 == 0 else deep
        low, high = 0.3 * wide, 0.7 * wide
        slots = (
            (from_end + offset, low, from_end + offset, high, size, deep),
            (long - from_end, wide - high, long - from_end, wide - low, size, deep),
        )
    else:
        size = 10.0
        slots = (
            (offset - 2.0, -9.0, offset - 2.0, wide + 9.0, size, deep),
            (long + 2.0, -9.0, long + 2.0, wide + 9.0, size, deep),
        )
    return replace(
        plain, before=(), slots=slots, has_probe=seed % 4 < 2, has_sister=seed % 2 == 1,
        now=((long / 2.0, wide / 2.0, 5.0, plain.size_mm[2] + 1.0),),
    )  # fmt: skip


def decided(
    case: Case, *, sisters: tuple[Sister, ...] = (), marks: tuple[tuple[int, str], ...] = (), number: int = 2,
    needs_form: bool = False,
) -> tuple[Loading, Proof]:  # fmt: skip
    """What the stage finds of the second clamping, or another, with its proof on everything but left-hand pieces.

    number: of the clamping.   needs_form: its jaws would have to be cut to the work, and nobody planned that.
    """
    _, wide, high = case.size_mm
    first = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, wide, 0.0))
    second = Frame(x=(1.0, 0.0, 0.0), y=(0.0, -1.0, 0.0), z=(0.0, 0.0, -1.0), origin_mm=(0.0, 0.0, high))
    clampings = (_clamping("c1", 1, first, case), _clamping("c2", 2, second, case))
    clampings = tuple(msgspec.structs.replace(c, needs_form=needs_form and c.number == number) for c in clampings)
    cutters: dict[str, Cutter] = {}
    passes, moves = [], {}
    for clamping, holes, slots in zip(clampings, (case.before, case.now), (case.slots, ()), strict=True):
        top = (0.0, high)[clamping.number == 1]
        step = -1.0 if clamping.number == 1 else 1.0
        ways = [(size, [(x, y, top - 5.0 * step), (x, y, top + step * deep)]) for x, y, size, deep in holes]
        ways += [
            (size, [(a, b, top + step * deep), (c, d, top + step * deep)]) for a, b, c, d, size, deep in slots
        ]  # fmt: skip
        for at, (size, ends) in enumerate(ways):
            cutter = _cutter(size)
            cutters[cutter.id] = cutter
            own = Moves(points=clamping.frame.into(ends), feed_mm_per_s=np.array([0.0, 5.0]))
            moves[own.digest] = own
            passes.append(_pass(f"{clamping.id}/{at}", clamping.id, cutter.id, own))
    sisters = (*sisters, _sister(case, second)) if case.has_sister else sisters
    found = loading.decide(
        blank=_blank(case), clampings=clampings, plan=PassPlan(passes=tuple(passes), not_cut=(), moves=moves),
        cutters=tuple(cutters.values()), vises=(_vise("vise", OPENING_MM), _vise("first", 1.0)),
        machines=(_machine(case.has_probe),), sisters=sisters, marks=marks,
        tolerance_mm=TOLERANCE_MM, raw_varies_mm=RAW_MM, run=Run(),
    )  # fmt: skip
    proof = next(p for p in found.proofs if p.id == f"loading:c{number}:wrong loads")
    return found.value[number - 1], proof


@dataclass(frozen=True)
class Brute:
    """A pose that seats, by brute force. apart_mm: how far it is cut wrongly.  told_mm: by how much the best of the
    touches given reads off, and seen: whether nothing need be told.
    """

    what: str
    turn: Floats
    shift_mm: Floats
    apart_mm: float
    told_mm: float
    body: Any


def truth(case: Case, touches: tuple[Touch, ...]) -> list[Brute]:
    """Every pose along the axes of everything that may be put into the second clamping, in its frame."""
    right, done, raw, swept = _bodies(case)
    wanted = [readings_mm(right, touch) for touch in touches]
    bodies = [("the work", right), ("the raw blank", raw), ("a finished piece", done)]
    bodies += [(LEFT[what], body.mirror((1.0, 0.0, 0.0))) for what, body in (bodies[0], bodies[2])]
    bodies += [(SISTER, _bodies(_sister_case(case))[1])] if case.has_sister else []
    found: list[Brute] = []
    for what, body in bodies:
        for turn in _rotations():
            moved = body.transform(np.column_stack([turn, np.zeros(3)]))
            box = moved.bounding_box()
            if box[4] - box[1] > OPENING_MM:
                continue
            shift = np.array([-box[0], -box[4], -box[2]])
            posed = moved.translate(tuple(shift))
            if what == "the work" and np.allclose(turn, np.eye(3)):
                continue
            apart = _apart_mm(right, posed, swept)
            told = max(
                (off_mm(touch, a, readings_mm(posed, touch)) for touch, a in zip(touches, wanted, strict=True)),
                default=0.0,
            )
            found.append(Brute(what=what, turn=turn, shift_mm=shift, apart_mm=apart, told_mm=told, body=posed))
    return found


def judged(case: Case, decision: tuple[Loading, Proof] | None = None) -> tuple[list[str], list[str], int, int]:
    """Escapes that the proof missed, false alarms, poses judged, and poses left out as too near to a limit.

    decision: where it was decided already.
    """
    found, proof = decided(case) if decision is None else decision
    poses = truth(case, found.touches)
    right = _bodies(case)[0]
    escaping = [w for w in found.wrong if w.caught_by == "none"]
    missed, alarms, left_out = [], [], 0
    for pose in poses:
        name = f"{pose.what} {pose.turn.astype(int).tolist()}, off {case.offset_mm}"
        told = next((load for load in escaping if _is_at(load, pose)), None)
        if pose.apart_mm <= HARMLESS_MM:
            if told is not None:
                alarms.append(f"{name}: it is cut right")
            continue
        if told is None:
            if pose.told_mm <= SURE_MM and seen_mm(right, pose.body, case) < SEEN_MM:
                missed.append(name)
            continue
        # it is said to escape: so nothing may tell it
        seen = seen_mm(right, pose.body, case)
        # a touch from the side reads the offset only of what goes through: the rest faces the seat, below the jaw tops
        aside = case.offset_mm if all(slot[5] > case.size_mm[2] for slot in case.slots) else 0.0
        apart = max(best_touch_mm(case, pose.body), aside) if case.has_probe else 0.0
        sure = SURE_MM if pose.what in ("the work", LEFT["the work"]) else RAW_SURE_MM
        if seen > SEEN_MM + SEEN_BAND_MM or apart > sure + BAND_MM:
            alarms.append(f"{name}: seen {seen:.2f} mm, touched {apart:.2f} mm")
        elif seen > SEEN_MM or apart > SURE_MM:
            left_out += 1
    if (proof.verdict == "holds") != all(one.is_mirrored for one in escaping):
        missed.append(f"the verdict {proof.verdict} is not what the loads say")
    return missed, alarms, len(poses), left_out


def _is_at(load: WrongLoad, pose: Brute) -> bool:
    return (
        f"{load.what} {load.part}".strip() == pose.what
        and np.allclose(load.pose.turn, pose.turn, atol=1e-3)
        and np.allclose(load.pose.shift_mm, pose.shift_mm, atol=0.1)
    )


def seen_mm(right: Any, posed: Any, case: Case) -> float:
    """Width of the widest disc of the operator's view in which two bodies lie a millimetre apart or more, by rays."""
    from scipy.ndimage import distance_transform_edt

    look = math.radians(40.0)
    rows = np.array(
        [[1.0, 0.0, 0.0], [0.0, math.sin(look), math.cos(look)], [0.0, -math.cos(look), math.sin(look)]]
    )  # fmt: skip
    _, wide, high = case.size_mm
    x = np.arange(-6.0, max(case.size_mm) + 6.0, PAGE_MM)
    y = np.arange(-wide - 10.0, high + 30.0, PAGE_MM)
    sights = []
    for body in (right, posed):
        near = _nearest(_corners(body), rows, x, y, np.zeros((1, 2)))[0]
        tops = y[None, :] * rows[1, 2] + near * rows[2, 2]
        sights.append(np.where(tops >= JAW_TOP_MM, near, -1e4))
    apart = np.abs(sights[0] - sights[1]) >= 1.0
    return 2.0 * PAGE_MM * float(np.asarray(distance_transform_edt(np.pad(apart, 1))).max())


def best_touch_mm(case: Case, posed: Any) -> float:
    """How far the readings of any touch from above lie off, tried a millimetre apart, each within its slop."""
    right = _bodies(case)[0]
    long, wide, _ = case.size_mm
    x, y = np.arange(1.5, long, 1.0), np.arange(1.5 - wide, 0.0, 1.0)
    ends = []
    for body in (right, posed):
        around = _readings_above(body, x, y)
        ends.append((around.min(axis=0), around.max(axis=0)))
    (low, up), (other_low, other_up) = ends
    return float(np.maximum(other_low - up, low - other_up).max())


def _bodies(case: Case) -> tuple[Any, Any, Any, Any]:
    """The work before the second clamping, finished, the raw blank, and what that clamping sweeps, in its frame."""
    long, wide, high = case.size_mm
    raw = manifold3d.Manifold.cube((long, wide, high)).translate((0.0, -wide, 0.0))

    def drilled(holes: Any) -> Any:
        rods = [
            manifold3d.Manifold.cylinder(3.0 * high, size / 2.0, size / 2.0, SEGMENTS).translate((x, -y, -high))
            for x, y, size, _ in holes
        ]
        return manifold3d.Manifold.batch_boolean(rods, manifold3d.OpType.Add)

    swept = drilled(case.now)
    right = raw - drilled(case.before) if case.before else raw
    for a, b, c, d, size, deep in case.slots:
        rod = manifold3d.Manifold.cylinder(2.0 * deep, size / 2.0, size / 2.0, SEGMENTS)
        ends = [rod.translate((x, -y, -deep)) for x, y in ((a, b), (c, d))]
        right -= manifold3d.Manifold.batch_hull(ends)
    return right, right - swept, raw, swept


def _sister_case(case: Case) -> Case:
    """The same block with the first of its holes or slots 2 mm farther along."""
    holes = tuple((x + 2.0 * (k == 0), y, size, deep) for k, (x, y, size, deep) in enumerate(case.before))
    slots = tuple(
        (a + 2.0 * (k == 0), b, c + 2.0 * (k == 0), d, size, deep)
        for k, (a, b, c, d, size, deep) in enumerate(case.slots)
    )
    return replace(case, before=holes, slots=slots)


def _sister(case: Case, frame: Frame) -> Sister:
    mesh = _bodies(_sister_case(case))[1].to_mesh64()
    vertices = frame.out_of(np.asarray(mesh.vert_properties)[:, :3])
    return Sister(number="EX-9", vertices_mm=vertices, triangles=np.asarray(mesh.tri_verts).astype(np.int32))


def _rotations() -> list[Floats]:
    found = []
    for order in itertools.permutations(range(3)):
        for signs in itertools.product((1.0, -1.0), repeat=3):
            turn = np.zeros((3, 3))
            for row, (axis, sign) in enumerate(zip(order, signs, strict=True)):
                turn[row, axis] = sign
            if np.linalg.det(turn) > 0.0:
                found.append(turn)
    return found


def _apart_mm(right: Any, posed: Any, swept: Any) -> float:
    """The farthest that a point of the rest of one body lies from the rest of the other, and what is met unreckoned."""
    met, extra = (posed - right).split(swept)
    thick = 0.0
    for part, limit in (((right - posed) - swept, 0.0), (extra, 0.0), (met, 0.6)):
        if part.volume() < 1e-3:
            continue
        # a body of volume V and area A is at least as thick somewhere as V / (A / 2)
        size = 2.0 * part.volume() / part.surface_area()
        thick = max(thick, size if size > limit else 0.0)
    return thick


def readings_mm(body: Any, touch: Touch) -> Floats:
    """(slops,) where the ball stands along the move when it first touches, by rays of its cells against triangles.

    One for each place aside of the touch, across its move.
    """
    corners = _corners(body)
    way, start = np.array(touch.direction), np.array(touch.from_mm)
    one = np.roll(np.abs(way), 1)
    two = np.cross(way, one)
    radius = PROBE.ball_mm / 2.0
    steps = np.linspace(-radius, radius, 21)
    a, b = (v.reshape(-1) for v in np.meshgrid(steps, steps))
    inside = a**2 + b**2 <= radius**2 + 1e-12
    a, b = a[inside], b[inside]
    rise = np.sqrt(np.maximum(radius**2 - a**2 - b**2, 0.0))
    if way[2] != 0.0:
        start = start + np.array([0.0, 0.0, 100.0])
    starts = start + a[:, None] * one + b[:, None] * two + rise[:, None] * way
    aside = np.array([u * one + v * two for u, v in SLOPS_MM])
    hits = _first_hits(corners, (starts[None] + aside[:, None]).reshape(-1, 3), way)
    far = hits.reshape(len(SLOPS_MM), -1).min(axis=1)
    return start[2] - far - radius if way[2] != 0.0 else far


def off_mm(touch: Touch, right: Floats, other: Floats) -> float:
    """By how much two spans of readings lie apart; what a touch finds below its floor or beyond its end is cut off."""
    if touch.direction[2] != 0.0:
        right, other = (np.maximum(v, JAW_TOP_MM + 1.0) for v in (right, other))
    else:
        right, other = (np.minimum(v, float(right.min()) + 3.0) for v in (right, other))
    return max(float(other.min() - right.max()), float(right.min() - other.max()), 0.0)


def _readings_above(body: Any, x: Floats, y: Floats) -> Floats:
    """(slops, nx, ny) height of the ball's underside where it touches from above, at each place and aside of it."""
    radius = PROBE.ball_mm / 2.0
    asides = [
        (radius * share * math.cos(turn), radius * share * math.sin(turn), radius * math.sqrt(1.0 - share**2))
        for turn in np.arange(0.0, 2.0 * math.pi, math.pi / 3.0)
        for share in (0.0, 0.6, 0.98)
    ]
    shifts = np.array([(a + slop[0], b + slop[1]) for slop in SLOPS_MM for a, b, _ in asides])
    rises = np.array([rise - radius for _, _, rise in asides])[None, :, None, None]
    tops = _nearest(_corners(body), np.eye(3), x, y, shifts).reshape(len(SLOPS_MM), len(asides), len(x), len(y))
    return np.maximum((tops + rises).max(axis=1), JAW_TOP_MM + 1.0)


def _first_hits(corners: Floats, starts: Floats, way: Floats) -> Floats:
    """(n,) how far along a direction each ray first meets a triangle, inf where it meets none."""
    beside = np.ones(len(corners), dtype=bool)
    for line in _frame_across(way):
        places, rays = corners @ line, starts @ line
        beside &= (places.min(axis=1) <= rays.max() + 1e-6) & (places.max(axis=1) >= rays.min() - 1e-6)
    corners = corners[beside]
    if not len(corners):
        return np.full(len(starts), np.inf)
    a, ab, ac = corners[:, 0], corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    across = np.cross(way, ac)
    det = (ab * across).sum(axis=1)
    good = np.abs(det) > 1e-12
    a, ab, ac, across, det = a[good], ab[good], ac[good], across[good], det[good]
    found = np.full(len(starts), np.inf)
    for first in range(0, len(starts), 512):
        own = starts[first : first + 512, None] - a[None]
        u = (own * across).sum(axis=2) / det
        q = np.cross(own, ab[None])
        v = (q @ way) / det
        t = (q * ac).sum(axis=2) / det
        met = (u >= -1e-9) & (v >= -1e-9) & (u + v <= 1.0 + 1e-9) & (t >= 0.0)
        found[first : first + 512] = np.where(met, t, np.inf).min(axis=1)
    return found


def _frame_across(way: Floats) -> tuple[Floats, Floats]:
    helper = np.eye(3)[int(np.argmin(np.abs(way)))]
    one = np.asarray(np.cross(way, helper), dtype=np.float64)
    one = one / float(np.linalg.norm(one))
    return one, np.asarray(np.cross(way, one), dtype=np.float64)


def _nearest(corners: Floats, rows: Floats, x: Floats, y: Floats, shifts: Floats) -> Floats:
    """(shifts, nx, ny) the largest of a body's places towards the eye at each place of a page, -inf where it is not.

    rows: to the right, up the page, towards the eye.   x, y: evenly spaced.   shifts: (m, 2) of the whole page.
    """
    flat = corners @ rows.T
    found = np.full((len(shifts), len(x), len(y)), -np.inf)
    low_shift, high_shift = shifts.min(axis=0), shifts.max(axis=0)
    for a, b, c in flat:
        det = (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
        if det < 1e-12:
            continue
        low, high = np.minimum(np.minimum(a, b), c), np.maximum(np.maximum(a, b), c)
        i, k = np.searchsorted(x, [low[0] - high_shift[0] - 1e-9, high[0] - low_shift[0] + 1e-9])
        j, m = np.searchsorted(y, [low[1] - high_shift[1] - 1e-9, high[1] - low_shift[1] + 1e-9])
        if i >= k or j >= m:
            continue
        u = x[None, i:k, None] + shifts[:, 0, None, None] - a[0]
        v = y[None, None, j:m] + shifts[:, 1, None, None] - a[1]
        second = (u * (c[1] - a[1]) - v * (c[0] - a[0])) / det
        third = (v * (b[0] - a[0]) - u * (b[1] - a[1])) / det
        near = a[2] + second * (b[2] - a[2]) + third * (c[2] - a[2])
        inside = (second >= -1e-9) & (third >= -1e-9) & (second + third <= 1.0 + 1e-9)
        part = found[:, i:k, j:m]
        np.maximum(part, np.where(inside, near, -np.inf), out=part)
    return found


def _corners(body: Any) -> Floats:
    mesh = body.to_mesh64()
    return np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts)]


def _cutter(size: float) -> Cutter:
    return Cutter(
        id=f"mill {size}", name=f"mill {size}", kind="end mill", diameter_mm=size, corner_radius_mm=0.0, flutes_count=3,
        flute_length_mm=60.0, stick_out_mm=70.0, shank_diameter_mm=size, holder_diameter_mm=28.0, holder_length_mm=50.0,
        tip_angle_rad=math.pi, tip_diameter_mm=0.0, pitch_mm=0.0, speed_max_rad_per_s=None, cutting_speed_mm_per_s=4e3,
        tooth_feed_mm=0.05, life_s=None, price=30.0,
    )  # fmt: skip


def _pass(id: str, clamping_id: str, cutter_id: str, moves: Moves) -> Pass:
    return Pass(
        id=id, kind="bore", clamping_id=clamping_id, tilt_id="a0-c0", cutter_id=cutter_id, feature="", face_ids=(),
        speed_rad_per_s=500.0, tooth_feed_mm=0.05, radial_mm=1.0, axial_mm=1.0, moves_digest=moves.digest,
        moves_count=2, cut_length_mm=10.0,
    )  # fmt: skip


def _clamping(id: str, number: int, frame: Frame, case: Case) -> Clamping:
    whole = Fact(low=1.0, nominal=1.0, high=1.0, unit="mm", source="invented", strength="assumed")
    return Clamping(
        id=id, number=number, machine_id="mill", vise_id="vise" if number == 2 else "first", jaws_id="smooth",
        surface="finished", frame=frame,
        tilts=(Tilt(id="a0-c0", frame=frame, a_rad=0.0, c_rad=0.0),), jaw_top_mm=JAW_TOP_MM, patch_length_mm=whole,
        patch_height_mm=whole, gap_mm=case.size_mm[1], grip_faces=(), seat_text="", zero_text="", makes_faces=(),
        makes_holes=(), removes_grip=False, jaw_middle_mm=JAWS_MM / 2.0 + 1.0,
    )  # fmt: skip


def _blank(case: Case) -> Blank:
    return Blank(
        bar_id="", length_axis=0, low_mm=(0.0, 0.0, 0.0), high_mm=case.size_mm, cut_length_mm=case.size_mm[0],
        grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
        mass_kg=1.0,
    )  # fmt: skip


def _vise(id: str, opening_mm: float) -> Vise:
    """The first clamping's opens too little for anything: nothing is asked about it."""
    return Vise(
        id=id, machines=("mill",), opening_max_mm=opening_mm, jaw_length_mm=JAWS_MM, jaw_height_mm=40.0,
        preload_n=None, rating_n=None, torque_n_mm=None,
    )  # fmt: skip


def _machine(has_probe: bool) -> Machine:  # noqa: FBT001 - one flag, named by the function
    made = Machine(
        id="mill", name="mill", kind="3-axis", travel_mm=(600.0, 450.0, 400.0), speed_max_rad_per_s=1000.0,
        power_mw=7.5e6, rapid_mm_per_s=300.0, feed_max_mm_per_s=200.0, accel_mm_per_s2=3000.0, cutter_change_s=6.0,
        pockets_count=20, vises_count=1, has_probe=has_probe, rate_per_h=90.0, setup_s=2400.0, resolution_mm=0.001,
    )  # fmt: skip
    return msgspec.structs.replace(made, probe=PROBE) if has_probe else made
