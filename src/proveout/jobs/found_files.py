"""What an errand was asked and what it found, as files: nouns with their arrays, read back as what they were.

Nothing in such a file is ever run, so that one that somebody changed is at worst not understood.
"""

from __future__ import annotations

from typing import Any, TypeVar

import msgspec
import numpy as np

from proveout.quantities.errors import InternalError

Noun = TypeVar("Noun")
KINDS = "fiu"  # of numbers that an array may hold


def told_bytes(value: object) -> bytes:
    """A noun as bytes."""
    return msgspec.msgpack.encode(value, enc_hook=_told)


def read_bytes(content: bytes, kind: type[Noun]) -> Noun:
    """The noun again.

    Raises:   msgspec.DecodeError for what is none of that kind.
    """
    return msgspec.msgpack.decode(content, type=kind, dec_hook=_read)


def _told(value: object) -> object:
    if isinstance(value, np.ndarray):
        array = np.ascontiguousarray(value)
        return (array.dtype.str, array.shape, array.tobytes())
    raise InternalError("This cannot be kept in a file", value=type(value).__name__)


def _read(_kind: type, value: Any) -> Any:
    name, shape, content = value
    kind = np.dtype(name)
    if kind.kind not in KINDS:
        raise ValueError(f"an array of {name}")
    return np.frombuffer(content, dtype=kind).reshape(shape)  # of bytes: nobody can write to it
