"""The proofs of what goes out: alloy, heats, holes and walls, a place for the rack, and an order that says all."""

from __future__ import annotations

from proveout.model.fact import Fact, exact_fact
from proveout.model.finish_order import FinishOrder
from proveout.model.plan import BarsPlan
from proveout.model.proof import Basis, Proof, prove
from proveout.stages.sending.alloys import COPPER_MOST_PERCENT, SILICON_MOST_PERCENT, contents_of
from proveout.stages.sending.places import HOLDS_RATIO, RACK_AREA_MM2, BlindHole

STAGE = "sending"
PRACTICE = "workshop-practice"


def alloy_proofs(alloy: str) -> tuple[Proof, ...]:
    """Copper and silicon against what a hard coat bears. An alloy that nobody here knows blocks nothing."""
    contents = contents_of(alloy)
    found = []
    for name, limit, ends in (
        ("copper", COPPER_MOST_PERCENT, contents.copper_percent if contents else None),
        ("silicon", SILICON_MOST_PERCENT, contents.silicon_percent if contents else None),
    ):
        inputs: dict[str, Fact] = {}
        if contents is not None and ends is not None:
            middle = 0.5 * (ends[0] + ends[1])
            inputs[f"{name} of {alloy}"] = Fact(
                low=ends[0], nominal=middle, high=ends[1], unit="%", source=contents.source, strength=contents.strength
            )
        found.append(
            prove(
                id=f"{STAGE}:alloy:{name}-suits-the-hard-coat", stage=STAGE, subject="alloy",
                claim=f"{alloy} holds no more {name} than the usual hard coat bears", sense="at most",
                found_low=None if ends is None else ends[0], found_high=None if ends is None else ends[1],
                limit=limit, unit="%", blocks_release=contents is not None,
                basis=Basis(formula="limits of the alloy against those of the process", source="iso_10074_text",
                            inputs=inputs),
                decides="" if contents is not None and ends is not None and ends[1] <= limit
                else f"the mill's certificate: how much {name} {alloy} holds",
                remedy="take another alloy, or ask the finisher for his process for it",
            )
        )  # fmt: skip
    return tuple(found)


def heat_proof(bars: BarsPlan) -> Proof:
    """One bar is one heat; of several nobody knows before their tags are read."""
    is_one = bars.bars_count <= 1
    return prove(
        id=f"{STAGE}:heats:one-heat-a-lot", stage=STAGE, subject="heats",
        claim="all pieces of the lot come from one heat, so that they take one shade", sense="at most",
        found_low=1.0 if is_one else None, found_high=1.0 if is_one else None, limit=1.0, unit="heats",
        blocks_release=False,
        basis=Basis(
            formula="heats among the bars of the lot", source=PRACTICE,
            inputs={"bars": exact_fact(float(bars.bars_count), "bars", "own-algorithm", "assumed")},
        ),
        decides="" if is_one else "read the heat numbers of the bars when they are pulled; one heat to a lot",
    )  # fmt: skip


def holes_proof(holes: tuple[BlindHole, ...]) -> Proof:
    """Open blind holes, named with their depth."""
    worst = round(max((one.depth_ratio for one in holes), default=0.0), 6)
    named = "; ".join(one.words for one in holes)
    return prove(
        id=f"{STAGE}:holes:drain", stage=STAGE, subject="blind holes",
        claim="no open blind hole is deep enough to keep acid or beads" + (f": {named}" if named else ""),
        sense="at most", found_low=worst, found_high=worst, limit=HOLDS_RATIO, unit="diameters", blocks_release=False,
        basis=Basis(formula="depth over diameter of the deepest step, where no plug closes the hole", source=PRACTICE),
        remedy="plug them, or have them rinsed out and blown dry one by one: say so on the order",
    )  # fmt: skip


def walls_proof(count: int) -> Proof:
    """Thin walls and floors under a blast."""
    return prove(
        id=f"{STAGE}:walls:stand-the-blast", stage=STAGE, subject="thin walls",
        claim="no wall or floor is so thin that the blast may bow it", sense="at most", found_low=float(count),
        found_high=float(count), limit=0.0, unit="features", blocks_release=False,
        basis=Basis(formula="walls and floors thinner than their height or width asks for", source=PRACTICE),
        remedy="blast one piece and gauge it first; then lower pressure, or shield the wall",
    )  # fmt: skip


def rack_proof(count: int, *, is_show_said: bool) -> Proof:
    """Somewhere plain to hold the piece by, that nobody sees and no close size needs."""
    return prove(
        id=f"{STAGE}:rack:has-a-place", stage=STAGE, subject="rack",
        claim="a rack finds a plain face that does not show and carries no close size", sense="at least",
        found_low=float(count) if is_show_said else None, found_high=float(count) if is_show_said else None, limit=1.0,
        unit="faces", blocks_release=False,
        basis=Basis(
            formula="flat faces of enough area, but for show faces, masked ones and close sizes", source=PRACTICE,
            inputs={"least area": exact_fact(RACK_AREA_MM2, "mm2", PRACTICE, "common practice")},
        ),
        decides="" if is_show_said else "say which faces the customer sees ([show] in the job file)",
        remedy="agree with the finisher where the bare mark may lie",
    )  # fmt: skip


def order_proof(order: FinishOrder) -> Proof:
    """What finishers ask for is on the order; missing things send lots back."""
    says_all = not order.lacks
    return prove(
        id=f"{STAGE}:{order.finisher_id}:order-says-all", stage=STAGE, subject=order.finisher_id,
        claim=f"the order for {order.process} says all that a finisher asks for", sense="at least",
        found_low=1.0 if says_all else None, found_high=1.0 if says_all else None, limit=1.0, unit="yes = 1",
        blocks_release=False,
        basis=Basis(formula="what a finisher asks for against what is written", source=PRACTICE),
        decides="" if says_all else f"say {'; '.join(order.lacks)}",
    )  # fmt: skip
