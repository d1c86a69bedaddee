"""Words for what a shop measured on its own machines, in the shop file."""

from __future__ import annotations

from typing import get_args

from proveout.intake.sections import Section
from proveout.intake.toml_words import Word
from proveout.model.measured import EFFICIENCY, EdgeState

RESPONSE = Section(
    name="response",
    text="how the tip of a cutter, in its holder and in a machine's spindle, gives way to a push of each frequency, "
    "measured; the table of it lies beside this file",
    is_list=True,
    words=(
        Word(stem="machine", text="id of the machine it was measured on", kind="id", field="machine_id", must=True),
        Word(stem="cutter", text="id of the cutter it was measured at", kind="id", field="cutter_id", must=True),
        Word(
            stem="stick_out", text="of the cutter when it was measured", measure="length", low=1.0, high=500.0,
            field="stick_out_mm", must=True,
        ),
        Word(
            stem="file", text="name of a CSV table beside this file: frequency_hz, then x_real, x_imag, y_real and "
            "y_imag, each with _um_per_n or _m_per_n, along machine X and Y", kind="text", must=True,
        ),
        Word(
            stem="error", text="share by which its size may be off, to either side", kind="fact", measure="ratio",
            low=0.0, high=0.9, field="error_ratio",
            default={"low": 0.2, "nominal": 0.2, "high": 0.2, "strength": "assumed"},
        ),
        Word(
            stem="frequency_error", text="share by which its frequencies may be off, to either side", kind="fact",
            measure="ratio", low=0.0, high=0.3, field="frequency_error_ratio",
            default={"low": 0.02, "nominal": 0.02, "high": 0.02, "strength": "assumed"},
        ),
        Word(stem="measured", text="day on which it was measured", kind="date", default="", quiet=True),
    ),
)  # fmt: skip

SPINDLE_READING = Section(
    name="spindle_reading",
    text="what the spindle's meter read in one steady side cut with a sharp-cornered end mill: the load there and at "
    "the same speed in the air, both in kW or both in percent of the machine's power",
    is_list=True,
    words=(
        Word(stem="machine", text="id of the machine", kind="id", field="machine_id", must=True),
        Word(stem="cutter", text="id of the cutter", kind="id", field="cutter_id", must=True),
        Word(stem="alloy", text="alloy that was cut", kind="text", must=True),
        Word(
            stem="speed", text="spindle speed", measure="spindle speed", low=100.0, high=100_000.0,
            field="speed_rad_per_s", must=True,
        ),
        Word(
            stem="tooth_feed", text="feed per edge as it really ran", measure="length", low=0.002, high=2.0,
            field="tooth_feed_mm", must=True,
        ),
        Word(stem="axial", text="depth along the axis", measure="length", low=0.05, high=300.0, field="axial_mm",
             must=True),
        Word(stem="radial", text="width across the axis", measure="length", low=0.02, high=250.0, field="radial_mm",
             must=True),
        Word(stem="load", text="read in the cut", measure="power", low=0.001, high=150.0, field="load_mw"),
        Word(stem="idle", text="read in the air at that speed", measure="power", low=0.0, high=150.0, field="idle_mw"),
        Word(stem="step", text="smallest step that the meter shows", measure="power", low=1e-4, high=20.0,
             field="step_mw"),
        Word(stem="load", text="read in the cut", measure="percent", low=0.1, high=200.0, field="load_ratio"),
        Word(stem="idle", text="read in the air at that speed", measure="percent", low=0.0, high=200.0,
             field="idle_ratio"),
        Word(stem="step", text="smallest step that the meter shows", measure="percent", low=0.01, high=25.0,
             field="step_ratio"),
        Word(stem="edge", text="how sharp the edge was", kind="choice", choices=get_args(EdgeState), default="sharp"),
        Word(
            stem="efficiency", text="share of the load above idle that reaches the edge", kind="fact", measure="ratio",
            low=0.3, high=1.0, field="efficiency_ratio", quiet=True,
            default={name: getattr(EFFICIENCY, name) for name in ("low", "nominal", "high", "strength")},
        ),
        Word(stem="date", text="day of the reading", kind="date", must=True),
        Word(stem="section_error", text="share by which width times depth may be off, to either side", kind="number",
             measure="ratio", low=0.0, high=0.5, default=0.0, field="section_error_ratio", quiet=True),
        Word(stem="source", text="who read it, and in which batch", kind="text", default="", quiet=True),
        Word(stem="event", text="id of the record that it was taken over from; so it is taken over once", kind="text",
             default="", quiet=True),
    ),
)  # fmt: skip

TEST_CUT = Section(
    name="test_cut",
    text="a cut in scrap that got evenly deeper, made as the papers of a plan say and listened to",
    is_list=True,
    words=(
        Word(stem="machine", text="id of the machine", kind="id", field="machine_id", must=True),
        Word(stem="cutter", text="id of the cutter", kind="id", field="cutter_id", must=True),
        Word(stem="alloy", text="alloy of the scrap", kind="text", must=True),
        Word(
            stem="stick_out", text="of the cutter when the cut was made", measure="length", low=1.0, high=500.0,
            field="stick_out_mm", must=True,
        ),
        Word(
            stem="speed", text="spindle speed", measure="spindle speed", low=100.0, high=100_000.0,
            field="speed_rad_per_s", must=True,
        ),
        Word(
            stem="tooth_feed", text="feed per edge as it really ran", measure="length", low=0.0005, high=2.0,
            field="tooth_feed_mm", must=True,
        ),
        Word(stem="radial", text="width across the axis", measure="length", low=0.02, high=250.0, field="radial_mm",
             must=True),
        Word(stem="quiet", text="depth down to which it was quiet; 0 where it howled from the first", measure="length",
             low=0.0, high=300.0, field="quiet_mm", must=True),
        Word(stem="howled", text="depth at which it howled; left out where it never did", measure="length", low=0.01,
             high=300.0, field="howled_mm"),
        Word(stem="date", text="day of the cut", kind="date", must=True),
    ),
)  # fmt: skip
