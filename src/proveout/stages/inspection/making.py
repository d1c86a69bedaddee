"""Whether the way a hole is made can hold its window, by common practice, and whether a thread is made at all."""

from __future__ import annotations

from proveout.model.choice import MILL_RATIO, REAM_STOCK_MM
from proveout.model.fact import Fact, exact_fact
from proveout.model.plan import NOT_KNOWN, Window
from proveout.model.proof import Basis, Proof, prove
from proveout.model.work import Hole, Pass, PassKind
from proveout.quantities.errors import OutOfRange
from proveout.quantities.limits import grade_mm

STAGE = "inspection"
SOURCE = "workshop-practice"
REAM_GRADE = 7
REAMER = f"a reamer of this size and a drill {REAM_STOCK_MM[0]:g} to {REAM_STOCK_MM[1]:g} mm smaller"
# common practice, no source: from the best to the worst of what a batch of holes spreads over, mm of diameter
SPREADS_MM: dict[PassKind, tuple[float, float]] = {
    "drill": (0.100, 0.200),  # a new drill that was started on its place, and a worn one: +-0.05 to +-0.1
    "peck": (0.100, 0.200),
    "bore": (0.020, 0.030),  # an end mill that goes round, corrected after the first piece
    "counterbore": (0.020, 0.030),
    "finish wall": (0.020, 0.030),
}
WORDS: dict[PassKind, str] = {
    "drill": "drilled", "peck": "drilled", "ream": "reamed", "bore": "milled round", "counterbore": "milled round",
    "finish wall": "milled round",
}  # fmt: skip


THREAD_KINDS: tuple[PassKind, ...] = ("tap", "mill thread")


def making_proofs(
    *, windows: tuple[Window, ...], passes: tuple[Pass, ...], holes: tuple[Hole, ...]
) -> tuple[Proof, ...]:
    """One for each window of a hole, against what the pass that leaves its wall can hold, and one for each thread."""
    held = tuple(_making_proof(window, passes) for window in windows if window.kind == "hole")
    cut = tuple(_thread_proof(window, passes, holes) for window in windows if window.kind == "thread")
    return (*held, *cut)


def _thread_proof(window: Window, passes: tuple[Pass, ...], holes: tuple[Hole, ...]) -> Proof:
    """A tap or a thread mill goes into the hole of an inside thread; nothing here cuts an outside one."""
    own = {hole.id for hole in holes if set(window.face_ids) & {id for s in hole.steps for id in s.face_ids}}
    cutting = [p for p in passes if window.is_inside and p.kind in THREAD_KINDS and p.feature in own]
    how = f"{cutting[0].kind} with {cutting[0].cutter_id}" if cutting else "no pass makes it"
    needed = "a tap or thread mill that fits it" if window.is_inside else "another machine or hand, or no thread there"
    found = float(len(cutting)) if cutting else None
    return prove(
        id=f"{STAGE}:{window.mark}:a-pass-makes-the-thread", stage=STAGE, subject=f"size {window.mark}",
        claim=f"a pass of this plan cuts the thread {window.text}: {how}", sense="at least", found_low=found,
        found_high=found, limit=1.0, unit="passes", blocks_release=True,
        basis=Basis(formula="passes that tap or mill a thread in its hole, counted", source="own-algorithm"),
        decides="" if cutting else f"how {window.text} is made: {needed}; this plan cuts inside threads of holes alone",
    )  # fmt: skip


def _making_proof(window: Window, passes: tuple[Pass, ...]) -> Proof:
    """The last pass at the wall is the one that leaves it; *not shown* between its best and its worst."""
    cutting = [p for p in passes if p.kind in WORDS and set(p.face_ids) & set(window.face_ids)]
    last = cutting[-1] if cutting else None
    spread = _spread_mm(last.kind, window) if last is not None else None
    limit = window.width_mm if window.is_decided else None
    how = f"{WORDS[last.kind]} with {last.cutter_id}" if last is not None else "no pass makes it"
    inputs: dict[str, Fact] = {}
    if window.is_decided:
        inputs["window before the coat"] = exact_fact(window.width_mm, "mm", "own-algorithm", "assumed")
    if last is not None and spread is not None:
        middle = sum(spread) / 2.0
        inputs[f"spread of holes {WORDS[last.kind]}"] = Fact(
            low=spread[0], nominal=middle, high=spread[1], unit="mm", source=SOURCE, strength="common practice"
        )
    return prove(
        id=f"{STAGE}:{window.mark}:made-as-it-can-be-held",
        stage=STAGE,
        subject=f"size {window.mark}",
        claim=f"the way the hole is made can hold its window, {window.text}: {how}",
        sense="at most",
        found_low=None if spread is None else spread[0],
        found_high=None if spread is None else spread[1],
        limit=limit,
        unit="mm",
        blocks_release=True,
        basis=Basis(
            formula="spread of the diameter over a batch, by the last pass at the wall, <= width of the window",
            source=SOURCE,
            inputs=inputs,
        ),
        decides=_decides(how, spread) if window.is_decided else f"the window before the coat is {NOT_KNOWN}",
        remedy=_remedy(last, spread),
    )


def _spread_mm(kind: PassKind, window: Window) -> tuple[float, float] | None:
    if kind != "ream":
        return SPREADS_MM.get(kind)
    try:
        width = grade_mm(grade=REAM_GRADE, size_mm=window.before_low_mm)
    except OutOfRange:
        return None
    return (width, width)


def _decides(how: str, spread: tuple[float, float] | None) -> str:
    if spread is None:
        return f"how this hole is made, and what it spreads over: {how}"
    return f"twenty holes in a row, {how}, gauged: all must lie within the window"


def _remedy(last: Pass | None, spread: tuple[float, float] | None) -> str:
    if last is None or spread is None:
        return ""
    loosen = f"loosen it to limits at least {spread[1]:.3f} mm apart"
    if WORDS[last.kind] == "drilled":
        return (
            f"put {REAMER} into the shop file, or an end mill that goes round in it (at most {MILL_RATIO:g} of its "
            f"diameter, long enough); or {loosen}"
        )
    if WORDS[last.kind] == "reamed":
        return f"hone it, which is not planned yet; or {loosen}"
    return f"put {REAMER} into the shop file; or hone it, which is not planned yet; or {loosen}"
