"""Decide the blank: the bar that costs least in metal, sawing and chips, with the next-best two and what they cost."""

from __future__ import annotations

import msgspec

from proveout.model.fact import Fact, exact_fact
from proveout.model.job import Order, Pin
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Bar, Jaws, Saw
from proveout.model.solid import Solid
from proveout.model.target import NOTHING_BOUGHT, AsBought
from proveout.model.work import Blank, BlankChoice, StackLine, Vector
from proveout.stages.blank.bought import bought_proof, hanging_proofs, rounded_proofs
from proveout.stages.blank.candidates import (
    GRIP_SIDES,
    ROUGHING_MM3_PER_S,
    Candidate,
    Prices,
    all_candidates,
    axis_of,
)
from proveout.stages.blank.ideal import IDEAL, ideal_blank
from proveout.stages.blank.stack import Side, Stack

STAGE = "blank"
BY_WHOM = {"owner": "the owner", "order": "the order, whose blanks are chosen together"}
OTHERS_COUNT = 2


class BlankDecision(msgspec.Struct, frozen=True, kw_only=True):
    """The choice, and every candidate cheapest first for whoever tries another one."""

    choice: BlankChoice
    candidates: tuple[Candidate, ...]


def decide(
    *,
    solid: Solid,
    bars: tuple[Bar, ...],
    saw: Saw,
    jaws: Jaws,
    order: Order,
    alloy: str,
    scrap_ratio: Fact,
    density_kg_per_mm3: float,
    machine_rate_per_h: float,
    pins: tuple[Pin, ...] = (),
    grip_sides: tuple[Vector | None, ...] = GRIP_SIDES,
    opening_max_mm: float | None = None,
    bought: AsBought = NOTHING_BOUGHT,
    roughing_mm3_per_s: float = ROUGHING_MM3_PER_S,
) -> Decision[BlankDecision]:
    """The blank for a part.

    jaws: the raw-bar jaws, for their grip.  grip_sides: where the strip may be, in order of preference; None for a
    piece without one.  bought: sides of the part that stay as they come.  pins: a bar that is fixed is kept when
    it covers the stack, else refused with a failing proof and the best other taken.
    A bar of 6061-T6511 is one of 6061-T6. When no bar covers the stack the blank is an ideal one, and a failing proof
    names the smallest section.
    """
    pieces = order.quantity + order.spares(scrap_ratio) + order.trial_count
    prices = Prices(
        quantity=order.quantity,
        pieces_count=pieces,
        density_kg_per_mm3=density_kg_per_mm3,
        machine_rate_per_h=machine_rate_per_h,
        roughing_mm3_per_s=roughing_mm3_per_s,
    )
    offered = tuple(bar for bar in bars if bar.alloy.casefold().startswith(alloy.casefold()))
    found, failing = all_candidates(
        solid=solid,
        bars=offered,
        saw=saw,
        grip_mm=jaws.grip_mm,
        grip_sides=grip_sides,
        prices=prices,
        opening_max_mm=opening_max_mm,
        bought=bought,
    )
    proofs: list[Proof] = []
    pin = next((pin for pin in pins if pin.quantity == "bar"), None)
    pinned = "" if pin is None else pin.value
    wanted = tuple(c for c in found if c.blank.bar_id == pinned) if pinned else found
    if pin is not None:
        proofs.append(_pin_proof(pin, is_kept=bool(wanted), bars=bars, failing=failing))
    usable = wanted or found
    if not usable:
        ideal = ideal_blank(
            solid=solid, bars=offered, saw=saw, grip_mm=jaws.grip_mm, grip_sides=grip_sides, prices=prices,
            bought=bought,
        )  # fmt: skip
        proofs.append(_no_bar_proof(ideal, failing, alloy, bought))
        choice = BlankChoice(chosen=ideal, others=(), why=(f"no bar of {alloy} in the shop covers the stack",))
        return Decision(value=BlankDecision(choice=choice, candidates=()), proofs=tuple(proofs))
    best = usable[0]
    bar = next(b for b in offered if b.id == best.blank.bar_id)
    proofs.extend(_side_proofs(best, bar, bought))
    proofs.extend(hanging_proofs(best.stack, bar.id, bought))
    proofs.extend(rounded_proofs(best.stack, bar, bought))
    proofs.append(_saw_proof(bar, saw))
    others = _next_best(best, found)
    choice = BlankChoice(
        chosen=best.blank,
        others=tuple(other.blank for other in others),
        why=(_why_chosen(best, pin if wanted else None), *(_why_not(other, best) for other in others)),
    )
    return Decision(value=BlankDecision(choice=choice, candidates=found), proofs=tuple(proofs))


def _next_best(best: Candidate, found: tuple[Candidate, ...]) -> list[Candidate]:
    """Cheapest of the others, one for each bar and way along it; rolled over or gripped elsewhere is no other."""
    seen = {_way(best)}
    others: list[Candidate] = []
    for other in found:
        if _way(other) not in seen and len(others) < OTHERS_COUNT:
            seen.add(_way(other))
            others.append(other)
    return others


def _way(one: Candidate) -> tuple[str, int]:
    return one.blank.bar_id, one.blank.length_axis


def _money(one: Candidate) -> str:
    return (
        f"{one.money_each:.2f} a piece: metal {one.material_each:.2f}, sawing {one.saw_each:.2f}, "
        f"cutting {one.chips_mm3 / 1000.0:.1f} cm³ to chips about {one.chips_each:.2f}"
    )


def _name(one: Candidate) -> str:
    blank = one.blank
    strip = "no strip"
    if blank.grip_side is not None:
        sign = "+" if sum(blank.grip_side) > 0.0 else "-"
        strip = f"strip at {sign}{'xyz'[axis_of(blank.grip_side)[0]]}"
    return f"{blank.bar_id}, part's {'xyz'[blank.length_axis]} along the bar, {strip}"


def _why_chosen(best: Candidate, pin: Pin | None) -> str:
    reason = "least money" if pin is None else f"fixed by {BY_WHOM[pin.by]}"
    bar = f"{best.blank.pieces_per_bar} from a bar of {best.blank.bar_length_mm / 1000.0:g} m"
    return f"{_name(best)}: {reason}, {_money(best)}; {bar}"


def _why_not(other: Candidate, best: Candidate) -> str:
    more = other.money_each - best.money_each
    return f"{_name(other)}: {abs(more):.2f} {'more' if more >= 0.0 else 'less'}, {_money(other)}"


def _side_proofs(best: Candidate, bar: Bar, bought: AsBought) -> list[Proof]:
    sides = (
        ("section-width", best.stack.width, bar.width_mm),
        ("section-height", best.stack.height, bar.height_mm),
        ("length", best.stack.length, best.blank.cut_length_mm),
    )
    return [
        bought_proof(name, side, has, bar.id, bought) if side.is_exact else _covers(name, side, has, bar.id)
        for name, side, has in sides
    ]


def _covers(name: str, side: Side, has_mm: float, bar_id: str) -> Proof:
    return prove(
        id=f"{STAGE}:{bar_id}:{name}-covers-the-stack",
        stage=STAGE,
        subject=bar_id,
        claim=f"the blank's {name.replace('-', ' ')} of {has_mm:g} mm covers part, clean-up, grip and tolerances",
        sense="at most",
        found_low=round(side.needed_low_mm, 6),
        found_high=round(side.needed_mm, 6),
        limit=has_mm,
        unit="mm",
        blocks_release=True,
        basis=Basis(formula="sum of the lines", source="own-algorithm", inputs=_inputs(side.lines)),
        remedy="take a larger section or a longer piece",
    )


def _inputs(lines: tuple[StackLine, ...]) -> dict[str, Fact]:
    out: dict[str, Fact] = {}
    for number, line in enumerate(lines, start=1):
        is_part = line.text.startswith("part along")
        source, strength = ("solid-model", "assumed") if is_part else ("workshop-practice", "common practice")
        if "tolerance" in line.text or line.text.startswith(("bow", "twist", "corner", "strip")):
            source, strength = "shop-file", "owner's guess"
        out[f"{number} {line.text}"] = exact_fact(line.size_mm, "mm", source, strength)  # type: ignore[arg-type]
    return out


def _saw_proof(bar: Bar, saw: Saw) -> Proof:
    short, long = sorted((bar.width_mm, bar.height_mm))
    least, most = sorted((saw.bundle_width_mm, saw.bundle_height_mm))
    worst = max(short - least, long - most)
    return prove(
        id=f"{STAGE}:{bar.id}:goes-into-the-saw",
        stage=STAGE,
        subject=bar.id,
        claim=f"a bar of {bar.width_mm:g} x {bar.height_mm:g} mm goes into the saw",
        sense="at most",
        found_low=worst,
        found_high=worst,
        limit=0.0,
        unit="mm",
        blocks_release=True,
        basis=Basis(
            formula="larger excess of bar over saw, short side against short side",
            source="own-algorithm",
            inputs={
                "bundle width": exact_fact(saw.bundle_width_mm, "mm", "shop-file", "owner's guess"),
                "bundle height": exact_fact(saw.bundle_height_mm, "mm", "shop-file", "owner's guess"),
            },
        ),
    )


def _pin_proof(pin: Pin, *, is_kept: bool, bars: tuple[Bar, ...], failing: tuple[tuple[Bar, Stack], ...]) -> Proof:
    pinned = pin.value
    stacks = [stack for bar, stack in failing if bar.id == pinned]
    short = min((_shortage(bar, stack) for bar, stack in failing if bar.id == pinned), default=None)
    value = 0.0 if is_kept else short
    if not any(bar.id == pinned for bar in bars):
        decides = f"there is no bar {pinned} in the shop: add it or drop the wish"
    elif not stacks and not is_kept:
        decides = f"{pinned} is of another alloy than the part: change one of them"
    else:
        decides = "" if is_kept else "see the stack"
    return prove(
        id=f"{STAGE}:{pinned}:pinned-bar-is-kept",
        stage=STAGE,
        subject=pinned,
        claim=f"the bar fixed by {BY_WHOM[pin.by]}, {pinned}, covers the stack and goes into saw and vise",
        sense="at most",
        found_low=value if is_kept or not stacks else max(short or 0.0, 1e-3),
        found_high=value if is_kept or not stacks else max(short or 0.0, 1e-3),
        limit=0.0,
        unit="mm",
        blocks_release=True,
        basis=Basis(formula="smallest shortage of the section over all ways round", source="own-algorithm"),
        decides=decides,
        remedy=f"take another bar: {pinned} is refused and the plan goes on without it",
    )


def _shortage(bar: Bar, stack: Stack) -> float:
    """How far a bar misses what is needed; of a side that nobody cuts by too much as well as by too little."""
    return max(
        0.0,
        *(
            abs(side.needed_mm - size) if side.is_exact else side.needed_mm - size
            for side, size in ((stack.width, bar.width_mm), (stack.height, bar.height_mm))
        ),
    )


def _no_bar_proof(ideal: Blank, failing: tuple[tuple[Bar, Stack], ...], alloy: str, bought: AsBought) -> Proof:
    sizes = [ideal.high_mm[axis] - ideal.low_mm[axis] for axis in range(3) if axis != ideal.length_axis]
    nearest = min(failing, key=lambda pair: (_shortage(*pair), pair[0].id), default=None)
    short = max(_shortage(*nearest), 1e-3) if nearest is not None else max(sizes)
    at_least = "" if bought.sides else " at least"
    nearest_text = "" if nearest is None else f"; nearest is {nearest[0].id}"
    return prove(
        id=f"{STAGE}:{IDEAL}:a-bar-covers-the-stack",
        stage=STAGE,
        subject=IDEAL,
        claim=f"some bar of {alloy} in the shop covers part, clean-up, grip and tolerances, and goes into saw and vise",
        sense="at most",
        found_low=round(short, 6),
        found_high=round(short, 6),
        limit=0.0,
        unit="mm",
        blocks_release=True,
        basis=Basis(
            formula="smallest shortage of a section over all bars and ways round" + nearest_text,
            source="own-algorithm",
            inputs=_inputs(ideal.stack),
        ),
        remedy=f"buy {alloy} of{at_least} {max(sizes):.1f} x {min(sizes):.1f} mm; the plan goes on from such a bar",
    )
