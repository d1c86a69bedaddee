"""Edges, kit and purchases of the plan written by hand: hand and machine, an item that is seen, one too light."""

from __future__ import annotations

from fixture_names import BACK, FLANK, TOP
from fixture_shop import fact

from proveout.model.bench import BenchPlan, EdgeRun
from proveout.model.packing import Bag, KitItem, KitLine, Packing
from proveout.model.purchase import Purchase


def bench(*, hole_id: str) -> BenchPlan:
    return BenchPlan(
        edges=(
            EdgeRun(
                letter="A", manner="hand", edge_ids=("edge 1",), face_ids=(TOP, BACK), hole_ids=(), length_mm=98.74,
                clamping=1, runs_count=2, seconds=fact(5.0, 6.0, 8.0, "s"),
            ),
            EdgeRun(
                letter="B", manner="hand", edge_ids=("edge 2",), face_ids=(BACK,), hole_ids=(hole_id,),
                length_mm=15.71, clamping=3, seconds=fact(1.0, 1.2, 1.6, "s"),
            ),
            EdgeRun(
                letter="C", manner="machine", edge_ids=("edge 3",), face_ids=(TOP, FLANK), hole_ids=(),
                length_mm=220.3, clamping=2, pass_ids=("a",),
            ),
        ),
        break_mm=0.5, hand_mm=114.45, machine_mm=220.3, hand_s=fact(6.0, 7.2, 9.6, "s"), show_faces=(TOP,),
    )  # fmt: skip


def packing() -> Packing:
    return Packing(
        lines=(
            KitLine(
                item=KitItem(name="lock screw", count=2, mass_kg=fact(0.0059, 0.006, 0.0061, "kg"), bin="B 12"),
                pieces_count=300, packs_count=3, short_kg=0.00874, is_seen=True,
            ),
            KitLine(
                item=KitItem(name="shim", count=1, mass_kg=fact(0.0003, 0.00032, 0.00034, "kg")), pieces_count=150,
                packs_count=None, short_kg=0.0145, is_seen=False,
            ),
            KitLine(
                item=KitItem(name="card", count=1), pieces_count=150, packs_count=None, short_kg=None, is_seen=None
            ),
        ),
        low_kg=0.014, high_kg=0.01484, bag=Bag(pieces_a_box=40), boxes_count=4,
    )  # fmt: skip


def purchases() -> tuple[Purchase, ...]:
    return (
        Purchase(
            kind="bar", what="square-25, 3 m", count=5, unit="bars", price_total=278.44,
            why="6061-T6, one heat for the lot", supplier="Example Metals", days_low=3, days_high=5,
        ),
        Purchase(
            kind="cutter", what="rough-10", count=3, unit="edges", price_total=114.0, why="the edge in use wears out"
        ),
        Purchase(kind="cutter", what="mill-6", count=None, unit="edges", why="life not known"),
        Purchase(kind="jaws", what="soft-jaw-ex102", count=1, unit="pair", why="cut to the work of op 3"),
        Purchase(
            kind="kit", what="lock screw", count=300, unit="pieces", packs_count=3, supplier="Example Fasteners",
            why="2 with each piece", pack_count=100, days_low=2, days_high=2,
        ),
    )  # fmt: skip
