"""What an outside finisher marks on a part, and where."""

from __future__ import annotations

from proveout.model.shop import Noun

MARKS = ("mark", "engrav")  # in the name of a process that leaves words or figures on a piece


class Marking(Noun, frozen=True, kw_only=True):
    """One thing that is marked.

    finisher: id of who marks it.  text: what is marked, word for word, or the name of its drawing.  face_ids: the face,
    or faces that each get it; empty when nobody said.  where: place on the face and which way it reads;  height_mm: of
    the letters or the figure; empty and None when nobody said.
    """

    finisher: str
    text: str
    face_ids: tuple[str, ...] = ()
    where: str = ""
    height_mm: float | None = None


def is_marking(process: str) -> bool:
    """Whether a finisher's process leaves words or figures, by its name."""
    return any(word in process.lower() for word in MARKS)
