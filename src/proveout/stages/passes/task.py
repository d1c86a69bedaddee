"""What the makers of passes share: one tilt's view, machine, limits, and what has been laid."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import msgspec
import numpy as np
from numpy.typing import NDArray

from proveout.geometry.facets import Facet
from proveout.model.limits import Limits
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine
from proveout.model.work import Hole, PassKind
from proveout.stages.passes.kept import Kept
from proveout.stages.passes.pacing import Metal, Pacer
from proveout.stages.passes.speeds import FeedLimit, Speeds
from proveout.stages.passes.track import FIT_MM, Track
from proveout.stages.passes.view import TiltView

SPENT = "planning reached its bound of effort before this: plan the part in a simpler form, or in parts"
"""Why a face has no pass when the bound was reached."""


class Laid(msgspec.Struct, frozen=True, kw_only=True, eq=False):
    """A pass as laid: its moves still in the track."""

    kind: PassKind
    cutter: Cutter
    feature: str
    face_ids: tuple[str, ...]
    track: Track
    speeds: Speeds
    radial_mm: float
    axial_mm: float


class Task(msgspec.Struct, kw_only=True, eq=False):
    """One tilt to be planned.

    face_ids: by index.  promised: indices of the faces to cut here, holes apart.  holes: those to cut here.
    done: indices of faces that have their pass.  reasons: face or hole id to why it has none.  laid: in order.
    drilled: ids of holes in which a drill has gone as deep as it must.
    threadless: ids of holes whose thread has no pass, with the reason in `reasons`.
    touched: of round faces that no ball made whole, which of their sample points one did, over all tilts so far.
    metal: how hard it is to cut, None where nobody wrote that for what is cut here: then nothing is chosen.
    widths_mm: of the narrowest size on each face that has one.
    allowed: when set, the only faces that the cutter at work may finish.   effort_most: bound on the view's effort.
    """

    view: TiltView
    machine: Machine
    limits: Limits
    run: Run
    face_ids: tuple[str, ...]
    promised: set[int]
    holes: tuple[Hole, ...]
    done: set[int]
    reasons: dict[str, str]
    laid: list[Laid]
    metal: Metal | None = None
    widths_mm: dict[str, float] = msgspec.field(default_factory=dict)
    allowed: set[int] | None = None
    touched: dict[str, NDArray[np.bool_]] = msgspec.field(default_factory=dict)
    drilled: set[str] = msgspec.field(default_factory=set)
    threadless: set[str] = msgspec.field(default_factory=set)
    effort_most: int = 1 << 62

    @property
    def is_spent(self) -> bool:
        """Planning has gone through all the triangles it may: what is still open stays without a pass."""
        return self.view.effort_count > self.effort_most

    @property
    def clamping_id(self) -> str:
        """Whose limits count."""
        return self.view.clamping.id

    def limit(self, quantity: str, cutter: Cutter, default: float) -> float:
        """The bound in force for a cutter in this clamping."""
        return self.limits.of(quantity, f"{self.clamping_id}/{cutter.id}", default)

    def check(self, text: str) -> None:
        """Report progress and stop when asked."""
        self.run.check("passes", text)

    def pacer(self, cutter: Cutter) -> Pacer | Kept:
        """Who says speed, feed and depth of a cutter, by whether its row leaves something to choose."""
        if self.metal is None or not cutter.is_range:
            return Kept(cutter=cutter, machine=self.machine, limits=self.limits, clamping_id=self.clamping_id)
        return Pacer(
            cutter=cutter, machine=self.machine, limits=self.limits, clamping_id=self.clamping_id, metal=self.metal
        )

    def speeds(self, cutter: Cutter, *, limit: FeedLimit | None = "feed_ratio") -> Speeds:
        """Speeds of a cutter on this clamping's machine.

        limit: which limit on feed counts; None for a pass that is eased by its depth alone (faces, levels).
        """
        return self.pacer(cutter).other(limit=limit)

    def track(self, *, fit_mm: float = FIT_MM) -> Track:
        """An empty track at this tilt's clearance height; fit_mm: how near to its chords an arc must lie."""
        return Track(resolution_mm=self.machine.resolution_mm, clear_mm=self.view.clear_mm, fit_mm=fit_mm)

    def open_facets(self, *seen: str) -> list[Facet]:
        """The promised faces without a pass yet that the axis meets in one of these ways."""
        left = self.promised - self.done
        if self.allowed is not None:
            left &= self.allowed
        return [self.view.facets[k] for k in sorted(left) if self.view.facets[k].seen in seen]

    def ids(self, facets: Iterable[Facet]) -> tuple[str, ...]:
        """Their face ids, sorted."""
        return tuple(sorted(self.face_ids[f.index] for f in facets))

    def add(
        self,
        *,
        kind: PassKind,
        cutter: Cutter,
        feature: str,
        face_ids: tuple[str, ...],
        track: Track,
        speeds: Speeds,
        radial_mm: float,
        axial_mm: float,
    ) -> None:
        """Keeps a pass that cuts something."""
        if not track.is_empty:
            self.laid.append(
                Laid(
                    kind=kind,
                    cutter=cutter,
                    feature=feature,
                    face_ids=face_ids,
                    track=track,
                    speeds=speeds,
                    radial_mm=radial_mm,
                    axial_mm=axial_mm,
                )
            )


def feature_of(face_ids: tuple[str, ...], fallback: str) -> str:
    """A pass's feature: its only face, or the first with how many more."""
    if not face_ids:
        return fallback
    return face_ids[0] if len(face_ids) == 1 else f"{face_ids[0]} and {len(face_ids) - 1} more"


def is_empty(area: Any, least_mm2: float = 1e-3) -> bool:
    """True when an area is empty or dust."""
    return bool(area.is_empty()) or float(area.area()) < least_mm2
