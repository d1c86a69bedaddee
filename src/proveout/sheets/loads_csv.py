"""What every move of a plan that meets metal asks of its cutter and spindle, as a table."""

from __future__ import annotations

import math

from proveout.model.loads import Loads
from proveout.model.work import PassPlan
from proveout.quantities.units import MW_PER_KW, N_MM_PER_N_M
from proveout.sheets.csv_text import Cell, csv_text

HEAD = (
    "pass", "move", "x_mm", "y_mm", "z_mm", "tooth_feed_mm", "radial_mm", "axial_mm", "round_peak_n", "round_mean_n",
    "off_wall_peak_n", "off_wall_mean_n", "along_peak_n", "along_mean_n", "round_by_pressure_n", "round_by_edges_n",
    "torque_peak_n_m", "power_peak_kw", "bends_mm",
)  # fmt: skip
"""x, y, z: where the move ends, in the frame of its tilt. Each force is an upper bound."""
FORCES = ("tangential_n", "mean_tangential_n", "radial_n", "mean_radial_n", "axial_n", "mean_axial_n")
LAWS = 2


def loads_csv(passes: PassPlan, loads: Loads) -> str:
    """The head, then a row for each move that meets metal, in the order of work; forces rounded up to a tenth."""
    moves = {one.id: passes.moves[one.moves_digest] for one in passes.passes}
    turns = {turn.pass_id: turn for turn in loads.turns}
    rows: list[tuple[Cell, ...]] = []
    for own in loads.moves:
        turn = turns.get(own.pass_id)
        if turn is None:
            continue
        ends = moves[own.pass_id].points[own.rows]
        for k, row in enumerate(own.rows.tolist()):
            laws: list[Cell] = [_up(law, 1) for law in turn.by_law_n[k].tolist()]
            bent = float(own.deflection_mm[k])
            rows.append(
                (
                    own.pass_id, row, *(round(v, 4) for v in ends[k].tolist()), round(float(own.tooth_feed_mm[k]), 5),
                    round(float(own.radial_mm[k]), 4), round(float(own.axial_mm[k]), 4),
                    *(_up(float(getattr(turn, name)[k]), 1) for name in FORCES), *(laws + [None] * LAWS)[:LAWS],
                    _up(float(own.torque_n_mm[k]) / N_MM_PER_N_M, 3), _up(float(own.power_mw[k]) / MW_PER_KW, 3),
                    None if math.isnan(bent) else _up(bent, 4),
                )
            )  # fmt: skip
    return csv_text([HEAD, *rows])


def _up(value: float, digits: int) -> float:
    """Rounded against us; what adding up floats leaves beyond nine digits is not a tenth more."""
    scale = 10.0**digits
    return math.ceil(round(value * scale, 6)) / scale
