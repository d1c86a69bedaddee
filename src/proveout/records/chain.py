"""The chain: each event's hash covers its own bytes and the hash before it, so that a changed event is seen."""

from __future__ import annotations

import hashlib

import msgspec

from proveout.model.events import Event, Stating
from proveout.quantities.canonical import canonical_bytes
from proveout.quantities.errors import ProveoutError, Unreadable

BEGIN = "0" * 64
_EVENTS = msgspec.json.Decoder(Event)
_STATING = msgspec.json.Decoder(Stating)


def hash_after(previous: str, body: bytes) -> str:
    """sha256 over the hash before, as 32 bytes, and the event's bytes."""
    return hashlib.sha256(bytes.fromhex(previous) + body).hexdigest()


def body_of(event: Event) -> bytes:
    """The canonical bytes that are kept and hashed."""
    return canonical_bytes(event)


def event_of(body: bytes) -> Event:
    """An event from its kept bytes.

    Raises:   Unreadable when they are none that this version knows.
    """
    try:
        return _EVENTS.decode(body)
    except (msgspec.MsgspecError, ProveoutError, UnicodeDecodeError) as fault:
        raise Unreadable("This is no event", value=str(fault)[:300], do="check for a newer version") from fault


def stating_of(content: bytes | None) -> Stating | None:
    """What stands in the place of a corrected event, None when nothing does."""
    return None if content is None else _STATING.decode(content)
