"""Faces of the drafted solid as lines of a job file, one a face, and back."""

from __future__ import annotations

from typing import cast

from proveout.intake.toml_words import Place
from proveout.model.signature import FaceSign
from proveout.model.solid import Point
from proveout.quantities.errors import BadInput

FIELDS = 9


def sign_text(sign: FaceSign) -> str:
    """One face in one line: label; sizes; area; centroid; origin; axis; number; group; id."""
    numbers = [
        _numbers(sign.sizes_mm, 6), f"{sign.area_mm2:.9g}", _numbers(sign.centroid_mm, 5), _numbers(sign.origin_mm, 5),
        _numbers(sign.axis, 9),
    ]  # fmt: skip
    return "; ".join([sign.label, *numbers, str(sign.balloon), str(sign.group), sign.id])


def signs_from_texts(texts: tuple[str, ...], place: Place) -> tuple[FaceSign, ...]:
    """The faces back; BadInput for a line that is not as the draft wrote it."""
    return tuple(_sign(text, place) for text in texts)


def _numbers(values: tuple[float, ...], digits: int) -> str:
    return " ".join(f"{round(value, digits) + 0.0:.{digits}f}".rstrip("0").rstrip(".") for value in values)


def _sign(text: str, place: Place) -> FaceSign:
    fields = [field.strip() for field in text.split(";")]
    try:
        label, sizes, area, centroid, origin, axis, balloon, group, id = fields
        first, second = (float(one) for one in sizes.split())
        return FaceSign(
            id=id, balloon=int(balloon), group=int(group), label=label, sizes_mm=(first, second), area_mm2=float(area),
            centroid_mm=_point(centroid), origin_mm=_point(origin), axis=_point(axis),
        )  # fmt: skip
    except ValueError as fault:
        raise BadInput(
            "A line of the drafted solid cannot be read", where=place.at("faces"), value=f'"{text[:60]}"',
            limit=f"{FIELDS} fields parted by semicolons", do="draft the job file again with new-job",
        ) from fault  # fmt: skip


def _point(text: str) -> Point:
    x, y, z = (float(one) for one in text.split())
    return cast("Point", (x, y, z))
