"""What a new revision touches, in words with numbers and units."""

from __future__ import annotations

from proveout.model.plan import InspectionLine, Plan, Window
from proveout.model.revision import FaceChange, JawTouch
from proveout.model.shop import Shop
from proveout.quantities.units import MM_PER_INCH
from proveout.sheets.names import Names, shape_words
from proveout.sheets.writer import Writer

FATES = {
    "gone": "gone", "new": "new", "moved": "moved", "resized": "another size in its place",
    "outline": "other borders, its surface as it was",
}  # fmt: skip


class RevisionWords:
    """Puts a revision into words.

    Args:     plan, shop: of the plan that it is held against, whose numbers and units are used.
              is_inch: None for as the shop reads.
    """

    def __init__(self, *, plan: Plan, shop: Shop, is_inch: bool | None = None) -> None:
        self._names = Names(plan=plan, shop=shop)
        self._writer = Writer(plan=plan, shop=shop, drawings={}, fingerprint="")
        self._is_inch = shop.units == "inch" if is_inch is None else is_inch

    def length(self, value_mm: float) -> str:
        """A length in the shop's system."""
        if self._is_inch:
            return f"{value_mm / MM_PER_INCH:.4f} inch"
        return f"{value_mm:.3f} mm"

    def area(self, value_mm2: float) -> str:
        """An area in the shop's system."""
        if self._is_inch:
            return f"{value_mm2 / MM_PER_INCH**2:.4f} inch²"
        return f"{value_mm2:.2f} mm²"

    def name(self, id: str) -> str:
        """An id put plainly."""
        return self._names.short(id)

    def face(self, one: FaceChange) -> tuple[str, str, str]:
        """Which face, what became of it, and by how much."""
        ids = one.old_ids or one.new_ids
        name = self._names.faces(one.old_ids) if one.old_ids else shape_words(ids[0])
        of = self._writer.part_of(one.old_ids) if one.old_ids else ""
        shape = f" ({shape_words(ids[0])})" if one.old_ids else ""
        return (f"{name}{f' of {of}' if of else ''}{shape}", FATES[one.fate], self._how_much(one))

    def _how_much(self, one: FaceChange) -> str:
        if one.fate == "moved":
            return f"by {self.length(one.by_mm)}"
        if one.fate == "resized":
            return f"now {shape_words(one.new_ids[0])}"
        if one.fate == "outline":
            old, new = self.area(one.old_mm2), self.area(one.new_mm2)
            return f"area {old}, now {new}" if old != new else f"area {old} as before"
        return ""

    def jaws(self, one: JawTouch) -> str:
        """A clamping whose jaws meet what changed."""
        jaws = self._names.short(one.clamping.jaws_id)
        cut = "soft jaws cut to the work" if one.is_cut else f"{jaws} jaws"
        return f"op {one.clamping.number}, {cut}: {self._names.faces(one.face_ids)}"

    def size(self, one: Window) -> str:
        """A limit: its number, what is written, its limits before the coat."""
        low, high = self.length(one.before_low_mm), self.length(one.before_high_mm)
        ends = f"before the coat {low} to {high}" if one.is_decided else "before the coat not known"
        return f"{one.mark} {one.text}: {ends}"

    def gauge(self, one: InspectionLine) -> str:
        """A line of the inspection sheet."""
        return f"{one.balloon} {one.text}: {self._names.short(one.gauge)}, {one.how_often}"
