"""Which limit binds each pass: its speed, its feed and its depth."""

from __future__ import annotations

import math
from collections.abc import Mapping

from proveout.model.loads import PassLoad
from proveout.model.measured import EFFICIENCY
from proveout.model.pace import (
    AS_PLANNED,
    BENT,
    OWN_FEED,
    OWN_SPEED,
    PITCH,
    POWER,
    RATED,
    RATED_HOLDER,
    THICK,
    TOP_FEED,
    TOP_SPEED,
    TORQUE,
)
from proveout.model.plan import PassLimit, Round
from proveout.model.shop import Cutter, Machine, Vise
from proveout.model.work import Clamping, Pass

SAME_RATIO = 1e-6
# what a proof that asked for lighter work is about, by its id: that of a second cutter has the cutter's name after it
CAUSES = {
    "wall error": BENT, "face error": BENT, "neck": "neck of the cutter", "power": POWER, "torque": TORQUE,
    "grip": "grip", "bearing": "jaws", "rotary brake": "rotary brake",
}  # fmt: skip
CHATTER = "chatter"
ROUGHING = ("face", "rough", "rough corners")
# by subject and quantity of a limit that the rounds tightened, the proof that last asked for it
Asked = Mapping[tuple[str, str], str]


def pass_limits(
    *, passes: tuple[Pass, ...], clampings: tuple[Clamping, ...], machines: tuple[Machine, ...],
    cutters: tuple[Cutter, ...], rounds: tuple[Round, ...], loads: tuple[PassLoad, ...],
    reserves: Mapping[str, float], lack: str, vises: tuple[Vise, ...] = (),
) -> tuple[PassLimit, ...]:  # fmt: skip
    """What binds each pass; a limit that the rounds tightened is told by the proof that last asked for it.

    reserves: of the grip, by pass.   lack: why the shop's figures are not for this metal, empty when they are: then
    nothing is told of power and grip.   vises: with what their owner asks of the grip.
    """
    by_cutter, by_machine = {c.id: c for c in cutters}, {m.id: m for m in machines}
    asked_of = {vise.id: vise.grip_reserve_ratio for vise in vises}
    reserve_of = {c.id: asked_of.get(c.vise_id, 1.0) for c in clampings}
    machine_of = {c.id: by_machine[c.machine_id] for c in clampings}
    by_load = {x.pass_id: x for x in loads}
    asked = {
        (step.subject, step.quantity): cause
        for one in rounds
        for step, cause in zip(one.tightened, one.asked_by, strict=True)
    }
    found: list[PassLimit] = []
    for one in passes:
        machine, cutter = machine_of[one.clamping_id], by_cutter[one.cutter_id]
        load = None if lack else by_load.get(one.id)
        deep = ("axial_ratio", "radial_ratio") if one.kind in (*ROUGHING, "undercut") else ("wall_ratio",)
        power = None if load is None else load.power_mw / EFFICIENCY.low / machine.power_mw
        found.append(
            PassLimit(
                pass_id=one.id, speed_by=_speed_by(one, cutter, machine), feed_by=_feed_by(one, cutter, machine, asked),
                depth_by=_depth_by(one, deep, asked),
                power_ratio=None if power is None else round(power, 4),
                reserve_ratio=None if lack else reserves.get(one.id),
                reserve_asked_ratio=reserve_of[one.clamping_id],
            )
        )  # fmt: skip
    return tuple(found)


def _speed_by(one: Pass, cutter: Cutter, machine: Machine) -> str:
    """The lowest of what cutter, its rating and the spindle allow; the cutter's own where two are alike."""
    if one.pace is not None:
        return one.pace.speed_by
    own = 2.0 * cutter.cutting_speed_mm_per_s / cutter.diameter_mm
    if one.speed_rad_per_s >= own * (1.0 - SAME_RATIO):
        return OWN_SPEED
    rated, holder = cutter.rated_rad_per_s, cutter.holder_speed_max_rad_per_s
    if rated is None or rated >= machine.speed_max_rad_per_s:
        return TOP_SPEED
    return RATED_HOLDER if holder is not None and holder <= rated else RATED


def _feed_by(one: Pass, cutter: Cutter, machine: Machine, asked: Asked) -> str:
    if one.kind in ("tap", "mill thread") and cutter.kind == "tap":
        return PITCH
    quantity = "wall_feed_ratio" if one.kind == "finish wall" else "feed_ratio"
    if one.pace is not None:
        # of what stopped the feed, the rounds lowered the chip alone
        is_eased = one.kind not in ROUGHING and one.pace.feed_by in (THICK, OWN_FEED)
        return (_cause(one, (quantity,), asked) if is_eased else "") or one.pace.feed_by
    wanted = one.tooth_feed_mm * max(cutter.flutes_count, 1) * one.speed_rad_per_s / (2.0 * math.pi)
    if wanted > machine.feed_max_mm_per_s * (1.0 + SAME_RATIO):
        return TOP_FEED
    is_slowed = one.kind not in ROUGHING and one.tooth_feed_mm < cutter.tooth_feed_mm * (1.0 - SAME_RATIO)
    return (_cause(one, (quantity,), asked) if is_slowed else "") or OWN_FEED


def _depth_by(one: Pass, quantities: tuple[str, ...], asked: Asked) -> str:
    own = AS_PLANNED if one.pace is None else one.pace.depth_by
    return own if own in (POWER, TORQUE, BENT) else _cause(one, quantities, asked) or own


def _cause(one: Pass, quantities: tuple[str, ...], asked: Asked) -> str:
    """What the proof is about that last tightened one of these for the pass's cutter or its clamping."""
    for quantity in quantities:
        for subject in (f"{one.clamping_id}/{one.cutter_id}", one.clamping_id):
            proof = asked.get((subject, quantity), "")
            if proof.startswith("stability:"):
                return CHATTER
            parts = proof.split(":")[2:]
            for name, words in CAUSES.items():
                if any(part == name or part.startswith(f"{name} ") for part in parts):
                    return words
    return ""
