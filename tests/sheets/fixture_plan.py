"""A plan of the clamp jaw written by hand: Example Lamp Works (invented), three clampings, every verdict.

Its numbers are plausible, not computed: the papers are judged on printing them truly, never on their merit.
"""

from __future__ import annotations

import msgspec
from fixture_bench import bench, packing, purchases
from fixture_clampings import PASS_ROWS, clampings
from fixture_cost import cost_band
from fixture_inspection import inspection_lines
from fixture_jaws import jaws_of
from fixture_names import (
    BACK,
    FACES,
    FLANK,
    OPS,
    ROUND,
    SINK_A,
    SINK_B,
    SLOT_A,
    SLOT_B,
    TAPPED,
    TAPPED_HOLE,
    TOP,
)
from fixture_proofs import proofs
from fixture_shop import fact

from proveout.model.fact import spread_fact
from proveout.model.part_summary import PartSummary
from proveout.model.plan import (
    BarPattern,
    BarsPlan,
    CostLine,
    CostPlan,
    Finishing,
    Plan,
    Question,
    Round,
    TimeLine,
    TimePlan,
    Window,
)
from proveout.model.proof import Tighten, is_ready
from proveout.model.sawing import LengthStep, SawnBars
from proveout.model.work import (
    Blank,
    BlankChoice,
    FaceDeviation,
    FaceNote,
    Hole,
    HoleStep,
    NotCut,
    Pass,
    PassCut,
    RemovalCheck,
    StackLine,
    Survey,
)
from proveout.quantities.units import rad_per_s_from_rpm

FINGERPRINT = "5f0c2a9be41d77c3a8b60e912d4f6c1b7a35e8d09c4412f6b7e3a1905d8c6f24"


def passes() -> tuple[Pass, ...]:
    return tuple(
        Pass(
            id=f"{OPS[op]}/upright/{cutter_id}/{kind}/{feature}",
            kind=kind,
            clamping_id=OPS[op],  # type: ignore[arg-type]
            tilt_id="upright",
            cutter_id=cutter_id,
            feature=feature,
            face_ids=faces,
            speed_rad_per_s=rad_per_s_from_rpm(rpm),
            tooth_feed_mm=feed,
            radial_mm=radial,
            axial_mm=axial,
            moves_digest=f"{index:064x}",
            moves_count=40 + 37 * index,
            cut_length_mm=length,
        )
        for index, (op, kind, cutter_id, feature, faces, rpm, feed, radial, axial, length, _s, _z) in enumerate(
            PASS_ROWS
        )
    )


def example_plan(*, ready: bool = False) -> Plan:
    """The plan; with ready=True only its proofs that hold are kept."""
    shown = proofs()
    if ready:
        shown = tuple(p for p in shown if p.verdict == "holds")
    every = passes()
    notes = tuple(
        FaceNote(
            face_id=face,
            index=i,
            balloon=i + 1,
            kind="plane" if face.startswith("plane") else "cylinder",
            area_mm2=1620.0 - 90.0 * i,
            hole_id=TAPPED_HOLE if face == TAPPED else "",
        )
        for i, face in enumerate(FACES)
    )
    hole = Hole(
        id=TAPPED_HOLE,
        balloon=13,
        entry_mm=(45.5, 0.0, 9.0),
        outward=(0.0, -1.0, 0.0),
        is_through=False,
        bottom="cone",
        steps=(HoleStep(kind="cylinder", diameter_mm=5.0, depth_low_mm=0.0, depth_high_mm=12.0, face_ids=(TAPPED,)),),
    )
    chosen = Blank(
        bar_id="square-25",
        length_axis=0,
        low_mm=(-1.0, -1.5, -6.0),
        high_mm=(91.0, 23.5, 19.0),
        cut_length_mm=92.0,
        grip_side=(0.0, 0.0, -1.0),
        pieces_per_bar=31,
        bar_length_mm=3000.0,
        material_price_each=1.94,
        mass_kg=0.155,
        stack=(
            StackLine(side="section height", text="part", size_mm=18.0),
            StackLine(side="section height", text="skim of the top", size_mm=0.6),
            StackLine(side="section height", text="grip strip and gap below the part", size_mm=5.6),
            StackLine(side="section height", text="section tolerance, bow and twist", size_mm=0.8),
            StackLine(side="section width", text="part", size_mm=22.0),
            StackLine(side="section width", text="skims of both sides", size_mm=2.2),
            StackLine(side="section width", text="section tolerance and corner", size_mm=0.8),
            StackLine(side="length", text="part", size_mm=90.0),
            StackLine(side="length", text="skims of both ends", size_mm=1.2),
            StackLine(side="length", text="saw tolerance and squareness", size_mm=0.8),
        ),
    )
    other = msgspec.structs.replace(chosen, bar_id="flat-30x25", material_price_each=2.37, mass_kg=0.186)
    window = Window(
        balloon=7,
        text="6.6 +0.2/0",
        kind="hole",
        finished_low_mm=6.6,
        finished_high_mm=6.8,
        before_low_mm=6.66,
        before_high_mm=6.84,
        width_mm=0.18,
        is_masked=False,
        is_critical=False,
        face_ids=(SLOT_A,),
    )
    lines = [
        TimeLine(
            station=OPS[op],
            text=kind,
            per="piece",
            seconds=spread_fact(s, 0.15, "s", "proveout", "published as quoted"),
            pass_id=one.id,
        )
        for (op, kind, *_rest, s, _z), one in zip(PASS_ROWS, every, strict=True)
    ]
    lines += [
        TimeLine(station=id, text="load, clamp, unload", per="piece", seconds=fact(18.0, 25.0, 33.0, "s")) for id in OPS
    ]
    lines += [
        TimeLine(station="saw", text="saw one piece", per="piece", seconds=fact(4.0, 6.0, 9.0, "s")),
        TimeLine(
            station="bench", text="break the edges by hand, wash, dry", per="piece", seconds=fact(24.5, 35.0, 45.5, "s")
        ),
        *(TimeLine(station=id, text="set up", per="batch", seconds=fact(2100.0, 2700.0, 3600.0, "s")) for id in OPS),
        TimeLine(
            station="desk",
            text="write and check the program",
            per="design",
            seconds=fact(7560.0, 10800.0, 14040.0, "s"),
        ),
    ]
    deviations = {TOP: (0.004, 0.0), FLANK: (0.038, 0.002), BACK: (0.003, 0.0)}
    return Plan(
        schema_version=1,
        ready=is_ready(shown),
        part=PartSummary(
            number="EX-102",
            name="Clamp jaw",
            revision="B",
            alloy="6061-T6",
            step="EX-102.step",
            solid_digest="9c" * 32,
            low_mm=(0.0, 0.0, 0.0),
            size_mm=(90.0, 22.0, 18.0),
            volume_mm3=27410.0,
            area_mm2=9120.0,
            faces_count=len(FACES),
            other_solids=(),
            quantity=150,
            general_tolerance="m",
        ),
        survey=Survey(
            faces=notes,
            holes=(hole,),
            directions=((0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0)),
            access=(),
            unreached=(),
        ),
        finishing=Finishing(
            offset_mm=dict.fromkeys(FACES, 0.025), windows=(window,), coated_area_mm2=9004.0, plugs=(TAPPED_HOLE,)
        ),
        blank=BlankChoice(chosen=chosen, others=(other,), why=("Flat 30 x 25 costs 0.43 more a piece.",)),
        clampings=clampings(),
        passes=every,
        not_cut=(
            NotCut(
                clamping_id=OPS[0],
                subject=ROUND,
                face_ids=(ROUND,),
                reason="round on the hidden corner left to the bench",
            ),
        ),
        removal=RemovalCheck(
            pitch_mm=0.1,
            blank_mm3=57500.0,
            target_mm3=27180.0,
            chips_mm3=30290.0,
            leftover_mm3=31.0,
            gouge_mm3=0.8,
            balance_ratio=0.0004,
            faces=tuple(
                FaceDeviation(
                    face_id=f,
                    leftover_mm=deviations.get(f, (0.0, 0.0))[0],
                    gouge_mm=deviations.get(f, (0.0, 0.0))[1],
                    points_count=4000 + i,
                )
                for i, f in enumerate(FACES)
            ),
            passes=tuple(
                PassCut(
                    pass_id=one.id,
                    removed_mm3=900.0 + 250.0 * i,
                    section_max_mm2=8.1,
                    section_p95_mm2=6.2,
                    rapid_mm=0.0,
                    body_mm=0.0,
                    low_mm=row[-1],
                    high_mm=45.0,
                )
                for i, (row, one) in enumerate(zip(PASS_ROWS, every, strict=True))
            ),
            jaw_strikes=(),
        ),
        inspection=inspection_lines(),
        bars=BarsPlan(
            pieces_count=155,
            spare_count=5,
            bars_count=5,
            lower_bound=5,
            patterns=(
                BarPattern(
                    bar_id="square-25",
                    bar_length_mm=3000.0,
                    bundle_count=4,
                    times=1,
                    pieces_each=31,
                    remnant_mm=83.2,
                    across_count=3,
                    lies_flat=False,
                    bar_mass_kg=24.3,
                    needs_two=True,
                    is_kept=True,
                ),
                BarPattern(
                    bar_id="square-25",
                    bar_length_mm=3000.0,
                    bundle_count=1,
                    times=1,
                    pieces_each=31,
                    remnant_mm=83.2,
                    is_last_in_doubt=True,
                ),
            ),
            strokes_count=64,
            kerf_mm=1.8,
            trim_mm=6.0,
            tail_mm=65.0,
            cut_length_mm=92.0,
            cut_tolerance_mm=0.2,
            price=278.44,
            status="proved fewest",
            note="One bundle of four and one single bar.",
            steps=(
                LengthStep(
                    bar_length_mm=3000.0,
                    pieces_count=32,
                    cut_length_mm=89.78,
                    sure_length_mm=89.58,
                    less_mm=2.22,
                    saved_price=0.0,
                    saved_bars_count=0,
                    allowances=(),
                ),
                LengthStep(
                    bar_length_mm=5000.0,
                    pieces_count=53,
                    cut_length_mm=91.26,
                    sure_length_mm=91.06,
                    less_mm=0.74,
                    saved_price=55.69,
                    saved_bars_count=1,
                    allowances=("clean-up of a sawn end",),
                ),
            ),
            blade_s=754.0,
            handling_s=1920.0,
            lift_limit_kg=23.0,
            rack=(
                SawnBars(
                    bar_length_mm=2210.0,
                    bundle_count=2,
                    times=3,
                    pieces=((92.0, 26),),
                    remnant_mm=41.0,
                    bar_mass_kg=3.8,
                    tag="R-01, R-02, R-03, R-04, R-05, R-06",
                    heat="77A12",
                ),
            ),
        ),
        time=TimePlan(
            lines=tuple(lines),
            cycle_s={OPS[0]: 384.0, OPS[1]: 63.0, OPS[2]: 27.5},
            piece_s=fact(512.0, 590.0, 701.0, "s"),
            batch_s=fact(6300.0, 8100.0, 10800.0, "s"),
        ),
        cost=CostPlan(
            currency="EUR",
            quantity=150,
            lines=(
                CostLine(
                    text="Bar",
                    each=fact(1.86, 1.94, 2.05, "EUR"),
                    how="mass sawn at the price per kilogram, shared tail",
                ),
                CostLine(
                    text="Mill, three clampings", each=fact(10.4, 11.9, 13.9, "EUR"), how="minutes at the mill's rate"
                ),
                CostLine(text="Set-ups", each=fact(1.05, 1.35, 1.8, "EUR"), how="three set-ups shared by the order"),
                CostLine(
                    text="Program and prove-out",
                    each=fact(1.2, 1.8, 2.4, "EUR"),
                    how="once for this design, shared by the order",
                ),
                CostLine(
                    text="Coat", each=fact(3.43, 3.43, 3.43, "EUR"), how="price each and freight; above the lot minimum"
                ),
                CostLine(
                    text="Bench, blast, kit", each=fact(1.6, 2.3, 3.0, "EUR"), how="minutes by hand at the bench rate"
                ),
            ),
            each=fact(19.54, 22.72, 26.58, "EUR"),
            batch=fact(2931.0, 3408.0, 3987.0, "EUR"),
            dear_faces=(FLANK, SINK_A, SINK_B),
            band=cost_band(),
        ),
        bench=bench(hole_id=hole.id),
        packing=packing(),
        purchases=purchases(),
        questions=(
            Question(
                id="friction",
                text="How well do your soft jaws hold a finished face? A pull test on one block tells.",
                would_change="Two holding proofs are open until this is known.",
                weight=9.0,
                face_ids=(BACK, FLANK),
            ),
            Question(
                id="slot-tolerance",
                text="Do both slots need +0.2/0, or only the left one?",
                would_change="A wider right slot saves one finishing pass.",
                weight=4.0,
                face_ids=(SLOT_B,),
            ),
            Question(
                id="show",
                text="Is the flank a show face?",
                face_ids=(FLANK,),
                weight=2.0,
                would_change="Scallops of the flank would be stepped finer.",
            ),
        ),
        proofs=shown,
        rounds=(
            Round(
                number=1,
                tightened=(Tighten(subject=OPS[0], quantity="axial_ratio", bound=0.9, unit="ratio"),),
                failing=("holding/tip/op1",),
                piece_s=571.0,
            ),
            Round(number=2, tightened=(), failing=(), piece_s=590.0),
        ),
        warnings=("The file names no unit: millimetres were taken because the part is 90 long.",),
        assumed=(
            "General tolerance m: the job file names none.",
            "Edges broken 0.5 all round: the job file names no size.",
            "Five spare blanks: the job file names no number.",
        ),
        start="2026-03-02",
        program_version="0.1.0",
        inputs={"job": "1f" * 32, "shop": "2e" * 32, "step": "3d" * 32},
        **jaws_of(clampings()[2], passes()[2:3]),
    )
