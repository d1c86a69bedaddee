"""Words of a coat's growth and thickness as they were read, of a finisher."""

from __future__ import annotations

from proveout.intake.toml_words import Word

GROWTH = (
    Word(
        stem="coat_growth", text="how far a coated surface was read to stand outside the cut one", kind="fact",
        measure="length", low=0.0, high=0.5, field="coat_growth_mm",
    ),
    Word(
        stem="coat_growth_at", text="thickness of the coat of which that was read", measure="length", low=0.0, high=0.5,
        field="coat_growth_at_mm",
    ),
    Word(
        stem="coat_thickness", text="how thick its coats were read to come", kind="fact", measure="length", low=0.0,
        high=0.5, field="coat_thickness_mm",
    ),
    Word(
        stem="coat_thickness_at", text="thickness at which those were asked for", measure="length", low=0.0, high=0.5,
        field="coat_thickness_at_mm",
    ),
)  # fmt: skip
