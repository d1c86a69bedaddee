"""A new revision of a solid against the one that was planned: what became of its faces, and what names them."""

from __future__ import annotations

from typing import Literal

from proveout.model.plan import InspectionLine, Window
from proveout.model.shop import Noun
from proveout.model.work import Clamping, Pass

FaceFate = Literal["gone", "new", "moved", "resized", "outline"]


class FaceChange(Noun, frozen=True, kw_only=True):
    """Faces that lie on one piece of surface, before and after.

    fate: gone and new have no other side;  moved: the same surface elsewhere, by_mm away;  resized: in its place with
    another radius or angle;  outline: the same surface with other borders.
    old_size, new_size: radius in mm, of a cone the tangent of its half angle, 0 for a plane.   old_mm2, new_mm2: areas.
    """

    fate: FaceFate
    old_ids: tuple[str, ...]
    new_ids: tuple[str, ...]
    by_mm: float = 0.0
    old_size: float = 0.0
    new_size: float = 0.0
    old_mm2: float = 0.0
    new_mm2: float = 0.0


class SolidChange(Noun, frozen=True, kw_only=True):
    """What became of all faces.

    same_count: pieces of surface that are as they were.   why_other: why the new solid is taken for another part, empty
    when it is a revision.   moved_mm, turned_rad: how the whole solid lies otherwise in its file.   choices_count: ways
    of laying the old one on the new one that fit equally well.
    """

    faces: tuple[FaceChange, ...]
    same_count: int
    why_other: str = ""
    moved_mm: float = 0.0
    turned_rad: float = 0.0
    choices_count: int = 1

    @property
    def is_same(self) -> bool:
        """Nothing of the shape is otherwise."""
        return not self.faces and not self.why_other

    @property
    def touched(self) -> frozenset[str]:
        """Ids of old faces that are not as they were."""
        return frozenset(id for one in self.faces for id in one.old_ids)


class JawTouch(Noun, frozen=True, kw_only=True):
    """A clamping whose jaws meet what changed. face_ids: old faces.   is_cut: its soft jaws were cut to the work."""

    clamping: Clamping
    face_ids: tuple[str, ...]
    is_cut: bool


class Revision(Noun, frozen=True, kw_only=True):
    """What of the old plan names faces that are not as they were.

    sizes: limits before and after the coat;  gauges: lines of the inspection sheet.   shown: show faces of the job.
    """

    solid: SolidChange
    passes: tuple[Pass, ...]
    jaws: tuple[JawTouch, ...]
    sizes: tuple[Window, ...]
    gauges: tuple[InspectionLine, ...]
    shown: tuple[str, ...]
