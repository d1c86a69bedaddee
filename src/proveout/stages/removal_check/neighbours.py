"""What stands in the other places of a machine while a piece is cut in one of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from proveout.geometry.boxes import box_corners
from proveout.model.checking import Obstacle
from proveout.model.course import Axes
from proveout.model.shop import Cutter, Jaws, Machine, Vise
from proveout.model.table_load import Laid, Place, TableLoad, idle_places, zero_at
from proveout.model.work import Blank, Clamping, PassPlan
from proveout.stages.removal_check.bodies import BED, OTHER, TABLE, bodies_about, standing_bodies
from proveout.stages.removal_check.idle import Beside, half_round, idle_about, moved_body
from proveout.stages.removal_check.replay import strikes_of

OTHERS = "what stands in the other places"


def bodies_at(clamping: Clamping, place: Place, vise: Vise, machine: Machine | None) -> tuple[Obstacle, ...]:
    """All described that the work stands in and on in a place, from its work zero, in the machine's directions."""
    zero: Axes = zero_at(clamping, place) or (None, None, None)
    if not place.is_turned:
        return bodies_about(clamping, vise, machine, zero)
    own = [b for b in bodies_about(clamping, vise, machine, (None, None, None)) if b.name not in (BED, TABLE)]
    behind = standing_bodies(
        vise, machine, middle_mm=(-clamping.jaw_middle_mm, -vise.fixed_deep_mm, 0.0), gap_mm=clamping.gap_mm,
        jaw_top_mm=clamping.jaw_top_mm, zero_mm=zero,
    )  # fmt: skip
    return (*(half_round(b) for b in own), *(b for b in behind if b.name in (BED, TABLE)))


def piece_at(clamping: Clamping, place: Place, blank: Blank) -> Obstacle:
    """A piece as it was sawn, above the seat: no clamping leaves more of it."""
    corners = box_corners(blank.low_mm, blank.high_mm)
    seen = clamping.frame.into(corners)
    least, most = seen.min(axis=0), seen.max(axis=0)
    body = Obstacle(
        name="piece", low_mm=(float(least[0]), float(least[1]), 0.0),
        high_mm=(float(most[0]), float(most[1]), float(most[2])),
    )  # fmt: skip
    return half_round(body) if place.is_turned else body


def others_about(
    load: TableLoad, at: int, *, clampings: Mapping[str, Clamping], vises: Mapping[str, Vise], machine: Machine,
    blank: Blank, jaws: Sequence[Jaws] = (),
) -> Beside:  # fmt: skip
    """Vises and pieces in all other places, from the work zero of the piece `at`, in the machine's directions.

    One place that nobody measured takes nothing away of what stands in the others. A place of the load that may be
    empty counts as filled; vises that the load leaves idle are empty.   jaws: that may be on those.
    """
    here = zero_at(clampings[load.laid[at].clamping_id], load.laid[at].place)
    found: list[Obstacle] = []
    unmeasured: tuple[str, ...] = ()
    for number, one in enumerate(load.laid):
        if number == at:
            continue
        clamping = clampings[one.clamping_id]
        there = zero_at(clamping, one.place)
        if here is None or there is None:
            unmeasured = (OTHERS,)
            continue
        bodies = [b for b in bodies_at(clamping, one.place, vises[one.place.vise_id], machine) if b.name != TABLE]
        if _is_shared(load.laid, number):
            bodies = [b for b in bodies if b.name != OTHER]
        x, y, z = (float(b - a) for a, b in zip(here, there, strict=True))
        whole = (*bodies, piece_at(clamping, one.place, blank))
        found.extend(moved_body(body, (x, y, z), f"{body.name} of place {one.place.number}") for body in whole)
    idle = idle_places(machine, tuple(vises.values()), (one.place for one in load.laid))
    empty = idle_about(here, idle, vises=vises, jaws=jaws)
    return Beside(
        bodies=(*found, *empty.bodies), unmeasured=(*unmeasured, *empty.unmeasured), undescribed=empty.undescribed,
    )  # fmt: skip


def own_bodies(load: TableLoad, at: int, clamping: Clamping, vise: Vise, machine: Machine) -> tuple[Obstacle, ...]:
    """What the piece `at` itself is held in; the other side of its vise where another piece lies in it left out."""
    bodies = bodies_at(clamping, load.laid[at].place, vise, machine)
    return tuple(b for b in bodies if b.name != OTHER or not _is_shared(load.laid, at))


def struck_by(
    load: TableLoad, *, clampings: Mapping[str, Clamping], vises: Mapping[str, Vise], machine: Machine, blank: Blank,
    plan: PassPlan, cutters: Mapping[str, Cutter], jaws: Sequence[Jaws] = (),
) -> str:  # fmt: skip
    """What of one piece's passes meets what stands in another place, as far as somebody measured where; else empty."""
    for at, laid in enumerate(load.laid):
        clamping = clampings[laid.clamping_id]
        others = others_about(
            load, at, clampings=clampings, vises=vises, machine=machine, blank=blank, jaws=jaws
        ).bodies  # fmt: skip
        if laid.place.is_turned:
            others = tuple(half_round(body) for body in others)
        frames = {tilt.id: tilt.frame for tilt in clamping.tilts}
        own = [
            (one, plan.moves[one.moves_digest], cutters[one.cutter_id], frames[one.tilt_id])
            for one in plan.passes
            if one.clamping_id == clamping.id
        ]
        struck = strikes_of(clamping, bodies=others, machine=machine, passes=own)
        if struck:
            return f"in place {laid.place.number} {struck[0].what}"
    return ""


def _is_shared(laid: Sequence[Laid], at: int) -> bool:
    mine = laid[at].place
    return any(
        number != at and (one.place.vise_id, one.place.vise_number) == (mine.vise_id, mine.vise_number)
        for number, one in enumerate(laid)
    )
