"""Blocks with planted near-symmetries, and what is true of their wrong loads by other means than Proveout's own.

A block is turned over for its second clamping. Holes, pockets and steps that were cut in the first lie nearly alike
about its middle, but for one that is off by a little. What may be put in is the work, the raw blank, a finished piece,
a left-hand piece of either, and another part of the order, raw, half-made and finished. Truth comes from exact bodies:
every pose of the block's box is tried, its difference from the right body is a boolean of meshes, its thickness twice
its volume over its surface, and a reading of the probe is a ball let down on the triangles.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import Any

import manifold3d
import msgspec
import numpy as np
from loading_shop import JAW_TOP_MM, OPENING_MM, PROBE, blank_of, clamping_of, cutter_of, machine_of, pass_of, vise_of
from loading_sides import best_beside_mm
from numpy.typing import NDArray

from proveout.geometry.frames import Frame
from proveout.model.loading import Loading, Sister, SisterWork, Touch, WrongLoad
from proveout.model.moves import Moves
from proveout.model.proof import Proof
from proveout.model.run import Run
from proveout.model.shop import Cutter
from proveout.model.work import Clamping, PassPlan
from proveout.stages import loading

Floats = NDArray[np.float64]
OFFSETS_MM = (0.05, 0.1, 0.15, 0.3, 0.5, 0.7, 1.0, 2.0, 3.5, 5.0)
TOLERANCE_MM, RAW_MM = 0.03, 0.2
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
SEGMENTS = 48
LEFT = {"the work": "a left-hand piece", "a finished piece": "a finished left-hand piece"}
SISTER = ("the work after operation 1 of EX-9", "a finished piece of EX-9", "the raw blank of EX-9")


@dataclass(frozen=True)
class Case:
    """A block: its size, holes cut before (x, y, diameter, depth from the side then up), and those cut now.

    offset_mm: by how much one of the holes, pockets or steps lies off its twin.   has_probe: of the machine.   slots:
    cut before by straight moves (x and y of both ends, diameter, depth); one that runs off the block is a step.
    has_sister: whether another part of the order lies about: the same block with its first hole or slot farther along
    by sister_mm and its right end by longer_mm, half-made after its first clamping and finished, and its longer blank.
    """

    size_mm: tuple[float, float, float]
    before: tuple[tuple[float, float, float, float], ...]
    now: tuple[tuple[float, float, float, float], ...]
    offset_mm: float
    has_probe: bool
    slots: tuple[tuple[float, float, float, float, float, float], ...] = ()
    has_sister: bool = False
    sister_mm: float = 2.0
    longer_mm: float = 0.0


def case_of(seed: int) -> Case:
    """The random block of a seed; its offset goes through OFFSETS_MM, and every third machine has no probe.

    On every other block a sister lies about that is off by another of the offsets.
    """
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
    return Case(
        size_mm=(long, wide, high), before=tuple(holes), now=now, offset_mm=offset, has_probe=seed % 3 != 2,
        has_sister=seed % 2 == 0, sister_mm=OFFSETS_MM[(seed + 4) % len(OFFSETS_MM)],
        longer_mm=0.6 if seed % 4 == 2 else 0.0,
    )  # fmt: skip


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
        sister_mm=2.0, longer_mm=0.0,
        now=((long / 2.0, wide / 2.0, 5.0, plain.size_mm[2] + 1.0),),
    )  # fmt: skip


def decided(
    case: Case, *, sisters: tuple[Sister, ...] = (), marks: tuple[tuple[int, str], ...] = (), number: int = 2,
    needs_form: bool = False, untried: tuple[str, ...] = (),
) -> tuple[Loading, Proof]:  # fmt: skip
    """What the stage finds of the second clamping, or another, with its proof on everything but left-hand pieces.

    number: of the clamping.   needs_form: its jaws would have to be cut to the work, and nobody planned that.
    """
    clampings, plan, cutters = made_of_case(case)
    clampings = tuple(msgspec.structs.replace(c, needs_form=needs_form and c.number == number) for c in clampings)
    works: tuple[SisterWork, ...] = ()
    if case.has_sister:
        own = _sister_case(case)
        its, its_plan, its_cutters = made_of_case(own)
        works = (
            SisterWork(number="EX-9", blank=blank_of(own.size_mm), clampings=its, plan=its_plan, cutters=its_cutters),
        )
        sisters = (*sisters, sister_of(case))
    found = loading.decide(
        blank=blank_of(case.size_mm), clampings=clampings, plan=plan, cutters=cutters,
        vises=(vise_of("vise", OPENING_MM), vise_of("first", 1.0)), machines=(machine_of(case.has_probe),),
        sisters=sisters, works=works, untried=untried, marks=marks, is_of_order=True,
        tolerance_mm=TOLERANCE_MM, raw_varies_mm=RAW_MM, run=Run(),
    )  # fmt: skip
    proof = next(p for p in found.proofs if p.id == f"loading:c{number}:wrong loads")
    return found.value[number - 1], proof


def _frames(case: Case) -> tuple[Frame, Frame]:
    _, wide, high = case.size_mm
    return (
        Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, wide, 0.0)),
        Frame(x=(1.0, 0.0, 0.0), y=(0.0, -1.0, 0.0), z=(0.0, 0.0, -1.0), origin_mm=(0.0, 0.0, high)),
    )


def made_of_case(case: Case) -> tuple[tuple[Clamping, ...], PassPlan, tuple[Cutter, ...]]:
    """How a block is cut in its two clampings."""
    _, wide, high = case.size_mm
    first, second = _frames(case)
    clampings = (clamping_of("c1", 1, first, wide), clamping_of("c2", 2, second, wide))
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
            cutter = cutter_of(size)
            cutters[cutter.id] = cutter
            own = Moves(points=clamping.frame.into(ends), feed_mm_per_s=np.array([0.0, 5.0]))
            moves[own.digest] = own
            passes.append(pass_of(f"{clamping.id}/{at}", clamping.id, cutter.id, own))
    return clampings, PassPlan(passes=tuple(passes), not_cut=(), moves=moves), tuple(cutters.values())


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
    bodies += _sister_bodies(case) if case.has_sister else []
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
        apart = most_told_mm(case, right, pose) if case.has_probe else 0.0
        if seen > SEEN_MM + SEEN_BAND_MM or apart > SURE_MM + BAND_MM:
            alarms.append(f"{name}: seen {seen:.2f} mm, touched {apart:.2f} mm")
        elif seen > SEEN_MM or apart > SURE_MM:
            left_out += 1
    if (proof.verdict == "holds") != all(one.is_mirrored for one in escaping):
        missed.append(f"the verdict {proof.verdict} is not what the loads say")
    return missed, alarms, len(poses), left_out


def most_told_mm(case: Case, right: Any, pose: Brute) -> float:
    """How far the best touch of all reads off, less what raw faces may lie off more than those that were cut.

    right: the right body.
    """
    raw_more = RAW_SURE_MM - SURE_MM
    above = best_touch_mm(case, pose.body) - raw_more * (pose.what not in ("the work", LEFT["the work"]))
    beside = best_beside_mm(right, pose.body, slops_mm=SLOPS_MM, raw_more_mm=raw_more / 2.0)
    return max(above, beside, 0.0)


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
    """The sister as a case of its own."""
    far = case.sister_mm
    holes = tuple((x + far * (k == 0), y, size, deep) for k, (x, y, size, deep) in enumerate(case.before))
    slots = tuple(
        (a + far * (k == 0), b, c + far * (k == 0), d, size, deep)
        for k, (a, b, c, d, size, deep) in enumerate(case.slots)
    )
    long, wide, high = case.size_mm
    return replace(case, before=holes, slots=slots, size_mm=(long + case.longer_mm, wide, high))


def sister_of(case: Case) -> Sister:
    """The sister's finished shape."""
    own = _sister_case(case)
    mesh = _bodies(own)[1].to_mesh64()
    vertices = _frames(own)[1].out_of(np.asarray(mesh.vert_properties)[:, :3])
    return Sister(number="EX-9", vertices_mm=vertices, triangles=np.asarray(mesh.tri_verts).astype(np.int32))


def _sister_bodies(case: Case) -> list[tuple[str, Any]]:
    """What lies about of the sister, as it lies in its own first clamping."""
    own = _sister_case(case)
    first, second = _frames(own)
    turn = first.turn @ second.turn.T
    shift = first.into(second.out_of(np.zeros((1, 3))))[0]
    half, done, raw, _ = _bodies(own)
    bodies = [half, done, *([raw] if case.longer_mm else [])]
    return [
        (what, body.transform(np.column_stack([turn, shift])))
        for what, body in zip(SISTER, bodies, strict=False)
    ]  # fmt: skip


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
