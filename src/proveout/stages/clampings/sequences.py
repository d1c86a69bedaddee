"""The best sequences of clampings of a part, and how far the choice among them is proved."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from proveout.model.choice_of_clampings import Hold, Sequence
from proveout.model.plan import WayOfHolding
from proveout.model.proof import Basis, Proof, prove
from proveout.model.work import Vector
from proveout.stages.clampings.choosing import Chosen, Found, choose
from proveout.stages.clampings.looking import Cover, made_ids, unfinished
from proveout.stages.clampings.offers import name_of
from proveout.stages.clampings.pinned import Pinned
from proveout.stages.clampings.ways import Ways, bits, candidate_of

KEPT = 3
NOISE_COUNT = 2
"""Fewer samples of a face that only one tilt reaches are the height map's noise and worth no tilt by themselves."""


def sequences(
    cover: Cover, *, pinned: Pinned, blanks: Mapping[Vector | None, float | None]
) -> tuple[tuple[Sequence, ...], Chosen]:
    """The best three that differ in ways up or machines, best first, and how they were found."""
    ways = Ways(cover, pinned, blanks)
    chosen = choose(
        ways.first(), ways.after, wanted=bits(ways.coverable), lacks=ways.lacks, still=ways.still, parts=ways.parts(),
        least_count=NOISE_COUNT, same=_outline, kept=KEPT,
    )  # fmt: skip
    return tuple(_sequence(ways, found) for found in chosen.found), chosen


def _outline(found: Found) -> tuple[object, ...]:
    return tuple((candidate_of(way).up, candidate_of(way).machine.id) for way in found.ways)


def _sequence(ways: Ways, found: Found) -> Sequence:
    """With what each clamping makes: whatever is reached first is made first."""
    cover = ways.cover
    done = ways.given.copy()
    holds: list[Hold] = []
    for way, looks in zip(found.ways, found.looks, strict=True):
        one = candidate_of(way)
        reached = np.zeros_like(done)
        for i in looks:
            reached |= ways.mask(way.looks[i].reached)
        new = reached & ways.coverable & ~done
        done = done | new
        faces, holes = made_ids(cover, new)
        holds.append(
            Hold(
                up=one.up, machine_id=one.machine.id, vise_id=one.vise.id, jaws_id=one.jaws.id, grip=one.grip,
                directions=tuple(one.directions[i] for i in looks), makes_faces=faces, makes_holes=holes,
            )
        )  # fmt: skip
    lacking = unfinished(cover, done, ways.coverable)
    missing = tuple(sorted(f.id for f in cover.solid.faces if lacking[f.index]))
    names = ", then ".join(
        f"{name_of(h.up) or h.up} up on {h.machine_id}"
        + (f" with {len(h.directions)} tilts" if len(h.directions) > 1 else "")
        + (" held by sides as bought" if number == 0 and h.grip is not None else "")
        for number, h in enumerate(holds)
    )
    money = sum(candidate_of(way).money_each for way in found.ways)
    tilts = sum(way.looks[i].cost for way, looks in zip(found.ways, found.looks, strict=True) for i in looks)
    ratio = 1.0 - len(missing) / max(1, len(cover.solid.faces))
    return Sequence(
        holds=tuple(holds), bound_each=round(money, 6), tilts_each=round(tilts, 6),
        leaning_each=round(found.cost - money - tilts, 6), reached_ratio=round(ratio, 4), unreached=missing, why=names,
    )  # fmt: skip


def choice_proof(found: tuple[Sequence, ...], chosen: Chosen) -> Proof:
    """How far the choice is proved: among the sequences named, by money foreseen and the leaning to stiff grips."""
    first = found[0]
    rivals = [s for s in found[1:] if s.reached_ratio >= first.reached_ratio - 1e-9 and not s.keeps_strip]
    own = first.foreseen_each
    least = min((s.foreseen_each for s in rivals), default=None) if chosen.is_proved else None
    limit = own if least is None else least
    return prove(
        id="clampings:sequence:least bound", stage="clampings", subject=first.why,
        claim="no other named sequence that reaches as much is foreseen to cost less", sense="at most",
        found_low=own if chosen.is_proved else None, found_high=own if chosen.is_proved else None,
        limit=limit if chosen.is_proved else max(limit, own), unit="money a piece", blocks_release=False,
        basis=Basis(
            formula="sum over clampings of (set-up / quantity + quickest load) x rate + jaws made / quantity, + blank, "
            "+ seconds of a tilt x rate, + 0.5 x (height above the jaws / breadth held)^2 for each clamping, a leaning "
            "to stiff grips that is money in name only; cutting is taken to cost the same in all. "
             f"This one: {first.bound_each:.2f} for set-ups, loads, jaws and blank, {first.tilts_each:.2f} for tilts, "
            f"{first.leaning_each:.2f} for stiffness. "
            + (_beside(first, rivals) if rivals else "No other named sequence reaches as much."),
            source="own-algorithm",
        ),
        decides=f"more than {chosen.count} sequences would have to be worked out; pin a way up to narrow them",
        remedy="pin other ways up to have them planned in full",
    )  # fmt: skip


def _beside(first: Sequence, rivals: list[Sequence]) -> str:
    """The next-best in words, with what each would cost or save."""
    told = []
    for rival in rivals[:2]:
        parts = [
            (rival.bound_each - first.bound_each, "for set-ups, loads, jaws and blank"),
            (rival.tilts_each - first.tilts_each, "for tilts"),
            (rival.leaning_each - first.leaning_each, "for stiffness, in name only"),
        ]
        differs = [f"{abs(v):.2f} {'more' if v > 0.0 else 'less'} {what}" for v, what in parts if abs(v) >= 0.005]
        told.append(f"{rival.why}: {', '.join(differs) or 'comes to the same'}")
    return "Next-best, a piece: " + "; ".join(told) + "."


def ways_of(sequences: tuple[Sequence, ...]) -> tuple[WayOfHolding, ...]:
    """What was foreseen of each, the first taken as chosen."""
    return tuple(
        WayOfHolding(
            why=one.why, ups=tuple(name_of(h.up) for h in one.holds), machines=tuple(h.machine_id for h in one.holds),
            bound_each=one.bound_each, tilts_each=one.tilts_each, leaning_each=one.leaning_each,
            reached_ratio=one.reached_ratio, is_chosen=number == 0,
        )
        for number, one in enumerate(sequences)
    )  # fmt: skip
