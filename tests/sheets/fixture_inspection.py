"""Inspection lines of the example plan: one on every piece, one by wear with a sample, two by common practice."""

from __future__ import annotations

from proveout.model.inspection import LotSample
from proveout.model.plan import InspectionLine


def inspection_lines() -> tuple[InspectionLine, ...]:
    return (
        InspectionLine(
            balloon=7,
            text="Slot width, left",
            before_low_mm=6.66,
            before_high_mm=6.84,
            finished_low_mm=6.6,
            finished_high_mm=6.8,
            gauge="Plug 6.66 / 6.84",
            how_often="every piece",
            is_critical=True,
            reaction="Outside: stop, tell the setter, hold back to the last good piece",
        ),
        InspectionLine(
            balloon=3,
            text="Width over back and flank",
            before_low_mm=21.86,
            before_high_mm=22.04,
            finished_low_mm=21.9,
            finished_high_mm=22.1,
            gauge="Micrometer 0 to 25",
            how_often="pieces 1, 10, 20, 30 and so on, and the last",
            every_count=10,
            every_why="by the wear of rough-10, at most 0.0041 mm a piece",
            also_pieces=(63,),
            accept_low_mm=21.87,
            accept_high_mm=22.03,
            act_low_mm=21.91,
            act_high_mm=21.99,
            correct="below 21.910 or above 21.990, and not yet STOP: correct the offset towards 21.950 and gauge "
            "the next piece",
            sample=LotSample(
                plan="quality limit",
                lot_count=155,
                sample_count=32,
                accept_count=2,
                bad_count=8,
                accept_ratio=0.786768,
                confidence_ratio=0.95,
                caught_count=27,
                letter="G",
                used_letter="G",
            ),
            sample_words="when all 155 are made, draw 32 at random from the whole lot: at most 2 may lie beyond the "
            "STOP readings; with 3 or more gauge every piece. A lot with 8 bad pieces among 155 still passes up to 79 "
            "times in 100",
            is_critical=False,
            reaction="Reads below 21.870 or above 22.030 (drawn in by the gauge's ±0.01): STOP, tell the owner",
        ),
        InspectionLine(
            balloon=1,
            text="Height",
            before_low_mm=17.86,
            before_high_mm=18.04,
            finished_low_mm=17.9,
            finished_high_mm=18.1,
            gauge="Micrometer 0 to 25",
            how_often="pieces 1, 10, 20, 30 and so on, and the last",
            every_count=10,
            is_critical=False,
            reaction="Outside: clean the jaw steps, re-measure",
        ),
        InspectionLine(
            balloon=13,
            text="Thread M6 6H, depth of full thread",
            before_low_mm=10.0,
            before_high_mm=11.5,
            finished_low_mm=10.0,
            finished_high_mm=11.5,
            gauge="Thread plug M6 6H",
            how_often="every piece",
            is_critical=False,
            reaction="No-go enters: change the tap",
        ),
    )
