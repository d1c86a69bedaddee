"""Words of a machine's touch probe in the shop file."""

from __future__ import annotations

from proveout.intake.sections import Section
from proveout.intake.toml_words import Word


def _size(stem: str, text: str, low: float, high: float) -> Word:
    return Word(stem=stem, text=text, measure="length", low=low, high=high, field=f"{stem}_mm", must=True)


PROBE = Section(
    name="machine.probe",
    text="the touch probe in the spindle: what its readings are worth, and where it gets in",
    words=(
        Word(
            stem="error", text="how far a reading may lie off", kind="fact", measure="length", low=0.0, high=0.5,
            field="error_mm", must=True,
        ),
        _size("ball", "diameter of the stylus ball", 0.3, 20.0),
        _size("stylus", "free length from the ball to the probe's body", 3.0, 500.0),
        _size("body", "diameter of the probe's body", 3.0, 150.0),
    ),
)  # fmt: skip
