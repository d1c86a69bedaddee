"""A plan of the clamp jaw written by hand: Example Lamp Works (invented), three clampings, every verdict.

Its numbers are plausible, not computed: the papers are judged on printing them truly, never on their merit.
"""

from __future__ import annotations

import math

import msgspec

from proveout.geometry.frames import frame_looking_down
from proveout.model import shop as shops
from proveout.model.fact import Fact, Strength, exact_fact, spread_fact
from proveout.model.plan import (
    BarPattern,
    BarsPlan,
    CostLine,
    CostPlan,
    Finishing,
    InspectionLine,
    PartSummary,
    Plan,
    Question,
    Round,
    TimeLine,
    TimePlan,
    Window,
)
from proveout.model.proof import Basis, Proof, Tighten, is_ready, prove
from proveout.model.work import (
    Blank,
    BlankChoice,
    Clamping,
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
    Tilt,
)
from proveout.quantities.units import mm_per_s_from_m_per_min, rad_from_deg, rad_per_s_from_rpm

FINGERPRINT = "5f0c2a9be41d77c3a8b60e912d4f6c1b7a35e8d09c4412f6b7e3a1905d8c6f24"
TOP, BOTTOM, BACK, FLANK = (
    "plane +z 18.000 #a1b2c3", "plane -z 0.000 #0d11f2", "plane -y 0.000 #77aa01", "plane +y+z 20.673 #4be210",
)  # fmt: skip
LEFT, RIGHT = "plane -x 0.000 #90aa12", "plane +x 90.000 #bb1276"
SLOT_A, SLOT_B = "cylinder r3.300 at 22.000 9.000 #c0ffee", "cylinder r3.300 at 67.000 9.000 #decade"
SINK_A, SINK_B = "cylinder r5.500 at 22.000 9.000 #facade", "cylinder r5.500 at 67.000 9.000 #5eed01"
TAPPED, ROUND = "cylinder r2.500 at 45.500 9.000 #beef77", "cylinder r2.000 at 2.000 2.000 #ab0042"
FACES = (TOP, BOTTOM, BACK, FLANK, LEFT, RIGHT, SLOT_A, SLOT_B, SINK_A, SINK_B, TAPPED, ROUND)
TAPPED_HOLE = "hole -y 45.500 0.000 9.000 #51ab9e"
OPS = ("op1-mill3-vise-a", "op2-mill3-vise-b", "op3-mill3-vise-b")


def fact(low: float, nominal: float, high: float, unit: str, strength: Strength = "owner's guess") -> Fact:
    return Fact(low=low, nominal=nominal, high=high, unit=unit, source="Example Lamp Works", strength=strength)


def cutter(id: str, name: str, kind: str, diameter_mm: float, **more: float | None) -> shops.Cutter:
    values: dict[str, object] = {
        "corner_radius_mm": 0.0, "flutes_count": 3, "flute_length_mm": 2.5 * diameter_mm,
        "stick_out_mm": max(22.0, 3.2 * diameter_mm), "shank_diameter_mm": diameter_mm, "holder_diameter_mm": 32.0,
        "holder_length_mm": 60.0, "tip_angle_rad": 0.0, "tip_diameter_mm": 0.0, "pitch_mm": 0.0,
        "speed_max_rad_per_s": rad_per_s_from_rpm(15000.0), "cutting_speed_mm_per_s": mm_per_s_from_m_per_min(240.0),
        "tooth_feed_mm": 0.06, "life_s": 7200.0, "price": 38.0,
    }  # fmt: skip
    return shops.Cutter(id=id, name=name, kind=kind, diameter_mm=diameter_mm, **(values | more))  # type: ignore[arg-type]


def example_shop() -> shops.Shop:
    cutters = (
        cutter("face-50", "Face mill 50, five inserts", "face mill", 50.0, flutes_count=5, stick_out_mm=48.0, flute_length_mm=8.0),
        cutter("rough-10", "Rougher 10, three flutes", "end mill", 10.0, corner_radius_mm=0.5),
        cutter("mill-6", "End mill 6, three flutes", "end mill", 6.0),
        cutter("spot-8", "Spot 90 degrees", "spot", 8.0, tip_angle_rad=rad_from_deg(90.0), flutes_count=2),
        cutter("drill-5", "Drill 5.0", "drill", 5.0, tip_angle_rad=rad_from_deg(118.0), flutes_count=2, stick_out_mm=44.0),
        cutter("drill-6.6", "Drill 6.6", "drill", 6.6, tip_angle_rad=rad_from_deg(118.0), flutes_count=2, stick_out_mm=50.0),
        cutter("tap-m6", "Tap M6, cut thread", "tap", 6.0, pitch_mm=1.0, life_s=None, stick_out_mm=41.0),
        cutter("edge-6", "Edge break 6, 45 degrees", "edge break", 6.0, tip_angle_rad=rad_from_deg(90.0), tip_diameter_mm=1.0),
    )  # fmt: skip
    machine = shops.Machine(
        id="mill3", name="Three-axis mill", kind="3-axis", travel_mm=(760.0, 430.0, 460.0),
        speed_max_rad_per_s=rad_per_s_from_rpm(10000.0), power_mw=7.5e6, rapid_mm_per_s=400.0, feed_max_mm_per_s=200.0,
        accel_mm_per_s2=2500.0, cutter_change_s=5.5, pockets_count=20, vises_count=2, has_probe=False, rate_per_h=90.0,
        setup_s=2700.0, resolution_mm=0.001,
    )  # fmt: skip
    vises = tuple(
        shops.Vise(
            id=name, machines=("mill3",), opening_max_mm=180.0, jaw_length_mm=125.0, jaw_height_mm=40.0,
            preload_n=fact(15000.0, 17500.0, 20000.0, "N", "measured here"), rating_n=25000.0, torque_n_mm=60000.0,
        )
        for name in ("vise-a", "vise-b")
    )  # fmt: skip
    jaws = (
        shops.Jaws(id="toothed", kind="toothed", grip_mm=3.0, friction_ratio=fact(0.25, 0.35, 0.5, ""),
                   for_surface="raw", make_s=0.0, price=140.0),
        shops.Jaws(id="soft-jaw-ex102", kind="soft", grip_mm=8.0, friction_ratio=None, for_surface="finished",
                   make_s=2400.0, price=22.0),
    )  # fmt: skip
    return shops.Shop(
        name="Example Lamp Works", currency="EUR", machines=(machine,), vises=vises, jaws=jaws, cutters=cutters,
        bars=(shops.Bar(
            id="square-25", alloy="6061-T6", width_mm=25.0, height_mm=25.0, width_tolerance_mm=0.25,
            height_tolerance_mm=0.25, corner_radius_mm=0.8, bow_mm_per_m=1.7, twist_rad_per_m=0.017,
            lengths_mm=(3000.0, 5000.0), price_per_kg=11.0, condition="extruded"),),
        saw=shops.Saw(bundle_width_mm=220.0, bundle_height_mm=150.0, kerf_mm=1.8, trim_mm=6.0, tail_mm=65.0,
                      length_tolerance_mm=0.2, rate_mm2_per_s=120.0, handling_s=20.0, setup_s=900.0, rate_per_h=55.0),
        finishers=(shops.Finisher(id="coat-house", process="hard coat, black", lot_minimum=300.0, price_each=3.2,
                                  freight=35.0, days_low=6, days_high=8, pickup_weekdays=(3,)),),
        gauges=(shops.Gauge(id="mic-25", name="Micrometer 0 to 25", kind="micrometer", low_mm=0.0, high_mm=25.0,
                            uncertainty_mm=0.004),),
        bench=shops.Bench(**{name: spread_fact(value, 0.3, "s", "Example Lamp Works", "owner's guess") for name, value in {
            "load_s": 25.0, "blow_off_s": 8.0, "gauging_s": 20.0, "deburr_s": 35.0, "blast_s": 110.0, "plug_s": 15.0,
            "kit_s": 20.0, "programming_s": 10800.0, "prove_out_s": 5400.0}.items()}, rate_per_h=45.0),
        people_count=2, shift_h=8.0, spindle_h_per_week=30.0, density_kg_per_mm3=2.7e-6,
        yield_mpa=fact(240.0, 276.0, 290.0, "MPa", "published and seen"),
        cutting_pressure_mpa=fact(350.0, 500.0, 700.0, "MPa", "published as quoted"), cutting_exponent_ratio=0.25,
        scrap_ratio=fact(0.01, 0.02, 0.05, "ratio"),
        assumed=("Brake torque of vises taken as 60 N m: not in the file.", "Scrap 2 %: nobody has counted yet."),
    )  # fmt: skip


def clampings() -> tuple[Clamping, ...]:
    def one(number: int, up: tuple[float, float, float], origin: tuple[float, float, float], **more: object) -> Clamping:
        frame = frame_looking_down(up=up, along=(1.0, 0.0, 0.0), origin_mm=origin)
        values: dict[str, object] = {
            "id": OPS[number - 1], "number": number, "machine_id": "mill3", "vise_id": "vise-b",
            "jaws_id": "soft-jaw-ex102", "surface": "finished", "frame": frame,
            "tilts": (Tilt(id="upright", frame=frame, a_rad=0.0, c_rad=0.0),), "makes_holes": (),
            "removes_grip": False, "needs_form": True,
        }  # fmt: skip
        return Clamping(**(values | more))  # type: ignore[arg-type]

    return (
        one(1, (0.0, 0.0, 1.0), (0.0, 23.5, -6.0), vise_id="vise-a", jaws_id="toothed", surface="raw", jaw_top_mm=3.0,
            patch_length_mm=fact(89.5, 91.0, 92.0, "mm"), patch_height_mm=fact(1.9, 2.6, 3.0, "mm"), gap_mm=25.0,
            grip_faces=(), seat_text="Raw bar on the jaw steps, left end against the stop",
            zero_text="X zero is the left end of the finished part, one millimetre right of the stop. "
                      "Y zero is the face of the fixed jaw. Z zero is the jaw step.",
            makes_faces=(TOP, BACK, FLANK, LEFT, RIGHT, SLOT_A, SLOT_B, SINK_A, SINK_B, ROUND), needs_form=False),
        one(2, (0.0, 0.0, -1.0), (0.0, 0.0, 18.0), jaw_top_mm=8.0, patch_length_mm=fact(85.0, 86.0, 86.0, "mm"),
            patch_height_mm=fact(7.0, 7.6, 8.0, "mm"), gap_mm=22.0, grip_faces=(BACK, FLANK),
            seat_text="Finished top face down on the soft-jaw steps, back against the fixed jaw",
            zero_text="X zero is the left end of the finished part. Y zero is the face of the fixed jaw. "
                      "Z zero is the step of the soft jaws.",
            makes_faces=(BOTTOM,), removes_grip=True),
        one(3, (0.0, -1.0, 0.0), (0.0, 22.0, 18.0), jaw_top_mm=10.0, patch_length_mm=fact(85.0, 86.0, 86.0, "mm"),
            patch_height_mm=fact(9.0, 9.6, 10.0, "mm"), gap_mm=18.0, grip_faces=(TOP, BOTTOM),
            seat_text="Flank down on the formed soft jaws, top face against the fixed jaw",
            zero_text="X zero is the left end of the finished part. Y zero is the face of the fixed jaw. "
                      "Z zero is the step of the soft jaws.",
            makes_faces=(TAPPED,), makes_holes=(TAPPED_HOLE,)),
    )  # fmt: skip


PASS_ROWS = (
    (0, "face", "face-50", TOP, (TOP,), 2300, 0.08, 32.0, 1.0, 220.0, 14.0, 24.0),
    (0, "rough", "rough-10", "outside", (BACK, FLANK, LEFT, RIGHT), 9500, 0.07, 1.2, 9.0, 3100.0, 121.0, 5.5),
    (0, "rough", "mill-6", SINK_A, (SINK_A, SLOT_A), 9800, 0.04, 0.6, 6.0, 610.0, 44.0, 5.8),
    (0, "rough", "mill-6", SINK_B, (SINK_B, SLOT_B), 9800, 0.04, 0.6, 6.0, 610.0, 44.0, 5.8),
    (0, "finish wall", "rough-10", BACK, (BACK, ROUND), 9500, 0.05, 0.3, 19.0, 130.0, 9.0, 5.4),
    (0, "finish wall", "mill-6", FLANK, (FLANK,), 9800, 0.04, 0.3, 0.5, 3400.0, 96.0, 5.4),
    (0, "finish wall", "rough-10", LEFT, (LEFT, RIGHT), 9500, 0.05, 0.3, 19.0, 60.0, 6.0, 5.4),
    (0, "break edge", "edge-6", TOP, (TOP,), 9800, 0.04, 0.8, 0.8, 240.0, 17.0, 23.2),
    (1, "face", "face-50", BOTTOM, (BOTTOM,), 2300, 0.08, 25.0, 2.0, 480.0, 31.0, 18.0),
    (1, "break edge", "edge-6", BOTTOM, (BOTTOM,), 9800, 0.04, 0.5, 0.5, 240.0, 16.0, 17.5),
    (2, "spot", "spot-8", TAPPED_HOLE, (TAPPED,), 6000, 0.05, 3.2, 3.2, 6.4, 2.0, 18.8),
    (2, "peck", "drill-5", TAPPED_HOLE, (TAPPED,), 6200, 0.06, 2.5, 5.0, 28.0, 5.0, 8.5),
    (2, "tap", "tap-m6", TAPPED_HOLE, (TAPPED,), 800, 0.33, 0.5, 12.0, 24.0, 4.0, 10.5),
)


def passes() -> tuple[Pass, ...]:
    return tuple(
        Pass(
            id=f"{OPS[op]}/upright/{cutter_id}/{kind}/{feature}", kind=kind, clamping_id=OPS[op],  # type: ignore[arg-type]
            tilt_id="upright", cutter_id=cutter_id, feature=feature, face_ids=faces,
            speed_rad_per_s=rad_per_s_from_rpm(rpm), tooth_feed_mm=feed, radial_mm=radial, axial_mm=axial,
            moves_digest=f"{index:064x}", moves_count=40 + 37 * index, cut_length_mm=length,
        )
        for index, (op, kind, cutter_id, feature, faces, rpm, feed, radial, axial, length, _s, _z) in enumerate(PASS_ROWS)
    )  # fmt: skip


def basis(formula: str, source: str = "proveout", **inputs: Fact) -> Basis:
    return Basis(formula=formula, source=source, inputs=inputs)


def proofs() -> tuple[Proof, ...]:
    made: list[Proof] = []

    def add(id: str, stage: str, subject: str, claim: str, sense: str, low: float | None, high: float | None,
            limit: float | None, unit: str, *, blocks: bool = True, **more: str) -> None:  # fmt: skip
        made.append(prove(id=id, stage=stage, subject=subject, claim=claim, sense=sense, found_low=low,  # type: ignore[arg-type]
                          found_high=high, limit=limit, unit=unit, blocks_release=blocks,
                          basis=basis(f"{stage}: {claim}"), **more))  # type: ignore[arg-type]  # fmt: skip

    add("survey/reached", "survey", "part", "Every face is reached by a cutter", "at most", 0, 0, 0, "faces")
    add("survey/corner", "survey", SINK_A, "The cutter fits the smallest inside corner", "at most", 3.0, 3.0, 4.4, "mm")
    add("finishing/m6", "finishing", TAPPED_HOLE, "The thread is open after the coat", "at least", 0.02, 0.05, 0.0, "mm")
    add("finishing/slot", "finishing", SLOT_A, "The size before the coat leaves a window to work in", "at least",
        0.031, 0.058, 0.030, "mm")
    add("blank/section", "blank", "square-25", "The section holds the part and its skims", "at least", 0.55, 0.95, 0.4, "mm")
    add("blank/length", "blank", "square-25", "The sawn length holds the part and its skims", "at least", 0.8, 1.2, 0.5, "mm")
    for index, id in enumerate(OPS):
        add(f"clampings/opening/{id}", "clampings", id, "The work fits between the jaws", "at most", 25.0 - index,
            25.3 - index, 180.0, "mm")
        add(f"removal/strike/{id}", "removal_check", id, "No cutter or holder meets a jaw", "at most", 0, 0, 0, "strikes")
        add(f"removal/rapid/{id}", "removal_check", id, "No rapid move meets metal", "at most", 0.0, 0.0, 0.0, "mm")
        add(f"motion/travel/{id}", "clampings", id, "Every move lies inside the travels", "at most", 412.0, 430.0, 760.0, "mm")
    add("holding/slip/op1", "holding", OPS[0], "The grip carries the worst cutting force without slip", "at most",
        1180.0, 2950.0, 5100.0, "N", remedy="lower the step-over of the outside rough")
    add("holding/tip/op1", "holding", OPS[0], "The grip carries the worst moment about the jaw top", "at most",
        21000.0, 47000.0, 39500.0, "N mm", decides="measure the friction of the toothed jaws on raw bar",
        remedy="reduce the depth of the outside rough", tighten=None)
    add("holding/crush/op1", "holding", OPS[0], "The jaws do not crush the strip", "at most", 54.0, 112.0, 120.0, "MPa")
    add("holding/slip/op2", "holding", OPS[1], "The grip carries the worst cutting force without slip", "at most",
        None, None, 1900.0, "N", decides="measure the friction of the soft jaws on the finished faces",
        remedy="give a friction value for the soft jaws, with its source")
    add("holding/slip/op3", "holding", OPS[2], "The grip carries the worst cutting force without slip", "at most",
        None, None, 1900.0, "N", decides="measure the friction of the soft jaws on the finished faces")
    add("holding/rating", "holding", "vise-a", "The preload stays inside the vise's rating", "at most", 15000, 20000, 25000, "N")
    add("loads/power", "loads", f"{OPS[0]}/upright/rough-10/rough/outside", "The cut stays inside the spindle power", "at most",
        1.1e6, 2.3e6, 7.5e6, "mW", blocks=False)
    add("loads/bend", "loads", f"{OPS[0]}/upright/mill-6/finish wall/{FLANK}", "The cutter bends less than the tolerance allows",
        "at most", 0.006, 0.021, 0.02, "mm", blocks=False, decides="measure the force on this cutter")
    for cutter_id, speed in (("face-50", 240.9), ("rough-10", 994.8), ("mill-6", 1026.3), ("tap-m6", 83.8)):
        add(f"cutters/speed/{cutter_id}", "cutters", cutter_id, "The spindle speed stays inside cutter and holder", "at most",
            speed, speed, 1570.8 if cutter_id != "face-50" else 1256.6, "rad/s")
    add("cutters/pockets", "cutters", "mill3", "The cutters fit the changer", "at most", 8, 8, 20, "pockets", blocks=False)
    for face, left, gouge in ((TOP, 0.004, 0.0), (FLANK, 0.038, 0.002), (BACK, 0.003, 0.0), (TAPPED, 0.0, 0.0)):
        add(f"removal/left/{face}", "removal_check", face, "Metal left over stays inside the tolerance", "at most", left, left,
            0.025, "mm", blocks=False, remedy="step the flank finer")
        add(f"removal/gouge/{face}", "removal_check", face, "Nothing of the target is cut", "at most", gouge, gouge, 0.01, "mm")
    add("removal/balance", "removal_check", "part", "Blank and chips balance", "at most", 0.0004, 0.0004, 0.002, "ratio")
    add("loading/wrong", "loading", OPS[1], "A piece turned end for end is noticed before it is cut", "at least", None, None, 1.0,
        "mm", decides="try both ways round in the soft jaws and measure the touch", remedy="cut a witness flat in the left jaw")
    add("bars/bound", "bars", "order", "No plan uses fewer bars", "at most", 5, 5, 5, "bars", blocks=False)
    add("time/hours", "timing", "order", "The order fits the spindle hours of one week", "at most", 21.5, 34.0, 30.0, "h",
        blocks=False, decides="run five pieces and note the minutes")
    return tuple(made)


def example_plan(*, ready: bool = False) -> Plan:
    """The plan; with ready=True only its proofs that hold are kept."""
    shown = proofs()
    if ready:
        shown = tuple(p for p in shown if p.verdict == "holds")
    every = passes()
    notes = tuple(
        FaceNote(face_id=face, index=i, balloon=i + 1, kind="plane" if face.startswith("plane") else "cylinder",
                 area_mm2=1620.0 - 90.0 * i, hole_id=TAPPED_HOLE if face == TAPPED else "")
        for i, face in enumerate(FACES)
    )  # fmt: skip
    hole = Hole(
        id=TAPPED_HOLE, balloon=13, entry_mm=(45.5, 0.0, 9.0), outward=(0.0, -1.0, 0.0), is_through=False, bottom="cone",
        steps=(HoleStep(kind="cylinder", diameter_mm=5.0, depth_low_mm=0.0, depth_high_mm=12.0, face_ids=(TAPPED,)),),
    )  # fmt: skip
    chosen = Blank(
        bar_id="square-25", length_axis=0, low_mm=(-1.0, -1.5, -6.0), high_mm=(91.0, 23.5, 19.0), cut_length_mm=92.0,
        grip_side=(0.0, 0.0, -1.0), pieces_per_bar=31, bar_length_mm=3000.0, material_price_each=1.94, mass_kg=0.155,
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
    )  # fmt: skip
    other = msgspec.structs.replace(chosen, bar_id="flat-30x25", material_price_each=2.37, mass_kg=0.186)
    window = Window(
        balloon=7, text="6.6 +0.2/0", kind="hole", finished_low_mm=6.6, finished_high_mm=6.8, before_low_mm=6.66,
        before_high_mm=6.84, width_mm=0.18, is_masked=False, is_critical=False, face_ids=(SLOT_A,),
    )  # fmt: skip
    lines = [
        TimeLine(station=OPS[op], text=kind, per="piece", seconds=spread_fact(s, 0.15, "s", "proveout", "published as quoted"),
                 pass_id=one.id)
        for (op, kind, *_rest, s, _z), one in zip(PASS_ROWS, every, strict=True)
    ]  # fmt: skip
    lines += [
        TimeLine(station=id, text="load, clamp, unload", per="piece", seconds=fact(18.0, 25.0, 33.0, "s")) for id in OPS
    ]
    lines += [
        TimeLine(station="saw", text="saw one piece", per="piece", seconds=fact(4.0, 6.0, 9.0, "s")),
        TimeLine(station="bench", text="break the edges by hand, wash, dry", per="piece", seconds=fact(24.5, 35.0, 45.5, "s")),
        *(TimeLine(station=id, text="set up", per="batch", seconds=fact(2100.0, 2700.0, 3600.0, "s")) for id in OPS),
        TimeLine(station="desk", text="write and check the program", per="design", seconds=fact(7560.0, 10800.0, 14040.0, "s")),
    ]
    deviations = {TOP: (0.004, 0.0), FLANK: (0.038, 0.002), BACK: (0.003, 0.0)}
    return Plan(
        schema_version=1, ready=is_ready(shown),
        part=PartSummary(
            number="EX-102", name="Clamp jaw", revision="B", alloy="6061-T6", step="EX-102.step",
            solid_digest="9c" * 32, size_mm=(90.0, 22.0, 18.0), volume_mm3=27410.0, area_mm2=9120.0, faces_count=len(FACES),
            other_solids=(), quantity=150),
        survey=Survey(faces=notes, holes=(hole,), directions=((0.0, 0.0, 1.0), (0.0, 0.0, -1.0), (0.0, -1.0, 0.0)),
                      access=(), unreached=()),
        finishing=Finishing(offset_mm={f: 0.025 for f in FACES}, windows=(window,), coated_area_mm2=9004.0, plugs=(TAPPED_HOLE,)),
        blank=BlankChoice(chosen=chosen, others=(other,), why=("Flat 30 x 25 costs 0.43 more a piece.",)),
        clampings=clampings(), passes=every,
        not_cut=(NotCut(clamping_id=OPS[0], subject=ROUND, face_ids=(ROUND,), reason="round on the hidden corner left to the bench"),),
        removal=RemovalCheck(
            pitch_mm=0.1, blank_mm3=57500.0, target_mm3=27180.0, chips_mm3=30290.0, leftover_mm3=31.0, gouge_mm3=0.8,
            balance_ratio=0.0004,
            faces=tuple(FaceDeviation(face_id=f, leftover_mm=deviations.get(f, (0.0, 0.0))[0],
                                      gouge_mm=deviations.get(f, (0.0, 0.0))[1], points_count=4000 + i) for i, f in enumerate(FACES)),
            passes=tuple(
                PassCut(pass_id=one.id, removed_mm3=900.0 + 250.0 * i, section_max_mm2=8.1, section_p95_mm2=6.2, rapid_mm=0.0,
                        body_mm=0.0, low_mm=row[-1], high_mm=45.0)
                for i, (row, one) in enumerate(zip(PASS_ROWS, every, strict=True))),
            jaw_strikes=()),
        inspection=(
            InspectionLine(balloon=7, text="Slot width, left", before_low_mm=6.66, before_high_mm=6.84, finished_low_mm=6.6,
                           finished_high_mm=6.8, gauge="Plug 6.66 / 6.84", how_often="every piece", is_critical=True,
                           reaction="Outside: stop, tell the setter, hold back to the last good piece"),
            InspectionLine(balloon=3, text="Width over back and flank", before_low_mm=21.86, before_high_mm=22.04,
                           finished_low_mm=21.9, finished_high_mm=22.1, gauge="Micrometer 0 to 25", how_often="first, then 1 in 10",
                           is_critical=False, reaction="Outside: stop and re-measure the cutter"),
            InspectionLine(balloon=1, text="Height", before_low_mm=17.86, before_high_mm=18.04, finished_low_mm=17.9,
                           finished_high_mm=18.1, gauge="Micrometer 0 to 25", how_often="first, then 1 in 10", is_critical=False,
                           reaction="Outside: clean the jaw steps, re-measure"),
            InspectionLine(balloon=13, text="Thread M6 6H, depth of full thread", before_low_mm=10.0, before_high_mm=11.5,
                           finished_low_mm=10.0, finished_high_mm=11.5, gauge="Thread plug M6 6H", how_often="every piece",
                           is_critical=False, reaction="No-go enters: change the tap"),
        ),
        bars=BarsPlan(
            pieces_count=155, spare_count=5, bars_count=5, lower_bound=5,
            patterns=(BarPattern(bar_id="square-25", bar_length_mm=3000.0, bundle_count=4, times=1, pieces_each=31, remnant_mm=83.2),
                      BarPattern(bar_id="square-25", bar_length_mm=3000.0, bundle_count=1, times=1, pieces_each=31, remnant_mm=83.2)),
            strokes_count=64, kerf_mm=1.8, trim_mm=6.0, tail_mm=65.0, cut_length_mm=92.0, cut_tolerance_mm=0.2, price=278.44,
            status="proved fewest", note="One bundle of four and one single bar."),
        time=TimePlan(lines=tuple(lines), cycle_s={OPS[0]: 384.0, OPS[1]: 63.0, OPS[2]: 27.5},
                      piece_s=fact(512.0, 590.0, 701.0, "s"), batch_s=fact(6300.0, 8100.0, 10800.0, "s")),
        cost=CostPlan(
            currency="EUR", quantity=150,
            lines=(CostLine(text="Bar", each=fact(1.86, 1.94, 2.05, "EUR"), how="mass sawn at the price per kilogram, shared tail"),
                   CostLine(text="Mill, three clampings", each=fact(10.4, 11.9, 13.9, "EUR"), how="minutes at the mill's rate"),
                   CostLine(text="Set-ups", each=fact(1.05, 1.35, 1.8, "EUR"), how="three set-ups shared by the order"),
                   CostLine(text="Program and prove-out", each=fact(1.2, 1.8, 2.4, "EUR"), how="once for this design, shared by the order"),
                   CostLine(text="Coat", each=fact(3.43, 3.43, 3.43, "EUR"), how="price each and freight; above the lot minimum"),
                   CostLine(text="Bench, blast, kit", each=fact(1.6, 2.3, 3.0, "EUR"), how="minutes by hand at the bench rate")),
            each=fact(19.54, 22.72, 26.58, "EUR"), batch=fact(2931.0, 3408.0, 3987.0, "EUR"), dear_faces=(FLANK, SINK_A, SINK_B)),
        questions=(
            Question(id="friction", text="How well do your soft jaws hold a finished face? A pull test on one block tells.",
                     would_change="Two holding proofs are open until this is known.", weight=9.0, face_ids=(BACK, FLANK)),
            Question(id="slot-tolerance", text="Do both slots need +0.2/0, or only the left one?",
                     would_change="A wider right slot saves one finishing pass.", weight=4.0, face_ids=(SLOT_B,)),
            Question(id="show", text="Is the flank a show face?", would_change="Scallops of the flank would be stepped finer.",
                     weight=2.0, face_ids=(FLANK,)),
        ),
        proofs=shown,
        rounds=(Round(number=1, tightened=(Tighten(subject=OPS[0], quantity="axial_ratio", bound=0.9, unit="ratio"),),
                      failing=("holding/tip/op1",), piece_s=571.0),
                Round(number=2, tightened=(), failing=(), piece_s=590.0)),
        warnings=("The file names no unit: millimetres were taken because the part is 90 long.",),
        assumed=("General tolerance m: the job file names none.", "Edges broken 0.5 all round: the job file names no size.",
                 "Five spare blanks: the job file names no number."),
        start="2026-03-02", program_version="0.1.0", inputs={"job": "1f" * 32, "shop": "2e" * 32, "step": "3d" * 32},
    )  # fmt: skip


assert math.isclose(sum(line.size_mm for line in example_plan().blank.chosen.stack[:4]), 25.0)
