"""Words of the shop file for how far work lies off from one clamping to the next; each is measured or left out."""

from __future__ import annotations

from proveout.intake.toml_words import Word


def _off(stem: str, text: str, high: float) -> Word:
    return Word(stem=stem, text=text, kind="fact", measure="length", low=0.0, high=high, field=f"{stem}_mm")


def _slope(stem: str, text: str) -> Word:
    return Word(stem=stem, text=text, kind="fact", measure="bow", low=0.0, high=20.0, field=f"{stem}_mm_per_m")


OF_MACHINE = (
    _off("zero_error", "how far a work zero may lie off where it was meant to be; without it the probe's error", 1.0),
    _off("length_error", "how far the tip of a cutter may lie off the length that the control holds of it", 1.0),
    _off("side_error", "how far a wall may lie off where its cutter was meant to leave it: diameter, run-out and "
        "bending, measured on a test block", 1.0),
)  # fmt: skip

OF_VISE = (
    _slope("seat_slope", "how much the seat of the work rises, along the jaws or across"),
    _slope("jaw_slope", "how much the fixed jaw's face runs off, along X or upright"),
    _off("repeat", "how far the same piece lies off from load to load, at the stop and at the fixed jaw", 2.0),
)

OF_BAR = (
    _off("faced_bow", "how far a piece of it bows once one side is faced: unclamped on a flat plate, feeler or "
        "indicator under its middle", 10.0),
    Word(stem="faced_bow_length", text="length of the piece that was faced", measure="length", low=10.0, high=5000.0,
        field="faced_bow_length_mm"),
    Word(stem="faced_bow_thickness", text="thickness that was left of it", measure="length", low=1.0, high=500.0,
        field="faced_bow_thickness_mm"),
)  # fmt: skip
