"""Over-travel where a cycle works in several places: all of them must lie within the machine's travels together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from proveout.model.moves import BOX_CHORD_MM
from proveout.model.proof import Basis, Proof, prove
from proveout.model.shop import Cutter, Machine
from proveout.model.table_load import TableLoad, moves_at, zero_at
from proveout.model.work import Clamping, PassPlan

UNMEASURED = "measure where every vise stands: write stands_x_mm, stands_y_mm and stands_z_mm in the shop file"


def place_travels(
    *,
    plan: PassPlan,
    clampings: tuple[Clamping, ...],
    machines: tuple[Machine, ...],
    cutters: tuple[Cutter, ...],
    loads: tuple[TableLoad, ...],
) -> tuple[Proof, ...]:
    """A proof an axis for each load: tips of all places in machine coordinates, whose zero lies at an end of travel.

    Where nobody measured where a place stands nothing is shown, unless one place alone asks for more than the travel.
    """
    by_clamping, by_machine = {c.id: c for c in clampings}, {m.id: m for m in machines}
    by_cutter = {c.id: c for c in cutters}
    proofs: list[Proof] = []
    for load in loads:
        machine = by_machine[load.machine_id]
        spans: list[tuple[np.ndarray, np.ndarray]] = []
        zeros: list[np.ndarray | None] = []
        for laid in load.laid:
            own = [p for p in plan.passes if p.clamping_id == laid.clamping_id]
            points = [
                moves_at(plan.moves[p.moves_digest], laid.place).straight(within_mm=BOX_CHORD_MM).points for p in own
            ]
            if not points:
                continue
            lows = np.min([p.min(axis=0) for p in points], axis=0)
            highs = np.max([p.max(axis=0) for p in points], axis=0)
            gauges = [by_cutter[p.cutter_id].gauge_mm for p in own]
            lows[2] = min(float(p[:, 2].min()) + g for p, g in zip(points, gauges, strict=True))
            zero = zero_at(by_clamping[laid.clamping_id], laid.place)
            if zero is not None and load.clear_mm is not None:
                highs[2] = max(float(highs[2]), load.clear_mm - zero[2])
            highs[2] = float(highs[2]) + max(gauges)
            spans.append((lows, highs))
            zeros.append(None if zero is None else np.array(zero))
        proofs.extend(_proofs(load, machine, spans, zeros))
    return tuple(proofs)


def _proofs(
    load: TableLoad, machine: Machine, spans: Sequence[tuple[np.ndarray, np.ndarray]],
    zeros: Sequence[np.ndarray | None],
) -> list[Proof]:  # fmt: skip
    found: list[Proof] = []
    known = [zero for zero in zeros if zero is not None]
    for k, letter in enumerate("xyz"):
        travel = machine.travel_mm[k]
        alone = max(float(high[k] - low[k]) for low, high in spans) if spans else 0.0
        needed: float | None = alone if alone > travel else None
        formula = "tips (along Z the spindle's nose) in every place; nobody measured where each of them stands"
        if spans and len(known) == len(spans):
            low = min(float(zero[k] + span[0][k]) for zero, span in zip(known, spans, strict=True))
            high = max(float(zero[k] + span[1][k]) for zero, span in zip(known, spans, strict=True))
            first = -travel if k == 2 or known[0][k] < 0.0 else 0.0
            last = first + travel
            needed = travel + max(first - low, high - last)
            formula = (
                f"tips (along Z the spindle's nose) of all places from {low:.1f} to {high:.1f} in machine "
                f"{letter.upper()}, whose travel runs from {first:g} to {last:g} (zero at one end); found is the "
                "travel less the room at the nearer end, or more where there is none"
            )
        found.append(
            prove(
                id=f"clampings:{load.id}:all places {letter}", stage="clampings", subject=load.id,
                claim=f"the moves in all places need no more than the machine's {letter} travel", sense="at most",
                found_low=None if needed is None else round(needed, 6),
                found_high=None if needed is None else round(needed, 6), limit=travel, unit="mm", blocks_release=True,
                basis=Basis(formula=formula, source="own-algorithm"), decides=UNMEASURED,
                remedy="bring the vises closer together, or use fewer places",
            )
        )  # fmt: skip
    return found
