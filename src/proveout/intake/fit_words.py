"""Fits of an order file: which sizes or faces of which parts go together, and the clearance wanted."""

from __future__ import annotations

import re
from typing import Any

from proveout.intake import job_words as words
from proveout.intake.toml_words import Place, plain, read_words
from proveout.model.job import Fit, FitSide
from proveout.quantities.errors import BadInput, OutOfRange

SIDE = re.compile(r"(.+?)\s+([1-9]\d{0,3}[a-h]?)")


def fit_of(table: dict[str, Any], place: Place) -> Fit:
    """One fit.

    Raises:   BadInput where it names neither two sizes nor two faces, or faces without their gap.   OutOfRange where
              the clearances are the wrong way round.
    """
    values = read_words(table, words.FIT.words, place, [])
    sizes, faces = values.pop("sizes"), values.pop("faces")
    if bool(sizes) == bool(faces):
        raise BadInput(
            "A fit names two sizes or two faces", where=place.at(), value="both" if sizes else "neither",
            do='write sizes = ["PART BALLOON", "PART BALLOON"], or faces with gap_mm',
        )  # fmt: skip
    if bool(faces) != (values["gap_mm"] is not None):
        raise BadInput(
            "Two faces need the gap between them, and two sizes have none", where=place.at("gap_mm"),
            value="no gap_mm" if faces else "gap_mm", do="add gap_mm to faces, or take it out",
        )  # fmt: skip
    if values["clearance_low_mm"] > values["clearance_high_mm"]:
        raise OutOfRange(
            "The least clearance is above the most", where=place.at("clearance_low_mm"),
            value=f"{plain(values['clearance_low_mm'])} mm", limit=f"{plain(values['clearance_high_mm'])} mm",
            do="swap the two",
        )  # fmt: skip
    key = "sizes" if sizes else "faces"
    sides = [_side(text, place.at(key)) for text in sizes or faces]
    if len(sides) != 2:
        raise BadInput(f"A fit names two {key}", where=place.at(key), value=str(len(sides)), do="name one of each part")
    return Fit(sides=(sides[0], sides[1]), **values)


def _side(text: str, where: str) -> FitSide:
    found = SIDE.fullmatch(text.strip())
    if found is None:
        raise BadInput(
            "A side of a fit is a part number and a balloon", where=where, value=f'"{text}"', limit='"EX-101 3"',
            do="write the part number as in its job file, a space and the balloon",
        )  # fmt: skip
    return FitSide(part=found[1], mark=found[2])
