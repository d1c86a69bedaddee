"""Name the sequences of clampings and put them in order."""

from __future__ import annotations

from typing import Any

from proveout.model.choice_of_clampings import ClampingChoice, Sequence
from proveout.model.fact import Fact
from proveout.model.job import Pin
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.reach import FaceReach
from proveout.model.recall import NOTHING_KEPT, Recall
from proveout.model.run import Run
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.solid import Solid
from proveout.model.target import Target
from proveout.model.work import Survey, Vector
from proveout.stages.clampings.covering import PER_FACE, samples_of
from proveout.stages.clampings.looking import Cover, Shopfloor, face_shares
from proveout.stages.clampings.pin_proofs import with_pins
from proveout.stages.clampings.reasons import face_reaches
from proveout.stages.clampings.refusal import why_not_held
from proveout.stages.clampings.sequences import choice_proof

TOLD_MOST = 3


def decide(
    *,
    solid: Solid,
    target: Target,
    survey: Survey,
    machines: tuple[Machine, ...],
    vises: tuple[Vise, ...],
    jaws: tuple[Jaws, ...],
    cutters: tuple[Cutter, ...],
    quantity: int,
    load_s: Fact,
    pins: tuple[Pin, ...],
    run: Run,
    blanks: tuple[tuple[Vector | None, float | None], ...] = (),
    bought: tuple[str, ...] = (),
    recall: Recall = NOTHING_KEPT,
) -> Decision[ClampingChoice]:
    """The best sequences in order: most reached first, then least money foreseen with a leaning to stiff grips.

    Named are: six ways up for the raw bar on every machine, by its strip or by sides that stay as bought; then the
    strip faced off the other way up; then up to three further ways up on finished faces, in every order; each with the
    cheapest tilts that together reach as much.
    Args:     load_s: to unload and load a piece; its low end counts.   blanks: by the side that the strip is on, the
              money of the blank's material, None where no bar of the shop fits; sides left out cost nothing; the side
              None is a blank without a strip.   bought: ids of faces that stay as bought.   recall: keeps looks.
    Raises:   BadInput when a pin names something the shop does not have.
    """
    floor = Shopfloor(machines, vises, jaws, cutters, quantity, load_s)
    cover = Cover(
        solid=solid, target=target, survey=survey, samples=samples_of(solid, target, survey), floor=floor, run=run,
        bought=frozenset(bought), recall=recall,
    )  # fmt: skip
    (found, chosen), pinned = with_pins(cover, pins, dict(blanks))
    reached_any = [mask for key, mask in sorted(cover.memory.items(), key=lambda kv: repr(kv[0])) if key[0] == "bare"]
    union = reached_any[0].copy() if reached_any else None
    for mask in reached_any[1:]:
        union |= mask  # type: ignore[operator]
    shares = face_shares(cover, union) if union is not None else None
    unreached = tuple(
        sorted(
            f.id
            for f in solid.faces
            if (shares is None or shares[f.index] < 1.0 - 3.5 / PER_FACE) and f.id not in cover.bought
        )
    )  # fmt: skip

    def looked_closely(*, of: str, **held: Any) -> tuple[FaceReach, ...]:  # noqa: ARG001 - names samples and cutters
        return face_reaches(samples=cover.samples, cutters=cutters, run=run, **held)

    choice = ClampingChoice(
        sequences=found, named_count=chosen.count,
        access=tuple(cover.access[k] for k in sorted(cover.access)), unreached=unreached,
        reach=recall.get(
            "clampings reach", looked_closely, of=cover.looked_at, holds=found[0].holds, machines=machines,
            vises=vises, jaws=jaws, bought=cover.bought,
        ) if found else (),
    )  # fmt: skip
    proofs = _proofs(choice, len(solid.faces), "" if found else why_not_held(cover))
    if found:
        proofs = (*proofs, choice_proof(found, chosen))
    return Decision(value=choice, proofs=(*proofs, *pinned))


def _proofs(choice: ClampingChoice, faces_count: int, why_not: str) -> tuple[Proof, ...]:
    held = choice.sequences[0] if choice.sequences else None
    missing = held.unreached if held else ()
    names = "; ".join(missing[:6]) + (f"; and {len(missing) - 6} more" if len(missing) > 6 else "")
    found = float(faces_count - len(missing)) if held else 0.0
    return (
        prove(
            id="clampings:part:every face reached", stage="clampings", subject=names or "all faces",
            claim="a cutter of the shop reaches every face in some clamping", sense="at least", found_low=found,
            found_high=found, limit=float(faces_count), unit="faces", blocks_release=True,
            basis=Basis(
                formula="room and hollow at points of every face by its own surface, against each cutter's end; "
                "shank, holder and what holds the work by a height map per direction",
                source="own-algorithm",
            ),
            remedy=_remedy(held, names, why_not, choice.reach),
        ),
    )  # fmt: skip


def _remedy(held: Sequence | None, names: str, why_not: str, reach: tuple[FaceReach, ...]) -> str:
    if held is None:
        return f"this shop cannot hold the part: {why_not}; make it elsewhere, or describe a machine or vise that can"
    if held.keeps_strip:
        return (
            "once turned over, the work gives the jaws neither two parallel finished flats nor a finished round to "
            f"hold, so the strip stays on; not made: {names}; make a fixture, leave a grip in the design, or turn it "
            "on a lathe"
        )
    told = [r for r in reach if r.face_id in held.unreached and r.why_not]
    why = "".join(
        f"; {r.face_id}: {r.why_not}" + (f" (would reach it: {r.would_reach})" if r.would_reach else "")
        for r in told[:TOLD_MOST]
    )  # fmt: skip
    return f"in these clampings nothing in this shop reaches: {names}{why}; add a cutter that fits or change the design"
