"""What a STEP file itself writes about its faces: sizes, geometric tolerances and datums (ISO 10303-242)."""

from __future__ import annotations

from typing import Literal

from proveout.model.shop import Noun

DrawnKind = Literal["diameter", "radius", "length", "angle", "other"]


class DrawnSize(Noun, frozen=True, kw_only=True):
    """One size of the file, tied to faces of the solid by their ids.

    text: as an owner would type it, such as "35 +0/-0.2"; empty when the file writes no value that could be read.
    nominal_mm, low_mm, high_mm: None for an angle and where lack says why there are none; of a fit there is the
    nominal alone, its class stands in the text.
    face_ids: of a length the faces at its one end, other_ids those at the other.
    edges_count: edges that it is tied to in the stead of faces.
    lack: why its limits cannot be taken, empty when they can.
    """

    kind: DrawnKind
    text: str
    nominal_mm: float | None = None
    low_mm: float | None = None
    high_mm: float | None = None
    face_ids: tuple[str, ...] = ()
    other_ids: tuple[str, ...] = ()
    edges_count: int = 0
    lack: str = ""


class DrawnTolerance(Noun, frozen=True, kw_only=True):
    """One geometric tolerance of the file. text: kind, value and datums in words, such as "position Ø0.5 to A, B"."""

    kind: str
    text: str
    value_mm: float
    datums: tuple[str, ...] = ()
    face_ids: tuple[str, ...] = ()
    edges_count: int = 0


class DrawnDatum(Noun, frozen=True, kw_only=True):
    """One datum of the file and the faces that are it; is_target: it rests on points or areas of its own."""

    letter: str
    face_ids: tuple[str, ...] = ()
    is_target: bool = False


class Pmi(Noun, frozen=True, kw_only=True):
    """All that the file writes about its faces in a form that a program can read.

    pictures_count: sizes and notes that are only drawn, so that a person alone can read them.
    fits: classes of fit that stand in the file and could be tied to no size, each once.
    lost_sizes_count, lost_tolerances_count: that the file holds beyond those that could be read.
    """

    sizes: tuple[DrawnSize, ...] = ()
    tolerances: tuple[DrawnTolerance, ...] = ()
    datums: tuple[DrawnDatum, ...] = ()
    pictures_count: int = 0
    fits: tuple[str, ...] = ()
    lost_sizes_count: int = 0
    lost_tolerances_count: int = 0

    def warnings(self) -> tuple[str, ...]:
        """A sentence for each kind of thing that the file writes and nobody here can read."""
        said: list[str] = []
        if self.lost_sizes_count or self.lost_tolerances_count:
            said.append(
                f"The file writes {self.lost_sizes_count} more sizes and {self.lost_tolerances_count} more geometric "
                "tolerances than could be read: look at its drawing for them."
            )
        if self.fits:
            said.append(
                f"The file writes fits that could be tied to no size ({', '.join(self.fits)}): type them yourself."
            )
        return tuple(said)


NoteKind = Literal["size", "tolerance", "datum"]
NoteStatus = Literal["used", "same", "overridden", "not used"]


class PmiNote(Noun, frozen=True, kw_only=True):
    """What became of one thing that the file writes.

    status: "used" as if typed in the job; "same" as the job writes; "overridden" by what the job writes; "not used".
    why: of what is overridden or not used.  balloons: of its holes and faces, ascending.  lost_ids: faces of a size
    that is used on others, where it is not used.
    """

    kind: NoteKind
    text: str
    status: NoteStatus
    why: str = ""
    balloons: tuple[int, ...] = ()
    face_ids: tuple[str, ...] = ()
    lost_ids: tuple[str, ...] = ()
