"""The proofs of holding: slip, bearing and the vise's rating, each with what a reader needs to redo it."""

from __future__ import annotations

import math

import msgspec

from proveout.cutting.easing import beside_the_first, least_steps, tighten_cut
from proveout.grip.margins import LEAST_STIFFNESS_RATIO
from proveout.model.fact import Fact, exact_fact
from proveout.model.limits import Limits
from proveout.model.loads import PassLoad
from proveout.model.proof import Basis, MoveAt, Proof, Tighten, prove
from proveout.model.shop import Jaws, Noun
from proveout.model.work import Pass
from proveout.quantities.units import N_MM_PER_N_M
from proveout.stages.holding.by_move import MoveHold
from proveout.stages.holding.clamp_force import CHART, CHART_KEYS, known_softer, torque_chart_words
from proveout.stages.holding.gripping import Grip, Hold, bearing_mpa, push_of, reckoned
from proveout.stages.holding.move_words import (
    BORED_WORDS,
    MOVE_BEARING_FORMULA,
    MOVE_GRIP_FORMULA,
    Room,
    edit_words,
    move_inputs,
    move_words,
)
from proveout.stages.holding.remedies import clamp_softer

STAGE = "holding"
TERMS = (
    "a = L / 2, b = H / 2, h = c + b; M_x = h F_y + o_y F_z, M_y = h F_x + o_x F_z, M_z = o_x F_y + o_y F_x; "
    "s_x = (b^2 / 3) / (b^2 / 3 + kappa g^2 / 4), s_z the same with a; E = 3 s_x M_x / b + 3 s_z M_z / a; "
    "F_x = F cos t + F_d, F_y = F sin t for every heading t, F raised by 1 / cos(3.75 degrees) and t in steps of 7.5; "
    f"{BORED_WORDS}; each term at its own worst over the intervals; derived at the top of "
    "src/proveout/grip/margins.py"
)
GRIP_FORMULA = (
    "sqrt(D_x^2 + D_z^2) <= mu (2 (P - F_y) - E) at the worst corner of each patch; found: "
    "2 mu P / (sqrt(D_x^2 + D_z^2) + mu (2 F_y + E)); D_x = F_x + 2 M_z / g + 3 M_y b / (a^2 + b^2), "
    f"D_z = F_z + 2 M_x / g + 3 M_y a / (a^2 + b^2); {TERMS}"
)
BEARING_FORMULA = f"p = (P + F_y + E / 2) / (L H) at the worst corner of the patch; {TERMS}"

AT_LEAST = (
    "P is what the vise presses with at the upper end of its maker's chart, at the low end of its spread: closed "
    "harder it presses with no less, and nobody knows with how much more"
)


# the pass and the diameter of its cutter in mm, by pass
Kinds = dict[str, tuple[Pass, float]]
WRITE = "write where the value comes from (source) and its lowest and highest (low, high) into the shop file"


def friction_words(grip: Grip, jaws: Jaws) -> str:
    """What must be measured or written before the friction counts as known; empty when it does."""
    if grip.friction_ratio is not None:
        return ""
    text = f"ten pull tests of these jaws on this surface, for the friction of {jaws.id}"
    return (
        text if jaws.friction_ratio is None else f"{text}; the number there {jaws.friction_ratio.lack_words}: {WRITE}"
    )


def force_words(grip: Grip) -> str:
    """The same for the jaw force."""
    if grip.force_n is not None:
        return ""
    vise, torque = grip.vise, grip.clamp.torque_n_mm
    at = "the torque used" if torque is None else f"{torque / N_MM_PER_N_M:g} N m"
    text = f"the jaw force of {vise.id} at {at}, by load cell or the vise maker's chart"
    if vise.preload_n is None:
        return text
    if vise.preload_n.is_backed:
        return f"{text}, whose points reach from there to the usual torque: write {CHART_KEYS}"
    return f"{text}; the number there {vise.preload_n.lack_words}: {WRITE}"


def patch_words(grip: Grip) -> str:
    """The same for where jaw and work touch."""
    return "" if grip.has_patch else "where jaw and work meet: corner radius and burr eat up the grip"


def _joined(*texts: str) -> str:
    return "; ".join(text for text in texts if text)


def _inputs(load: PassLoad | None, grip: Grip) -> dict[str, Fact]:
    """All that the bound takes of one pass, by the letters of its formula."""
    clamping = grip.clamping
    inputs = {"L, patch length": clamping.patch_length_mm, "H, patch height": clamping.patch_height_mm}
    if grip.clamp.force_n is not None:
        inputs["P, jaw force"] = grip.clamp.force_n
    if load is None:
        return inputs
    push, share = push_of(load, grip), grip.share
    inputs["k_c1.1, cutting pressure"] = grip.pressure_mpa
    inputs["F, force level with the jaws"] = reckoned(share * push.level_n, push.level_n, "N", "load-bound")
    inputs["F_z, force up or down"] = reckoned(share * push.up_n, push.up_n, "N", "load-bound")
    inputs["F_d, drill's torque over half of g"] = reckoned(share * push.couple_n, push.couple_n, "N", "load-bound")
    for name, size, unit in (
        ("g, between the jaws", clamping.gap_mm, "mm"),
        ("c, cut above the patch", push.above_mm, "mm"),
        ("o_x, cut from the middle along the jaws", push.off_along_mm, "mm"),
        ("o_y, cut from the middle across the jaws", push.off_across_mm, "mm"),
    ):
        inputs[name] = exact_fact(size, unit, "own-algorithm", "assumed")
    inputs["kappa, stiffness of a jaw face along to across"] = exact_fact(
        LEAST_STIFFNESS_RATIO, "ratio", "elastic_grip_bound", "assumed"
    )
    return inputs


class Judged(Noun, frozen=True, kw_only=True):
    """One pass as the proofs see it: its load, the grip at it, and its hardest move where the moves are known.

    is_by_move: that move decides, not the bound for the whole pass.
    """

    load: PassLoad
    hold: Hold
    move: MoveHold | None = None
    is_by_move: bool = False

    @property
    def eased(self) -> PassLoad:
        """The load with the engagement of the move that decides: what must get less for the pass to push less."""
        move = self.move
        if move is None or not self.is_by_move or not (move.radial_mm > 0.0 and move.axial_mm > 0.0):
            return self.load
        return msgspec.structs.replace(self.load, radial_mm=move.radial_mm, axial_mm=move.axial_mm)


def grip_proofs(
    grip: Grip, found: list[Judged], jaws: Jaws, kinds: Kinds, limits: Limits, bow_n: float | None,
    wall_n: float = math.inf,
) -> list[Proof]:  # fmt: skip
    """The hardest pass, and one for each other cutter whose grip is too weak: one round then settles them all.

    bow_n: the greatest jaw force at which the work does not bow; None when nobody knows it.   wall_n: likewise at which
    no wall bends in.
    """
    room = Room(crush_n=_crush_n(grip, found), bow_n=bow_n, wall_n=wall_n)
    missing = _joined(friction_words(grip, jaws), force_words(grip), patch_words(grip))
    ranked = sorted(found, key=lambda p: (p.hold.reserve_low, p.load.pass_id))
    asked = grip.vise.grip_reserve_ratio
    steps = least_steps([
        tighten_cut(p.eased, p.hold.reserve_low / asked, *kinds[p.load.pass_id], limits) for p in ranked
    ])  # fmt: skip
    name = f"{STAGE}:{grip.clamping.id}:grip"
    first = steps[0] if steps else None
    proofs = [_grip_proof(name, grip, jaws, ranked[0] if ranked else None, missing, first, room)]
    proofs.extend(
        _grip_proof(f"{name} {step_words(step)}", grip, jaws, ranked[place], missing, step, room)
        for place, step in beside_the_first(steps)
    )
    return proofs


def step_words(step: Tighten) -> str:
    """Cutter and quantity of a step, as they stand in the id of its proof."""
    return f"{step.subject.partition('/')[2]} {step.quantity}"


def _grip_proof(
    name: str, grip: Grip, jaws: Jaws, worst: Judged | None, missing: str, tighten: Tighten | None, room: Room
) -> Proof:  # fmt: skip
    move = None if worst is None else worst.move
    subject = worst.load.pass_id if worst else f"clamping {grip.clamping.number}"
    at: MoveAt | None = None
    if worst is None or move is None or not worst.is_by_move:
        inputs, formula = _inputs(worst.load if worst else None, grip), GRIP_FORMULA
    else:
        inputs, formula = move_inputs(move.moved, grip), MOVE_GRIP_FORMULA
        subject = f"{subject}, move {move.moved.row}"
        at = MoveAt(pass_id=worst.load.pass_id, row=move.moved.row)
    if jaws.friction_ratio is not None:
        inputs["mu, friction"] = jaws.friction_ratio
    if worst is not None and grip.force_n is not None and worst.hold.reserve_low > 0.0:
        least_n = math.ceil(grip.force_n.low * grip.vise.grip_reserve_ratio / worst.hold.reserve_low)
        inputs["jaw force needed, at least"] = exact_fact(float(least_n), "N", "elastic_grip_bound", "assumed")
    return prove(
        id=name, stage=STAGE, subject=subject, claim="the grip keeps the work at its hardest pass", sense="at least",
        found_low=worst.hold.reserve_low if worst else None, found_high=worst.hold.reserve_high if worst else None,
        limit=grip.vise.grip_reserve_ratio, unit="times the cutting force", blocks_release=True,
        basis=Basis(formula=formula, source="elastic_grip_bound", inputs=inputs, move=at),
        decides=missing
        or (
            "pull tests of these jaws on this surface; the jaw force at the torque used"
            if worst
            else "a pass in this clamping: nothing is cut here"
        ),
        remedy=_remedy_words(worst, grip, room),
        tighten=tighten,
    )  # fmt: skip


def _remedy_words(worst: Judged | None, grip: Grip, room: Room) -> str:
    if worst is None:
        return "supply what is missing"
    if worst.move is not None:
        return edit_words(worst.move, worst.hold.reserve_low, grip, room)
    return f"take shallower levels in {worst.load.pass_id}, clamp harder within the rating, or grip deeper"


class Pressed(Noun, frozen=True, kw_only=True):
    """The greatest pressure of one pass, by the better of both bounds; move: None where that is the pass's own."""

    load: PassLoad
    mpa: float
    move: MoveHold | None = None


def _pressed(load: PassLoad, grip: Grip, force: Fact, move: MoveHold | None) -> Pressed:
    by_pass = bearing_mpa(load, grip, force)
    if move is None or (by_pass < move.pressure_mpa and not move.has_shrunk):
        return Pressed(load=load, mpa=by_pass)
    return Pressed(load=load, mpa=move.pressure_mpa, move=move)


def _crush_n(grip: Grip, found: list[Judged]) -> float:
    """The greatest jaw force at which no cut crushes the work: what the cut adds does not hang on the jaw force."""
    force, patch = grip.force_n, grip.clamping
    if force is None or not found:
        return 0.0
    least = patch.patch_length_mm.low * patch.patch_height_mm.low
    pressed = [(_pressed(x.load, grip, force, x.move), x.move) for x in found]
    return min(
        force.high + (grip.yield_mpa.low - one.mpa) * (least if move is None else min(least, move.area_least_mm2))
        for one, move in pressed
    )


def bearing_proofs(
    grip: Grip, loads: list[PassLoad], kinds: Kinds, limits: Limits, moved: dict[str, MoveHold]
) -> list[Proof]:  # fmt: skip
    """Jaw force, the cut's own push and the tilt it makes, on the smallest patch.

    When the jaws alone press too hard the vise is closed softer; when it is a cut that makes it too much, that cut is
    made lighter by the room that is left.
    """
    clamping, force, name = grip.clamping, grip.force_n, f"{STAGE}:{grip.clamping.id}:bearing"
    if force is None or not grip.has_patch:
        # beyond the vise's chart only what is pressed with at least is known, and that may be too much already
        least = _least_at_rest_mpa(grip)
        sure = least if least is not None and least > grip.yield_mpa.low else None
        return [_bearing_proof(name, grip, None, sure, sure, _joined(force_words(grip), patch_words(grip)), None)]
    area = clamping.patch_length_mm.low * clamping.patch_height_mm.low
    least = force.low / (clamping.patch_length_mm.high * clamping.patch_height_mm.high)
    at_rest, limit = force.high / area, grip.yield_mpa.low
    found = [_pressed(x, grip, force, moved.get(x.pass_id)) for x in loads]
    asked = sorted(((max(at_rest, p.mpa), p) for p in found), key=lambda p: (-p[0], p[1].load.pass_id))
    softer = None if grip.vise.is_hand_tight else known_softer(
        grip.vise, clamp_softer(clamping.id, ratio=grip.clamp.ratio, at_rest_mpa=at_rest, yield_mpa=limit)
    )  # fmt: skip
    if softer is not None or not asked or asked[0][0] <= limit:
        worst = asked[0] if asked else (at_rest, None)
        return [_bearing_proof(name, grip, worst[1], least, worst[0], "", softer)]
    steps = least_steps([
        tighten_cut(one.load, (limit - at_rest) / (most - at_rest), *kinds[one.load.pass_id], limits)
        if most > limit > at_rest
        else None
        for most, one in asked
    ])  # fmt: skip
    proofs = [_bearing_proof(name, grip, asked[0][1], least, asked[0][0], "", steps[0])]
    proofs.extend(
        _bearing_proof(f"{name} {step_words(step)}", grip, asked[place][1], least, asked[place][0], "", step)
        for place, step in beside_the_first(steps)
    )
    return proofs


def _least_at_rest_mpa(grip: Grip) -> float | None:
    """What jaws closed beyond the vise's chart press with at least, on the largest patch; None for any others."""
    if grip.least_force_n is None or not grip.has_patch:
        return None
    return grip.least_force_n / (grip.clamping.patch_length_mm.high * grip.clamping.patch_height_mm.high)


def _bearing_proof(
    name: str, grip: Grip, worst: Pressed | None, low: float | None, high: float | None, missing: str,
    tighten: Tighten | None,
) -> Proof:  # fmt: skip
    inputs, formula, at = _inputs(worst.load if worst else None, grip), BEARING_FORMULA, ""
    if grip.force_n is None and low is not None:
        inputs, formula = _at_least(grip), f"p >= P / (L H) on the largest patch; {AT_LEAST}"
    move: MoveAt | None = None
    if worst is not None and worst.move is not None:
        pressed = worst.move.pressed
        inputs, formula = move_inputs(pressed, grip), MOVE_BEARING_FORMULA
        at = f"; hardest in {worst.load.pass_id}, {move_words(pressed)}"
        move = MoveAt(pass_id=worst.load.pass_id, row=pressed.row)
    by = "a torque wrench and " if grip.vise.is_hand_tight else ""
    return prove(
        id=name, stage=STAGE, subject=f"clamping {grip.clamping.number}", claim="the jaws do not crush the work",
        sense="at most", found_low=low, found_high=high, limit=grip.yield_mpa.low, unit="MPa", blocks_release=True,
        basis=Basis(
            formula=formula, source="elastic_grip_bound", inputs={**inputs, "yield": grip.yield_mpa}, move=move
        ),
        decides=missing or "a smaller spread of jaw force and patch",
        remedy=f"{by}a lower torque{torque_chart_words(grip.vise)} or a deeper grip{at}",
        tighten=tighten,
    )  # fmt: skip


def _at_least(grip: Grip) -> dict[str, Fact]:
    """What the vise presses with at the upper end of its chart, by the letter of AT_LEAST."""
    if grip.least_force_n is None:
        return {}
    return {"P, at least": exact_fact(round(grip.least_force_n, 3), "N", f"{CHART}, its end", "published as quoted")}


def rating_proof(grip: Grip) -> Proof:
    """The jaw force against what the vise's maker allows."""
    force, rating = grip.force_n, grip.vise.rating_n
    inputs: dict[str, Fact] = {}
    if grip.clamp.force_n is not None:
        inputs["P, jaw force"] = grip.clamp.force_n
    if rating is not None:
        inputs["rating"] = exact_fact(rating, "N", "shop-file", "owner's guess")
    rating_words = "" if rating is not None else "the rated jaw force of this vise"
    ends, formula = (None, None) if force is None else (force.low, force.high), "P <= rating"
    if grip.least_force_n is not None and rating is not None and grip.least_force_n > rating:
        ends, formula = (grip.least_force_n, grip.least_force_n), f"P <= rating; {AT_LEAST}"
        inputs |= _at_least(grip)
    return prove(
        id=f"{STAGE}:{grip.clamping.id}:vise rating", stage=STAGE, subject=f"clamping {grip.clamping.number}",
        claim="the jaw force stays within the vise's rating", sense="at most",
        found_low=ends[0], found_high=ends[1], limit=rating, unit="N", blocks_release=True,
        basis=Basis(formula=formula, source="shop-file", inputs=inputs),
        decides=_joined(rating_words, force_words(grip)), remedy="a lower torque",
    )  # fmt: skip
