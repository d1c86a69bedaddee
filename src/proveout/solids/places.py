"""Addresses of faces and edges by geometry: rounded so that noise in the last digits does not change them."""

from __future__ import annotations

import hashlib
import math
from collections.abc import Sequence

# Rounding falls between n + 0.377: round sizes in mm or inch lie far from it, so noise cannot flip them.
_SHIFT = 0.1234567


def rounded(value: float, *, step: float) -> int:
    """Whole number of steps, with the borders away from round numbers."""
    return math.floor(value / step + 0.5 + _SHIFT)


def digest(parts: Sequence[object]) -> str:
    """sha256 of the parts written out with blanks between them, in hexadecimal."""
    return hashlib.sha256(" ".join(str(part) for part in parts).encode()).hexdigest()


def axis_text(axis: Sequence[float], *, signed: bool) -> str:
    """Such as "+z", or "z" when the sign means nothing, or three decimals in brackets."""
    for place, letter in enumerate("xyz"):
        if abs(abs(axis[place]) - 1.0) < 1e-9:
            sign = ("+" if axis[place] > 0 else "-") if signed else ""
            return sign + letter
    return "(" + ",".join(fixed(value, digits=3) for value in axis) + ")"


def fixed(value: float, *, digits: int) -> str:
    """The number with that many decimals and no minus before zero."""
    return f"{rounded(value, step=10.0**-digits) / 10**digits + 0.0:.{digits}f}"


def addresses(texts: Sequence[str], digests: Sequence[str]) -> list[str]:
    """One distinct id each: text and six digits, more digits where two agree, a rank where the geometry itself does."""
    ids = [f"{text} #{code[:6]}" for text, code in zip(texts, digests, strict=True)]
    if len(set(ids)) < len(ids):
        crowded = {name for name in ids if ids.count(name) > 1}
        ids = [
            f"{text} #{code[:16]}" if name in crowded else name
            for name, text, code in zip(ids, texts, digests, strict=True)
        ]
    seen: dict[str, int] = {}
    for place, name in enumerate(ids):
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1:
            ids[place] = f"{name}.{seen[name]}"
    return ids


def canonical_direction(axis: Sequence[float]) -> tuple[float, float, float]:
    """The axis or its opposite, whichever has its last non-zero component positive; tiny components become 0."""
    clean = [0.0 if abs(value) < 1e-9 else float(value) for value in axis]
    last = next((value for value in reversed(clean) if abs(value) > 1e-7), 1.0)
    sign = 1.0 if last > 0 else -1.0
    return (clean[0] * sign + 0.0, clean[1] * sign + 0.0, clean[2] * sign + 0.0)
