"""The table of all moves: a row for each that meets metal, with what the stage reckoned for it."""

from __future__ import annotations

import csv
import io
from typing import Any

import numpy as np
import pytest
from stages.loads.test_loads import DRILL, MILL_12, NAME
from stages.loads.test_moves import PATH, loaded

from proveout.model.loads import Loads
from proveout.model.moves import Moves
from proveout.model.work import Pass, PassPlan
from proveout.sheets.loads_csv import HEAD, loads_csv


def table_of(sections: list[float], **more: Any) -> tuple[list[dict[str, str]], Loads]:
    """Rows of the table, and the loads that they tell."""
    value = loaded(sections, **more).value
    array = np.array(PATH)
    moves = Moves(points=array[:, :3].copy(), feed_mm_per_s=array[:, 3].copy())
    one = Pass(
        id=NAME, kind="rough", clamping_id="c1", tilt_id="up", cutter_id=MILL_12.id, feature="", face_ids=(),
        speed_rad_per_s=300.0, tooth_feed_mm=0.06, radial_mm=3.6, axial_mm=6.0, moves_digest=moves.digest,
        moves_count=len(array), cut_length_mm=1.0,
    )  # fmt: skip
    plan = PassPlan(passes=(one,), not_cut=(), moves={moves.digest: moves})
    return list(csv.DictReader(io.StringIO(loads_csv(plan, value)))), value


def test_every_move_in_metal_has_its_row_with_peak_and_mean() -> None:
    """The two moves worked in test_pushes.py: 773.84 and 560.5 N round at most, 221.1 on the mean of the first.

    On that of the second the edges count, which rub on a thin chip: 3.32108 (820.3 0.01626 + 33.8) = 156.5.
    """
    rows, value = table_of([21.6, 21.6], alloys=("6061-T6",))
    assert [(row["pass"], row["move"]) for row in rows] == [(NAME, "1"), (NAME, "2")]
    assert [row["x_mm"] for row in rows] == ["40.0", "70.0"]
    assert [float(row["round_peak_n"]) for row in rows] == pytest.approx([773.9, 560.5], abs=0.3)
    assert [float(row["round_mean_n"]) for row in rows] == pytest.approx([221.1, 156.5], abs=0.3)
    (turn,), (own,) = value.turns, value.moves
    for k, row in enumerate(rows):
        for name, found in (
            ("off_wall_peak_n", turn.radial_n), ("off_wall_mean_n", turn.mean_radial_n), ("along_peak_n", turn.axial_n),
            ("along_mean_n", turn.mean_axial_n), ("round_by_pressure_n", turn.by_law_n[:, 0]),
            ("round_by_edges_n", turn.by_law_n[:, 1]), ("torque_peak_n_m", own.torque_n_mm / 1e3),
            ("power_peak_kw", own.power_mw / 1e6), ("bends_mm", own.deflection_mm),
        ):  # fmt: skip
            # rounded up, by less than a step of its last digit
            assert 0.0 <= float(row[name]) - found[k] < 0.1 + 1e-9, name
    assert float(rows[0]["bends_mm"]) == pytest.approx(own.deflection_mm[0], abs=1e-4)


def test_what_nobody_knows_is_left_empty() -> None:
    rows, _ = table_of([0.0, 0.0], tool=DRILL, kind="drill")
    assert rows
    assert {(row["round_by_pressure_n"], row["round_by_edges_n"], row["bends_mm"]) for row in rows} == {("", "", "")}
    assert all(float(row["along_mean_n"]) == float(row["along_peak_n"]) > 0.0 for row in rows)


def test_without_measured_moves_the_head_stands_alone() -> None:
    rows, value = table_of([21.6], measured=False)
    assert rows == []
    assert loads_csv(PassPlan(passes=(), not_cut=(), moves={}), Loads(passes=value.passes)) == ",".join(HEAD) + "\n"
