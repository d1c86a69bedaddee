"""What stands about the work in each clamping, as the shop file describes it: jaws, vise, table, cutters, head."""

from __future__ import annotations

import numpy as np

from proveout.model.checking import Obstacle
from proveout.model.cutter import Piece
from proveout.model.cutter_pieces import body_pieces, cutting_pieces
from proveout.model.plan import Plan
from proveout.model.shop import Noun, Shop
from proveout.model.work import Clamping, Vector
from proveout.sheets.picture import operator_view


class Bodies(Noun, frozen=True, kw_only=True):
    """A cutter as bodies of revolution from its tip up. head: of the machine above it, empty where not described."""

    name: str
    edges: tuple[Piece, ...]
    shank: tuple[Piece, ...]
    head: tuple[Piece, ...]


class Stand(Noun, frozen=True, kw_only=True):
    """One clamping as it is seen. turn: rows are the clamping's axes in the part frame; origin_mm its origin there.

    eye, up: from the work to where the operator's eyes are, and up as seen from there, in the clamping's frame.
    obstacles: in that frame.   lacking: what nobody described, so that it is not drawn.   cutters: by id.
    """

    id: str
    number: int
    machine: str
    vise: str
    turn: tuple[Vector, Vector, Vector]
    origin_mm: Vector
    eye: Vector
    up: Vector
    seat_text: str
    obstacles: tuple[Obstacle, ...]
    lacking: tuple[str, ...]
    cutters: dict[str, Bodies]


def stands_of(plan: Plan, shop: Shop) -> tuple[Stand, ...]:
    """All clampings of a plan. Nothing is made up: a body that the shop file does not describe is named as lacking."""
    return tuple(_stand(plan, shop, clamping) for clamping in plan.clampings)


def _stand(plan: Plan, shop: Shop, clamping: Clamping) -> Stand:
    from proveout.stages.removal_check.bodies import unlooked
    from proveout.stages.removal_check.replay import bodies_of

    machine = next((m for m in shop.machines if m.id == clamping.machine_id), None)
    vise = next((v for v in shop.vises if v.id == clamping.vise_id), None)
    obstacles = () if vise is None else bodies_of(clamping, vise, machine)
    known = {c.id: c for c in shop.cutters}
    used = sorted({p.cutter_id for p in plan.passes if p.clamping_id == clamping.id} & set(known))
    head = None if machine is None else machine.head
    lacking = list(unlooked(obstacles, machine))
    lacking += [f"the holder of {known[id].name}" for id in used if known[id].holder_length_mm <= 0.0]
    view, turn = operator_view(clamping), clamping.frame.turn
    return Stand(
        id=clamping.id, number=clamping.number, machine=clamping.machine_id if machine is None else machine.name,
        vise=clamping.vise_id, turn=(clamping.frame.x, clamping.frame.y, clamping.frame.z),
        origin_mm=clamping.frame.origin_mm, eye=_into(turn, view.towards_viewer), up=_into(turn, view.up),
        seat_text=clamping.seat_text, obstacles=obstacles, lacking=tuple(lacking),
        cutters={
            id: Bodies(
                name=known[id].name, edges=cutting_pieces(known[id]), shank=body_pieces(known[id]),
                head=() if head is None else head.pieces(known[id].gauge_mm),
            )
            for id in used
        },
    )  # fmt: skip


def _into(turn: np.ndarray, direction: Vector) -> Vector:
    x, y, z = (float(v) for v in turn @ np.array(direction))
    return x, y, z
