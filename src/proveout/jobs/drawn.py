"""The hidden-line drawings that a plan's papers need, begun while the passes are still being laid."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Self

from proveout.intake.process import Child
from proveout.intake.step import begin_drawings, drawings
from proveout.jobs.store import Store
from proveout.model.loading import Loading
from proveout.model.solid import Drawing, Solid
from proveout.model.work import Clamping
from proveout.quantities.errors import ProveoutError
from proveout.sheets.loading_picture import drawn_looks, wrong_name, wrong_view
from proveout.sheets.numbered import NUMBERED_VIEWS, PartViews
from proveout.sheets.picture import ClampingDrawings, end_view, operator_view


class Drawn:
    """Drawings of the work in every clamping and of the part from all sides; a context manager.

    They are made in a process of their own, unless they are stored, and are waited for only when asked for.  Leaving
    the context ends that process.   is_wanted: False where no papers are made, and so no drawings.
    why_not: once asked for, why there are none; empty where there are, or nobody wants them.
    """

    def __init__(self, *, solid: Solid, clampings: Sequence[Clamping], store: Store, is_wanted: bool = True) -> None:
        self._is_wanted, self._solid, self._clampings, self._store = is_wanted, solid, clampings, store
        sights = [v for c in clampings for v in (operator_view(c), end_view(c))]
        self._views = [(away(v.towards_viewer), v.up) for v in sights]
        self._views += [(v.view_direction, v.up) for v in NUMBERED_VIEWS]
        self._child: Child | None = None
        self.why_not = ""

    def __enter__(self) -> Self:
        if self._is_wanted and not self._store.holds("drawings", brep=self._solid.brep, views=self._views):
            self._child = begin_drawings(self._solid, self._views)
        return self

    def __exit__(self, *_: object) -> None:
        if self._child is not None:
            self._child.stop()

    def result(self) -> tuple[dict[str, ClampingDrawings], PartViews | None]:
        """By clamping, and of the part; nothing where the kernel cannot find its hidden lines, or nobody wants them."""
        if not self._is_wanted:
            return {}, None
        try:
            found = self._store.get("drawings", self._draw, brep=self._solid.brep, views=self._views)
        except ProveoutError as fault:
            self.why_not = fault.message
            return {}, None
        by_clamping = {
            c.id: ClampingDrawings(operator=found[2 * i], end=found[2 * i + 1]) for i, c in enumerate(self._clampings)
        }
        return by_clamping, PartViews(solid=self._solid, drawings=found[2 * len(self._clampings) :])

    def _draw(self, *, brep: bytes, views: Any) -> tuple[Drawing, ...]:  # noqa: ARG002 - the key
        child = self._child if self._child is not None else begin_drawings(self._solid, self._views)
        return child.result()


def wrong_drawings(
    *, solid: Solid, clampings: Sequence[Clamping], loading: Sequence[Loading], store: Store
) -> dict[str, ClampingDrawings]:
    """Drawings of the wrong loads that the loading cards show, by name; nothing where the kernel cannot."""
    by_id = {clamping.id: clamping for clamping in clampings}
    views: dict[str, tuple[tuple[float, float, float], tuple[float, float, float]]] = {}
    for one in loading:
        for at in drawn_looks(one):
            view = wrong_view(by_id[one.clamping_id], one.wrong[one.looks[at].loads[0]])
            if view is not None:
                views[wrong_name(one.clamping_id, at)] = (away(view.towards_viewer), view.up)
    if not views:
        return {}

    def draw(*, brep: bytes, views: list[Any]) -> tuple[Drawing, ...]:  # noqa: ARG001 - the key
        return drawings(solid, views)

    try:
        found = store.get("wrong drawings", draw, brep=solid.brep, views=list(views.values()))
    except ProveoutError:
        return {}
    return {name: ClampingDrawings(operator=drawing) for name, drawing in zip(views, found, strict=True)}


def away(towards_viewer: tuple[float, float, float]) -> tuple[float, float, float]:
    """From the eye to the work, of a direction from the work to the eye."""
    x, y, z = towards_viewer
    return (0.0 - x, 0.0 - y, 0.0 - z)
