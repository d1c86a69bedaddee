"""What an errand found lies in a file that is read back as it was, and that never holds anything that could run."""

from __future__ import annotations

import msgspec
import numpy as np
import pytest

from proveout.jobs.found_files import read_bytes, told_bytes
from proveout.quantities.errors import InternalError


class Cloud(msgspec.Struct, frozen=True, tag="cloud"):
    """A noun with an array."""

    points: np.ndarray


class Word(msgspec.Struct, frozen=True, tag="word"):
    """Another noun."""

    text: str


@pytest.mark.parametrize("kind", ["<f8", "<i4", "|u1"])
def test_arrays_come_back_as_they_were(kind: str) -> None:
    points = np.arange(6).reshape(2, 3).astype(kind)[:, ::-1]
    found = read_bytes(told_bytes(Cloud(points)), Cloud | Word)
    assert isinstance(found, Cloud)
    assert (found.points.dtype.str, found.points.tolist()) == (kind, points.tolist())
    assert not found.points.flags.writeable
    assert read_bytes(told_bytes(Word("a")), Cloud | Word) == Word("a")


def test_an_array_of_objects_is_not_read() -> None:
    """Only numbers are: of objects a file that somebody changed could make anything."""
    forged = msgspec.msgpack.encode({"type": "cloud", "points": ["|O", [1], bytes(8)]})
    with pytest.raises(msgspec.DecodeError, match="an array of"):
        read_bytes(forged, Cloud)


def test_what_is_no_noun_is_our_fault() -> None:
    with pytest.raises(InternalError) as told:
        told_bytes(object())
    assert told.value.value == "object"
