"""Meshes and ways as bytes for a page: a head of JSON, then arrays, each at a multiple of four bytes."""

from __future__ import annotations

from typing import Any

import msgspec
import numpy as np

STEPS = 65534
HALF = 32767


def packed(head: dict[str, Any], arrays: dict[str, np.ndarray]) -> bytes:
    """Length of the head (4 bytes, little-endian), the head, then the arrays in order.

    head gains `arrays`: of each its name, kind, first byte behind the head, and count of numbers.
    """
    kinds = {"i2": "int16", "u4": "uint32", "f4": "float32"}
    told, bodies, at = [], [], 0
    for name, array in arrays.items():
        flat = np.ascontiguousarray(array).reshape(-1)
        raw = flat.astype(flat.dtype.newbyteorder("<"), copy=False).tobytes()
        told.append({"name": name, "kind": kinds[flat.dtype.str[1:]], "at": at, "count": len(flat)})
        bodies.append(raw + b"\0" * (-len(raw) % 4))
        at += len(bodies[-1])
    text = msgspec.json.encode({**head, "arrays": told})
    text += b" " * (-len(text) % 4)
    return b"".join((len(text).to_bytes(4, "little"), text, *bodies))


def stepped(points_mm: np.ndarray, mark: np.ndarray | None = None) -> tuple[dict[str, Any], np.ndarray]:
    """Points as whole steps: (n, 4) int16, the fourth a mark of each; and the head that tells what a step is.

    A point is middle_mm + step_mm times its whole numbers, within half a step.
    """
    low = points_mm.min(axis=0) if len(points_mm) else np.zeros(3)
    high = points_mm.max(axis=0) if len(points_mm) else np.ones(3)
    step = max(float((high - low).max()), 1e-6) / STEPS
    middle = low + HALF * step
    whole = np.zeros((len(points_mm), 4), dtype=np.int16)
    whole[:, :3] = np.clip(np.rint((points_mm - middle) / step), -HALF, HALF)
    if mark is not None:
        whole[:, 3] = mark
    return {"step_mm": step, "middle_mm": middle.tolist()}, whole
