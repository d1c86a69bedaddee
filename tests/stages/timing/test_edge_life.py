"""Edges against their life, by hand."""

from __future__ import annotations

import msgspec
import pytest
from jaw_parts import BLOCK
from shapes import CUTTERS

from proveout.model.fact import Fact
from proveout.model.plan import CutterUse, TimeLine, TimePlan
from proveout.model.proof import Decision
from proveout.model.work import Pass, PassPlan
from proveout.sheets.derived import edge_sheet
from proveout.stages.timing.edge_life import decide_edges

MILL, DRILL = CUTTERS[0], CUTTERS[1]


def seconds(low: float, nominal: float, high: float) -> Fact:
    return Fact(low=low, nominal=nominal, high=high, unit="s", source="own-algorithm", strength="assumed")


def use(
    *parts: tuple[float, float, float], life_s: float | None, pieces: int = 100
) -> tuple[CutterUse, Decision[tuple[CutterUse, ...]]]:
    """One cutter in as many passes as parts."""
    cutter = msgspec.structs.replace(MILL, life_s=life_s)
    passes = tuple(
        Pass(
            id=f"p{k}", kind="rough", clamping_id=BLOCK.id, tilt_id="a0-c0", cutter_id=cutter.id, feature="",
            face_ids=(), speed_rad_per_s=1.0, tooth_feed_mm=0.1, radial_mm=1.0, axial_mm=1.0, moves_digest="",
            moves_count=0, cut_length_mm=0.0,
        )
        for k in range(len(parts))
    )  # fmt: skip
    lines = tuple(
        TimeLine(station="mill", text="", per="piece", seconds=seconds(*part), pass_id=f"p{k}")
        for k, part in enumerate(parts)
    )
    time = TimePlan(lines=lines, cycle_s={}, piece_s=seconds(0, 0, 0), batch_s=seconds(0, 0, 0))
    found = decide_edges(
        time=time, passes=PassPlan(passes=passes, not_cut=(), moves={}), clampings=(BLOCK,), cutters=(cutter, DRILL),
        pieces_count=pieces,
    )  # fmt: skip
    (only,) = found.value
    return only, found


def test_whole_pieces_are_counted_at_the_worst_end() -> None:
    """Worked: 50 + 60 s at the worst against 3600 s of life: 32 pieces; 100 pieces take 4 edges, 4 on the last."""
    only, found = use((40, 45, 50), (50, 55, 60), life_s=3600.0)
    assert (only.pieces_each, only.edges_count) == (32, 4)
    assert only.left_s == pytest.approx(3600.0 - 4 * 110.0)
    assert only.piece_s.high == pytest.approx(110.0)
    (proof,) = found.proofs
    assert proof.verdict == "holds"
    assert "3 edges to change to" in proof.basis.formula
    assert "broken cutters" in proof.basis.formula


def test_an_edge_that_does_not_last_a_piece_fails() -> None:
    only, found = use((100, 110, 130), life_s=90.0)
    assert (only.pieces_each, only.edges_count, only.left_s) == (0, None, None)
    assert found.proofs[0].verdict == "fails"
    assert use((80, 85, 95), life_s=90.0)[1].proofs[0].verdict == "not shown"


def test_a_life_that_nobody_wrote_is_not_shown_with_the_cutter() -> None:
    only, found = use((10, 11, 12), life_s=None)
    assert only.edges_count is None
    (proof,) = found.proofs
    assert (proof.id, proof.verdict, proof.subject) == ("timing:edges:unknown", "not shown", MILL.id)


def test_the_batch_of_exactly_so_many_pieces_ends_with_the_edge() -> None:
    only, _ = use((100, 100, 100), life_s=1000.0, pieces=20)
    assert (only.pieces_each, only.edges_count, only.left_s) == (10, 2, 0.0)


def test_minutes_left_are_told_at_any_piece() -> None:
    """Worked: 32 pieces of 110 s an edge of 3600 s: a new edge before pieces 33, 65 and 97; 80 s left on each."""
    only, _ = use((40, 45, 50), (50, 55, 60), life_s=3600.0)
    assert only.changes() == (33, 65, 97)
    assert only.left_after_s(1) == pytest.approx(3490.0)
    assert only.left_after_s(32) == pytest.approx(80.0)
    assert only.left_after_s(33) == pytest.approx(3490.0)
    assert only.left_after_s(100) == pytest.approx(only.left_s)
    unknown, _ = use((40, 45, 50), life_s=None)
    assert (unknown.changes(), unknown.left_after_s(1)) == ((), None)


def test_the_sheet_counts_spares_and_lists_the_first_changes() -> None:
    only, _ = use((40, 45, 50), (50, 55, 60), life_s=360.0)
    sheet = edge_sheet(only, pieces_count=100)
    assert (only.pieces_each, only.edges_count, sheet.spares_count) == (3, 34, 33)
    assert sheet.changes == (4, 7, 10, 13)
    assert sheet.more_count == 33 - 4
    assert sheet.pieces == (1, 25, 50, 75, 100)
    assert sheet.left_s == pytest.approx((250.0, 250.0, 140.0, 30.0, 250.0))
