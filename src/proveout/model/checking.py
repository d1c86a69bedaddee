"""What a program is checked against, and what the check found."""

from __future__ import annotations

from typing import Literal

import msgspec

from proveout.geometry.frames import Frame
from proveout.model.course import Axes
from proveout.model.cutter import Piece
from proveout.model.shop import Cutter, Machine, Noun

FindingKind = Literal[
    "rapid in metal", "gouge", "shank or holder", "strike", "over-travel", "turn", "brake", "length", "cutter",
    "spindle", "speed", "feed", "zero", "words", "not known",
]  # fmt: skip


class Obstacle(Noun, frozen=True, kw_only=True):
    """Something that no cutter, shank, holder or head may meet: a box in the work's frame, mm.

    is_round: the upright cylinder that the box holds.  is_sure: False where nobody measured where it stands and the box
    is drawn as wide as it can be.
    """

    name: str
    low_mm: tuple[float, float, float]
    high_mm: tuple[float, float, float]
    is_round: bool = False
    is_sure: bool = True


class Standing(Noun, frozen=True, kw_only=True):
    """How the work stands in the machine while a program runs.

    frame: the work's frame in the part frame, with the machine's directions at A = C = 0; its origin is where program
    zero is meant to lie, of the system numbered `system`.  zero_mm: machine coordinates of the spindle's nose when it
    touches that origin at A = C = 0; None where nobody measured.  centre_mm: likewise where the rotary axes meet.
    obstacles: in the work's frame.  unlooked: names of what could be struck and is in no description.
    """

    frame: Frame
    zero_mm: Axes
    centre_mm: tuple[float, float, float] | None
    obstacles: tuple[Obstacle, ...]
    system: int = 1
    unlooked: tuple[str, ...] = ()


class CutterTable(Noun, frozen=True, kw_only=True):
    """The cutters by number, with what each measures from the spindle's nose to its tip, mm; the machine if known."""

    cutters: dict[int, Cutter]
    gauge_mm: dict[int, float]
    machine: Machine | None

    def head_pieces(self, number: int) -> tuple[Piece, ...]:
        """Nose and head above a cutter's tip, or above the bare nose for number 0; empty where nobody described them.

        A cutter whose own tip set the zero has no length here: its nose is where its holder ends.
        """
        head = self.machine.head if self.machine is not None else None
        if head is None:
            return ()
        cutter = self.cutters.get(number)
        return head.pieces(self.gauge_mm.get(number, 0.0) or (0.0 if cutter is None else cutter.gauge_mm))


class Finding(Noun, frozen=True, kw_only=True):
    """One thing found wrong, or that could not be known, with its place in the program.

    heading: the last comment before it.  found, limit in `unit`; both None where nothing is measured.
    is_sure: False where something is missing that would decide it.
    """

    kind: FindingKind
    line: int
    heading: str
    what: str
    found: float | None = None
    limit: float | None = None
    unit: str = ""
    is_sure: bool = True


class CutterUse(Noun, frozen=True, kw_only=True):
    """What one cutter did from one change to the next: where that begins, what it removed, how far it cut and went.

    feed_s: None where a feed is not known.  radial_mm, axial_mm: largest a_e and a_p.  chip_mm: thickest chip and the
    line of it, None where no chip's thickness is known.
    """

    number: int
    line: int
    heading: str
    removed_mm3: float
    cut_mm: float
    feed_s: float | None
    rapid_mm: float
    radial_mm: float = 0.0
    axial_mm: float = 0.0
    chip_mm: float | None = None
    chip_line: int = 0


class LineCut(Noun, frozen=True, kw_only=True):
    """What a line took off with a cutter: how far it cut, mm3, and at most a_e, a_p and the thickness of a chip.

    chip_mm: None where feed, speed or the number of edges is not known.
    """

    line: int
    number: int
    cut_mm: float
    removed_mm3: float
    radial_mm: float
    axial_mm: float
    chip_mm: float | None


class FaceFound(msgspec.Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Largest left-over and deepest gouge of one face against the target, mm, both >= 0; the line that gouged it."""

    face_id: str
    leftover_mm: float
    gouge_mm: float
    gouge_line: int | None = None


class ProgramCheck(Noun, frozen=True, kw_only=True):
    """What a check found: by finding, by face and by cutter.

    lines_count, motions_count: how much was followed.
    cuts: in the program's order.
    """

    lines_count: int
    motions_count: int
    pitch_mm: float
    findings: tuple[Finding, ...]
    faces: tuple[FaceFound, ...]
    uses: tuple[CutterUse, ...]
    removed_mm3: float
    seconds: float | None
    cuts: tuple[LineCut, ...] = ()
