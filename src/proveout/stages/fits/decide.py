"""Decide whether fits hold: the clearance at the worst corners of both parts and both coats."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from proveout.model.coat_growth import growth_of
from proveout.model.fact import Fact
from proveout.model.job import Coat, Fit, FitSide
from proveout.model.order import OrderedPart
from proveout.model.plan import Window
from proveout.model.proof import Basis, Decision, Proof, prove
from proveout.model.shop import Noun
from proveout.model.work import FaceNote
from proveout.quantities.coat import clearance_mm, gap_after_coat_mm

STAGE = "fits"
HELD = "window-can-be-held"
THREAD = "thread-takes-its-screw"


class FitPart(Noun, frozen=True, kw_only=True):
    """What a fit needs to know of a planned part. bare_balloons: numbers of what takes no coat."""

    number: str
    windows: tuple[Window, ...]
    faces: tuple[FaceNote, ...]
    offset_mm: dict[str, float]
    proofs: tuple[Proof, ...]
    coat: Coat | None
    bare_balloons: tuple[int, ...]


def fit_part(part: OrderedPart) -> FitPart:
    """That of one part of an order."""
    plan, job = part.plan, part.job
    return FitPart(
        number=plan.part.number, windows=plan.finishing.windows, faces=plan.survey.faces,
        offset_mm=plan.finishing.offset_mm, proofs=plan.proofs, coat=job.coat,
        bare_balloons=(*job.masked_balloons, *(size.balloon for size in job.sizes if size.is_masked)),
    )  # fmt: skip


class Found(NamedTuple):
    """The clearance after both coats, or why nobody can tell it."""

    ends_mm: tuple[float, float] | None
    inputs: dict[str, Fact]
    decides: str = ""


def decide(*, fits: tuple[Fit, ...], parts: Sequence[FitPart]) -> Decision[tuple[Proof, ...]]:
    """Two proofs for each fit: enough clearance, and not too much. The coats of both parts are taken apart.

    Parts that ride in one coat load come out more alike than that; nothing of it is taken to our favour.
    """
    by_number = {part.number: part for part in parts}
    proofs: list[Proof] = []
    for fit in fits:
        found = _of_faces(fit, by_number) if fit.gap_mm is not None else _of_sizes(fit, by_number)
        proofs.extend(_judged(fit, found))
    return Decision(value=tuple(proofs), proofs=tuple(proofs))


def _of_sizes(fit: Fit, parts: dict[str, FitPart]) -> Found:
    """Sizes that are shown to end within their limits whatever coat comes; the limits then are the corners."""
    windows: list[Window] = []
    for side, is_around in zip(fit.sides, (True, False), strict=True):
        found = _window(side, parts, is_around=is_around)
        if isinstance(found, str):
            return Found(None, {}, found)
        windows.append(found)
    around, inside = windows
    ends = clearance_mm(
        around_low_mm=around.finished_low_mm, around_high_mm=around.finished_high_mm,
        inside_low_mm=inside.finished_low_mm, inside_high_mm=inside.finished_high_mm,
    )  # fmt: skip
    inputs = {
        f"{side.words}, {window.text}, coated": _ends(window.finished_low_mm, window.finished_high_mm)
        for side, window in zip(fit.sides, windows, strict=True)
    }
    return Found(ends, inputs)


def _window(side: FitSide, parts: dict[str, FitPart], *, is_around: bool) -> Window | str:
    """The window of one side, or what to do first."""
    part = parts.get(side.part)
    if part is None:
        return f"name a part of this order: {', '.join(sorted(parts))}; {side.part} is none"
    window = next((w for w in part.windows if w.mark == side.mark), None)
    if window is None:
        return f"write a size at balloon {side.mark} of {side.part}"
    if window.kind == "thread" or window.is_inside != is_around:
        return f"name the size that goes around first, then the one inside; {side.words} is {_kind_words(window)}"
    ids = {f"finishing:{side.mark}:{name}" for name in (HELD, THREAD)}
    open_ = [p for p in part.proofs if p.id in ids and p.verdict != "holds"]
    if open_:
        return f"first settle size {side.mark} of {side.part} ({window.text}): its window before the coat is not shown"
    return window


def _kind_words(window: Window) -> str:
    """What a size is to the part that goes with it."""
    if window.kind != "length":
        return f"a {window.kind}"
    return "the depth of a step" if window.is_step else "a slot" if window.is_inside else "an outside length"


def _of_faces(fit: Fit, parts: dict[str, FitPart]) -> Found:
    """Two flat faces: each stands off its drawn place by its coat less what was machined away for it."""
    assert fit.gap_mm is not None
    stands: list[tuple[float, float]] = []
    inputs = {"gap as drawn": fit.gap_mm}
    for side in fit.sides:
        found = _stands_mm(side, parts)
        if isinstance(found, str):
            return Found(None, {}, found)
        stands.append(found)
        inputs[f"{side.words} stands off its drawn place"] = _ends(*found)
    ends = gap_after_coat_mm(
        gap_low_mm=fit.gap_mm.low, gap_high_mm=fit.gap_mm.high,
        one_low_mm=stands[0][0], one_high_mm=stands[0][1], other_low_mm=stands[1][0], other_high_mm=stands[1][1],
    )  # fmt: skip
    return Found(ends, inputs)


def _stands_mm(side: FitSide, parts: dict[str, FitPart]) -> tuple[float, float] | str:
    """How far a face stands off its drawn place once it is coated, outward, or what to do first."""
    part = parts.get(side.part)
    if part is None:
        return f"name a part of this order: {', '.join(sorted(parts))}; {side.part} is none"
    noted = next((n for n in part.faces if str(n.balloon) == side.mark and not n.hole_id), None)
    if noted is None:
        return f"look the face up on the numbered drawing of {side.part}: balloon {side.mark} is none"
    is_bare = part.coat is None or noted.balloon in part.bare_balloons
    grows = (0.0, 0.0)
    if part.coat is not None and not is_bare:
        grows = growth_of(part.coat, depth_ratio=0.0).build_up_mm
    offset = part.offset_mm[noted.face_id]
    return grows[0] - offset, grows[1] - offset


def _ends(low: float, high: float) -> Fact:
    return Fact(
        low=round(low, 6), nominal=round(0.5 * (low + high), 6), high=round(high, 6), unit="mm", source="own-algorithm",
        strength="assumed",
    )  # fmt: skip


def _judged(fit: Fit, found: Found) -> tuple[Proof, Proof]:
    low, high = (None, None) if found.ends_mm is None else (round(end, 6) for end in found.ends_mm)
    formula = (
        "gap as drawn - what both faces stand off their drawn places, each g - offset, g growth of a coated surface"
        if fit.gap_mm is not None
        else "least of the size around - most of the size inside, and the other way round, both as coated"
    )
    names = " with ".join(side.words for side in fit.sides)

    def one(what: str, claim: str, limit: float, *, is_least: bool) -> Proof:
        return prove(
            id=f"{STAGE}:{fit.name}:{what}", stage=STAGE, subject=fit.name, claim=f"{fit.name}: {claim} ({names})",
            sense="at least" if is_least else "at most", found_low=low, found_high=high, limit=limit, unit="mm",
            blocks_release=True, basis=Basis(formula=formula, source="own-algorithm", inputs=found.inputs),
            decides=found.decides or "narrow the limits of both sides, or their coats: the clearance straddles it",
            remedy="move the limits of one of the two apart, or say a wider clearance",
        )  # fmt: skip

    return (
        one("clearance-is-enough", "clear of each other once both are coated", fit.clearance_low_mm, is_least=True),
        one("clearance-is-not-too-much", "no looser than wanted once both are coated", fit.clearance_high_mm,
            is_least=False),
    )  # fmt: skip
