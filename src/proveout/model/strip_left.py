"""What of the work is left between the jaws at one moment, as a strip that they press on its ends."""

from __future__ import annotations

from proveout.model.shop import Noun


class StripLeft(Noun, frozen=True, kw_only=True):
    """The work in one clamping before its first pass (pass_id empty) or after one of its passes.

    least_mm4: second moments of its sections, from the movable jaw to the fixed one, at equal steps: of the weakest
    stretch as long as the patch, every piece of metal that the jaws reach bending for itself.  most_mm4: of the whole
    length of the work, all pieces of a section bending as one. Both are empty where what is left was not followed.
    """

    clamping_id: str
    pass_id: str
    least_mm4: tuple[float, ...]
    most_mm4: tuple[float, ...]

    @property
    def is_followed(self) -> bool:
        """Whether anybody knows the sections at this moment."""
        return bool(self.least_mm4)
