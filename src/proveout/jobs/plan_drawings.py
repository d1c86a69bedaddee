"""The drawings of a plan that lies in its folder, made anew from its own STEP file and kept between openings.

Hidden lines take seconds a view. So they are made in three parts as pages need them, one at a time in the background,
and a page that cannot wait shows boxes until they are there.
"""

from __future__ import annotations

import threading
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Literal

from proveout.intake.step import drawings
from proveout.jobs.design import read_part
from proveout.jobs.drawn import away, wrong_drawings
from proveout.jobs.held import Held
from proveout.jobs.store import Store
from proveout.jobs.whole_files import digest_of_file
from proveout.model.plan import Plan
from proveout.model.run import Run
from proveout.model.solid import Solid
from proveout.quantities.canonical import digest_of
from proveout.quantities.errors import ProveoutError
from proveout.sheets.numbered import NUMBERED_VIEWS, PartViews
from proveout.sheets.picture import ClampingDrawings, end_view, operator_view
from proveout.sheets.route_picture import ALONE, alone_view

STAGE = "plan drawings"
HELD_COUNT = 24  # parts of drawings that are held in memory
WANTED_MOST = 12  # that wait to be made
WAIT_S, WAITERS_MOST = 20.0, 6  # of pages that wait for drawings; each takes a thread of the desk
Need = Literal["lying", "wrong", "sides"]
"""The work as it lies in every clamping; wrong loads of the loading cards; the part from all sides."""


@dataclass(frozen=True)
class PlanDrawings:
    """What was drawn. by_name: of clampings and their wrong loads, or of the part alone; empty where nothing could be.

    views: the part from all sides, None likewise.   why_not: in a sentence why nothing is drawn, else empty.
    is_coming: it is being made, or waits to be.
    """

    by_name: dict[str, ClampingDrawings] = field(default_factory=dict)
    views: PartViews | None = None
    why_not: str = ""
    is_coming: bool = False


@dataclass(frozen=True)
class Drawable:
    """A plan and the file it was planned from, None where that is gone. solid_name: as its job has it."""

    plan: Plan
    step: Path | None
    solid_name: str


class Drawer:
    """Makes drawings, one at a time, and keeps them in a store under the digests of the file and of how the work lies.

    What was asked for last is made first.
    Nothing is drawn, with the reason, of a file that is gone, cannot be read, or holds another solid than that of the
    plan: a drawing that may be of another part is worse than none.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._found: Held[str, PlanDrawings] = Held(most_count=HELD_COUNT)
        self._guard = threading.Lock()
        self._wanted: OrderedDict[str, _Wanted] = OrderedDict()
        self._going = ""  # key of what is being made
        self._works = False
        self._waiters = threading.Semaphore(WAITERS_MOST)

    def drawn(
        self, what: Drawable, needs: tuple[Need, ...], *, is_waiting: bool = False, wait_s: float | None = None
    ) -> PlanDrawings:  # fmt: skip
        """All that is needed and there; what is not is begun.

        is_waiting: until everything is there, but no longer than wait_s, None for WAIT_S, and not where WAITERS_MOST
        wait already.
        """
        if what.step is None or not what.step.is_file():
            return PlanDrawings(why_not="The STEP file that it was planned from is not in the result folder.")
        digest = digest_of_file(what.step)
        may_wait = is_waiting and self._waiters.acquire(blocking=False)
        try:
            longest_s = WAIT_S if wait_s is None else wait_s
            until = time.monotonic() + (longest_s if may_wait else 0.0)
            parts = [self._part(what, need, digest, until=until) for need in needs]
        finally:
            if may_wait:
                self._waiters.release()
        by_name: dict[str, ClampingDrawings] = {}
        for part in parts:
            by_name |= part.by_name
        return PlanDrawings(
            by_name=by_name, views=next((part.views for part in parts if part.views is not None), None),
            why_not=next((part.why_not for part in parts if part.why_not), ""),
            is_coming=any(part.is_coming for part in parts),
        )  # fmt: skip

    def _part(self, what: Drawable, need: Need, step_digest: str, *, until: float) -> PlanDrawings:
        received = {
            "need": need, "step_digest": step_digest, "solid_name": what.solid_name,
            "solid_digest": what.plan.part.solid_digest, "lying": digest_of((what.plan.clampings, what.plan.loading)),
        }  # fmt: skip
        key = self._store.key(STAGE, received)
        found = self._found.get(key)
        if found is not None:
            return found
        kept = self._store.kept(STAGE, **received)
        if kept is not None:
            self._found.put(key, kept[0])
            return kept[0]
        done = self._want(key, lambda: self._store.get(STAGE, _draw, run=_Beside(what, self._store), **received))
        done.wait(max(0.0, until - time.monotonic()))
        return self._found.get(key) or PlanDrawings(is_coming=True)

    def _want(self, key: str, make: Callable[[], PlanDrawings]) -> threading.Event:
        """Have it made, before all that was asked for earlier; of too many the oldest is let go until asked again."""
        with self._guard:
            wanted = self._wanted.setdefault(key, _Wanted(make))
            self._wanted.move_to_end(key)
            while len(self._wanted) > WANTED_MOST:
                oldest = next(one for one in self._wanted if one != self._going)
                self._wanted.pop(oldest).done.set()
            if not self._works:
                self._works = True
                threading.Thread(target=self._work, name="drawing", daemon=True).start()
        return wanted.done

    def _work(self) -> None:
        """Make what is wanted, one after the other."""
        while True:
            with self._guard:
                if not self._wanted:
                    self._works = False
                    return
                self._going = next(reversed(self._wanted))
                wanted = self._wanted[self._going]
            try:
                self._found.put(self._going, wanted.make())
            except ProveoutError as fault:
                self._found.put(self._going, PlanDrawings(why_not=f"The STEP file cannot be drawn: {fault.what}."))
            except BaseException:  # a fault of ours, which goes on: the next who asks has a thread begun
                with self._guard:
                    self._works = False
                raise
            finally:
                with self._guard:
                    self._wanted.pop(self._going, None)
                    self._going = ""
                wanted.done.set()


@dataclass(frozen=True)
class _Wanted:
    """Drawings that somebody waits for.   done: they are there, cannot be made, or have to be asked for again."""

    make: Callable[[], PlanDrawings]
    done: threading.Event = field(default_factory=threading.Event)


@dataclass(frozen=True)
class _Beside:
    """What rides along outside the key, which tells it by its digests."""

    what: Drawable
    store: Store


def _draw(
    *, need: Need, step_digest: str, solid_name: str, solid_digest: str, lying: str, run: _Beside,  # noqa: ARG001 - lying is part of the key
) -> PlanDrawings:  # fmt: skip
    assert run.what.step is not None
    solid = read_part(run.what.step, digest=step_digest, solid_name=solid_name, store=run.store, run=Run()).solid
    if solid.digest != solid_digest:
        return PlanDrawings(why_not="The STEP file in the result folder holds another solid than the plan is of.")
    plan = run.what.plan
    if need == "wrong":
        wrong = wrong_drawings(solid=solid, clampings=plan.clampings, loading=plan.loading, store=run.store)
        return PlanDrawings(by_name=wrong)
    if need == "sides":
        found = drawings(solid, [(view.view_direction, view.up) for view in NUMBERED_VIEWS])
        return PlanDrawings(views=PartViews(solid=solid, drawings=found))
    return PlanDrawings(by_name=_lying(plan, solid))


def _lying(plan: Plan, solid: Solid) -> dict[str, ClampingDrawings]:
    """Both views of the work in each clamping; of a part that none holds, one as it lies on a bench."""
    views = [view for c in plan.clampings for view in (operator_view(c), end_view(c))] or [alone_view()]
    found = drawings(solid, [(away(view.towards_viewer), view.up) for view in views])
    if not plan.clampings:
        return {ALONE: ClampingDrawings(operator=found[0])}
    return {
        c.id: ClampingDrawings(operator=found[2 * i], end=found[2 * i + 1]) for i, c in enumerate(plan.clampings)
    }  # fmt: skip
