"""Words of what a machine turns and carries in the shop file: rotary axes, table and head."""

from __future__ import annotations

from typing import Any

from proveout.intake.sections import Section
from proveout.intake.toml_words import Kind, Word


def _length(stem: str, text: str, low: float, high: float, **more: Any) -> Word:
    return Word(stem=stem, text=text, measure="length", low=low, high=high, **more)


def _text(stem: str, text: str, kind: Kind = "text", **more: Any) -> Word:
    return Word(stem=stem, text=text, kind=kind, **more)


ROTARY = Section(
    name="machine.rotary",
    text="the two rotary axes of a 3+2 machine",
    words=(
        Word(
            stem="a_low", text="lowest tilt A, as the work turns about machine +X", measure="angle", low=-180.0,
            high=0.0, field="a_low_rad", must=True,
        ),
        Word(
            stem="a_high", text="highest tilt A, as the work turns about machine +X", measure="angle", low=0.0,
            high=180.0, field="a_high_rad", must=True,
        ),
        _text("c_is_continuous", "C turns without end", "flag", default=True),
        Word(
            stem="c_low", text="lowest turn C, where it has ends", measure="angle", low=-720.0, high=0.0,
            field="c_low_rad",
        ),
        Word(
            stem="c_high", text="highest turn C, where it has ends", measure="angle", low=0.0, high=720.0,
            field="c_high_rad",
        ),
        Word(stem="pivot_x", text="machine X where A and C meet, measured", measure="length", low=-5000.0, high=5000.0),
        Word(stem="pivot_y", text="machine Y where A and C meet, measured", measure="length", low=-5000.0, high=5000.0),
        Word(stem="pivot_z", text="machine Z where A and C meet, measured", measure="length", low=-5000.0, high=5000.0),
        Word(
            stem="pivot_error", text="uncertainty of the pivot", kind="fact", measure="length", low=0.0, high=1.0,
            field="pivot_error_mm",
        ),
        Word(
            stem="brake_torque", text="torque the rotary brake holds", kind="fact", measure="torque", low=5.0,
            high=20_000.0, field="brake_torque_n_mm",
        ),
        Word(
            stem="tilt", text="time to tilt and clamp", measure="seconds", low=0.1, high=60.0, field="tilt_s",
                default=4.0
        ),
    ),
)  # fmt: skip

TABLE = Section(
    name="machine.table",
    text="what the vise stands on; it turns with the work where the machine turns it",
    words=(
        _text("shape", "round, or rectangular along X and Y", "choice", choices=("round", "rectangular"), must=True),
        _length("diameter", "of a round one", 50.0, 5000.0, field="diameter_mm"),
        _length("length", "of a rectangular one, along X", 50.0, 5000.0, field="length_mm"),
        _length("width", "of a rectangular one, along Y", 50.0, 3000.0, field="width_mm"),
        _length("thickness", "from its top down", 1.0, 1000.0, field="thickness_mm", must=True),
        Word(
            stem="top_z", text="machine Z of the spindle's nose where it would touch its top, at A 0 C 0, measured; "
            "without it the foot of the vise", measure="length", low=-5000.0, high=5000.0, field="top_z_mm",
        ),
        *(
            Word(
                stem=f"middle_{axis}", text=f"machine {axis.upper()} of the spindle's nose over its middle, measured; "
                "without it the C axis where there is one", measure="length", low=-5000.0, high=5000.0,
            )
            for axis in "xy"
        ),
    ),
)  # fmt: skip

HEAD = Section(
    name="machine.head",
    text="the spindle's nose above the gauge line, and the head above the nose, each at its widest",
    words=(
        _length("nose_diameter", "widest diameter of the nose", 20.0, 500.0, field="nose_diameter_mm", must=True),
        _length("nose_length", "from the gauge line up to the head", 1.0, 1000.0, field="nose_length_mm", must=True),
        _length("diameter", "diameter that holds the head above the nose", 20.0, 3000.0, field="diameter_mm"),
        _length("length", "height of the head above the nose", 1.0, 3000.0, field="length_mm"),
    ),
)
