"""A home in which revision B of a part ends: six half-made pieces of batch B1 by the old plan, batch C1 by a new one.

Of B1 eight blanks were sawn; six are through op1, of which one is bad and five wait at op2; two wait at op1.
The new plan, revision C, cuts op1 as the old one does, and op2 1 mm deeper.
"""

from __future__ import annotations

from pathlib import Path

import floor_home
import msgspec
import worked_home
from floor_home import CHECKS, MILL, Floor

from proveout.jobs.packets import freeze
from proveout.jobs.writing import plan_bytes
from proveout.model.batch_events import Asked, Bad, Counted, Done, Planned, Released, RouteStep, Started
from proveout.model.change_events import RevisionEnds
from proveout.model.plan import Plan
from proveout.model.revision import FaceChange, JawTouch, Revision, SolidChange
from proveout.model.stock_events import Sawn
from proveout.quantities.canonical import digest_of

DAY = "2027-03-20"
ROUTE = (
    *floor_home.ROUTE[:2], RouteStep(id="op2", station=MILL, kind="mill", text="clamping 2"), *floor_home.ROUTE[2:]
)  # fmt: skip
AT_OP2 = (
    Started(step="saw"), Sawn(step="saw", item="B-1", heat="H77", place="rack 1", bars_count=1, good_count=8),
    Done(step="saw"), Started(step="op1"), Counted(step="op1", good_count=5, bad=(Bad(reason="size", count=1),)),
)  # fmt: skip


def changed_home(folder: Path) -> Floor:
    """The home, without the change itself."""
    floor = floor_home.floor_home(folder, route=ROUTE, is_new=False)
    floor.post(*AT_OP2)
    release(floor, new_plan(floor), "C1")
    return floor


def ends(part: str) -> RevisionEnds:
    """The change."""
    return RevisionEnds(part=part, ends="B", begins="C", from_day=DAY, why="the slot gets deeper")


def old_plan(floor: Floor) -> Plan:
    """The plan that B1 was released with."""
    return floor.home.place("@B1").plan


def new_plan(floor: Floor, *, changed: str = "c2", **part: object) -> Plan:
    """The plan of revision C: the last pass of a clamping cuts otherwise."""
    plan = old_plan(floor)
    last = max(n for n, one in enumerate(plan.passes) if one.clamping_id == changed)
    deeper = msgspec.structs.replace(plan.passes[last], moves_digest="0" * 64)
    passes = (*plan.passes[:last], deeper, *plan.passes[last + 1 :])
    named = msgspec.structs.replace(plan.part, revision="C")
    return msgspec.structs.replace(plan, part=named, passes=passes, **part)


def release(floor: Floor, plan: Plan, batch: str) -> None:
    """A batch of revision C, and its plan in the place of the old one."""
    (floor.home.plans / worked_home.ADDRESS / "plan.json").write_bytes(plan_bytes(plan))
    papers = freeze(floor.home, batch, floor.home.place(worked_home.ADDRESS), anew={})
    mark = digest_of(plan)
    floor.post(
        Asked(part=plan.part.number, revision="C", wanted_count=7), Planned(plan=mark),
        Released(plan=mark, revision="C", blanks_count=8, route=ROUTE, checks=CHECKS, papers=papers),
        batch=batch, plan=plan,
    )  # fmt: skip


def touching_op2(plan: Plan) -> Revision:
    """The new solid against the plan: one face is otherwise, that the pass of op2 makes and its jaws do not meet."""
    made = [one for one in plan.passes if one.clamping_id == "c2"]
    face = plan.survey.faces[0].face_id
    change = SolidChange(faces=(FaceChange(fate="moved", old_ids=(face,), new_ids=(face,), by_mm=1.0),), same_count=9)
    return Revision(solid=change, passes=tuple(made), jaws=(), sizes=(), gauges=(), shown=())


def gripping(plan: Plan, clamping: str) -> Revision:
    """The new solid against the plan: jaws of a clamping meet what changed."""
    found = touching_op2(plan)
    jaws = next(one for one in plan.clampings if one.id == clamping)
    touch = JawTouch(clamping=jaws, face_ids=tuple(found.solid.touched), is_cut=False)
    return msgspec.structs.replace(found, passes=(), jaws=(touch,))
