"""Ids of the clamp jaw's faces, holes and clampings, as a plan would hold them."""

from __future__ import annotations

TOP, BOTTOM, BACK, FLANK = (
    "plane +z 18.000 #a1b2c3",
    "plane -z 0.000 #0d11f2",
    "plane -y 0.000 #77aa01",
    "plane +y+z 20.673 #4be210",
)
LEFT, RIGHT = "plane -x 0.000 #90aa12", "plane +x 90.000 #bb1276"
SLOT_A, SLOT_B = "cylinder r3.300 at 22.000 9.000 #c0ffee", "cylinder r3.300 at 67.000 9.000 #decade"
SINK_A, SINK_B = "cylinder r5.500 at 22.000 9.000 #facade", "cylinder r5.500 at 67.000 9.000 #5eed01"
TAPPED, ROUND = "cylinder r2.500 at 45.500 9.000 #beef77", "cylinder r2.000 at 2.000 2.000 #ab0042"
FACES = (TOP, BOTTOM, BACK, FLANK, LEFT, RIGHT, SLOT_A, SLOT_B, SINK_A, SINK_B, TAPPED, ROUND)
TAPPED_HOLE = "hole -y 45.500 0.000 9.000 #51ab9e"
OPS = ("op1-mill3-vise-a", "op2-mill3-vise-b", "op3-mill3-vise-b")
