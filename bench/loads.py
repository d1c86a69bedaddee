"""Loads of every move against the replay that measured them: a program of 20 000 moves in a block of 100 x 60 x 30 mm.

500 passes of 40 mixed moves, flat, ball and corner-radius cutters, level, ramping, plunging and oblique, are replayed
pass by pass as a plan is; then the forces, torques, bending and places of all moves, the bounds of their passes and
the proofs are worked out from what was measured, by both laws of the edge. Both are timed in the same run.
"""

from __future__ import annotations

import math
import statistics
from collections.abc import Sequence
from typing import Any

import numpy as np
from moves import BALL, CORNER, FLAT, HIGH, LOW, MIXED, Chain, program
from yardstick import is_full, line, seconds_of, yardstick_s

from proveout.geometry.frames import frame_looking_down, triple
from proveout.model.cutter import CutterKind
from proveout.model.fact import Fact
from proveout.model.limits import Limits
from proveout.model.move_cuts import MoveCuts
from proveout.model.moves import Moves
from proveout.model.run import Run
from proveout.model.shop import Cutter, Machine
from proveout.model.work import Blank, Clamping, Pass, PassCut, PassPlan, Tilt
from proveout.removal.fields import Fields
from proveout.stages import loads
from proveout.stages.removal_check.replay import replay_moves

MOVES = 20_000
PITCH_MM = 0.2
FEED_MM_PER_S = 30.0
SPEED_RAD_PER_S = 900.0


def _cutter(id: str, kind: CutterKind, diameter: float, corner: float) -> Cutter:
    return Cutter(
        id=id, name=id, kind=kind, diameter_mm=diameter, corner_radius_mm=corner, flutes_count=3, flute_length_mm=25.0,
        stick_out_mm=40.0, shank_diameter_mm=diameter, holder_diameter_mm=32.0, holder_length_mm=0.0,
        tip_angle_rad=math.pi, tip_diameter_mm=0.0, pitch_mm=0.0, speed_max_rad_per_s=1500.0,
        cutting_speed_mm_per_s=5000.0, tooth_feed_mm=0.07, life_s=None, price=30.0,
    )  # fmt: skip


CUTTERS = (_cutter("flat", "end mill", 10.0, 0.0), _cutter("ball", "ball", 6.0, 3.0), _cutter("corner", "end mill",
    10.0, 1.0))  # fmt: skip
MACHINE = Machine(
    id="mill", name="mill", kind="3-axis", travel_mm=(600.0, 450.0, 400.0), speed_max_rad_per_s=1500.0, power_mw=1.5e7,
    rapid_mm_per_s=300.0, feed_max_mm_per_s=200.0, accel_mm_per_s2=3000.0, cutter_change_s=6.0, pockets_count=20,
    vises_count=1, has_probe=False, rate_per_h=90.0, setup_s=2400.0, resolution_mm=0.001,
    torque_curve=((100.0, 40_000.0), (1500.0, 10_000.0)),
)  # fmt: skip
BLANK = Blank(
    bar_id="none", length_axis=0, low_mm=triple(LOW), high_mm=triple(HIGH),
    cut_length_mm=100.0, grip_side=None, stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
    mass_kg=0.5,
)  # fmt: skip


def plan_of(chains: Sequence[Chain]) -> tuple[PassPlan, Clamping]:
    """Each chain as a pass of its own, in a clamping whose tilts are the chains' axes."""
    along = (1.0, 0.0, 0.0)
    patch = Fact(low=50.0, nominal=60.0, high=70.0, unit="mm", source="own-algorithm", strength="assumed")
    tilts: dict[tuple[float, ...], Tilt] = {}
    passes, moves = [], {}
    for number, chain in enumerate(chains):
        axis = tuple(chain.axis.tolist())
        if axis not in tilts:
            frame = frame_looking_down(up=axis, along=along, origin_mm=(0.0, 0.0, 0.0))
            tilts[axis] = Tilt(id=f"t{len(tilts)}", frame=frame, a_rad=0.0, c_rad=0.0)
        tilt = tilts[axis]
        points = np.stack([chain.starts, chain.ends], axis=1).reshape(-1, 3)
        points = np.vstack([points[:1], points[1:][np.any(np.diff(points, axis=0) != 0.0, axis=1)]])
        feeds = np.full(len(points), FEED_MM_PER_S)
        feeds[0] = 0.0
        own = Moves(points=tilt.frame.into(points), feed_mm_per_s=feeds)
        moves[own.digest] = own
        cutter_id = {FLAT: "flat", BALL: "ball", CORNER: "corner"}[chain.pieces]
        passes.append(
            Pass(
                id=f"p{number}", kind="rough", clamping_id="c1", tilt_id=tilt.id, cutter_id=cutter_id, feature="",
                face_ids=(), speed_rad_per_s=SPEED_RAD_PER_S, tooth_feed_mm=0.07, radial_mm=5.0, axial_mm=4.0,
                moves_digest=own.digest, moves_count=len(points), cut_length_mm=1.0,
            )
        )  # fmt: skip
    clamping = Clamping(
        id="c1", number=1, machine_id="mill", vise_id="vise", jaws_id="jaws", surface="raw",
        frame=frame_looking_down(up=(0.0, 0.0, 1.0), along=along, origin_mm=(0.0, 0.0, 0.0)),
        tilts=tuple(tilts.values()), jaw_top_mm=3.0, patch_length_mm=patch, patch_height_mm=patch, gap_mm=60.0,
        grip_faces=(), seat_text="", zero_text="", makes_faces=(), makes_holes=(), removes_grip=False,
    )  # fmt: skip
    return PassPlan(passes=tuple(passes), not_cut=(), moves=moves), clamping


def replayed(plan: PassPlan, clamping: Clamping) -> list[tuple[PassCut, MoveCuts]]:
    """What the replay measures of every pass."""
    fields = Fields.from_box(low_mm=LOW, high_mm=HIGH, pitch_mm=PITCH_MM)
    frames, cutters = {t.id: t.frame for t in clamping.tilts}, {c.id: c for c in CUTTERS}
    found = []
    for one in plan.passes:
        cut, _, moved = replay_moves(
            fields, one=one, moves=plan.moves[one.moves_digest], frame=frames[one.tilt_id],
            cutter=cutters[one.cutter_id],
        )  # fmt: skip
        found.append((cut, moved))
    return found


def main() -> None:
    """Measure and print the line."""
    pressure = Fact(low=560.0, nominal=800.0, high=1040.0, unit="MPa", source="own-algorithm", strength="assumed")

    def loaded(plan: PassPlan, clamping: Clamping, found: list[tuple[PassCut, MoveCuts]]) -> Any:
        return loads.decide(
            plan=plan, cuts=tuple(c for c, _ in found), move_cuts=tuple(m for _, m in found), clampings=(clamping,),
            cutters=CUTTERS, machines=(MACHINE,), pressure_mpa=pressure, exponent_ratio=0.25, blank=BLANK,
            limits=Limits(), alloys=("6061-T6",), run=Run(),
        )  # fmt: skip

    small = plan_of(program(MIXED, 480))
    loaded(*small, replayed(*small))
    plan, clamping = plan_of(program(MIXED, MOVES))
    count = sum(len(m.points) - 1 for m in plan.moves.values())
    taken: list[tuple[float, float]] = []
    met = 0
    for _ in range(3 if is_full() else 2):
        kept: list[Any] = []
        replay_s = seconds_of(lambda kept=kept: kept.extend(replayed(plan, clamping)))
        loads_s = seconds_of(lambda kept=kept: loaded(plan, clamping, kept))
        taken.append((replay_s, loads_s))
        met = sum(len(m.rows) for _, m in kept)
    ratios = [own / replay for replay, own in taken]
    print(
        line(
            name="loads",
            figures={
                "yardstick_s": yardstick_s(), "moves_count": count, "moves_in_metal_count": met,
                "passes_count": len(plan.passes), "replay_s": round(statistics.median(r for r, _ in taken), 3),
                "loads_s": round(statistics.median(o for _, o in taken), 3),
            },
            ratios={"loads_over_replay": round(statistics.median(ratios), 4)},
            targets={"loads_over_replay": ("at most", 2.0)},
            repeats=len(taken),
            spread={"loads_over_replay": [round(min(ratios), 4), round(max(ratios), 4)]},
            excluded=["compilation of the kernels: a short program is run once before anything is timed"],
        )
    )  # fmt: skip


if __name__ == "__main__":
    main()
