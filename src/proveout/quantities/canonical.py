"""Canonical bytes and digests: equal values give equal bytes, whatever machine, locale or time."""

from __future__ import annotations

import hashlib
from typing import Any

import msgspec
import numpy as np


def _encode_odd(value: Any) -> Any:
    if isinstance(value, np.ndarray):
        return {"array": digest_of_array(value)}
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(f"no canonical form for {type(value).__name__}")


def canonical_bytes(value: Any) -> bytes:
    """JSON with sorted keys; arrays stand as their digest."""
    return msgspec.json.encode(value, enc_hook=_encode_odd, order="sorted")


def digest_of_array(array: np.ndarray[Any, Any]) -> str:
    """sha256 of dtype, shape and little-endian bytes in C order."""
    tidy = np.ascontiguousarray(array)
    tidy = tidy.astype(tidy.dtype.newbyteorder("<"), copy=False)
    head = f"{tidy.dtype.str}{tidy.shape}".encode()
    return hashlib.sha256(head + tidy.tobytes()).hexdigest()


def digest_of(value: Any) -> str:
    """sha256 of the canonical bytes."""
    return hashlib.sha256(canonical_bytes(value)).hexdigest()
