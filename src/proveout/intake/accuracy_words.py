"""Words of the shop file for how far work lies off from one clamping to the next; each is measured or left out."""

from __future__ import annotations

from proveout.intake.toml_words import Word
from proveout.model.shop import Shop


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


def unknown_accuracy(shop: Shop) -> list[str]:
    """One sentence for each machine and vise of which a figure is missing, and one for the bars."""
    lines: list[str] = []
    for machine in shop.machines:
        lacks = [w.text.partition(";")[0].partition(":")[0] for w in OF_MACHINE if getattr(machine, w.field) is None]
        if machine.zero_error_mm is None and machine.has_probe and machine.probe is not None:
            lacks = lacks[1:]
        lines += _said(lacks, machine.id)
    for vise in shop.vises:
        lines += _said([w.text for w in OF_VISE if getattr(vise, w.field) is None], vise.id)
    if any(bar.faced_bow_mm is None for bar in shop.bars):
        lines.append(
            "Unknown: how far a bar bows once it is faced. Neither that nor a size over two operations is shown."
        )
    return lines


def _said(lacks: list[str], id: str) -> list[str]:
    end = "Without it nothing is shown of steps and sizes from one operation to the next."
    return [f"Unknown: of {id}, {'; '.join(lacks)}. {end}"] if lacks else []
