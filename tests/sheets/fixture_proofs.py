"""Some forty proofs of the clamp jaw: most hold, one fails, six are not shown."""

from __future__ import annotations

from fixture_names import (
    BACK,
    FLANK,
    OPS,
    SINK_A,
    SLOT_A,
    TAPPED,
    TAPPED_HOLE,
    TOP,
)

from proveout.model.fact import Fact
from proveout.model.proof import Basis, Proof, Sense, prove


def basis(formula: str, source: str = "proveout", **inputs: Fact) -> Basis:
    return Basis(formula=formula, source=source, inputs=inputs)


def proofs() -> tuple[Proof, ...]:
    made: list[Proof] = []

    def add(
        id: str,
        stage: str,
        subject: str,
        claim: str,
        sense: Sense,
        low: float | None,
        high: float | None,
        limit: float | None,
        unit: str,
        *,
        blocks: bool = True,
        decides: str = "",
        remedy: str = "",
    ) -> None:
        made.append(
            prove(
                id=id,
                stage=stage,
                subject=subject,
                claim=claim,
                sense=sense,
                found_low=low,
                found_high=high,
                limit=limit,
                unit=unit,
                blocks_release=blocks,
                basis=basis(f"{stage}: {claim}"),
                decides=decides,
                remedy=remedy,
            )
        )

    add("survey/reached", "survey", "part", "Every face is reached by a cutter", "at most", 0, 0, 0, "faces")
    add("survey/corner", "survey", SINK_A, "The cutter fits the smallest inside corner", "at most", 3.0, 3.0, 4.4, "mm")
    add(
        "finishing/m6", "finishing", TAPPED_HOLE, "The thread is open after the coat", "at least", 0.02, 0.05, 0.0, "mm"
    )
    add(
        "finishing/slot",
        "finishing",
        SLOT_A,
        "The size before the coat leaves a window to work in",
        "at least",
        0.031,
        0.058,
        0.030,
        "mm",
    )
    add(
        "blank/section",
        "blank",
        "square-25",
        "The section holds the part and its skims",
        "at least",
        0.55,
        0.95,
        0.4,
        "mm",
    )
    add(
        "blank/length",
        "blank",
        "square-25",
        "The sawn length holds the part and its skims",
        "at least",
        0.8,
        1.2,
        0.5,
        "mm",
    )
    for index, id in enumerate(OPS):
        add(
            f"clampings/opening/{id}",
            "clampings",
            id,
            "The work fits between the jaws",
            "at most",
            25.0 - index,
            25.3 - index,
            180.0,
            "mm",
        )
        add(
            f"removal/strike/{id}",
            "removal_check",
            id,
            "No cutter or holder meets a jaw",
            "at most",
            0,
            0,
            0,
            "strikes",
        )
        add(f"removal/rapid/{id}", "removal_check", id, "No rapid move meets metal", "at most", 0.0, 0.0, 0.0, "mm")
        add(
            f"motion/travel/{id}",
            "clampings",
            id,
            "Every move lies inside the travels",
            "at most",
            412.0,
            430.0,
            760.0,
            "mm",
        )
    add(
        "holding/slip/op1",
        "holding",
        f"{OPS[0]}/upright/rough-10/rough/outside",
        "The grip keeps the work at its hardest pass",
        "at least",
        1.08,
        3.94,
        1.0,
        "times the cutting force",
        remedy="lower the step-over of the outside rough",
    )
    add(
        "holding/tip/op1",
        "holding",
        OPS[0],
        "The grip carries the worst moment about the jaw top",
        "at most",
        21000.0,
        47000.0,
        39500.0,
        "N mm",
        decides="measure the friction of the toothed jaws on raw bar",
        remedy="reduce the depth of the outside rough",
    )
    add("holding/crush/op1", "holding", OPS[0], "The jaws do not crush the strip", "at most", 54.0, 112.0, 120.0, "MPa")
    add(
        "holding/slip/op2",
        "holding",
        OPS[1],
        "The grip carries the worst cutting force without slip",
        "at most",
        None,
        None,
        1900.0,
        "N",
        decides="measure the friction of the soft jaws on the finished faces",
        remedy="give a friction value for the soft jaws, with its source",
    )
    add(
        "holding/slip/op3",
        "holding",
        OPS[2],
        "The grip carries the worst cutting force without slip",
        "at most",
        None,
        None,
        1900.0,
        "N",
        decides="measure the friction of the soft jaws on the finished faces",
    )
    add(
        "holding/rating",
        "holding",
        "vise-a",
        "The preload stays inside the vise's rating",
        "at most",
        15000,
        20000,
        25000,
        "N",
    )
    add(
        "loads/power",
        "loads",
        f"{OPS[0]}/upright/rough-10/rough/outside",
        "The cut stays inside the spindle power",
        "at most",
        1.1e6,
        2.3e6,
        7.5e6,
        "mW",
        blocks=False,
    )
    add(
        "loads/bend",
        "loads",
        f"{OPS[0]}/upright/mill-6/finish wall/{FLANK}",
        "The cutter bends less than the tolerance allows",
        "at most",
        0.006,
        0.021,
        0.02,
        "mm",
        blocks=False,
        decides="measure the force on this cutter",
    )
    for cutter_id, speed in (("face-50", 240.9), ("rough-10", 994.8), ("mill-6", 1026.3), ("tap-m6", 83.8)):
        add(
            f"cutters/speed/{cutter_id}",
            "cutters",
            cutter_id,
            "The spindle speed stays inside cutter and holder",
            "at most",
            speed,
            speed,
            1570.8 if cutter_id != "face-50" else 1256.6,
            "rad/s",
        )
    add(
        "cutters/pockets",
        "cutters",
        "mill3",
        "The cutters fit the changer",
        "at most",
        8,
        8,
        20,
        "pockets",
        blocks=False,
    )
    for face, left, gouge in ((TOP, 0.004, 0.0), (FLANK, 0.038, 0.002), (BACK, 0.003, 0.0), (TAPPED, 0.0, 0.0)):
        add(
            f"removal/left/{face}",
            "removal_check",
            face,
            "Metal left over stays inside the tolerance",
            "at most",
            left,
            left,
            0.025,
            "mm",
            blocks=False,
            remedy="step the flank finer",
        )
        add(
            f"removal/gouge/{face}",
            "removal_check",
            face,
            "Nothing of the target is cut",
            "at most",
            gouge,
            gouge,
            0.01,
            "mm",
        )
    add(
        "removal/balance", "removal_check", "part", "Blank and chips balance", "at most", 0.0004, 0.0004, 0.002, "ratio"
    )
    add(
        "loading/wrong",
        "loading",
        OPS[1],
        "A piece turned end for end is noticed before it is cut",
        "at least",
        None,
        None,
        1.0,
        "mm",
        decides="try both ways round in the soft jaws and measure the touch",
        remedy="cut a witness flat in the left jaw",
    )
    add("bars/bound", "bars", "order", "No plan uses fewer bars", "at most", 5, 5, 5, "bars", blocks=False)
    add(
        "time/hours",
        "timing",
        "order",
        "The order fits the spindle hours of one week",
        "at most",
        21.5,
        34.0,
        30.0,
        "h",
        blocks=False,
        decides="run five pieces and note the minutes",
    )
    return tuple(made)
