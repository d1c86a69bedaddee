"""What one event makes of the revisions of a part."""

from __future__ import annotations

from msgspec.structs import replace

from proveout.model.change_events import RevisionEnds, RevisionStays, SolidHeld
from proveout.model.events import Event, Stating
from proveout.model.revision_book import Ending, Revisions
from proveout.quantities.errors import InternalError, Refused


def revisions_after(book: Revisions | None, event: Event, of: Stating) -> Revisions:
    """The revisions once this has happened.

    Raises:   Refused when it cannot follow what happened before.
    """
    if isinstance(of, RevisionEnds):
        return _ended(book or Revisions(part=of.part), event, of)
    if not isinstance(of, SolidHeld | RevisionStays):
        raise InternalError("This does not happen to a revision", where=event.kind)
    ending = None if book is None else book.ending_of(of.ends)
    if book is None or ending is None:
        raise Refused(
            "No change ends this revision", where=f"{of.part}, revision {of.ends}", do="note the change first"
        )
    if isinstance(of, RevisionStays):
        return _with(book, replace(ending, stays=_words(of.why)))
    others = tuple(one for one in ending.held if one.plan != of.plan)
    return _with(book, replace(ending, held=(*others, of)))


def _ended(book: Revisions, event: Event, of: RevisionEnds) -> Revisions:
    where = f"{of.part}, revision {of.ends}"
    known = book.ending_of(of.ends)
    if known is not None:
        raise Refused("A change ends this revision already", where=where, value=f"{known.begins} from {known.from_day}",
                      do="correct that one, or take it back")  # fmt: skip
    after = book.ending_of(of.begins)
    if after is not None:
        raise Refused("The new revision is itself ended by a change", where=where,
                      value=f"{of.begins} ends on {after.from_day}",
                      do=f"name revision {after.begins}, or take that change back")  # fmt: skip
    ending = Ending(id=event.id, ends=of.ends, begins=of.begins, from_day=of.from_day, why=_words(of.why),
                    person=event.person)  # fmt: skip
    return replace(book, endings=(*book.endings, ending))


def _words(why: str) -> str:
    """A reason without its full stop: other words follow upon it."""
    return why.strip().rstrip(".")


def _with(book: Revisions, ending: Ending) -> Revisions:
    return replace(book, endings=tuple(ending if one.id == ending.id else one for one in book.endings))
