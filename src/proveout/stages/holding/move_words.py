"""What a proof says of the move that decides it: the formula, every number in it, and the smallest edit that helps."""

from __future__ import annotations

import math

from proveout.grip.margins import LEAST_STIFFNESS_RATIO
from proveout.model.fact import Fact, exact_fact
from proveout.model.shop import Noun
from proveout.quantities.units import N_MM_PER_N_M
from proveout.stages.holding.by_move import Moved, MoveHold
from proveout.stages.holding.clamp_force import force_closed_with
from proveout.stages.holding.gripping import Grip, reckoned

TORQUE_MOST_N_M = 500
"""No vise's handle takes more: the shop file refuses it."""
BORED_WORDS = (
    "a drill that breaks through is taken to pull, and a tap that turns back to push and to turn the work, no harder "
    "than going in (common practice, no source)"
)
MOVE_TERMS = (
    "a = L / 2, b = H / 2, F and M about the middle between both patches at the hardest corner of the boxes in which "
    "force and place of this move lie; s_x = (b^2 / 3) / (b^2 / 3 + kappa g^2 / 4), s_z the same with a; "
    f"E = 3 s_x M_x / b + 3 s_z M_z / a; {BORED_WORDS}; each term at its own worst over the intervals; derived at the "
    "top of src/proveout/grip/move_margins.py"
)
MOVE_GRIP_FORMULA = (
    "sqrt(D_x^2 + D_z^2) <= mu (2 (P - F_y) - E) at the worst corner of each patch; found: "
    "2 mu P / (sqrt(D_x^2 + D_z^2) + mu (2 F_y + E)); D_x = F_x + 2 M_z / g + 3 M_y b / (a^2 + b^2), "
    f"D_z = F_z + 2 M_x / g + 3 M_y a / (a^2 + b^2); {MOVE_TERMS}"
)
MOVE_BEARING_FORMULA = f"p = (P + F_y + E / 2) / (L H) at the worst corner of the patch; {MOVE_TERMS}"


def move_words(moved: Moved) -> str:
    """Which move, and where it cuts."""
    spots = (
        f"{axis} {low:.1f} to {high:.1f}"
        for axis, low, high in zip("XYZ", moved.at_low_mm, moved.at_high_mm, strict=True)
    )
    return f"move {moved.row} at {', '.join(spots)}"


def move_inputs(moved: Moved, grip: Grip) -> dict[str, Fact]:
    """All that the bound takes of one move, by the letters of its formula."""
    clamping, scale = grip.clamping, moved.share
    sides = {"L, patch length": (clamping.patch_length_mm, moved.length_mm),
             "H, patch height": (clamping.patch_height_mm, moved.height_mm)}  # fmt: skip
    inputs = {
        name: fact
        if abs(fact.low - low) < 1e-9 and abs(fact.high - high) < 1e-9
        else reckoned(low, high, "mm", "own-algorithm")
        for name, (fact, (low, high)) in sides.items()
    }
    if grip.clamp.force_n is not None:
        inputs["P, jaw force"] = grip.clamp.force_n
    inputs["k_c1.1, cutting pressure"] = grip.pressure_mpa
    for axis, force, moment in zip("xyz", moved.force_n, moved.moment_n_mm, strict=True):
        inputs[f"F_{axis}, size"] = reckoned(scale * abs(force), abs(force), "N", "load-bound")
        inputs[f"M_{axis}, size"] = reckoned(scale * abs(moment), abs(moment), "N mm", "load-bound")
    inputs["g, between the jaws"] = exact_fact(clamping.gap_mm, "mm", "own-algorithm", "assumed")
    inputs["kappa, stiffness of a jaw face along to across, at least"] = exact_fact(
        LEAST_STIFFNESS_RATIO, "ratio", "elastic_grip_bound", "assumed"
    )
    inputs["move of the pass"] = exact_fact(float(moved.row), "moves", "own-algorithm", "assumed")
    for axis, low, high in zip("xyz", moved.at_low_mm, moved.at_high_mm, strict=True):
        inputs[f"where the cut acts, {axis}"] = reckoned(low, high, "mm", "load-bound")
    return inputs


class Room(Noun, frozen=True, kw_only=True):
    """The greatest jaw force of one clamping at which no cut crushes the work, it does not bow, and no wall bends.

    crush_n: over every pass and move, with what the cut itself presses.  bow_n: None when nobody knows it.  wall_n: no
    wall before a hollow yields, or bends in too far; inf where there is none, 0 where nobody knows.
    """

    crush_n: float
    bow_n: float | None = None
    wall_n: float = math.inf


def edit_words(found: MoveHold, reserve_ratio: float, grip: Grip, room: Room) -> str:
    """The smallest edit that would restore the margin: how much lighter the move, or how hard the vise, if it may.

    reserve_ratio: of the pass, by the better of its bounds.  room: what every cut of the clamping leaves the jaws.
    """
    lighter = f"{move_words(found.moved)} of {found.hold.pass_id}: there the work {found.way}"
    part = reserve_ratio / grip.vise.grip_reserve_ratio
    share = math.floor(100.0 * min(1.0, part))
    return f"{lighter}. Cut it with {share} % of its force, or {_harder_words(part, grip, room)}"


def _harder_words(reserve_ratio: float, grip: Grip, room: Room) -> str:
    """How hard the vise, if it may.   reserve_ratio: there is, as a share of what is asked for."""
    force, rating = grip.force_n, grip.vise.rating_n
    if force is None:
        return "supply what is missing"
    more = 1.0 / reserve_ratio if reserve_ratio > 0.0 else math.inf
    if not math.isfinite(more):
        return "grip it otherwise: no jaw force that can be named would do"
    least_n = force.low * more
    least = f"{math.ceil(least_n / 100.0) / 10.0:.1f} kN"
    by_torque = None if grip.vise.is_hand_tight else _torque_for(grip, least_n)
    most_n = force.high * more if by_torque is None else by_torque[1]
    if rating is None or most_n > rating:
        return f"grip deeper: the {least} that it needs at least take this vise beyond its rating"
    if most_n > room.crush_n:
        return f"grip deeper: the {least} that it needs at least would crush the work"
    if room.bow_n is None:
        return f"grip deeper: whether the {least} that it needs at least bow the work is not known"
    if most_n > room.bow_n:
        return f"grip deeper: the {least} that it needs at least may bow the work out of its plane"
    if most_n > room.wall_n:
        return f"grip deeper: the {least} that it needs at least may bend a wall before a hollow"
    if by_torque is None:
        return f"press with at least {least}, by a torque wrench"
    return f"close the vise with {by_torque[0]} N m, to press with at least {least}"


def _torque_for(grip: Grip, least_n: float) -> tuple[int, float] | None:
    """The least whole N m at which the vise is sure to press so hard, and how hard it then may press at most.

    None where no torque is known, or where the torque would lie beyond the end of the maker's chart.
    """
    usual = grip.vise.torque_n_mm
    if usual is None or grip.clamp.torque_n_mm is None:
        return None
    for torque in range(math.ceil(grip.clamp.torque_n_mm / N_MM_PER_N_M), TORQUE_MOST_N_M + 1):
        force = force_closed_with(grip.vise, torque * N_MM_PER_N_M / usual)
        if force is not None and force.low >= least_n:
            return torque, force.high
    return None
