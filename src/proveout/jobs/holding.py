"""How the work is held and which bar it comes from: chosen together, since the strip's side decides both."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from proveout.jobs.request import Request
from proveout.jobs.slices import blank_as_body, jaws_as_bodies, order_of_pieces, shop_of_bodies
from proveout.jobs.store import Store
from proveout.model.choice_of_clampings import ClampingChoice, Sequence
from proveout.model.job import Pin
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.shop import Jaws, Shop
from proveout.model.solid import Solid
from proveout.model.target import NOTHING_BOUGHT, AsBought, Target
from proveout.model.work import BlankChoice, Clamping, Survey, Vector

if TYPE_CHECKING:
    from proveout.stages.blank.decide import BlankDecision

PINNED = ("machine", "machines", "vise", "jaws", "up", "ups", "tilts")


@dataclass(frozen=True)
class HeldWork:
    """The choice of clampings, the sequence taken (None where nothing holds the part), the blank, and how they lie."""

    choice: ClampingChoice
    sequence: Sequence | None
    blanks: BlankChoice
    clampings: tuple[Clamping, ...]
    proofs: tuple[Proof, ...]


def hold(
    request: Request,
    *,
    solid: Solid,
    target: Target,
    survey: Survey,
    lack: str,
    store: Store,
    run: Run,
    bought: AsBought = NOTHING_BOUGHT,
) -> HeldWork:
    """Blanks for every side of the strip, the best sequence of clampings, its blank, and the clampings laid on it.

    Args:     lack: why the shop's figures are not for this metal, empty when they are: then money is not told.
              bought: sides that nobody cuts.
    """
    from proveout.stages import clampings

    job, shop = request.job, request.shop
    bodies = shop_of_bodies(shop)
    raw = next((j for p in job.pins if p.quantity == "jaws" for j in shop.jaws if j.id == p.value), None)
    openings = [v.opening_max_mm for v in shop.vises]
    sides: tuple[Vector | None, ...] = (*survey.directions[:6], *((None,) if bought.sides else ()))
    blanks = tuple(
        (side, _money_each(_blank(request, solid, side, raw or _raw_jaws(shop, None), openings, bought, store), lack))
        for side in sides
    )
    choice = store.get(
        "clampings", clampings.decide, solid=solid, target=target, survey=survey, machines=shop.machines,
        vises=bodies.vises, jaws=bodies.jaws, cutters=bodies.cutters, quantity=job.order.quantity,
        load_s=shop.bench.load_s, pins=_pins(job.pins, PINNED), blanks=blanks, bought=bought.face_ids, run=run,
        recall=store,
    )  # fmt: skip
    proofs: list[Proof] = [*choice.proofs]
    sequence = choice.value.sequences[0] if choice.value.sequences else None
    run.check("blank")
    openings = [v.opening_max_mm for v in shop.vises if sequence is None or v.id == sequence.holds[0].vise_id]
    blanked = _blank(request, solid, _grip_side(sequence), _raw_jaws(shop, sequence), openings, bought, store)
    proofs.extend(blanked.proofs)
    choice_of_bar = _without_prices(blanked.value.choice) if lack else blanked.value.choice
    chosen = choice_of_bar.chosen
    placed: tuple[Clamping, ...] = ()
    if sequence is not None:
        laid = store.get(
            "clampings place", clampings.place, sequence=sequence, blank=blank_as_body(chosen), target=target,
            machines=bodies.machines, vises=bodies.vises, jaws=bodies.jaws, bars=shop.bars, show_faces=job.show_faces,
            is_blasted=job.coat is not None and job.coat.blast, bought=bought,
        )  # fmt: skip
        placed = laid.value.clampings
        proofs.extend(laid.proofs)
    return HeldWork(
        choice=choice.value, sequence=sequence, blanks=choice_of_bar, clampings=placed, proofs=tuple(proofs)
    )


def _pins(pins: tuple[Pin, ...], quantities: tuple[str, ...]) -> tuple[Pin, ...]:
    return tuple(p for p in pins if p.quantity in quantities)


def _blank(
    request: Request, solid: Solid, side: Vector | None, jaws: Jaws, openings_mm: list[float], bought: AsBought,
    store: Store,
) -> Decision[BlankDecision]:  # fmt: skip
    """The blank with its strip on one side, or without one."""
    from proveout.stages.blank.decide import decide as decide_blank

    job, shop = request.job, request.shop
    (own,) = jaws_as_bodies((jaws,))
    return store.get(
        "blank", decide_blank, solid=solid, bars=shop.bars, saw=shop.saw, jaws=own, order=order_of_pieces(job.order),
        alloy=job.part.alloy, scrap_ratio=shop.scrap_ratio, density_kg_per_mm3=shop.density_kg_per_mm3,
        machine_rate_per_h=min(m.rate_per_h for m in shop.machines), pins=_pins(job.pins, ("bar",)),
        grip_sides=(side,), opening_max_mm=max(openings_mm) if openings_mm else None, bought=bought,
    )  # fmt: skip


def _money_each(decided: Decision[BlankDecision], lack: str) -> float | None:
    """Metal, sawing and cutting it away, of the bar that would be taken; None where none fits.

    lack: where the shop's figures are not for this metal nothing is told of its money, and all blanks cost alike.
    """
    chosen = decided.value.choice.chosen
    found = next((c.money_each for c in decided.value.candidates if c.blank == chosen), None)
    return 0.0 if found is not None and lack else found


def _grip_side(sequence: Sequence | None) -> Vector | None:
    if sequence is None:
        return (0.0, 0.0, -1.0)
    if sequence.holds[0].grip is not None:
        return None
    x, y, z = sequence.holds[0].up
    return (0.0 - x, 0.0 - y, 0.0 - z)


def _raw_jaws(shop: Shop, sequence: Sequence | None) -> Jaws:
    if sequence is not None:
        return next(j for j in shop.jaws if j.id == sequence.holds[0].jaws_id)
    return min(shop.jaws, key=lambda j: (j.kind != "toothed", j.id))


def _without_prices(choice: BlankChoice) -> BlankChoice:
    """The choice without the money that its reasons tell, which rests on a density that nobody wrote."""
    if choice.chosen.is_ideal:
        return choice
    why = ("the cheapest of those that fit, if all weigh alike", *("not shown" for _ in choice.others))
    return BlankChoice(chosen=choice.chosen, others=choice.others, why=why)
