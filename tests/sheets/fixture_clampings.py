"""How the jaw of the plan written by hand lies in its three clampings, and the rows of its passes."""

from __future__ import annotations

from fixture_names import (
    BACK,
    BOTTOM,
    FLANK,
    LEFT,
    OPS,
    RIGHT,
    ROUND,
    SINK_A,
    SINK_B,
    SLOT_A,
    SLOT_B,
    TAPPED,
    TAPPED_HOLE,
    TOP,
)
from fixture_shop import fact

from proveout.geometry.frames import frame_looking_down
from proveout.model.work import Clamping, PassKind, Tilt


def clampings() -> tuple[Clamping, ...]:
    def one(
        number: int, up: tuple[float, float, float], origin: tuple[float, float, float], **more: object
    ) -> Clamping:
        frame = frame_looking_down(up=up, along=(1.0, 0.0, 0.0), origin_mm=origin)
        values: dict[str, object] = {
            "id": OPS[number - 1],
            "number": number,
            "machine_id": "mill3",
            "vise_id": "vise-b",
            "jaws_id": "soft-jaw-ex102",
            "surface": "finished",
            "frame": frame,
            "tilts": (Tilt(id="upright", frame=frame, a_rad=0.0, c_rad=0.0),),
            "makes_holes": (),
            "removes_grip": False,
            "needs_form": True,
        }
        return Clamping(**(values | more))  # type: ignore[arg-type]

    return (
        one(
            1,
            (0.0, 0.0, 1.0),
            (0.0, 23.5, -6.0),
            vise_id="vise-a",
            jaws_id="toothed",
            surface="raw",
            jaw_top_mm=3.0,
            patch_length_mm=fact(89.5, 91.0, 92.0, "mm"),
            patch_height_mm=fact(1.9, 2.6, 3.0, "mm"),
            gap_mm=25.0,
            grip_faces=(),
            seat_text="Raw bar on the jaw steps, left end against the stop",
            zero_text="X zero is the left end of the finished part, one millimetre right of the stop. "
            "Y zero is the face of the fixed jaw. Z zero is the jaw step.",
            makes_faces=(TOP, BACK, FLANK, LEFT, RIGHT, SLOT_A, SLOT_B, SINK_A, SINK_B, ROUND),
            needs_form=False,
        ),
        one(
            2,
            (0.0, 0.0, -1.0),
            (0.0, 0.0, 18.0),
            jaw_top_mm=8.0,
            patch_length_mm=fact(85.0, 86.0, 86.0, "mm"),
            patch_height_mm=fact(7.0, 7.6, 8.0, "mm"),
            gap_mm=22.0,
            grip_faces=(BACK, FLANK),
            seat_text="Finished top face down on the soft-jaw steps, back against the fixed jaw",
            zero_text="X zero is the left end of the finished part. Y zero is the face of the fixed jaw. "
            "Z zero is the step of the soft jaws.",
            makes_faces=(BOTTOM,),
            removes_grip=True,
        ),
        one(
            3,
            (0.0, -1.0, 0.0),
            (0.0, 22.0, 18.0),
            jaw_top_mm=10.0,
            patch_length_mm=fact(85.0, 86.0, 86.0, "mm"),
            patch_height_mm=fact(9.0, 9.6, 10.0, "mm"),
            gap_mm=18.0,
            grip_faces=(TOP, BOTTOM),
            seat_text="Flank down on the formed soft jaws, top face against the fixed jaw",
            zero_text="X zero is the left end of the finished part. Y zero is the face of the fixed jaw. "
            "Z zero is the step of the soft jaws.",
            makes_faces=(TAPPED,),
            makes_holes=(TAPPED_HOLE,),
        ),
    )


PassRow = tuple[int, PassKind, str, str, tuple[str, ...], int, float, float, float, float, float, float]
PASS_ROWS: tuple[PassRow, ...] = (
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
