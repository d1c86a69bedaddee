"""Read what the owner typed for a size: "H8", "20 +0.05/-0.02", "18 ±0.1", "M6 6H", "mask"."""

from __future__ import annotations

import re
from typing import Literal

import msgspec

from proveout.model.shop import Noun
from proveout.quantities.unified import NUMBERED_LAST, UNIFIED_TURNS
from proveout.quantities.units import MM_PER_INCH

_NUMBER = r"[0-9]+(?:\.[0-9]+)?"
_SIGNED = rf"[+-]?{_NUMBER}"
_MASK = re.compile(r"(?:^|\s)(mask|plug)(?:ed)?$", re.IGNORECASE)
_METRIC = (
    rf"M({_NUMBER})(?:\s*[x×]\s*({_NUMBER}))?(?:\s*-?\s*([3-9])([GHgh])([3-9][GHgh])?(?![0-9A-Za-z]))?"
)  # fmt: skip
_NAMED = re.compile(_METRIC)
_NAMED_UNIFIED = re.compile(
    r"(?<![0-9/.])(#|No\.\s*)?([0-9]+)(?:/([0-9]+))?-([0-9]+)(?:\s*UN[CF](?:\s*-?\s*([123][AB]))?|\s*-?\s*([123][AB]))"
    r"(?![0-9A-Za-z])"
)
_THREAD = re.compile(rf"^{_METRIC}(?:\s+D([0-9][0-9]?))?$")
_UNIFIED = re.compile(
    r"^(#|No\.\s*)?([0-9]+)(?:/([0-9]+))?-([0-9]+)(?:\s*UN[CF])?(?:\s*-?\s*([123][AB]))?(?:\s+H([0-9][0-9]?))?$"
)
_RADIUS = re.compile(rf"^R\s*({_NUMBER})(?:\s*(?:±|\+/-|\+-)\s*({_NUMBER}))?$")
_ANGLE = re.compile(rf"^({_NUMBER})\s*(?:°|deg)(?:\s*(?:±|\+/-|\+-)\s*({_NUMBER})\s*(?:°|deg)?)?$")
_CHAMFER = re.compile(
    rf"^({_NUMBER})(?:\s*(?:±|\+/-|\+-)\s*({_NUMBER}))?\s*[x×]\s*({_NUMBER})\s*(?:°|deg)"
    rf"(?:\s*(?:±|\+/-|\+-)\s*({_NUMBER})\s*(?:°|deg)?)?$"
)
_TEXTURE = re.compile(rf"^Ra\s*({_NUMBER})$")
_EDGE = re.compile(rf"^(?:ISO\s*13715|edge)\s*:?\s*[+±-]*\s*{_NUMBER}(?:\s*/\s*[+-]?{_NUMBER})?$", re.IGNORECASE)
_DEEP = re.compile(r"\s+deep$", re.IGNORECASE)
_CLASS = re.compile(rf"^({_NUMBER})?\s*([A-Za-z]{{1,2}})([0-9]{{1,2}})$")
_LIMITS = re.compile(rf"^({_NUMBER})?\s*({_SIGNED})\s*/\s*({_SIGNED})$")
_EVEN = re.compile(rf"^({_NUMBER})?\s*(?:±|\+/-|\+-)\s*({_NUMBER})$")
_PLAIN = re.compile(rf"^({_NUMBER})$")


class Written(Noun, frozen=True, kw_only=True):
    """What a text says; exactly one of the manners.

    manner: "mask" nothing but the wish to mask; "thread" a metric or unified one; "class" an ISO 286 letter and grade;
    "deviations" from the nominal size; "plain" a bare size; "radius" and "angle" in mm and degrees, with or without
    deviations; "chamfer" a leg in mm and the angle at it; "texture" a surface's Ra in µm; "edge" a state of edges, kept
    as text; "unknown" none of these.
    letter, grade: of a class, or of a metric thread; of a unified one the letter is "H" inside, "h" outside.
    crest_class: of a metric thread's crests, "5H" of "4H5H", empty when only one class is written.  thread_class: of a
    unified one, "2B", else empty.
    nominal_mm: as typed, None when it is left to the solid.  is_masked: "mask" or "plug" stands at the end.
    is_deep: "deep" stands there: a step down from the face that looks the same way.  tap_limit: number of the limit of
    the tap that cuts a thread, 0 when none is said.   angle_deg, angle_half_deg: of a chamfer, and what it may differ
    by to either side, 0 when that is not written.
    """

    manner: Literal[
        "mask", "thread", "class", "deviations", "plain", "radius", "angle", "chamfer", "texture", "edge", "unknown"
    ]  # fmt: skip
    nominal_mm: float | None = None
    letter: str = ""
    grade: int = 0
    low_deviation_mm: float = 0.0
    high_deviation_mm: float = 0.0
    pitch_mm: float | None = None
    is_masked: bool = False
    is_deep: bool = False
    tap_limit: int = 0
    thread_class: str = ""
    crest_class: str = ""
    angle_deg: float = 0.0
    angle_half_deg: float = 0.0


def read_size(text: str) -> Written:
    """What the text says; never raises: what it cannot read has the manner "unknown"."""
    tidy = text.strip().replace("\N{MINUS SIGN}", "-").replace(",", ".").lstrip("Øø⌀").strip()
    is_masked = bool(_MASK.search(tidy))
    tidy = _MASK.sub("", tidy).strip()
    if _DEEP.search(tidy):
        inner = _plain_or_deviations(_DEEP.sub("", tidy).strip(), is_masked=is_masked)
        return msgspec.structs.replace(inner, is_deep=True)
    if not tidy:
        return Written(manner="mask" if is_masked else "unknown", is_masked=is_masked)
    if found := _THREAD.match(tidy):
        return msgspec.structs.replace(_metric(found), is_masked=is_masked, tap_limit=int(found[6] or 0))
    if found := _UNIFIED.match(tidy):
        return _unified(found, is_masked=is_masked)
    if found := _RADIUS.match(tidy) or _ANGLE.match(tidy):
        half = float(found[2]) if found[2] else 0.0
        return Written(
            manner="radius" if tidy.startswith("R") else "angle", nominal_mm=float(found[1]), low_deviation_mm=-half,
            high_deviation_mm=half, is_masked=is_masked,
        )  # fmt: skip
    if found := _CHAMFER.match(tidy):
        return _chamfer(found, is_masked=is_masked)
    if found := _TEXTURE.match(tidy):
        return Written(manner="texture", nominal_mm=float(found[1]), is_masked=is_masked)
    if _EDGE.match(tidy):
        return Written(manner="edge", is_masked=is_masked)
    if found := _CLASS.match(tidy):
        nominal = float(found[1]) if found[1] else None
        return Written(manner="class", nominal_mm=nominal, letter=found[2], grade=int(found[3]), is_masked=is_masked)
    return _plain_or_deviations(tidy, is_masked=is_masked)


def _chamfer(found: re.Match[str], *, is_masked: bool) -> Written:
    """No leg, and an angle that leaves no chamfer, are unknown."""
    leg, angle, half = float(found[1]), float(found[3]), float(found[2] or 0.0)
    if leg <= 0.0 or half >= leg or not 0.0 < angle < 90.0:
        return Written(manner="unknown", is_masked=is_masked)
    return Written(
        manner="chamfer", nominal_mm=leg, low_deviation_mm=-half, high_deviation_mm=half, angle_deg=angle,
        angle_half_deg=float(found[4] or 0.0), is_masked=is_masked,
    )  # fmt: skip


def named_thread(text: str) -> Written | None:
    """The first thread in a free text, such as the name of a gauge; None when there is none.

    A unified one is known by its UNC, UNF or class.
    """
    plain = text.replace(",", ".")
    if found := _NAMED_UNIFIED.search(plain):
        sign, whole, below, turns, *classes = found.groups()
        size = f"{sign or ''}{whole}{f'/{below}' if below else ''}-{turns} {classes[0] or classes[1] or ''}"
        unified = read_size(size.strip())
        return unified if unified.manner == "thread" else None
    found = _NAMED.search(plain)
    return None if found is None else _metric(found)


def _metric(found: re.Match[str]) -> Written:
    return Written(
        manner="thread",
        nominal_mm=float(found[1]),
        pitch_mm=float(found[2]) if found[2] else None,
        letter=found[4] or "H",
        grade=int(found[3] or 6),
        crest_class=found[5] or "",
    )


def _unified(found: re.Match[str], *, is_masked: bool) -> Written:
    """With a sign a numbered size; without one too when it has those turns, else whole inches; a fraction is inches."""
    sign, whole, below, turns = found[1], int(found[2]), found[3], int(found[4])
    inches = None
    if below is None:
        numbered = round(0.060 + 0.013 * whole, 3) if whole <= NUMBERED_LAST else 0.0
        if numbered in UNIFIED_TURNS and (sign or _has(numbered, turns)):
            inches = numbered
        elif not sign and _has(float(whole), turns):
            inches = float(whole)
    elif not sign and int(below) > 0:
        inches = whole / int(below)
    if not inches or turns < 1:
        return Written(manner="unknown", is_masked=is_masked)
    return Written(
        manner="thread", nominal_mm=inches * MM_PER_INCH, pitch_mm=MM_PER_INCH / turns,
        letter="h" if (found[5] or "").endswith("A") else "H",
        thread_class=found[5] or "2B", is_masked=is_masked, tap_limit=int(found[6] or 0),
    )  # fmt: skip


def _has(inches: float, turns: int) -> bool:
    """The series have a thread of this size and so many turns an inch."""
    known = UNIFIED_TURNS.get(inches)
    return known is not None and turns in (*known.main, *known.more)


def _plain_or_deviations(tidy: str, *, is_masked: bool) -> Written:
    if found := _LIMITS.match(tidy):
        ends = sorted((float(found[2]), float(found[3])))
        return _deviations(found[1], ends[0], ends[1], is_masked=is_masked)
    if found := _EVEN.match(tidy):
        return _deviations(found[1], -float(found[2]), float(found[2]), is_masked=is_masked)
    if found := _PLAIN.match(tidy):
        return Written(manner="plain", nominal_mm=float(found[1]), is_masked=is_masked)
    return Written(manner="unknown", is_masked=is_masked)


def without_mask(text: str) -> str:
    """The text without the wish to mask, for papers that say so already."""
    return _MASK.sub("", text.strip()).strip()


def _deviations(nominal: str | None, low_mm: float, high_mm: float, *, is_masked: bool) -> Written:
    return Written(
        manner="deviations",
        nominal_mm=float(nominal) if nominal else None,
        low_deviation_mm=low_mm,
        high_deviation_mm=high_mm,
        is_masked=is_masked,
    )
