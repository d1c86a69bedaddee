"""What can hurt somebody, in words that papers and screens share; none of them vouches for a set-up."""

from __future__ import annotations

from proveout.model.plan import Plan
from proveout.model.shop import Shop
from proveout.model.work import Clamping

BANNER = (
    "Planning aid. Estimates from published constants and owner-entered values; not a substitute for a competent "
    "machinist, machine and tool makers' instructions, or local law."
)
HOLDING = "The work can be thrown out of the jaws. Stand aside of the cutting plane, door shut, until piece one is out."
GRIP = (
    "Friction, preload and cutting force are assumed or entered. Clean the jaws and steps, clamp to the torque, check "
    "the jaw force on the vise's torque chart."
)
LOADS = "Loads are estimates (thirty percent off or worse) from published constants, not measured on your machine."
PROVE = "Prove out with the door shut, rapids and feed turned down, and at a shallow depth."
SPEED = "Never run a cutter faster than the lower of the limits of cutter and holder."
SLENDER = "A small, long cutter can break at a fraction of the load reckoned, by run-out and by chips cut again."
UNDER = "the head runs under metal. If it stops there, do not raise it: lead it out level, the way it came in."
NO_RESPONSE = "No natural frequency was measured: whether a cut sings is unknown. Stop at the first sign of chatter."
SOME_RESPONSES = (
    "Where no natural frequency was measured, whether a cut sings is unknown; where one was, it stands for that "
    "cutter, holder and stick-out alone. Stop at the first sign of chatter."
)
ROTARY = (
    "Signs and centres of A and C differ between machines. Check both by a dry run high above the work, block by "
    "block, rapids turned down."
)
SAWING = (
    "Sawing: support the bar outside the saw, keep the least clamping length, keep hands out of the guard and off the "
    "falling piece. Saw no remnant that the saw's vise cannot hold on both sides of the blade."
)
# National Fire Protection Association 484 and Aluminum Association F-1 on aluminium fines, as quoted
DUST = (
    "Aluminium dust burns, and wet it gives off hydrogen (NFPA 484, AA F-1). Sweep it up, keep iron blast media apart, "
    "no water on fire."
)
# 29 CFR 1910.242(b), as quoted: less than 30 psi
AIR = "Compressed air below two bar (thirty psi), with guard and glasses; never towards anybody."
COAT = "Coating is outside work: acids. Ask the designer first when fatigue strength or electrical earthing matters."
THREADS = "No thread of this part may carry a lifted load or pressure."
SHARP = "Pieces come hot and oily from the machine, and edges are sharp until broken: cool, break, wash, then pack."
HEAVY = "A box or bar too heavy for one person goes by two, or by hoist."
OF_STATION: dict[str, tuple[str, ...]] = {
    "buying": (HEAVY,), "saw": (SAWING, HEAVY), "bench": (SHARP, AIR, DUST), "finisher": (COAT,),
    "inspection": (THREADS,), "packing": (SHARP, HEAVY),
}  # fmt: skip
OF_PROOF: dict[str, tuple[str, ...]] = {
    "holding": (HOLDING, GRIP), "loads": (LOADS, SPEED, SLENDER, PROVE), "turning_over": (HOLDING,), "bars": (SAWING,),
    "removal_check": (PROVE,), "program_check": (PROVE,), "finishing": (COAT, THREADS), "sending": (COAT,),
}  # fmt: skip


def chatter_caution(shop: Shop) -> str:
    """What is not known of chatter, by whether anything was measured."""
    return SOME_RESPONSES if shop.responses else NO_RESPONSE


def cutting_cautions(*, shop: Shop, clampings: tuple[Clamping, ...]) -> tuple[str, ...]:
    """What belongs beside any verdict on cuts in these clampings: holding first, then loads, then tilts if any."""
    tilted = (ROTARY,) if any(one.is_tilted for one in clampings) else ()
    return (HOLDING, GRIP, LOADS, PROVE, SPEED, chatter_caution(shop), *tilted)


def plan_cautions(*, plan: Plan, shop: Shop) -> tuple[str, ...]:
    """All that belong beside a whole plan."""
    cutting = cutting_cautions(shop=shop, clampings=plan.clampings)
    return (*cutting, SLENDER, SAWING, DUST, AIR, COAT, THREADS, SHARP, HEAVY)


def proof_cautions(*, stage: str, shop: Shop, clampings: tuple[Clamping, ...]) -> tuple[str, ...]:
    """What belongs beside a single proof of a stage; none where a wrong figure hurts nobody at once."""
    if stage == "stability":
        return (chatter_caution(shop),)
    found = OF_PROOF.get(stage.replace(" ", "_"), ())
    return (*found, ROTARY) if stage == "holding" and any(one.is_tilted for one in clampings) else found
