"""An invented block, cut from above in one clamping and from below in the next, with a shop that was measured."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np
from shapes import MILL, VISE, box, fact, solid_of, target_of

from proveout.geometry.frames import Frame
from proveout.model.job import Job, Order, PartText
from proveout.model.moves import Moves
from proveout.model.plan import ClampForce, Finishing
from proveout.model.proof import Decision, Proof
from proveout.model.run import Run
from proveout.model.shop import Bar
from proveout.model.solid import Solid
from proveout.model.turned import Turned
from proveout.model.work import Blank, Clamping, Pass, PassKind, PassPlan, Tilt
from proveout.stages import turning_over

LONG, WIDE, HIGH = 80.0, 40.0, 20.0
UPRIGHT = Frame(x=(1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, 1.0), origin_mm=(0.0, 40.0, 0.0))
TURNED = Frame(x=(-1.0, 0.0, 0.0), y=(0.0, 1.0, 0.0), z=(0.0, 0.0, -1.0), origin_mm=(80.0, 40.0, 20.0))
MODULUS = fact(68_900.0, 68_900.0, 68_900.0, "MPa")
MEASURED_MILL = msgspec.structs.replace(
    MILL, zero_error_mm=fact(0.002, 0.005, 0.010, "mm"), length_error_mm=fact(0.002, 0.006, 0.012, "mm"),
    side_error_mm=fact(0.003, 0.008, 0.015, "mm"),
)  # fmt: skip
MEASURED_VISE = msgspec.structs.replace(
    VISE, lift_mm=fact(0.0, 0.005, 0.015, "mm"), repeat_mm=fact(0.003, 0.008, 0.015, "mm"),
    seat_slope_mm_per_m=fact(0.0, 0.05, 0.1, "mm/m"), jaw_slope_mm_per_m=fact(0.0, 0.1, 0.2, "mm/m"),
)  # fmt: skip
BAR = Bar(
    id="bar", alloy="6061-T6", width_mm=45.0, height_mm=25.0, width_tolerance_mm=0.4, height_tolerance_mm=0.4,
    corner_radius_mm=0.6, bow_mm_per_m=2.0, twist_rad_per_m=0.01, lengths_mm=(3000.0,), price_per_kg=11.0,
    condition="extruded", faced_bow_mm=fact(0.01, 0.03, 0.06, "mm"), faced_bow_length_mm=120.0,
    faced_bow_thickness_mm=15.0,
)  # fmt: skip
FORCE = fact(15_000.0, 17_500.0, 20_000.0, "N")
BLOCK = solid_of(box(LONG, WIDE, HIGH))


def clamping(number: int, frame: Frame, **more: Any) -> Clamping:
    given: dict[str, Any] = {
        "id": f"c{number}", "number": number, "machine_id": "mill", "vise_id": "vise", "jaws_id": "soft",
        "surface": "finished", "frame": frame, "tilts": (Tilt(id="a0-c0", frame=frame, a_rad=0.0, c_rad=0.0),),
        "jaw_top_mm": 8.0, "patch_length_mm": fact(78.0, 80.0, 80.0, "mm"),
        "patch_height_mm": fact(8.0, 8.0, 8.0, "mm"),
        "gap_mm": WIDE, "grip_faces": (), "seat_text": "", "zero_text": "", "makes_faces": (), "makes_holes": (),
        "removes_grip": False, **more,
    }  # fmt: skip
    return Clamping(**given)


FIRST, SECOND = clamping(1, UPRIGHT, surface="raw", jaw_top_mm=3.0), clamping(2, TURNED)


def one_pass(of: Clamping, kind: PassKind, *face_ids: str, moves: Moves | None = None, tilt: str = "a0-c0") -> Pass:
    digest = "" if moves is None else moves.digest
    return Pass(
        id=f"{of.id}/{tilt}/m/{kind}/{len(face_ids)}", kind=kind, clamping_id=of.id, tilt_id=tilt, cutter_id="m",
        feature="", face_ids=face_ids, speed_rad_per_s=300.0, tooth_feed_mm=0.06, radial_mm=3.6, axial_mm=6.0,
        moves_digest=digest, moves_count=2, cut_length_mm=1.0,
    )  # fmt: skip


def side(solid: Solid, name: str) -> str:
    """The one face in a side of the solid's box, as "+z"."""
    (found,) = solid.faces_on(name)
    return found


def job(**more: Any) -> Job:
    given: dict[str, Any] = {
        "part": PartText(number="x", name="x", revision="A", step="x.step"), "order": Order(quantity=1), "coat": None,
        "sizes": (), "masked_balloons": (), "show_faces": (), "general_tolerance": "m", "edge_break_mm": None,
        "other_finishers": (), **more,
    }  # fmt: skip
    return Job(**given)


def plain_passes(solid: Solid = BLOCK) -> tuple[Pass, ...]:
    """Top and all four walls from above, then the back."""
    sides = [side(solid, name) for name in ("+z", "-x", "+x", "-y", "+y")]
    return (one_pass(FIRST, "face", sides[0]), one_pass(FIRST, "finish wall", *sides[1:]))


def turned(
    *passes: Pass, solid: Solid = BLOCK, clampings: tuple[Clamping, ...] = (FIRST, SECOND),
    moves: tuple[Moves, ...] = (), asked: Job | None = None, own: tuple[Pass, ...] | None = None, **more: Any,
) -> Decision[Turned]:  # fmt: skip
    """The block's own passes, or those given in their place, and more."""
    none = Moves(points=np.zeros((2, 3)), feed_mm_per_s=np.zeros(2))
    given = [
        msgspec.structs.replace(p, moves_digest=none.digest) if not p.moves_digest else p
        for p in (*(plain_passes(solid) if own is None else own), *passes)
    ]
    plan = PassPlan(passes=tuple(given), not_cut=(), moves={m.digest: m for m in (none, *moves)})
    offsets = {face.id: 0.0 for face in solid.faces}
    finishing = Finishing(offset_mm=offsets, windows=(), coated_area_mm2=0.0, plugs=())
    low, high = np.array(solid.low_mm) - 1.0, np.array(solid.high_mm) + 1.0
    blank = Blank(
        bar_id="bar", length_axis=0, low_mm=(low[0], low[1], low[2] - 4.0), high_mm=(high[0], high[1], high[2]),
        cut_length_mm=82.0,
        grip_side=(0.0, 0.0, -1.0), stack=(), pieces_per_bar=1, bar_length_mm=3000.0, material_price_each=1.0,
        mass_kg=1.0,
    )  # fmt: skip
    words: dict[str, Any] = {
        "machines": (MEASURED_MILL,), "vises": (MEASURED_VISE,), "bars": (BAR,), "finishing": finishing, "forms": (),
        "clamp_forces": (ClampForce(clamping_id="c2", ratio=1.0, torque_n_mm=None, force_n=FORCE),),
        "elastic_mpa": MODULUS, **more,
    }  # fmt: skip
    return turning_over.decide(
        solid=solid, target=target_of(solid), job=asked or job(), plan=plan, clampings=clampings, blank=blank,
        run=Run(), **words,
    )  # fmt: skip


def only(found: Decision[Turned], ending: str) -> Proof:
    (proof,) = [p for p in found.proofs if p.id.endswith(ending)]
    return proof
