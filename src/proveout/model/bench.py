"""What the bench does to the edges of a piece."""

from __future__ import annotations

from typing import Literal

from proveout.model.fact import Fact
from proveout.model.shop import Noun

EdgeManner = Literal["machine", "hand"]


class EdgeRun(Noun, frozen=True, kw_only=True):
    """Edges that are broken alike. letter: on the edge map, one of a kind in a plan.

    manner: by machine where the solid has a chamfer or a round there and passes cut it, else by hand.
    edge_ids: of the solid;  face_ids: those beside it (of a chamfer or a round, its own);  hole_ids: whose mouths they
    are.  clamping: number of the clamping after which the edge is there, 0 where no pass makes its faces.
    runs_count: how many runs of one length these are;  length_mm: of all of them.
    seconds: a piece, by hand; None where nobody measured how fast.   pass_ids: that break it.
    """

    letter: str
    manner: EdgeManner
    edge_ids: tuple[str, ...]
    face_ids: tuple[str, ...]
    hole_ids: tuple[str, ...]
    length_mm: float
    clamping: int
    runs_count: int = 1
    seconds: Fact | None = None
    pass_ids: tuple[str, ...] = ()


class BenchPlan(Noun, frozen=True, kw_only=True):
    """Edges of a piece. break_mm: by how much, None when nobody said.   hand_mm: all that is broken by hand.

    hand_s: seconds a piece for all of it, None where nobody measured how fast.   show_faces: not to be marked, by id.
    """

    edges: tuple[EdgeRun, ...] = ()
    break_mm: float | None = None
    hand_mm: float = 0.0
    machine_mm: float = 0.0
    hand_s: Fact | None = None
    show_faces: tuple[str, ...] = ()
