"""The soft jaws' pocket, test cuts and minutes of edges of the example plan, their figures invented."""

from __future__ import annotations

from typing import Any

import msgspec
from fixture_drawn import NOTES
from fixture_finish import finish_orders
from fixture_names import OPS

from proveout.model.fact import Fact
from proveout.model.jaw_form import JawForm, Relief
from proveout.model.plan import CutterUse, ProgramSheet
from proveout.model.trial_cut import TrialCut
from proveout.model.work import Clamping, Pass


def jaw_form(*, held: Clamping, passes: tuple[Pass, ...]) -> JawForm:
    """The pocket that holds the work of a clamping."""
    own = msgspec.structs.replace(held, id=f"{held.id}-jaws", needs_form=False)
    relief = Relief(from_mm=(2.5, -2.5), to_mm=(1.7, -1.7), beyond_mm=0.8)
    return JawForm(
        clamping_id=held.id, clamping=own, thickness_mm=25.0, slug_width_mm=12.0, slug_below_mm=1.0, bite_mm=3.0,
        depth_mm=10.0, below_mm=30.0, low_mm=-17.5, high_mm=107.5, stop="the left end wall of the pocket",
        outline_mm=(((0.0, 0.0), (90.0, 0.0), (90.0, 18.0)),), contact_mm=88.0, length_mm=90.0, cutter_id="mill-6",
        cutter_radius_mm=3.0, reliefs=(relief, relief), passes=passes, seconds=95.0,
    )  # fmt: skip


def jaw_program(held: Clamping) -> ProgramSheet:
    """Its program."""
    return ProgramSheet(
        clamping_id=f"{held.id}-jaws", file="clamping-3-jaws.nc", fingerprint="0a1b2c3d4e5f", blocks_count=412,
        work_offset="G54", cutters={"3": "mill-6"},
    )  # fmt: skip


def trial_cuts() -> tuple[TrialCut, ...]:
    """A side cut to the whole depth, and a slot that ends before it."""
    side = TrialCut(
        proof_id="stability:mill3:rough-10", machine_id="mill3", cutter_id="rough-10",
        pass_id=f"{OPS[0]}/upright/rough-10/rough/outside", clamping_id=OPS[0], bar_id="square-25", scrap_mm=142.0,
        grip_mm=5.5, top_mm=19.5, reserve_low=1.42, length_off_mm=1.0, middle_off_mm=5.0,
        speed_rad_per_s=994.8, feed_mm_per_s=33.25, radial_mm=1.2,
        start_mm=150.0, ramp_mm=142.0, x_mm=(116.25, 90.5, 64.75, 39.0), depths_mm=(2.25, 4.5, 6.75, 9.0),
        end_mm=12.0, y_mm=-3.8, pass_mm=9.0, tooth_hz=475.0, cut_s=4.17, is_slot=False, is_narrow=False, is_whole=True,
    )  # fmt: skip
    slot = msgspec.structs.replace(
        side, proof_id="stability:mill3:mill-6", cutter_id="mill-6", y_mm=0.0, pass_mm=11.25, is_slot=True,
        is_narrow=True, is_whole=False,
    )  # fmt: skip
    return side, slot


def cutter_uses() -> tuple[CutterUse, ...]:
    """One edge that is changed within the batch, one whose life nobody wrote."""
    piece = Fact(low=100.0, nominal=121.0, high=145.0, unit="s", source="own-algorithm", strength="assumed")
    known = CutterUse(
        machine_id="mill3", cutter_id="rough-10", piece_s=piece, life_s=7200.0, pieces_each=49, edges_count=4,
        left_s=6040.0,
    )  # fmt: skip
    return known, msgspec.structs.replace(
        known, cutter_id="mill-6", life_s=None, pieces_each=None, edges_count=None, left_s=None
    )


def jaws_of(held: Clamping, passes: tuple[Pass, ...]) -> dict[str, Any]:
    """Both, as a plan holds them, with a test cut of each kind, minutes of two edges and orders to finishers."""
    return {
        "jaw_forms": (jaw_form(held=held, passes=passes),), "jaw_programs": (jaw_program(held),),
        "trial_cuts": trial_cuts(), "cutter_uses": cutter_uses(), "finish_orders": finish_orders(), "pmi": NOTES,
    }  # fmt: skip
