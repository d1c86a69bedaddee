"""Holding: the closed-form grip bound for every pass of every clamping."""

from __future__ import annotations

import math

from proveout.grip.margins import GripMargins, grip_margins
from proveout.model.fact import Fact, exact_fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Basis, Decision, Proof, Tighten, prove
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Noun, Rotary, Vise
from proveout.model.work import Clamping, PassPlan

# the force across the cutter may point anywhere: it is tried on this many headings, each a little too large, so that
# the polygon of headings holds the whole circle; the bound is convex in the force, so its corners decide
HEADINGS = 12
RESERVE_LIMIT = 1.0
# tightening goes in fixed steps of a twentieth; the defaults are those of the passes
STEP = 0.05
STEP_LEAST, STEP_MOST = 0.3, 0.9
AXIAL_DEFAULT, AXIAL_FLOOR = 0.5, 0.02
WALL_DEFAULT, WALL_FLOOR = 4.0, 0.1
FEED_DEFAULT, FEED_FLOOR = 1.0, 0.3
ROUGHING = ("face", "rough", "rough corners")
RESERVE_MAX = 99.0


class Hold(Noun, frozen=True, kw_only=True):
    """The grip at one pass: how many times its force could grow (interval), the mode that gives way, its margin.

    Each is the worst over all headings of the force, not all at the same heading.
    """

    pass_id: str
    clamping_id: str
    reserve_low: float
    reserve_high: float
    mode: str
    margin: float


def decide(
    *,
    plan: PassPlan,
    loads: tuple[PassLoad, ...],
    clampings: tuple[Clamping, ...],
    vises: tuple[Vise, ...],
    jaws: tuple[Jaws, ...],
    machines: tuple[Machine, ...],
    cutters: tuple[Cutter, ...],
    yield_mpa: Fact,
    pressure_mpa: Fact,
    limits: Limits,
    run: Run,
) -> Decision[tuple[Hold, ...]]:
    """The grip's reserve at every pass, and per clamping the proofs of slip, gape, bearing, rating and brake.

    An unknown friction or preload is never guessed: its proofs are *not shown* and block release.
    """
    by_vise, by_jaws = {v.id: v for v in vises}, {j.id: j for j in jaws}
    by_machine = {m.id: m for m in machines}
    diameters = {c.id: c.diameter_mm for c in cutters}
    kinds = {p.id: (p.kind, p.cutter_id, diameters[p.cutter_id]) for p in plan.passes}
    holds: list[Hold] = []
    proofs: list[Proof] = []
    for clamping in clampings:
        vise, jaw = by_vise[clamping.vise_id], by_jaws[clamping.jaws_id]
        mine = [x for x in loads if x.clamping_id == clamping.id]
        found: list[tuple[PassLoad, Hold]] = []
        grip = Grip(clamping=clamping, vise=vise, yield_mpa=yield_mpa)
        if vise.preload_n is not None and jaw.friction_ratio is not None and _has_patch(clamping):
            for load in mine:
                run.check("holding", load.pass_id)
                found.append((load, _hold(load, grip, vise.preload_n, jaw.friction_ratio, pressure_mpa)))
        holds.extend(h for _, h in found)
        proofs.extend(_proofs(grip, mine, found, jaw, by_machine[clamping.machine_id], kinds, limits))
    return Decision(value=tuple(holds), proofs=tuple(proofs))


def _has_patch(clamping: Clamping) -> bool:
    return clamping.patch_length_mm.low > 0.0 and clamping.patch_height_mm.low > 0.0


class Grip(Noun, frozen=True, kw_only=True):
    """What the bound needs of one clamping."""

    clamping: Clamping
    vise: Vise
    yield_mpa: Fact

    @property
    def off_middle_mm(self) -> float:
        """How far the middle of the patch can lie from the middle of the jaws: it may be anywhere where both meet."""
        span = self.vise.jaw_length_mm
        if self.clamping.jaw_middle_mm > 0.0:
            span = min(span, 2.0 * self.clamping.jaw_middle_mm)
        return max(0.0, (span - self.clamping.patch_length_mm.low) / 2.0)

    @property
    def below_top_mm(self) -> float:
        """How far the patch's upper edge can lie below the jaw tops: all that the patch may lose is lost there."""
        return self.clamping.patch_height_mm.high - self.clamping.patch_height_mm.low


def _headings(load: PassLoad) -> list[tuple[float, float]]:
    """Forces (along, across) to try, N: a quarter of a polygon that holds the whole circle."""
    swell = 1.0 / math.cos(math.pi / (4.0 * HEADINGS))
    size = swell * (math.hypot(load.plane_n, load.axial_n) if load.is_tilted else load.plane_n)
    turns = [k * math.pi / (2.0 * HEADINGS) for k in range(HEADINGS + 1)]
    return [(size * math.cos(t), size * math.sin(t)) for t in turns]


def _margins(
    load: PassLoad, grip: Grip, *, preload: Fact | float, friction: Fact | float, length: Fact | float,
    height: Fact | float, yield_mpa: Fact | float, share: float,
) -> list[GripMargins]:  # fmt: skip
    """The bound at every heading. share: of the load, below 1 only for the best end."""
    clamping = grip.clamping
    across_mm = load.across_mm
    along_mm = load.along_mm + grip.off_middle_mm
    twist = 0.0
    up = load.axial_n
    if load.is_tilted:
        # the cutter's torque may point anywhere: as a lever of the whole force it is in all three moments
        up = math.hypot(load.plane_n, load.axial_n)
        lever = load.torque_n_mm / up if load.plane_n == 0.0 and up > 0.0 else 0.0
        along_mm, across_mm = along_mm + lever, across_mm + lever
    elif load.plane_n == 0.0:
        # a drill or tap turns the work: a force along one jaw at half the gap makes that moment, pressure's share too
        twist = load.torque_n_mm / (clamping.gap_mm / 2.0)
        across_mm = max(across_mm, clamping.gap_mm / 2.0)
    return [
        grip_margins(
            preload_n=preload, friction_ratio=friction, patch_length_mm=length, patch_height_mm=height,
            jaw_gap_mm=clamping.gap_mm, force_along_n=(along + twist) * share, force_across_n=across * share,
            force_up_n=up * share, cut_height_mm=max(0.0, load.height_mm - clamping.jaw_top_mm) + grip.below_top_mm,
            offset_along_mm=along_mm, offset_across_mm=across_mm, yield_mpa=yield_mpa,
        )
        for along, across in _headings(load)
    ]  # fmt: skip


def _hold(load: PassLoad, grip: Grip, preload: Fact, friction: Fact, pressure_mpa: Fact) -> Hold:
    clamping = grip.clamping
    worst = _margins(
        load, grip, preload=preload, friction=friction, length=clamping.patch_length_mm,
        height=clamping.patch_height_mm, yield_mpa=grip.yield_mpa, share=1.0,
    )  # fmt: skip
    best = _margins(
        load, grip, preload=preload.high, friction=friction.high, length=clamping.patch_length_mm.high,
        height=clamping.patch_height_mm.high, yield_mpa=grip.yield_mpa.high, share=pressure_mpa.low / pressure_mpa.high,
    )  # fmt: skip
    low = max(0.0, min(RESERVE_MAX, *(m.reserve_ratio for m in worst)))
    high = max(low, min(RESERVE_MAX, *(m.reserve_ratio for m in best)))
    weakest = min(worst, key=lambda m: m.margin)
    return Hold(
        pass_id=load.pass_id, clamping_id=load.clamping_id, reserve_low=_down(low), reserve_high=round(high, 4),
        mode=weakest.worst, margin=_down(weakest.margin),
    )  # fmt: skip


def _down(value: float) -> float:
    """Rounded against us."""
    return math.floor(value * 1e4) / 1e4


def _proofs(
    grip: Grip,
    mine: list[PassLoad],
    found: list[tuple[PassLoad, Hold]],
    jaw: Jaws,
    machine: Machine,
    kinds: dict[str, tuple[str, str, float]],
    limits: Limits,
) -> list[Proof]:
    clamping, vise, yield_mpa = grip.clamping, grip.vise, grip.yield_mpa
    where = f"clamping {clamping.number}"
    inputs: dict[str, Fact] = {"patch length": clamping.patch_length_mm, "patch height": clamping.patch_height_mm}
    if vise.preload_n is not None:
        inputs["preload"] = vise.preload_n
    if jaw.friction_ratio is not None:
        inputs["friction"] = jaw.friction_ratio
    inputs["yield"] = yield_mpa
    proofs: list[Proof] = []
    missing = "; ".join(
        text
        for text, absent in (
            ("ten pull tests of these jaws on this surface, for friction", jaw.friction_ratio is None),
            ("the jaw force at the torque used, by load cell or the vise maker's chart", vise.preload_n is None),
            ("where jaw and work meet: corner radius and burr eat up the grip", not _has_patch(clamping)),
        )
        if absent
    )  # fmt: skip
    ranked = sorted(found, key=lambda p: (p[1].reserve_low, p[1].pass_id))
    worst = ranked[0] if ranked else None
    steps = [_tighten(load, hold.reserve_low, *kinds[load.pass_id], limits) for load, hold in ranked]
    first = steps[0] if steps else None
    proofs.append(_grip_proof(f"holding:{clamping.id}:grip", where, worst, inputs, missing, first))
    # every other cutter whose grip is too weak asks for its own step, so that one round settles them all
    named = {(first.subject, first.quantity)} if first else set()
    for pair, step in zip(ranked, steps, strict=True):
        if step is not None and (step.subject, step.quantity) not in named:
            named.add((step.subject, step.quantity))
            name = f"holding:{clamping.id}:grip {step.subject.partition('/')[2]} {step.quantity}"
            proofs.append(_grip_proof(name, where, pair, inputs, missing, step))
    proofs.append(_bearing(grip, mine, where, missing))
    known = vise.preload_n is not None and vise.rating_n is not None
    proofs.append(
        prove(
            id=f"holding:{clamping.id}:vise rating", stage="holding", subject=where,
            claim="the jaw force stays within the vise's rating", sense="at most",
            found_low=vise.preload_n.low if vise.preload_n else None,
            found_high=vise.preload_n.high if vise.preload_n else None, limit=vise.rating_n, unit="N",
            blocks_release=True, basis=Basis(formula="preload <= rating", source="shop file"),
            decides="" if known else "the rated jaw force of this vise, and the jaw force at the torque used",
            remedy="a lower torque",
        )
    )  # fmt: skip
    if machine.rotary is not None:
        proofs.append(_brake(grip, mine, machine, where, kinds, limits))
    return proofs


def _grip_proof(
    name: str, where: str, worst: tuple[PassLoad, Hold] | None, common: dict[str, Fact], missing: str,
    tighten: Tighten | None,
) -> Proof:  # fmt: skip
    inputs = dict(common)
    if worst is not None:
        load = worst[0]
        inputs["force across the cutter"] = exact_fact(load.plane_n, "N", "loads", "measured here")
        inputs["force along the cutter"] = exact_fact(load.axial_n, "N", "loads", "measured here")
        inputs["height of the cut"] = exact_fact(load.height_mm, "mm", "replay", "measured here")
    return prove(
        id=name, stage="holding", subject=worst[0].pass_id if worst else where,
        claim="the grip keeps the work at its hardest pass", sense="at least",
        found_low=worst[1].reserve_low if worst else None, found_high=worst[1].reserve_high if worst else None,
        limit=RESERVE_LIMIT, unit="times the cutting force", blocks_release=True,
        basis=Basis(
            formula="sqrt(D_x^2 + D_z^2) <= mu (2 (P - F_y) - E) at the worst corner of each patch, over all "
            "headings of the force", source="elastic_grip_bound", inputs=inputs,
        ),
        decides=missing or "pull tests of these jaws on this surface; the jaw force at the torque used",
        remedy=(
            f"take shallower levels in {worst[0].pass_id}, clamp harder within the rating, or grip deeper"
            if worst
            else "supply what is missing"
        ),
        tighten=tighten,
    )  # fmt: skip


def _tighten(
    load: PassLoad, reserve: float, kind: str, cutter_id: str, diameter_mm: float, limits: Limits
) -> Tighten | None:
    """The next step: shallower levels for roughing, a slower feed for finishing; None when there is no step left."""
    if load.plane_n <= 0.0 or reserve >= RESERVE_LIMIT:
        return None
    subject = f"{load.clamping_id}/{cutter_id}"
    share = max(STEP_LEAST, min(STEP_MOST, math.floor(reserve / STEP) * STEP))
    if kind in ROUGHING:
        quantity, now, floor = "axial_ratio", limits.of("axial_ratio", subject, AXIAL_DEFAULT), AXIAL_FLOOR
    elif kind == "finish wall":
        now = min(limits.of("wall_ratio", subject, WALL_DEFAULT), load.axial_mm / diameter_mm)
        quantity, floor = "wall_ratio", WALL_FLOOR
    else:
        quantity, now, floor = "feed_ratio", limits.of("feed_ratio", subject, FEED_DEFAULT), FEED_FLOOR
    bound = round(now * share, 4)
    if bound < floor:
        return None
    return Tighten(subject=subject, quantity=quantity, bound=bound, unit="of the usual")


def _bearing(grip: Grip, mine: list[PassLoad], where: str, missing: str) -> Proof:
    """Jaw force, the cut's own push and the tilt it makes, on the smallest patch; friction has no part in it."""
    clamping, vise = grip.clamping, grip.vise
    low = high = None
    if vise.preload_n is not None and _has_patch(clamping):
        area_low = clamping.patch_length_mm.low * clamping.patch_height_mm.low
        area_high = clamping.patch_length_mm.high * clamping.patch_height_mm.high
        low, high = vise.preload_n.low / area_high, vise.preload_n.high / area_low
        for load in mine:
            margins = _margins(
                load, grip, preload=vise.preload_n, friction=0.0, length=clamping.patch_length_mm,
                height=clamping.patch_height_mm, yield_mpa=grip.yield_mpa, share=1.0,
            )  # fmt: skip
            high = max(high, *(m.bearing.demand for m in margins))
    return prove(
        id=f"holding:{clamping.id}:bearing", stage="holding", subject=where,
        claim="the jaws do not crush the work", sense="at most", found_low=low, found_high=high,
        limit=grip.yield_mpa.low, unit="MPa", blocks_release=True,
        basis=Basis(
            formula="p = (P + F_y + E / 2) / (L H) at the worst corner of the patch", source="elastic_grip_bound",
            inputs={
                "patch length": clamping.patch_length_mm, "patch height": clamping.patch_height_mm,
                "yield": grip.yield_mpa,
            },
        ),
        decides=missing or "a smaller spread of jaw force and patch", remedy="a lower torque or a deeper grip",
    )  # fmt: skip


def _lever_mm(machine: Machine, rotary: Rotary) -> float:
    """How far from the A or the C axis a cut can lie at most: A runs along x, C along z (ISO 841).

    With the pivot known in machine coordinates (zero at one end of each travel) the far end of the travels counts,
    else the whole travel; along z always the whole, since the tool's length is in there.
    """
    far = [machine.travel_mm[0], machine.travel_mm[1]]
    if rotary.pivot_in_machine_mm is not None:
        for k in range(2):
            at, travel = abs(rotary.pivot_in_machine_mm[k]), machine.travel_mm[k]
            far[k] = max(at, travel - at) if at <= travel else at + travel
    return max(math.hypot(far[0], far[1]), math.hypot(far[1], machine.travel_mm[2]))


def _far_mm(load: PassLoad, grip: Grip) -> float | None:
    """How far the pass can cut from either rotary axis where the vise stands; None when nobody measured that.

    The C axis stands upright and meets the A axis in the pivot; a cut lies no farther from the middle of the fixed jaw
    than along the jaws and across the gap together.
    """
    aside, above = grip.vise.from_c_axis_mm, grip.vise.above_a_axis_mm
    if aside is None or above is None:
        return None
    along = load.along_mm + grip.off_middle_mm
    level = aside.high + math.hypot(along, load.across_mm + grip.clamping.gap_mm / 2.0)
    # the lowest cut lies at the seat or above it (the passes prove it), the highest at height_mm
    height = max(abs(above.low), abs(above.high), abs(above.high + load.height_mm))
    return math.hypot(level, height)


def _brake(
    grip: Grip, mine: list[PassLoad], machine: Machine, where: str, kinds: dict[str, tuple[str, str, float]],
    limits: Limits,
) -> Proof:  # fmt: skip
    """Every cut of the clamping stands on the rotary axes, tilted or not."""
    rotary, clamping = machine.rotary, grip.clamping
    assert rotary is not None
    most = _lever_mm(machine, rotary)

    def lever_mm(load: PassLoad) -> float:
        far = _far_mm(load, grip)
        return most if far is None else min(most, far)

    def asked_n_mm(load: PassLoad) -> float:
        return math.hypot(load.plane_n, load.axial_n) * lever_mm(load) + load.torque_n_mm

    worst = max(mine, key=lambda x: (asked_n_mm(x), x.pass_id), default=None)
    torque = None if worst is None else asked_n_mm(worst) / 1000.0
    brake = rotary.brake_torque_n_mm
    tighten = None
    if worst is not None and torque is not None and brake is not None and torque > 0.0:
        tighten = _tighten(worst, brake.low / 1000.0 / torque, *kinds[worst.pass_id], limits)
    is_placed = grip.vise.from_c_axis_mm is not None and grip.vise.above_a_axis_mm is not None
    reason = "no cut lies farther from either rotary axis where the vise stands" if is_placed else (
        "no cut within the travels lies farther from either rotary axis"
    )  # fmt: skip
    inputs = {
        name: fact
        for name, fact in (
            ("fixed jaw from the C axis", grip.vise.from_c_axis_mm),
            ("seat above the A axis", grip.vise.above_a_axis_mm),
        )
        if fact is not None
    }  # fmt: skip
    return prove(
        id=f"holding:{clamping.id}:rotary brake", stage="holding", subject=worst.pass_id if worst else where,
        claim="the rotary brake holds every cut", sense="at most",
        found_low=0.0 if torque is not None else None,
        found_high=None if torque is None else round(torque, 3), limit=None if brake is None else brake.low / 1000.0,
        unit="N m", blocks_release=True,
        basis=Basis(
            formula=f"M = F x {lever_mm(worst) if worst else most:.0f} mm + the cutter's torque: {reason}",
            source="own-algorithm", inputs=inputs,
        ),
        decides="where the vise stands from the rotation axes, and the brake's holding torque",
        remedy="move the vise nearer to the rotation centre and measure where it stands, or take shallower levels",
        tighten=tighten,
    )  # fmt: skip
