"""Walls before hollows that the jaws press on, in what of the work is left at one moment."""

from __future__ import annotations

from typing import Literal

from proveout.model.shop import Noun


class Wall(Noun, frozen=True, kw_only=True):
    """Metal at a jaw's face with a hollow behind it, mm.

    thick_mm: the least between foot and pressed places.  height_mm: of its tallest upright strip from the foot to the
    free edge, standing_bend_mm: how far the worst of them goes by 1 MPa at a modulus of 1 MPa, standing_stress_mpa: how
    hard one is pulled by 1 MPa; all None where a strip has no foot at either end.  span_mm: of its longest strip along
    the jaws, up_span_mm: likewise of the tallest upright one; each None where such a strip is not held at both ends.
    up_pierced_ratio, along_pierced_ratio: by how much more upright strips, and those along the jaws, carry, as holes
    run through the others, >= 1.  beside_mm2: area at the jaw's face, on both sides of the wall, of metal that
    reaches through to the other jaw; 0 where one side has none.
    """

    jaw: Literal["fixed", "movable"]
    thick_mm: float
    height_mm: float | None
    standing_bend_mm: float | None
    standing_stress_mpa: float | None
    span_mm: float | None
    up_span_mm: float | None
    up_pierced_ratio: float = 1.0
    along_pierced_ratio: float = 1.0
    beside_mm2: float = 0.0


class WallsLeft(Noun, frozen=True, kw_only=True):
    """The walls in one clamping before its first pass (pass_id empty) or after one of its passes.

    touch_mm2: what of the work lies at the jaw that it touches least.   through_mm2: section, between seat and jaw
    tops, of the metal that reaches through from jaw to jaw.   is_followed: False where nobody knows.
    """

    clamping_id: str
    pass_id: str
    walls: tuple[Wall, ...] = ()
    touch_mm2: float = 0.0
    through_mm2: float = 0.0
    is_followed: bool = True
