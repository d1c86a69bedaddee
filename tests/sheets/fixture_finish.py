"""Orders to two finishers for the example plan, written by hand: a coat, then laser marking (invented)."""

from __future__ import annotations

from fixture_names import BACK, BOTTOM, FLANK, LEFT, RIGHT, SLOT_A, TOP
from fixture_shop import fact

from proveout.model.finish_order import FinishOrder, PieceReading
from proveout.model.marking import Marking
from proveout.model.plan import SizeNote


def finish_orders() -> tuple[FinishOrder, ...]:
    """A hard coat with everything on it, and the marking behind it with little."""
    coat = FinishOrder(
        finisher_id="hard-coat", process="black hard coat", part="EX-102", name="Clamp jaw", revision="B",
        pieces_count=155, alloy="6061-T6", prior="milled, edges broken, blasted with beads, washed",
        thickness_mm=fact(0.040, 0.050, 0.060, "mm"), build_up_mm=fact(0.018, 0.025, 0.033, "mm"),
        coated_area_mm2=9004.0, masks=("1: M6 6H, blind: plug",),
        watch=("hole 7, Ø5, blind, 12.0 mm deep, 2.4 diameters",), rack_may=(BOTTOM, BACK),
        rack_not=(FLANK, TOP, SLOT_A), show=(FLANK, TOP),
        readings=(
            PieceReading(
                balloon=1, mark="1", text="22 ±0.05", before_low_mm=21.86, before_high_mm=21.91, finished_low_mm=21.9,
                finished_high_mm=21.95,
            ),
        ),
        certificate=None, due="2026-04-20", days_low=6, days_high=8, after=("laser marking",), same_load=("EX-101",),
        lacks=("whether a certificate is wanted (certificate in [coat])",), spec="sheet HC-7, type 2, class 1",
        colour="black", seal="hot water",
    )  # fmt: skip
    laser = FinishOrder(
        finisher_id="laser", process="laser marking", part="EX-102", name="Clamp jaw", revision="B", pieces_count=155,
        alloy="6061-T6", prior="milled, black hard coat", thickness_mm=None, build_up_mm=None, coated_area_mm2=0.0,
        masks=(), watch=(), rack_may=(), rack_not=(), show=(LEFT, RIGHT), readings=(), certificate=None, due="",
        days_low=3, days_high=3, after=(), same_load=(), lacks=("the day on which it is wanted",),
        markings=(Marking(finisher="laser", text="EX-102 B", face_ids=(LEFT,), where="in the middle", height_mm=2.5),),
    )  # fmt: skip
    return coat, laser


def notes() -> tuple[SizeNote, ...]:
    """One of each kind."""
    return (
        SizeNote(
            balloon=3, mark="3", text="R2 ±0.2", kind="radius", unit="mm", low=1.8, high=2.2, before_low=1.782,
            before_high=2.167, is_critical=False,
        ),
        SizeNote(
            balloon=4, mark="4", text="20° ±0.5°", kind="angle", unit="°", low=19.5, high=20.5, before_low=19.5,
            before_high=20.5, is_critical=True,
        ),
        SizeNote(
            balloon=4, mark="4b", text="Ra 1.6", kind="texture", unit="µm", low=None, high=1.6, before_low=None,
            before_high=None, is_critical=False,
        ),
        SizeNote(
            balloon=5, mark="5", text="edge -0.3", kind="edge", unit="", low=None, high=None, before_low=None,
            before_high=None, is_critical=False,
        ),
    )  # fmt: skip
