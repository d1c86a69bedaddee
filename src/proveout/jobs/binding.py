"""Which limit binds each pass: its speed, its feed and its depth."""

from __future__ import annotations

import math
from collections.abc import Mapping

from proveout.model.loads import PassLoad
from proveout.model.measured import EFFICIENCY
from proveout.model.plan import PassLimit, Round
from proveout.model.shop import Cutter, Machine
from proveout.model.work import Clamping, Pass

SAME_RATIO = 1e-6
# what a proof that asked for lighter work is about, by its id: that of a second cutter has the cutter's name after it
CAUSES = {
    "power": "power of the spindle", "torque": "torque of the spindle", "grip": "grip", "bearing": "jaws",
    "rotary brake": "rotary brake",
}  # fmt: skip
CHATTER = "chatter"
ROUGHING = ("face", "rough", "rough corners")
OWN_SPEED, RATED, TOP_SPEED = "cutting speed of the cutter", "rated speed of the cutter", "top speed of the spindle"
OWN_FEED, TOP_FEED, PITCH = "tooth feed of the cutter", "top feed of the machine", "pitch of the thread"
AS_PLANNED = "cutter and part"


def pass_limits(
    *, passes: tuple[Pass, ...], clampings: tuple[Clamping, ...], machines: tuple[Machine, ...],
    cutters: tuple[Cutter, ...], rounds: tuple[Round, ...], loads: tuple[PassLoad, ...],
    reserves: Mapping[str, float], lack: str,
) -> tuple[PassLimit, ...]:  # fmt: skip
    """What binds each pass; a limit that the rounds tightened is told by the proof that last asked for it.

    reserves: of the grip, by pass.   lack: why the shop's figures are not for this metal, empty when they are: then
    nothing is told of power and grip.
    """
    by_cutter, by_machine = {c.id: c for c in cutters}, {m.id: m for m in machines}
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
        deep = ("axial_ratio", "radial_ratio") if one.kind in ROUGHING else ("wall_ratio",)
        power = None if load is None else load.power_mw / EFFICIENCY.low / machine.power_mw
        found.append(
            PassLimit(
                pass_id=one.id, speed_by=_speed_by(one, cutter, machine), feed_by=_feed_by(one, cutter, machine, asked),
                depth_by=_cause(one, deep, asked) or AS_PLANNED,
                power_ratio=None if power is None else round(power, 4),
                reserve_ratio=None if lack else reserves.get(one.id),
            )
        )  # fmt: skip
    return tuple(found)


def _speed_by(one: Pass, cutter: Cutter, machine: Machine) -> str:
    """The lowest of what cutter, its rating and the spindle allow; the cutter's own where two are alike."""
    own = 2.0 * cutter.cutting_speed_mm_per_s / cutter.diameter_mm
    if one.speed_rad_per_s >= own * (1.0 - SAME_RATIO):
        return OWN_SPEED
    rated = cutter.speed_max_rad_per_s
    return RATED if rated is not None and rated < machine.speed_max_rad_per_s else TOP_SPEED


def _feed_by(one: Pass, cutter: Cutter, machine: Machine, asked: Mapping[tuple[str, str], str]) -> str:
    if one.kind in ("tap", "mill thread") and cutter.kind == "tap":
        return PITCH
    wanted = one.tooth_feed_mm * max(cutter.flutes_count, 1) * one.speed_rad_per_s / (2.0 * math.pi)
    if wanted > machine.feed_max_mm_per_s * (1.0 + SAME_RATIO):
        return TOP_FEED
    quantity = "wall_feed_ratio" if one.kind == "finish wall" else "feed_ratio"
    is_slowed = one.kind not in ROUGHING and one.tooth_feed_mm < cutter.tooth_feed_mm * (1.0 - SAME_RATIO)
    return (_cause(one, (quantity,), asked) if is_slowed else "") or OWN_FEED


def _cause(one: Pass, quantities: tuple[str, ...], asked: Mapping[tuple[str, str], str]) -> str:
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
