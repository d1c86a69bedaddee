"""Wrong loads of every clamping, with the bar, the saw and the other parts of the order."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from proveout.jobs.raw_faces import raw_varies_mm
from proveout.jobs.store import Store
from proveout.model.jaw_form import JawForm
from proveout.model.loading import Loading, Sister, SisterWork
from proveout.model.proof import Decision
from proveout.model.run import Run
from proveout.model.shop import Shop
from proveout.model.work import Blank, Clamping, PassPlan

WRONG_MM = {"f": 0.05, "m": 0.1}
"""The least deviation of a class of ISO 2768-1: metal that differs by more makes a wrong piece."""


@dataclass(frozen=True)
class SisterFile:
    """Another part of the same order: its number, the STEP file, which solid of it, and the digest of the file."""

    number: str
    step: Path
    solid_name: str
    digest: str


@dataclass(frozen=True, kw_only=True)
class InJaws:
    """All that the wrong loads of one part depend on, but for how the other parts of its order are made.

    sisters: their finished shapes.   is_of_order: planned as one of an order's parts.
    """

    blank: Blank
    clampings: tuple[Clamping, ...]
    passes: PassPlan
    forms: tuple[JawForm, ...]
    shop: Shop
    sisters: tuple[Sister, ...]
    marks: tuple[tuple[int, str], ...]
    general_tolerance: str | None
    is_of_order: bool


def wrong_loads(
    of: InJaws, *, works: tuple[SisterWork, ...] = (), untried: tuple[str, ...] = (), store: Store, run: Run
) -> Decision[tuple[Loading, ...]]:
    """Wrong loads of every clamping and their proofs. Without a class of tolerance the finest counts.

    Args:     works: the other parts of the order as they are made.   untried: numbers of those that have no plan.
    """
    from proveout.stages import loading

    shop = of.shop
    return store.get(
        "loading", loading.decide, blank=of.blank, clampings=of.clampings, plan=of.passes, cutters=shop.cutters,
        vises=shop.vises, machines=shop.machines, forms=of.forms, sisters=of.sisters, works=works, untried=untried,
        marks=of.marks, tolerance_mm=WRONG_MM.get(of.general_tolerance or "", min(WRONG_MM.values())),
        raw_varies_mm=raw_varies_mm(of.blank, shop), is_of_order=of.is_of_order, run=run,
    )  # fmt: skip
