"""The job: the part, what is written about it, and the order."""

from __future__ import annotations

from typing import Literal

from proveout.model.fact import Fact
from proveout.model.shop import Noun


class PartText(Noun, frozen=True, kw_only=True):
    """Names of the part; `step` is the file name as the owner typed it."""

    number: str
    name: str
    revision: str
    step: str
    solid: str = ""
    alloy: str = "6061-T6"


class Order(Noun, frozen=True, kw_only=True):
    """How many and when; dates are ISO 8601, empty when not said."""

    quantity: int
    start: str = ""
    due: str = ""
    spare_count: int | None = None


class Coat(Noun, frozen=True, kw_only=True):
    """The outside coat: thickness per surface and the share of it that builds up outward."""

    process: str
    thickness_mm: Fact
    build_up_ratio: Fact
    finisher: str = ""
    blast: bool = False


class Size(Noun, frozen=True, kw_only=True):
    """One written characteristic. `balloon` is the number on the drawing; `face_ids` its faces by geometry.

    kind: "hole" or "shaft" (diameter), "length" (between two faces), "thread".
    text is what the owner typed: "H8", "M6 6H", "18 +0.05/-0.02", "mask".
    """

    balloon: int
    text: str
    face_ids: tuple[str, ...] = ()
    is_masked: bool = False
    is_critical: bool = False


class Pin(Noun, frozen=True, kw_only=True):
    """Something the owner has fixed; kept or refused with the reason."""

    quantity: Literal["bar", "machine", "vise", "jaws", "up"]
    value: str


class Job(Noun, frozen=True, kw_only=True):
    """Everything that is written. `assumed` lists each default filled in, in words."""

    part: PartText
    order: Order
    coat: Coat | None
    sizes: tuple[Size, ...]
    masked_balloons: tuple[int, ...]
    show_faces: tuple[str, ...]
    general_tolerance: Literal["f", "m"] | None
    edge_break_mm: float | None
    other_finishers: tuple[str, ...]
    pins: tuple[Pin, ...] = ()
    assumed: tuple[str, ...] = ()
