"""Walls before hollows between the jaws: whether they bend in too far while they are cut, and whether they yield."""

from __future__ import annotations

import math

from proveout.grip.bent_wall import (
    bent_span_stress_mpa,
    spanning_wall_bend_mm,
    spanning_wall_stress_mpa,
)
from proveout.model.fact import Fact, exact_fact
from proveout.model.proof import Basis, Proof, Tighten, prove
from proveout.model.shop import Noun
from proveout.model.wall_reading import WallReading
from proveout.model.walls_left import Wall, WallsLeft
from proveout.model.work import PassPlan
from proveout.quantities.canonical import digest_of
from proveout.stages.holding.clamp_force import known_softer, torque_chart_words
from proveout.stages.holding.gripping import Grip
from proveout.stages.holding.proofs import force_words, patch_words
from proveout.stages.holding.remedies import PRELOAD_FLOOR, STEP

LET_STAND_MM = 0.05
"""Where no size is written of a face that is cut: as much as may be left standing on a finished face."""
PROUD_MM = 0.02
"""Common practice, no source: so much at most does a wall stand proud of the metal beside it, at a jaw's face."""
STAYS_MM = 0.01
"""Common practice, no source: what stays of a reading once a vise is open and is no more than seating."""
BEND_OFF_TIMES, PULL_OFF_TIMES = 5.0, 3.0
"""So far over its limit a bound is told and blocks nothing, where metal beside the walls bears the jaws. Above elastic
sections bounds of bend lay up to 5.0 times, those of pull up to 3.2 times, of walls no thicker than they are high or
span (tests/grip/test_bent_wall.py); of a thin square built in all round those of pull 2.6 times, by its published
coefficient. That it is so of walls of any other form as well is our own choice."""
LEAST_MM = 1e-6
MARK_LETTERS = 8
BEND_ID, YIELD_ID = "wall bent in", "wall yields"
YIELD_CLAIM = "no wall before a hollow is bent for good by the jaws"
MODEL = (
    "p = P / (L H), evenly on the least patch wherever it lies; a wall is the first piece of metal on a ray from jaw "
    "to jaw with a hollow behind it. The least of: standing on its foot, {standing}, of its worst upright strip; held "
    "at both ends of its span s, along the jaws or upright, pressed on l of it, t its least thickness, {spanning}, "
    "s longer by t / 2{stop}. Each only where that foot, or those ends, reach through from jaw to jaw, the ends 2 mm "
    "wide and, where t < s / 2, as wide as t; raised, where t < s / 2, by how many strips carry for those that holes "
    "run through. At the least it is 0: stiff metal beside it may take all"
)
BEND_FORMULA = MODEL.format(
    standing="p / E times c, c the sum over its pieces and its foot of what 1 MPa bends each",
    spanning="p min(5 s^4 / 384, l s^3 / 48) / (E I) + 1.2 p min(s^2 / 8, l s / 4) / (G t), I = t^3 / 12, G = E / 2.7",
    stop="; held at both ends along the jaws, u + P g / (E A): it goes no farther than a flat jaw's face does, which "
    "the metal beside it holds up",
)
STRESS_FORMULA = MODEL.format(
    standing="p times k, k the greatest 6 M / t^2 of 1 MPa, in it and its foot, and beside its edge",
    spanning="p (6 min(s (s + 2 t) / 8, l (s + t) / 4) / t^2 + min(1, t / s) / 4), s here not longer",
    stop="; held at both ends along the jaws, 16 E t d / s^2, d = u + P g / (E A), s not longer: bent by d as if "
    "pressed evenly and built in, no farther than a flat jaw's face goes, which the metal beside it holds up; no less "
    "than P / N, N the section that reaches through",
)
UNSEEN = "of what is left {when} nobody knows the walls: it lies askew in the jaws, or they touch nothing of it"
NO_WALL = "on every ray from jaw to jaw the metal at the jaws' faces reaches through, before and after every pass"


class BentWall(Noun, frozen=True, kw_only=True):
    """One wall at one moment.   bend_mm, stress_mpa: at most; inf where nothing is sure to hold it.

    through_mpa: in what reaches through from jaw to jaw, were it to bear the jaws alone.
    """

    left: WallsLeft
    wall: Wall
    pressure_mpa: float
    bend_mm: float
    stress_mpa: float
    through_mpa: float


def wall_mark(grip: Grip, plan: PassPlan) -> str:
    """A few letters that change with vise, jaw force, grip and every move of a clamping."""
    clamping = grip.clamping
    moves = [(p.id, p.moves_digest) for p in plan.passes if p.clamping_id == clamping.id]
    where = (clamping.id, clamping.frame, clamping.jaw_top_mm, clamping.gap_mm, clamping.patch_length_mm,
             clamping.patch_height_mm)  # fmt: skip
    return digest_of((where, grip.vise.id, grip.clamp.ratio, grip.force_n, moves))[:MARK_LETTERS]


def wall_proofs(
    grip: Grip, walls: tuple[WallsLeft, ...], elastic_mpa: Fact | None, width_mm: float | None, *,
    readings: tuple[WallReading, ...] = (), mark: str = "",
) -> list[Proof]:  # fmt: skip
    """Bend and yield of the worst wall of a clamping; none where nobody followed its walls at all.

    None either where the jaws hold a strip of the raw bar alone: nothing of it is left, and what it bears is judged by
    its whole section. Where the metal that reaches through from jaw to jaw bears all of their force, a wall that gives
    way spoils a piece and does not let it go: there a bound blocks release, and asks for a softer vise, only so far
    beyond its limit as bounds are off, and a first piece tells the rest, by an indicator. Where it does not, nothing
    over is let pass.

    What an indicator read on the walls goes before what is reckoned, as long as vise, grip and moves are the same.

    width_mm: of the narrowest size on a face that is cut in this clamping, None where none is written: then the bend
    blocks nothing.   mark: as wall_mark.
    """
    clamping = grip.clamping
    mine = [left for left in walls if left.clamping_id == clamping.id]
    if not mine or clamping.holds_strip:
        return []
    unseen = next((left for left in mine if not left.is_followed), None)
    has_walls = any(left.walls for left in mine)
    bent = _bent(grip, mine, elastic_mpa) if unseen is None else []
    lacks = [
        "" if unseen is None else "the walls of what is left", force_words(grip) if has_walls else "",
        patch_words(grip) if has_walls else "",
        "" if elastic_mpa is not None or not has_walls else "the elastic modulus of this metal",
    ]  # fmt: skip
    ours = [one for one in readings if one.operation == clamping.number]
    read = next((one for one in ours if one.mark.strip() == mark), None)
    if read is not None:
        return _as_read(grip, read, width_mm)
    stale = f" (what {ours[-1].by} read was of another vise, grip or moves)" if ours else ""
    decides = "; ".join(text for text in lacks if text) or (
        "two minutes on the first piece, after every pass of this operation: an indicator on each wall before a hollow "
        f"while the vise is closed to its torque and opened{stale}; then write into the job file [[prove_out.wall]] "
        f'with operation = {clamping.number}, bent_mm, stays_mm, uncertainty_mm, by = "date, name" and mark = "{mark}"'
    )
    is_known = unseen is None and (bool(bent) or not has_walls)
    most = None if not is_known else max((one.bend_mm for one in bent), default=0.0)
    pull = None if not is_known else max((one.stress_mpa for one in bent), default=0.0)
    borne = max((one.through_mpa for one in bent), default=0.0) / grip.yield_mpa.low
    limit = LET_STAND_MM if width_mm is None else width_mm / 2.0
    remedy = (
        f"close the vise softer{torque_chart_words(grip.vise) or ','} grip it where metal reaches through from jaw to "
        "jaw, put a fitting block into the hollow, or cut the hollow once nothing presses on this wall"
    )

    def one(
        slug: str, claim: str, worst: BentWall | None, formula: str, found: float | None, most_allowed: float,
        unit: str, off_times: float, *, matters: bool,
    ) -> Proof:  # fmt: skip
        low = None if found is None else 0.0
        high = None if found is None else math.ceil(found * 1e6) / 1e6 if math.isfinite(found) else math.inf
        softer, over = None, 0.0 if found is None else max(borne, found / (off_times * most_allowed))
        if over > 1.0 and matters and not grip.vise.is_hand_tight:
            softer = known_softer(grip.vise, _softer(clamping.id, grip.clamp.ratio, over))
        return prove(
            id=f"holding:{clamping.id}:{slug}", stage="holding",
            subject=f"clamping {clamping.number}{'' if worst is None else _when(worst.left)}", claim=claim,
            sense="at most", found_low=low, found_high=high, limit=round(most_allowed, 6), unit=unit,
            blocks_release=matters and (found is None or found <= most_allowed or over > 1.0),
            basis=Basis(
                formula=UNSEEN.format(when=_after(unseen)) if unseen is not None else formula if has_walls else NO_WALL,
                source="beam_identities", inputs={} if worst is None else _inputs(grip, worst, elastic_mpa),
            ),
            decides=decides, remedy=remedy, tighten=softer,
        )  # fmt: skip

    by_bend = max(bent, key=lambda w: w.bend_mm, default=None)
    by_pull = max(bent, key=lambda w: w.stress_mpa, default=None)
    return [
        one(
            BEND_ID, _bend_claim(width_mm), by_bend, BEND_FORMULA, most, limit, "mm", BEND_OFF_TIMES,
            matters=width_mm is not None or unseen is not None,
        ),
        one(
            YIELD_ID, YIELD_CLAIM, by_pull, STRESS_FORMULA, pull, grip.yield_mpa.low, "MPa", PULL_OFF_TIMES,
            matters=True,
        ),
    ]  # fmt: skip


def _bend_claim(width_mm: float | None) -> str:
    than = "half the narrowest size that is cut meanwhile" if width_mm is not None else "may be left on a finished face"
    return f"no wall before a hollow is bent in by the jaws farther than {than}: let go, it springs back"


def _as_read(grip: Grip, read: WallReading, width_mm: float | None) -> list[Proof]:
    """The same two claims by what was read, at the worst end of the indicator."""
    clamping = grip.clamping

    def one(slug: str, claim: str, at: float, limit: float, formula: str, *, blocks: bool) -> Proof:
        most = round(at + read.uncertainty_mm, 6)
        inputs = {
            "read": exact_fact(at, "mm", "job-file", "measured here"),
            "uncertainty of the indicator": exact_fact(read.uncertainty_mm, "mm", "job-file", "owner's guess"),
        }
        return prove(
            id=f"holding:{clamping.id}:{slug}", stage="holding", subject=f"clamping {clamping.number}", claim=claim,
            sense="at most", found_low=round(max(0.0, at - read.uncertainty_mm), 6), found_high=most,
            limit=round(limit, 6), unit="mm", blocks_release=blocks,
            basis=Basis(formula=f"{formula}, by {read.by}", source="job-file", inputs=inputs),
            remedy="close the vise softer, or put a fitting block into the hollow", decides="a finer indicator",
        )  # fmt: skip

    return [
        one(
            BEND_ID, _bend_claim(width_mm), read.bent_mm, LET_STAND_MM if width_mm is None else width_mm / 2.0,
            "read on the walls while the vise was closed, and the uncertainty", blocks=width_mm is not None,
        ),
        one(
            YIELD_ID, YIELD_CLAIM, read.stays_mm, STAYS_MM,
            "read on the walls once the vise was open, and the uncertainty", blocks=True,
        ),
    ]  # fmt: skip


def wall_force_n(
    grip: Grip, walls: tuple[WallsLeft, ...], elastic_mpa: Fact | None, width_mm: float | None
) -> float:  # fmt: skip
    """The greatest jaw force at which no wall of a clamping yields, nor bends beyond a size; inf where it has none.

    Formula:  P times the least of limit over found: what a wall bends and is pulled grows no faster than the force
    Args:     as wall_proofs.
    Returns:  N, >= 0; 0 where walls are not followed, or nothing is sure to hold one.
    Raises:   nothing.
    Valid:    as wall_proofs.
    Source:   beam_identities.   Departs: nothing.
    Checked:  tests/stages/holding/test_walls.py
    """
    mine = [left for left in walls if left.clamping_id == grip.clamping.id]
    if grip.clamping.holds_strip:
        return math.inf
    if not all(left.is_followed for left in mine):
        return 0.0
    if not any(left.walls for left in mine):
        return math.inf
    bent = _bent(grip, mine, elastic_mpa)
    if grip.force_n is None or not bent:
        return 0.0
    shares = [grip.yield_mpa.low / max(one.stress_mpa, LEAST_MM) for one in bent]
    if width_mm is not None:
        shares += [width_mm / 2.0 / max(one.bend_mm, LEAST_MM) for one in bent]
    return grip.force_n.high * min(shares)


def _bent(grip: Grip, mine: list[WallsLeft], elastic_mpa: Fact | None) -> list[BentWall]:
    """Every wall at every moment; none where jaw force, patch or modulus is not known."""
    if grip.force_n is None or elastic_mpa is None or not grip.has_patch:
        return []
    return [_bent_wall(grip, left, wall, elastic_mpa) for left in mine for wall in left.walls]


def _bent_wall(grip: Grip, left: WallsLeft, wall: Wall, elastic_mpa: Fact) -> BentWall:
    """Bend and stress of one wall at most: the least of what each way to hold it gives."""
    assert grip.force_n is not None
    force, patch, soft = grip.force_n.high, grip.clamping, elastic_mpa.low
    long, high = patch.patch_length_mm.low, patch.patch_height_mm.low
    area = long * high
    if left.touch_mm2 < area:
        # less lies at the jaws than the least patch: nobody knows how it is shared out over the largest
        long, high, area = patch.patch_length_mm.high, patch.patch_height_mm.high, left.touch_mm2
    pressure, thick = force / area, max(wall.thick_mm, LEAST_MM)
    bends, pulls = [math.inf], [math.inf]
    if wall.standing_bend_mm is not None and wall.standing_stress_mpa is not None:
        bends.append(pressure * wall.up_pierced_ratio * wall.standing_bend_mm / soft)
        pulls.append(pressure * wall.up_pierced_ratio * wall.standing_stress_mpa)
    spans = ((wall.span_mm, long, wall.along_pierced_ratio), (wall.up_span_mm, high, wall.up_pierced_ratio))
    for span, pressed, pierced in spans:
        if span is not None:
            # in a stocky wall what a hole takes is carried round it: no strip there is as long as the span
            raised = 1.0 if thick >= span / 2.0 else pierced
            given = {"pressure_mpa": pressure * raised, "span_mm": span, "pressed_mm": min(span, pressed),
                     "thickness_mm": thick}  # fmt: skip
            bends.append(spanning_wall_bend_mm(**given, elastic_mpa=soft))
            pulls.append(spanning_wall_stress_mpa(**given))
    if wall.span_mm is not None and wall.beside_mm2 > 0.0:
        goes = PROUD_MM + force * patch.gap_mm / (soft * wall.beside_mm2)
        bends.append(goes)
        pulls.append(
            bent_span_stress_mpa(
                bend_mm=goes, span_mm=wall.span_mm, thickness_mm=thick, elastic_mpa=elastic_mpa.high
            )
        )  # fmt: skip
    through = force / left.through_mm2 if left.through_mm2 > 0.0 else math.inf
    return BentWall(
        left=left, wall=wall, pressure_mpa=pressure, bend_mm=min(bends), stress_mpa=max(through, min(pulls)),
        through_mpa=through,
    )  # fmt: skip


def _inputs(grip: Grip, worst: BentWall, elastic_mpa: Fact | None) -> dict[str, Fact]:
    wall, clamping = worst.wall, grip.clamping
    inputs = {"L, patch length": clamping.patch_length_mm, "H, patch height": clamping.patch_height_mm}
    if grip.clamp.force_n is not None:
        inputs["P, jaw force"] = grip.clamp.force_n
    if elastic_mpa is not None:
        inputs["E, elastic modulus"] = elastic_mpa
    beside = wall.beside_mm2 if wall.span_mm is not None and wall.beside_mm2 > 0.0 else None
    seen = (
        ("t, of the wall", wall.thick_mm, "mm"), ("height from foot to edge", wall.height_mm, "mm"),
        ("c", wall.standing_bend_mm, "mm"), ("k", wall.standing_stress_mpa, "ratio"),
        ("s, along the jaws", wall.span_mm, "mm"), ("s, upright", wall.up_span_mm, "mm"),
        ("A, at the jaw on both sides of it", beside, "mm2"),
    )  # fmt: skip
    inputs |= {name: exact_fact(size, unit, "replay", "assumed") for name, size, unit in seen if size is not None}
    inputs["p, at most"] = exact_fact(math.ceil(worst.pressure_mpa * 1e4) / 1e4, "MPa", "elastic_grip_bound", "assumed")
    if beside is not None:
        inputs["g, between the jaws"] = exact_fact(clamping.gap_mm, "mm", "own-algorithm", "assumed")
        inputs["u, stands proud at most"] = exact_fact(PROUD_MM, "mm", "workshop-practice", "common practice")
    inputs["N, reaches through from jaw to jaw"] = exact_fact(worst.left.through_mm2, "mm2", "replay", "assumed")
    for name, ratio in (("upright", wall.up_pierced_ratio), ("along the jaws", wall.along_pierced_ratio)):
        if ratio > 1.0:
            inputs[f"strips for one without a hole, {name}"] = exact_fact(ratio, "ratio", "replay", "assumed")
    return inputs


def _after(left: WallsLeft) -> str:
    return f"after {left.pass_id}" if left.pass_id else "before the first pass"


def _when(left: WallsLeft) -> str:
    return f", after {left.pass_id}" if left.pass_id else ", as it is put in"


def _softer(clamping_id: str, ratio: float, over: float) -> Tighten | None:
    """The share of the usual jaw force that brings it within; None where none does.   over: found / limit."""
    bound = round(math.floor(ratio / over / STEP + 1e-9) * STEP, 4) if math.isfinite(over) else 0.0
    if bound < PRELOAD_FLOOR or bound >= ratio:
        return None
    return Tighten(subject=clamping_id, quantity="preload_ratio", bound=bound, unit="of the usual")
