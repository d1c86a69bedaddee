"""What a correction may touch, and what stands once it is made."""

from __future__ import annotations

from collections.abc import Iterable

from proveout.books.folding import AnyBook, Key, book_after, keys_of
from proveout.model.batch_events import Asked, Planned, Released, Waived
from proveout.model.events import Corrected, Event, Stating
from proveout.quantities.errors import Refused

FIXED = (Asked, Planned, Waived, Released)


def corrigible(correction: Event, wrong: Event) -> None:
    """Refuse to correct what stays as it is written.

    Raises:   Refused for a correction of a correction, of release or what led to it, or from another batch.
    """
    assert isinstance(correction.of, Corrected)
    if isinstance(wrong.of, Corrected):
        raise Refused("A correction is not corrected", where=wrong.id, do=f"correct event {wrong.of.event_id} again")
    if isinstance(wrong.of, FIXED) or isinstance(correction.of.instead, FIXED):
        raise Refused("What led to a release stays as it is", where=wrong.id, value=wrong.kind,
                      do="close the batch and ask for another")  # fmt: skip
    if correction.batch != wrong.batch:
        raise Refused("A correction belongs to the batch of what it corrects", where=wrong.id, value=correction.batch,
                      limit=wrong.batch)  # fmt: skip


def refolded(key: Key, history: Iterable[tuple[Event, Stating | None]]) -> AnyBook | None:
    """One book from what stands of its events, in their order; None when nothing is left in it.

    Raises:   Refused when, with what is corrected, one of them could not have happened.
    """
    book: AnyBook | None = None
    for event, of in history:
        if of is None or key not in keys_of(event.batch, of):
            continue
        try:
            book = book_after(key, book, event, of)
        except Refused as fault:
            raise Refused(
                "So corrected, a later event could not have happened", where=f"event {event.id}", value=fault.message,
                do="correct that one first",
            ) from fault  # fmt: skip
    return book
