"""Lay a chosen sequence on a chosen blank: frames, jaw heights, patches and what must be true of them."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.boxes import box_corners
from proveout.geometry.frames import Frame, frame_looking_down, triple
from proveout.geometry.turning import turn_of
from proveout.model.choice_of_clampings import Hold, Placed, Sequence
from proveout.model.fact import Fact
from proveout.model.proof import Basis, Decision, Proof, Sense, prove
from proveout.model.shop import Bar, Jaws, Machine, Rotary, Vise
from proveout.model.target import NOTHING_BOUGHT, AsBought, Target
from proveout.model.work import Blank, Clamping, PassPlan, Tilt, Vector
from proveout.quantities.units import deg_from_rad
from proveout.stages.clampings.located import located_proofs
from proveout.stages.clampings.rotary import position_for, positions_of
from proveout.stages.clampings.touching import lift_proof, raw_touch, show_proof

BURR_MM = 0.5
END_BURR_MM = 1.0
FINISHED_LOSS_MM = 0.5
STEP_OVER_MM = 1.0
"""Work that lies over a step by less than this does not stand on it. Common practice, no source."""
PRACTICE = "workshop-practice"
DOWN_ON_STEP = "blank down on the jaw step with a soft hammer, left end against the stop"
ZERO_AT_STEP = "X0 left end at the stop, Y0 fixed jaw face, Z0 jaw step"


def place(
    *,
    sequence: Sequence,
    blank: Blank,
    target: Target,
    machines: tuple[Machine, ...],
    vises: tuple[Vise, ...],
    jaws: tuple[Jaws, ...],
    bars: tuple[Bar, ...],
    show_faces: tuple[str, ...] = (),
    is_blasted: bool = False,
    bought: AsBought = NOTHING_BOUGHT,
) -> Decision[Placed]:
    """Clampings with frames in the part frame, and the proofs that belong to machine, vise and jaws.

    Args:     show_faces: ids of faces that the customer sees.   is_blasted: the part is blasted once it is cut.
              bought: sides that nobody cuts.
    """
    by_machine = {m.id: m for m in machines}
    by_vise = {v.id: v for v in vises}
    by_jaws = {j.id: j for j in jaws}
    by_bar = {b.id: b for b in bars}
    clampings: list[Clamping] = []
    proofs: list[Proof] = []
    for number, hold in enumerate(sequence.holds, start=1):
        machine, vise, jaw = by_machine[hold.machine_id], by_vise[hold.vise_id], by_jaws[hold.jaws_id]
        name = f"c{number}-{_letter(hold.up)}"
        if hold.grip is None:
            bar = by_bar.get(blank.bar_id)
            corner_mm = bar.corner_radius_mm if bar else 0.0
            clamping = _raw(name, number, hold, blank, jaw, vise, corner_mm, machine.rotary)
        elif number == 1:
            bar = by_bar.get(blank.bar_id)
            clamping = _bought(name, hold, blank, vise, jaw, bar.corner_radius_mm if bar else 0.0, machine.rotary)
        else:
            off = number == 2 and sequence.holds[0].grip is None
            clamping = _finished(name, number, hold, target, jaw, vise, machine.rotary, removes_grip=off)
        clampings.append(clamping)
        proofs.extend(_proofs(clamping, hold, machine, vise, jaw, blank, target))
        shows = show_proof(clamping, jaws=jaw, show_faces=show_faces, is_blasted=is_blasted)
        proofs.extend(() if shows is None else (shows,))
    proofs.extend(located_proofs(clampings, bought))
    proofs.extend(lift_proof(by_vise[name]) for name in sorted({c.vise_id for c in clampings}))
    return Decision(value=Placed(clampings=tuple(clampings)), proofs=tuple(proofs))


def without_idle_tilts(clampings: tuple[Clamping, ...], plan: PassPlan) -> tuple[Clamping, ...]:
    """The clampings less the tilts that no pass stands at; one without any pass keeps its first."""
    kept: list[Clamping] = []
    for clamping in clampings:
        busy = {p.tilt_id for p in plan.passes if p.clamping_id == clamping.id}
        tilts = tuple(t for t in clamping.tilts if t.id in busy) or clamping.tilts[:1]
        kept.append(msgspec.structs.replace(clamping, tilts=tilts))
    return tuple(kept)


def _letter(up: Vector) -> str:
    axis = int(np.argmax(np.abs(up)))
    return "xyz"[axis] + ("+" if up[axis] > 0.0 else "-")


def _tilts(hold: Hold, frame: Frame, rotary: Rotary | None) -> tuple[Tilt, ...]:
    """One tilt per cutter axis at the rotary position the machine takes; its frame is the machine's as the work stands.

    So a move along the tilt's x is a move along machine X, and its y and z likewise.
    """
    tilts: list[Tilt] = []
    for direction in hold.directions:
        n = frame.turn @ np.array(direction)
        a, c = positions_of(triple(n))[0] if rotary is None else position_for(rotary, triple(n))
        if a == 0.0:
            tilts.append(Tilt(id="a0-c0", frame=frame, a_rad=0.0, c_rad=0.0))
            continue
        axes = turn_of(a_rad=a, c_rad=c) @ frame.turn
        turned = frame_looking_down(up=direction, along=axes[0], origin_mm=frame.origin_mm)
        name = f"a{_degrees(a):.3f}-c{_degrees(c):.3f}"
        tilts.append(Tilt(id=name, frame=turned, a_rad=a, c_rad=c))
    return tuple(tilts)


def _degrees(angle_rad: float) -> float:
    return round(deg_from_rad(angle_rad), 3) + 0.0


def _raw(
    name: str, number: int, hold: Hold, blank: Blank, jaws: Jaws, vise: Vise, corner_mm: float, rotary: Rotary | None
) -> Clamping:
    axis = int(np.argmax(np.abs(hold.up)))
    low, high = np.array(blank.low_mm), np.array(blank.high_mm)
    size = high - low
    flat = [i for i in range(3) if i != axis]
    along_axis = blank.length_axis if blank.length_axis in flat else max(flat, key=lambda i: (size[i], -i))
    across_axis = next(i for i in flat if i != along_axis)
    if size[across_axis] > vise.opening_max_mm >= size[along_axis]:
        along_axis, across_axis = across_axis, along_axis
    y = np.zeros(3)
    y[across_axis] = 1.0
    frame = _frame(hold.up, y, box_corners(low, high))
    return _clamping(
        name, number, hold, frame, rotary, surface="raw", jaw_top_mm=jaws.grip_mm,
        patch=_raw_patch(min(float(size[along_axis]), vise.jaw_length_mm), jaws.grip_mm, corner_mm),
        gap_mm=round(float(size[across_axis]), 6), grip_faces=(),
        seat_text=f"saw burr knocked off, jaws on {raw_touch(blank, frame)}, {DOWN_ON_STEP}", zero_text=ZERO_AT_STEP,
        removes_grip=False, jaw_middle_mm=round(float(size[along_axis]) / 2.0, 6), jaw_length_mm=vise.jaw_length_mm,
    )  # fmt: skip


def _bought(
    name: str, hold: Hold, blank: Blank, vise: Vise, jaws: Jaws, corner_mm: float, rotary: Rotary | None
) -> Clamping:
    """The blank held by sides of the part that stay as bought: raw metal, but metal of the part."""
    grip = hold.grip
    assert grip is not None
    points = box_corners(blank.low_mm, blank.high_mm)
    frame = _frame(hold.up, np.array(grip.across), points)
    along = float(np.ptp(frame.into(points)[:, 0]))
    channel = _channel(jaws, vise, grip.low_mm + grip.patch_height_mm) if grip.seat_faces else (0.0, 0.0)
    height = grip.patch_height_mm
    return _clamping(
        name, 1, hold, frame, rotary, surface="raw", jaw_top_mm=round(grip.low_mm + height, 6),
        patch=_raw_patch(min(grip.patch_length_mm, vise.jaw_length_mm), height, corner_mm),
        gap_mm=grip.gap_mm, grip_faces=grip.faces,
        seat_text=f"saw burr knocked off, jaws on {raw_touch(blank, frame)}, which stay as they are: wiped, free of "
        f"dents; {DOWN_ON_STEP}" + ("; nothing between the steps: holes run out there" if channel[1] else ""),
        zero_text=ZERO_AT_STEP, removes_grip=False, needs_form=not grip.seat_faces,
        jaw_middle_mm=round(along / 2.0, 6), step_mm=channel[0], below_mm=channel[1],
        jaw_length_mm=vise.jaw_length_mm if grip.seat_faces else 0.0,
    )  # fmt: skip


def _finished(
    name: str, number: int, hold: Hold, target: Target, jaws: Jaws, vise: Vise, rotary: Rotary | None, *,
    removes_grip: bool,
) -> Clamping:  # fmt: skip
    grip = hold.grip
    assert grip is not None
    frame = _frame(hold.up, np.array(grip.across), target.vertices_mm)
    length, height = grip.patch_length_mm, grip.patch_height_mm
    top = grip.low_mm + height
    seated = bool(grip.seat_faces) and not grip.is_round
    channel = _channel(jaws, vise, top) if seated else (0.0, 0.0)
    return _clamping(
        name, number, hold, frame, rotary, surface="finished", jaw_top_mm=round(top, 6),
        patch=(
            _span(length - 2.0 * FINISHED_LOSS_MM, length, length, is_practice=False),
            _span(height - FINISHED_LOSS_MM, height, height, is_practice=False),
        ),
        gap_mm=grip.gap_mm, grip_faces=grip.faces,
        seat_text=(
            "work wiped, down on the jaw seat, left end against the stop"
            if seated
            else (
                f"soft jaws bored to Ø{grip.gap_mm:.2f} mm, work wiped and pressed down on their step"
                if grip.is_round
                else "no flat face points down: soft jaws cut to the shape, with a stop at the left end"
            )
        ),
        zero_text="X0 left end at the stop, Y0 fixed jaw face, Z0 jaw seat",
        removes_grip=removes_grip, needs_form=not seated,
        jaw_middle_mm=round(_span_along(frame, target) / 2.0, 6),
        step_mm=channel[0], below_mm=channel[1], jaw_length_mm=vise.jaw_length_mm if seated else 0.0,
    )  # fmt: skip


def _clamping(
    name: str, number: int, hold: Hold, frame: Frame, rotary: Rotary | None, *, patch: tuple[Fact, Fact], **rest: Any
) -> Clamping:
    """What every clamping takes from its hold.   patch: length and height of where jaw and work meet."""
    return Clamping(
        id=name, number=number, machine_id=hold.machine_id, vise_id=hold.vise_id, jaws_id=hold.jaws_id, frame=frame,
        tilts=_tilts(hold, frame, rotary), patch_length_mm=patch[0], patch_height_mm=patch[1],
        makes_faces=hold.makes_faces, makes_holes=hold.makes_holes, **rest,
    )  # fmt: skip


def _raw_patch(length_mm: float, height_mm: float, corner_mm: float) -> tuple[Fact, Fact]:
    """Where jaws and raw metal meet: less burrs at the ends, the rounding of the bar and the saw's burr below."""
    flat = height_mm - corner_mm
    return (
        _span(length_mm - 2.0 * END_BURR_MM, length_mm, length_mm, is_practice=True),
        _span(flat - BURR_MM, max(0.0, flat), height_mm, is_practice=True),
    )


def _span(low: float, nominal: float, high: float, *, is_practice: bool) -> Fact:
    return Fact(
        low=max(0.0, low), nominal=nominal, high=high, unit="mm", source=PRACTICE if is_practice else "own-algorithm",
        strength="common practice" if is_practice else "assumed",
    )  # fmt: skip


def _channel(jaws: Jaws, vise: Vise, jaw_top_mm: float) -> tuple[float, float]:
    """How far the jaws' steps reach under the work, and how far down it is free between them; 0 where not measured.

    A step that is cut lower in a plate of its own leaves less below it than the vise's own jaws do.
    """
    if jaws.step_mm is None or vise.bed is None:
        return 0.0, 0.0
    below = vise.bed.below_mm
    if jaws.kind == "soft":
        below = 0.0 if jaws.blank_height_mm is None else min(below, jaws.blank_height_mm - jaw_top_mm)
    return (jaws.step_mm, round(below, 6)) if below > 0.0 else (0.0, 0.0)


def _rests(clamping: Clamping, seat_faces: tuple[str, ...], target: Target, jaws: Jaws) -> bool:
    """Whether flat faces of the work lie over the steps of both jaws, as far as somebody measured them."""
    if jaws.step_mm is None or clamping.needs_form or 2.0 * jaws.step_mm >= clamping.gap_mm:
        return True
    own = [k for k, face_id in enumerate(target.face_ids) if face_id in seat_faces]
    rows = np.isin(target.triangle_face, own)
    y = clamping.frame.into(target.vertices_mm[target.triangles[rows].reshape(-1)])[:, 1].reshape(-1, 3)
    over = [
        bool(((y.max(axis=1) > low + STEP_OVER_MM) & (y.min(axis=1) < high - STEP_OVER_MM)).any())
        for low, high in ((-jaws.step_mm, 0.0), (-clamping.gap_mm, jaws.step_mm - clamping.gap_mm))
    ]
    return all(over)


def _span_along(frame: Frame, target: Target) -> float:
    along = frame.into(target.vertices_mm)[:, 0]
    return float(along.max() - along.min())


def _frame(up: Vector, across: NDArray[np.float64], points: NDArray[np.float64]) -> Frame:
    """X along the jaws, y to the fixed jaw; origin at the left end, the fixed jaw face and the seat."""
    z, y = np.array(up), across
    x = np.cross(y, z)
    origin = x * (points @ x).min() + y * (points @ y).max() + z * (points @ z).min()
    return Frame(x=triple(x), y=triple(y), z=triple(z), origin_mm=triple(np.round(origin, 9)))


def _proofs(
    clamping: Clamping, hold: Hold, machine: Machine, vise: Vise, jaws: Jaws, blank: Blank, target: Target
) -> list[Proof]:
    proofs: list[Proof] = []
    where = f"clamping {clamping.number}"

    def add(
        slug: str, claim: str, sense: Sense, found: float | None, limit: float | None, unit: str, *, remedy: str,
        decides: str = "",
    ) -> None:  # fmt: skip
        proofs.append(
            prove(
                id=f"clampings:{clamping.id}:{slug}", stage="clampings", subject=where, claim=claim,
                sense=sense, found_low=found, found_high=found, limit=limit, unit=unit, blocks_release=True,
                basis=Basis(formula=claim, source="shop-file"), remedy=remedy, decides=decides,
            )
        )  # fmt: skip

    add("opening", "the vise opens wide enough", "at most", clamping.gap_mm, vise.opening_max_mm, "mm",
        remedy="use a wider vise")  # fmt: skip
    points = target.vertices_mm
    if clamping.surface == "raw":
        points = np.vstack([points, box_corners(blank.low_mm, blank.high_mm)])
    seen = clamping.frame.into(points)
    for axis, letter in enumerate("xyz"):
        span = float(seen[:, axis].max() - seen[:, axis].min())
        add(f"travel {letter}", f"the work lies within the machine's {letter} travel", "at most", round(span, 6),
            machine.travel_mm[axis], "mm", remedy="use a larger machine or another way up")  # fmt: skip
    surface = "finished" if clamping.grip_faces else "raw"  # sides that stay as bought are the part's own too
    suits = jaws.for_surface in (surface, "any")
    add("jaws suit", f"the jaws are meant for a {surface} surface", "at least", 1.0 if suits else 0.0, 1.0,
        "yes = 1", remedy="use toothed jaws on the raw bar, soft jaws on finished faces")  # fmt: skip
    if hold.grip is not None and hold.grip.is_round:
        add("turning", "jaws bored to a round keep the work from turning", "at least", None, 1.0,
            "times the largest turning moment", remedy="hold it by two flat faces, or pin it against turning",
            decides="a test of the turning moment that these jaws hold, or a pin that stops it")  # fmt: skip
    stands = not clamping.needs_form or jaws.kind == "soft"
    is_over = hold.grip is None or _rests(clamping, hold.grip.seat_faces, target, jaws)
    add("seat", "the work stands on a finished flat face over both jaws' steps, or in soft jaws cut to its shape",
        "at least", 1.0 if stands and is_over else 0.0, 1.0, "yes = 1",
        remedy="use soft jaws and cut them to the shape"
        if is_over else f"deeper steps than {jaws.step_mm:g} mm, or parallels under the work")  # fmt: skip
    return proofs
